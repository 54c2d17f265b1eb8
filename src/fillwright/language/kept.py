"""What people typed or declared, and which figures are legal weights, found in what is shown.

Names, reasons and labels are data: a bottle that is called "Oil 100 mL" keeps its name in every
unit, and a label stays as it was declared.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from typing import Any, Final, cast

from fillwright.language.measures import Keep, in_us
from fillwright.records.entities import Container, JobFacts, Machine, Product, WeighingScale
from fillwright.records.sitefold import SiteState

__all__ = ["keep_of", "named_of"]

_NAMED: Final = (Container, Machine, Product, WeighingScale)
_TYPED: Final = frozenset(
    {
        "reason",
        "note",
        "lot_code",
        "maker",
        "source_document",
        "typed",
        "seal_lot",
        "own_words",
        "container",
    }
)
_LEGAL: Final = frozenset({"limit_g", "label_g", "t1_g", "t2_g", "aim_g"})
_NOT_LEGAL: Final = ("band", "brim")
"""Limits that are no least weights, by the name they are listed with."""
_DEEP: Final = 6
_MOST: Final = 400
_FIGURE: Final = re.compile(r"\d\s?[A-Za-z°µ]")


def keep_of(things: Iterable[object]) -> Keep:
    """Return what is kept of the things that a page or a paper shows.

    Parameters
    ----------
    things : iterable
        Facts of jobs, states, looks, sheets: whatever was given to draw from.
    """
    found = _Found()
    for thing in things:
        found.walk(thing, _DEEP)
    words = sorted(found.words, key=len, reverse=True)
    return Keep(words=tuple(words), legal=frozenset(found.legal))


def named_of(site: SiteState) -> tuple[Mapping[str, object], ...]:
    """Return the things of a site that people gave names to.

    Parameters
    ----------
    site : SiteState
        What the site keeps.
    """
    return site.products, site.containers, site.machines, site.scales


class _Found:
    """What was found so far."""

    def __init__(self) -> None:
        self.words: set[str] = set()
        self.legal: set[str] = set()
        self._seen: set[int] = set()

    def walk(self, thing: object, deep: int) -> None:
        """Look through a thing and all that it holds."""
        if deep == 0 or isinstance(thing, str | int | float | Decimal) or id(thing) in self._seen:
            return
        if is_dataclass(thing) and not isinstance(thing, type):
            self._seen.add(id(thing))
            self._take(thing, deep)
        elif isinstance(thing, Mapping):
            for value in list(thing.values())[:_MOST]:
                self.walk(value, deep - 1)
        elif isinstance(thing, list | tuple):
            for value in thing[:_MOST]:
                self.walk(value, deep - 1)

    def _take(self, thing: object, deep: int) -> None:
        """Take what is kept of one thing, and go on to its parts."""
        if isinstance(thing, JobFacts):
            self.words.add(thing.label_words)
            self.words.add(f"{_plain(thing.nominal)} {thing.unit}")
            self.words.add(f"{thing.nominal:f} {thing.unit}")
        for one in fields(cast("Any", thing)):
            value = getattr(thing, one.name)
            if isinstance(value, str):
                is_name = one.name == "name" and isinstance(thing, _NAMED)
                if (is_name or one.name in _TYPED) and _has_measure(value):
                    self.words.add(value)
            elif isinstance(value, Decimal):
                if one.name in _LEGAL and not _is_upper(thing):
                    self.legal |= {f"{value:f}", _plain(value)}
            elif value is not None:
                self.walk(value, deep - 1)


def _is_upper(thing: object) -> bool:
    """Return whether a listed limit is none that a weight must reach."""
    name = getattr(thing, "name", "")
    return isinstance(name, str) and name.lower().startswith(_NOT_LEGAL)


def _has_measure(text: str) -> bool:
    """Return whether a text has a figure that would be turned."""
    return bool(_FIGURE.search(text)) and in_us(text) != text


def _plain(value: Decimal) -> str:
    """Return a decimal without trailing zeros that say nothing."""
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
