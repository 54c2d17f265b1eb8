"""What happens at the nozzle: what it holds, the drop that falls, the jet that leaves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.given_many import all_above_zero, all_from_zero
from fillwright.science.stroke import GRAVITY
from fillwright.science.wetpath import Piece, pressure_loss

__all__ = [
    "Drop",
    "Holding",
    "Jet",
    "drawback_lift",
    "drop",
    "drop_scatter",
    "holding",
    "jet",
    "yield_holds",
]

_SLIDES: Final = 3.682_367_6
_PINNED: Final = 7.663_411_9
_HALVINGS: Final = 80
_LEAST_X, _MOST_X = 1e-6, 1.2
# Harkins and Brown's factor as a polynomial of r/V^(1/3); Lee, Chan and Pogaku (2008).
_SHAPE: Final = (1.0, -0.9121, -2.109, 13.38, -27.29, 27.53, -13.58, 2.593)


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """Bores that hold a liquid while closed above and open below.

    Attributes
    ----------
    slides : ndarray
        Widest bore that holds when the edge of the liquid can slide. [m]
    pinned : ndarray
        Bore above which nothing holds, even with the edge pinned to the lip. [m]
    capillary_length : ndarray
        Root of surface tension over weight density. [m]
    """

    slides: NDArray[np.float64]
    pinned: NDArray[np.float64]
    capillary_length: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """The drop that falls from a lip.

    Attributes
    ----------
    mass : ndarray
        Its mass. [kg]
    volume : ndarray
        Its volume. [m³]
    """

    mass: NDArray[np.float64]
    volume: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Jet:
    """What leaves a nozzle.

    Attributes
    ----------
    velocity : ndarray
        Mean velocity at the exit. [m/s]
    wall_stress : ndarray
        Stress at the wall of the bore. [Pa]
    wall_rate : ndarray
        Rate of shear at the wall. [1/s]
    reynolds : ndarray
        Reynolds number after Metzner and Reed. [1]
    weber : ndarray or None
        Density · velocity² · bore over surface tension; none without a surface tension. [1]
    """

    velocity: NDArray[np.float64]
    wall_stress: NDArray[np.float64]
    wall_rate: NDArray[np.float64]
    reynolds: NDArray[np.float64]
    weber: NDArray[np.float64] | None


def holding(surface_tension: ArrayLike, density: ArrayLike) -> Holding:
    """Return the bores that hold a liquid that is closed above.

    Parameters
    ----------
    surface_tension : float or ndarray
        Against air. [N/m]
    density : float or ndarray
        Density. [kg/m³]

    Returns
    -------
    Holding
        At rest: shaking and a wetted lip halve what holds.

    Raises
    ------
    BadInput
        If a figure is not above zero.

    Notes
    -----
    First zeros of J1' (1.84118, edge free to slide) and of J1 (3.83171, edge pinned), twice,
    in capillary lengths; Maxwell (1875) after Duprez, from memory.
    """
    tension = all_above_zero(surface_tension, "surface_tension_n_m")
    heavy = all_above_zero(density, "density_kg_m3")
    length = np.sqrt(tension / (heavy * GRAVITY))
    return Holding(
        slides=np.asarray(_SLIDES * length),
        pinned=np.asarray(_PINNED * length),
        capillary_length=np.asarray(length),
    )


def yield_holds(curve: FlowCurve, density: ArrayLike, bore: ArrayLike) -> NDArray[np.bool_]:
    """Return where the yield stress alone holds a plug of product in the bore.

    Parameters
    ----------
    curve : FlowCurve
        The product.
    density : float or ndarray
        Density. [kg/m³]
    bore : float or ndarray
        Bore of the nozzle. [m]

    Returns
    -------
    ndarray of bool
        True where yield stress >= density · g · bore / 4: the weight of the plug on its wall.
    """
    start, _, _ = curve.figures
    return np.asarray(start >= np.asarray(density) * GRAVITY * np.asarray(bore) / 4.0)


def drop(surface_tension: ArrayLike, density: ArrayLike, lip: ArrayLike) -> Drop:
    """Return the drop that falls from a wetted lip.

    Parameters
    ----------
    surface_tension : float or ndarray
        Against air. [N/m]
    density : float or ndarray
        Density. [kg/m³]
    lip : float or ndarray
        Diameter of the lip as far as it is wetted. [m]

    Returns
    -------
    Drop
        One slow drop.

    Raises
    ------
    BadInput
        If a figure is not above zero, or the lip is too wide for one drop.

    Notes
    -----
    Tate's weight times Harkins and Brown's factor (J. Am. Chem. Soc. 41, 499, 1919) in the
    form of Lee, Chan and Pogaku (2008), for 0 < r/V^(1/3) <= 1.2; from memory. The equation
    is solved for r/V^(1/3) by halving.
    """
    tension = all_above_zero(surface_tension, "surface_tension_n_m")
    heavy = all_above_zero(density, "density_kg_m3")
    radius = all_above_zero(lip, "tip_diameter_m") / 2.0
    tate = 2.0 * np.pi * radius * tension / (heavy * GRAVITY)
    # With x = r/V^(1/3): x³ · factor(x) = r³/tate's volume, which grows over the whole range.
    wanted = radius**3 / tate
    if np.any(wanted > _MOST_X**3 * _factor(np.asarray(_MOST_X))):
        widest = float(np.max(2.0 * radius))
        message = (
            f"tip_diameter_m is {widest:g}, too wide for one drop of this liquid (the equation "
            "of Harkins and Brown ends at radius = 1.2 · volume^(1/3)); weigh what falls instead."
        )
        raise BadInput(message, field="tip_diameter_m", given=widest, code="outside-model")
    low, high = np.full(wanted.shape, _LEAST_X), np.full(wanted.shape, _MOST_X)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        beyond = middle**3 * _factor(middle) > wanted
        high, low = np.where(beyond, middle, high), np.where(beyond, low, middle)
    volume = np.asarray((radius / ((low + high) / 2.0)) ** 3)
    return Drop(mass=np.asarray(volume * heavy), volume=volume)


def drop_scatter(mass: ArrayLike, *, cuts_off: bool) -> NDArray[np.float64]:
    """Return the standard uncertainty of a dose from its last drop.

    Parameters
    ----------
    mass : float or ndarray
        Mass of one drop. [kg]
    cuts_off : bool
        Whether the nozzle closes at its tip.

    Returns
    -------
    ndarray
        A whole drop, even over its range, or half of that with a good cut-off (a judgement
        of ours, no source). [kg]
    """
    full = all_from_zero(mass, "mass_kg") / np.sqrt(12.0)
    return np.asarray(full / 2.0 if cuts_off else full)


def drawback_lift(piston: ArrayLike, travel: ArrayLike, bore: ArrayLike) -> NDArray[np.float64]:
    """Return how far a drawback lifts the liquid in the nozzle.

    Parameters
    ----------
    piston : float or ndarray
        Diameter of the drawback piston. [m]
    travel : float or ndarray
        How far it moves. [m]
    bore : float or ndarray
        Bore of the nozzle. [m]

    Returns
    -------
    ndarray
        Lift; one to two bores are enough, more draws air (a judgement of ours, no source). [m]
    """
    wide = all_above_zero(piston, "piston_m")
    return np.asarray(
        all_from_zero(travel, "travel_m") * (wide / all_above_zero(bore, "bore_m")) ** 2
    )


def jet(
    flow: ArrayLike,
    bore: ArrayLike,
    curve: FlowCurve,
    density: ArrayLike,
    *,
    surface_tension: ArrayLike | None = None,
) -> Jet:
    """Return how a product leaves a nozzle.

    Parameters
    ----------
    flow : float or ndarray
        Flow. [m³/s]
    bore : float or ndarray
        Bore of the nozzle. [m]
    curve : FlowCurve
        The product.
    density : float or ndarray
        Density. [kg/m³]
    surface_tension : float or ndarray, optional
        Against air. [N/m]

    Returns
    -------
    Jet
        Stress and rate at the wall are those of the loss, turbulent or not.

    Raises
    ------
    BadInput
        If a figure is not finite, or the bore is not above zero.
    """
    wide = all_above_zero(bore, "bore_m")
    heavy = all_above_zero(density, "density_kg_m3")
    passing = all_from_zero(flow, "flow_m3_s")
    velocity = 4.0 * passing / (np.pi * wide**2)
    # A bore's length of it: without the energy that leaves, the loss is the wall's alone.
    one_metre = Piece(bore=wide, length=1.0)
    lost = pressure_loss((one_metre,), passing, curve, heavy, leaves=False)
    stress = lost.total * wide / 4.0
    weber = None
    if surface_tension is not None:
        tension = all_above_zero(surface_tension, "surface_tension_n_m")
        weber = np.asarray(heavy * velocity**2 * wide / tension)
    return Jet(
        velocity=np.asarray(velocity),
        wall_stress=np.asarray(stress),
        wall_rate=curve.rate(stress),
        reynolds=lost.reynolds[0],
        weber=weber,
    )


def _factor(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return Harkins and Brown's factor at r/V^(1/3)."""
    return np.asarray(np.polynomial.polynomial.polyval(x, np.asarray(_SHAPE)))
