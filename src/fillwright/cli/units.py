"""The units that the terminal shows and takes: metric, or US customary where they are chosen.

Answers in JSON, files of tables and the questions stay in the units of the record.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Annotated, Final

import typer

from fillwright.cli import terminal
from fillwright.language import way_of
from fillwright.language.measures import UNIT_WORDS, US
from fillwright.records.sitefold import SiteState
from fillwright.records.units import US_CUSTOMARY, metric_from_us

__all__ = ["Units", "UnitsOption", "choose", "follow", "in_metric"]


class Units(StrEnum):
    """What figures are shown and typed in."""

    METRIC = "metric"
    US = "us"


UnitsOption = Annotated[
    Units | None,
    typer.Option(
        "--units",
        envvar="FILLWRIGHT_UNITS",
        help="Units shown and typed; those of the bench when left out.",
    ),
]
_TYPED: Final = re.compile(r"(?P<number>[+-]?[\d.,']+)\s*(?P<unit>[A-Za-z°][A-Za-z°/ ³]*)")
_chosen: Final[list[Units | None]] = [None]


def choose(units: Units | None) -> None:
    """Take what the person asked for, before any command runs."""
    _chosen[0] = units
    _speak(units or Units.METRIC)


def follow(site: SiteState) -> None:
    """Speak as the bench does, where the person asked for nothing else; its names stay."""
    if _chosen[0] is None:
        _speak(Units(site.settings.units))
    way = terminal.way()
    terminal.speak(replace(way, names=way_of(site, language=way.language).names))


def in_metric(text: str, unit: str) -> str:
    """Return a figure of an option as the record holds it, without its unit.

    Parameters
    ----------
    text : str
        A number, alone or with a unit behind it: ``10.5 oz``. Alone it is in the units that
        are chosen.
    unit : str
        Metric unit of the option.
    """
    found = _TYPED.fullmatch(text.strip())
    number = found["number"] if found else text.strip()
    named = found["unit"].strip() if found else ""
    us_name = US_CUSTOMARY[unit].name
    if UNIT_WORDS.get(named) == unit:
        return number
    if named.lower() != us_name and (named or terminal.way().measures != US):
        return text
    try:
        value = Decimal(number.replace(",", "."))
    except InvalidOperation:
        return text
    return format(metric_from_us(value, unit), "f")


def _speak(units: Units) -> None:
    """Let the terminal show figures in some units."""
    measures = US if units is Units.US else ""
    terminal.speak(replace(terminal.way(), measures=measures))
