"""Figures that look like another unit: asked about instead of computed with in silence."""

from __future__ import annotations

from typing import Final

from fillwright.errors import BadInput

__all__ = ["THICKEST", "refuse_slip", "viscosity_slip"]

_SLOW: Final = 10.0
THICKEST: Final = 100.0
"""Above this a viscosity is more likely given in mPa·s: honey has 10, and what is thicker at
rest thins in a nozzle and needs a flow curve (judgement). [Pa·s]"""


def viscosity_slip(viscosity: float, *, index: float = 1.0) -> str | None:
    """Return the question to ask about a viscosity that looks like mPa·s.

    Parameters
    ----------
    viscosity : float
        Viscosity or consistency as given. [Pa·sⁿ]
    index : float
        Index of the flow curve. [1]

    Returns
    -------
    str or None
        None for one that a piston filler meets; judged at a shear rate of 10 1/s, where
        pastes that thin are long moving.

    Examples
    --------
    >>> viscosity_slip(350.0)
    'Did you mean 0.35 Pa·s (350 mPa·s)?'
    """
    if viscosity * _SLOW ** (index - 1.0) <= THICKEST:
        return None
    unit = "Pa·s" if index == 1.0 else "Pa·sⁿ"
    return f"Did you mean {viscosity / 1e3:.4g} {unit} ({viscosity:.6g} m{unit})?"


def refuse_slip(
    value: float | None, field: str, *, low: float, high: float, units: tuple[str, str, float]
) -> None:
    """Refuse a figure no filler meets that would be ordinary in another unit.

    Parameters
    ----------
    value : float, optional
        As given; none is let through. [unit of the field]
    field : str
        Name of the field.
    low, high : float
        What a benchtop filler can meet. [unit of the field]
    units : tuple of str, str and float
        Unit of the field, the likely unit, and how many of the first are one of the second. [1]

    Raises
    ------
    BadInput
        With the question whether the other unit was meant.
    """
    if value is None or low <= value <= high:
        return
    own, likely, factor = units
    meant = value * factor
    asked = (
        f" Did you mean {meant:.4g} {own} ({value:.6g} {likely})?" if low <= meant <= high else ""
    )
    raise BadInput(
        f"{field} is {value:.6g} {own}, outside {low:g} to {high:g} {own}.{asked}",
        field=field,
        given=value,
        allowed=f"{low:g} to {high:g} {own}",
        code="unit" if asked else "range",
    )
