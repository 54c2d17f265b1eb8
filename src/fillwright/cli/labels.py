"""What a label declares, as it is typed: ``250 mL``, ``0.5 kg``, ``1 L``, ``8 fl oz``."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from fillwright.errors import BadInput
from fillwright.records.figures import Mark, Writing, figure
from fillwright.records.units import GRAMS_PER, MILLILITRES_PER, label_in_metric

__all__ = ["Label", "label_of"]

_LONGEST: Final = 40
_FLUID: Final = "fl oz"


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A declared quantity in grams or millilitres, and as it was typed."""

    nominal: Decimal
    unit: Literal["g", "mL"]
    typed: str

    def words(self) -> str:
        """Return the label in its unit, with what was typed where that differs."""
        plain = f"{self.nominal:f} {self.unit}"
        return plain if plain == self.typed else f"{plain} ({self.typed})"


def label_of(text: str) -> Label:
    """Return what a label declares.

    Parameters
    ----------
    text : str
        A number and a unit.

    Returns
    -------
    Label
        The quantity in g or mL, exactly.

    Raises
    ------
    BadInput
        If there is no number, or the unit is missing or not known.
    """
    typed = " ".join(text.split())[:_LONGEST]
    is_fluid = typed.lower().endswith(_FLUID)
    bare = typed[: -len(_FLUID)] if is_fluid else typed
    mark = Mark.COMMA if "," in bare and "." not in bare else Mark.POINT
    found = figure(bare, writing=Writing(mark=mark, groups=False))
    grouped = figure(bare, writing=Writing(mark=Mark.POINT, groups=True))
    if mark is Mark.COMMA and grouped is not None:
        point, plain = typed.replace(",", "."), typed.replace(",", "")
        raise BadInput(
            f"--nominal is {typed!r}, which can be two numbers; give {point} or {plain}.",
            field="--nominal",
            given=typed,
            allowed=f"{point} or {plain}",
            code="inconsistent",
        )
    units = (*GRAMS_PER, "mL", "cL", "dL", "L", "fl oz")
    if found is None or found.value <= 0:
        raise BadInput(
            f"--nominal is {typed!r}; give a number above zero and a unit, such as '250 mL'.",
            field="--nominal",
            given=typed,
            allowed="a number and a unit",
            code="type",
        )
    if is_fluid:
        return Label(nominal=label_in_metric(found.value, _FLUID)[0], unit="mL", typed=typed)
    unit = found.unit.lower()
    if unit in GRAMS_PER:
        return Label(nominal=found.value * GRAMS_PER[unit], unit="g", typed=typed)
    if unit in MILLILITRES_PER:
        return Label(nominal=found.value * MILLILITRES_PER[unit], unit="mL", typed=typed)
    raise BadInput(
        f"--nominal is {typed!r}; give one of the units {', '.join(units)}.",
        field="--nominal",
        given=typed,
        allowed=", ".join(units),
        code="unit",
    )
