"""What was typed in US customary units, turned to the units of the record once, at the door.

A field that was shown in such a unit brings with it what it showed and what that stands for.
One that was left as it was shown keeps its value to the last digit.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fillwright.language.measured import MARK, ROW
from fillwright.records.units import US_CUSTOMARY, metric_from_us
from fillwright.web.numbers import number_of

__all__ = ["TypedForm", "in_metric", "unit_of"]

_PARTS: Final = 3


class TypedForm(dict[str, str]):
    """A form in the units of the record, which knows the fields that were typed in others."""

    def __init__(self, fields: Mapping[str, str], units: Mapping[str, str]) -> None:
        super().__init__(fields)
        self.units = dict(units)


def in_metric(form: Mapping[str, str]) -> Mapping[str, str]:
    """Return a form with every field in the units of the record.

    Parameters
    ----------
    form : mapping of str to str
        As it was sent. A field ``in-X`` says of field ``X``: metric unit, what was shown, and
        what that stands for, with ``=`` between. A row of figures has its unit so marked.

    Returns
    -------
    mapping of str to str
        The form itself where no field brings another unit. What is no number stays as typed.
    """
    marks = {name: words for name, words in form.items() if name.startswith(MARK)}
    if not marks:
        return form
    fields = {name: words for name, words in form.items() if name not in marks}
    units: dict[str, str] = {}
    for name, words in marks.items():
        field = name.removeprefix(MARK)
        parts = words.split("=", _PARTS - 1)
        typed = fields.get(field, "").strip()
        unit, is_row = parts[0].removesuffix(ROW), parts[0].endswith(ROW)
        if len(parts) != _PARTS or unit not in US_CUSTOMARY or not typed:
            continue
        was_shown, kept = parts[1:]
        units[field] = unit
        if was_shown and typed.replace(",", ".") == was_shown:
            fields[field] = kept
            continue
        if is_row:
            fields[field] = " ".join(_turned(part, unit) for part in typed.split())
        else:
            fields[field] = _turned(typed, unit)
    return TypedForm(fields, units)


def _turned(typed: str, unit: str) -> str:
    """Return a number in the units of the record; as it was typed where it is none."""
    number = number_of(typed.replace("\u2212", "-").replace(" ", "").replace(",", "."))
    return typed if number is None else format(metric_from_us(number, unit), "f")


def unit_of(form: Mapping[str, str], field: str) -> str:
    """Return the metric unit of a field that was typed in another; empty for all others."""
    return form.units.get(field, "") if isinstance(form, TypedForm) else ""
