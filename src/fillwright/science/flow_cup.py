"""Viscosity from the time that a flow cup takes to empty, where a conversion is published."""

from __future__ import annotations

from typing import Final

from fillwright.errors import BadInput, OutsideModel
from fillwright.science.given import above_zero

__all__ = ["CUPS", "cup_viscosity"]

CUPS: Final[dict[str, tuple[float, float]]] = {
    "3 mm": (0.443e-6, 200e-6),
    "4 mm": (1.37e-6, 200e-6),
    "5 mm": (3.28e-6, 220e-6),
    "6 mm": (6.90e-6, 570e-6),
}
"""Orifices of ISO 2431 with the two constants of each; from memory. [m²/s²], [m²]"""
_SHORTEST, _LONGEST = 30.0, 100.0


def cup_viscosity(orifice: str, time: float, *, density: float) -> float:
    """Return the viscosity of a product from its time in a flow cup.

    Parameters
    ----------
    orifice : str
        Orifice of a cup of ISO 2431: ``"3 mm"`` to ``"6 mm"``.
    time : float
        Time until the stream breaks. [s]
    density : float
        Density of the product. [kg/m³]

    Returns
    -------
    float
        Viscosity of a product that does not thin; one that does has another in a nozzle. [Pa·s]

    Raises
    ------
    BadInput
        If there is no published conversion for the cup, or a figure is not above zero.
    OutsideModel
        If the time is not 30 to 100 s: another orifice fits then.

    Notes
    -----
    ISO 2431, ν = A·t - B/t, constants from memory.

    Examples
    --------
    >>> round(1e3 * cup_viscosity("4 mm", 60.0, density=1000.0), 1)
    78.9
    """
    if orifice not in CUPS:
        raise BadInput(
            f"cup: no published conversion is held for {orifice!r}. Measure the viscosity with "
            "a rotational viscometer at two speeds or more, or take a cup of ISO 2431.",
            field="cup",
            given=orifice,
            allowed=", ".join(f"ISO 2431, {one}" for one in CUPS),
            code="choice",
        )
    taken = above_zero(time, "cup_s")
    if not _SHORTEST <= taken <= _LONGEST:
        which = "a smaller orifice" if taken < _SHORTEST else "a larger orifice"
        raise OutsideModel(
            f"cup_s is {taken:g} s; the conversion holds from 30 to 100 s. Take {which}.",
            field="cup_s",
            given=taken,
            allowed="30 to 100 s",
        )
    first, second = CUPS[orifice]
    return (first * taken - second / taken) * above_zero(density, "density_kg_m3")
