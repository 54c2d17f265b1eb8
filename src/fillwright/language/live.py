"""What a weighing scale says at this moment, with the figure that a US bench shows of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fillwright.language.measures import in_us
from fillwright.language.usfigures import shown
from fillwright.records.units import US_CUSTOMARY

__all__ = ["shown_reading"]

_UNITS: Final = {"g": "g", "kg": "kg", "mg": "mg", "ml": "mL"}
_SAID: Final = ("says", "because")


def shown_reading(reading: Mapping[str, object]) -> Mapping[str, object]:
    """Return a reading with what is shown of it beside what the scale showed.

    Parameters
    ----------
    reading : mapping
        An event of the scale. One in ounces or pounds is shown as the scale shows it.
    """
    told = {
        name: in_us(words) if name in _SAID and isinstance(words, str) else words
        for name, words in reading.items()
    }
    unit = _UNITS.get(str(reading.get("unit", "")), "")
    value = str(reading.get("value", ""))
    if unit and any(sign.isdigit() for sign in value):
        told["shown"] = shown(value, unit)
        told["shown_unit"] = US_CUSTOMARY[unit].name
    return told
