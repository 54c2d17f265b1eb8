"""Compressed air: flow through valves and needles, and emptying a chamber.

Air is an ideal gas at one temperature; reference air (ANR) is that of ISO 8778. All functions
take arrays; absolute pressures throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.given_many import all_above_zero, all_from_zero, all_inside

__all__ = [
    "AMBIENT",
    "GAS_CONSTANT",
    "REFERENCE_DENSITY",
    "REFERENCE_PRESSURE",
    "REFERENCE_TEMPERATURE",
    "AirFlow",
    "AirPassage",
    "air_flow",
    "blow_down",
    "mass_flow",
    "must_be_thinner",
    "opening_share",
]

Numbers = float | NDArray[np.float64]

AMBIENT: Final = 101_325.0
GAS_CONSTANT: Final = 287.05
REFERENCE_PRESSURE: Final = 100_000.0
REFERENCE_TEMPERATURE: Final = 293.15
REFERENCE_DENSITY: Final = 1.185
_ISO_6358: Final = "ISO 6358-1:2013, flow rate equations (from memory)"
_NEVER: Final = 1e-9
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirPassage:
    """A valve, needle or fitting that air flows through, by its two rated figures.

    Attributes
    ----------
    conductance : float or ndarray
        Sonic conductance C; 1 dm³/(s·bar) is 1e-8. [m³/(s·Pa)]
    critical_ratio : float or ndarray
        Pressure ratio b below which the flow is choked. [1]
    """

    conductance: Numbers
    critical_ratio: Numbers = 0.3

    def __post_init__(self) -> None:
        all_above_zero(self.conductance, "conductance")
        all_inside(self.critical_ratio, "critical_ratio", low=0.0, high=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirFlow:
    """What flows through a passage.

    Attributes
    ----------
    mass_flow : ndarray
        Mass of air a second. [kg/s]
    volume_flow : ndarray
        The same as a volume of reference air. [m³/s]
    is_choked : ndarray of bool
        True where the flow is at the speed of sound, so that less back pressure adds nothing.
    equation : str
        Where the equation comes from.
    """

    mass_flow: NDArray[np.float64]
    volume_flow: NDArray[np.float64]
    is_choked: NDArray[np.bool_]
    equation: str = _ISO_6358


def opening_share(ratio: ArrayLike, critical_ratio: ArrayLike) -> NDArray[np.float64]:
    """Return which share of the choked flow passes at a ratio of pressures.

    Parameters
    ----------
    ratio : float or ndarray
        Pressure behind the passage over that before it, both absolute. [1]
    critical_ratio : float or ndarray
        Ratio b of the passage. [1]

    Returns
    -------
    ndarray
        1 up to the critical ratio, 0 from a ratio of 1 on, an ellipse between. [1]

    References
    ----------
    .. [1] ISO 6358-1:2013, equations of subsonic flow; from memory.
    """
    critical = np.asarray(critical_ratio, dtype=np.float64)
    place = (np.asarray(ratio, dtype=np.float64) - critical) / (1.0 - critical)
    place = np.minimum(np.maximum(place, 0.0), 1.0)
    return np.asarray(np.sqrt((1.0 - place) * (1.0 + place)))


def mass_flow(
    passage: AirPassage,
    upstream: ArrayLike,
    downstream: ArrayLike,
    temperature: ArrayLike = REFERENCE_TEMPERATURE,
) -> NDArray[np.float64]:
    """Return the mass of air that passes in a second.

    Parameters
    ----------
    passage : AirPassage
        What it flows through.
    upstream : float or ndarray
        Pressure before the passage, absolute. [Pa]
    downstream : float or ndarray
        Pressure behind it, absolute; from the upstream one on nothing flows. [Pa]
    temperature : float or ndarray
        Temperature of the air before the passage, absolute. [K]

    Returns
    -------
    ndarray
        Mass flow, zero where the pressure behind is no lower. [kg/s]

    Notes
    -----
    q = C ρ0 p1 √(T0/T1) ψ(p2/p1) of [1]_.

    References
    ----------
    .. [1] ISO 6358-1:2013; from memory. Reference air of ISO 8778; from memory.
    """
    before = np.asarray(upstream, dtype=np.float64)
    ratio = np.asarray(downstream, dtype=np.float64) / before
    cold = np.sqrt(REFERENCE_TEMPERATURE / np.asarray(temperature, dtype=np.float64))
    share = opening_share(ratio, passage.critical_ratio)
    return np.asarray(passage.conductance * REFERENCE_DENSITY * before * cold * share)


def air_flow(
    passage: AirPassage,
    *,
    upstream: ArrayLike,
    downstream: ArrayLike,
    temperature: ArrayLike = REFERENCE_TEMPERATURE,
) -> AirFlow:
    """Return the flow through a passage, and whether it is choked.

    Parameters
    ----------
    passage : AirPassage
        What it flows through.
    upstream : float or ndarray
        Pressure before the passage, absolute. [Pa]
    downstream : float or ndarray
        Pressure behind it, absolute. [Pa]
    temperature : float or ndarray
        Temperature of the air before the passage, absolute. [K]

    Returns
    -------
    AirFlow
        Mass and volume of reference air a second.

    Raises
    ------
    BadInput
        If a pressure or the temperature is not above zero, or air would have to flow uphill.
    """
    before = all_above_zero(upstream, "p1")
    behind = all_from_zero(downstream, "p2")
    if (behind > before).any():
        raise BadInput(
            f"p2 is {behind.max():g} Pa, above p1 of {before.min():g} Pa; air flows from the "
            "higher to the lower pressure: swap them.",
            field="p2",
            given=float(behind.max()),
            allowed="p1 or less",
            code="inconsistent",
        )
    flow = mass_flow(passage, before, behind, all_above_zero(temperature, "t1"))
    return AirFlow(
        mass_flow=flow,
        volume_flow=flow / REFERENCE_DENSITY,
        is_choked=np.asarray(behind / before <= passage.critical_ratio),
    )


def blow_down(
    volume: ArrayLike,
    passage: AirPassage,
    *,
    start: ArrayLike,
    end: ArrayLike,
    ambient: float = AMBIENT,
    temperature: ArrayLike = REFERENCE_TEMPERATURE,
) -> NDArray[np.float64]:
    """Return how long a chamber of fixed volume takes to empty through a passage.

    Parameters
    ----------
    volume : float or ndarray
        Volume of the chamber. [m³]
    passage : AirPassage
        What it empties through.
    start : float or ndarray
        Pressure at the beginning, absolute. [Pa]
    end : float or ndarray
        Pressure at the end, absolute. [Pa]
    ambient : float
        Pressure it empties to, absolute. [Pa]
    temperature : float or ndarray
        Temperature of the air, kept by the walls. [K]

    Returns
    -------
    ndarray
        Time. [s]

    Raises
    ------
    BadInput
        If the end lies above the start or below the ambient.

    Notes
    -----
    Isothermal. While choked, t = V/(C ρ0 R √(T0 T)) ln(p/p'); below, with p_a/p written as
    b + (1 - b) sin θ, the rest is the integral of (1 - b)/(b + (1 - b) sin θ), taken by
    96-point Gauss-Legendre quadrature.
    """
    room = all_above_zero(volume, "volume")
    first = all_above_zero(start, "from")
    last = all_above_zero(end, "to")
    warm = all_above_zero(temperature, "t1")
    _must_be_downhill(first, last, ambient)
    critical = np.asarray(passage.critical_ratio, dtype=np.float64)
    rate = passage.conductance * REFERENCE_DENSITY * GAS_CONSTANT
    constant = room / (rate * np.sqrt(REFERENCE_TEMPERATURE * warm))
    # A passage with no critical ratio is never choked: its edge lies beyond any pressure.
    edge = ambient / np.maximum(critical, _NEVER)
    choked = np.log(np.maximum(first, edge) / np.maximum(last, edge))
    begin = _angle(np.minimum(first, edge), ambient, critical)
    close = _angle(np.minimum(last, edge), ambient, critical)
    half = 0.5 * (close - begin)[..., np.newaxis]
    theta = begin[..., np.newaxis] + half * (1.0 + _NODES)
    wide = critical[..., np.newaxis]
    inner = (1.0 - wide) / (wide + (1.0 - wide) * np.sin(theta))
    return np.asarray(constant * (choked + np.sum(half * _WEIGHTS * inner, axis=-1)))


def must_be_thinner(rod: NDArray[np.float64], bore: NDArray[np.float64]) -> None:
    """Refuse a rod that is no thinner than the bore it runs in.

    Parameters
    ----------
    rod : ndarray
        Diameter of the rod. [m]
    bore : ndarray
        Bore of the air cylinder. [m]

    Raises
    ------
    BadInput
        If one rod is no thinner than its bore.
    """
    thick = rod >= bore
    if np.any(thick):
        worst = float(np.max(np.where(thick, rod, 0.0)))
        raise BadInput(
            f"rod is {1e3 * worst:g} mm, no thinner than the bore of the air cylinder "
            f"({1e3 * float(np.min(bore)):g} mm); measure both again.",
            field="rod",
            given=worst,
            allowed="below the bore of the air cylinder",
            code="inconsistent",
        )


def _must_be_downhill(first: NDArray[np.float64], last: NDArray[np.float64], low: float) -> None:
    """Refuse an emptying that ends above its start or below the air around."""
    if (last > first).any():
        raise BadInput(
            f"to is {last.max():g} Pa, above from ({first.min():g} Pa); a chamber that empties "
            "ends lower than it starts.",
            field="to",
            given=float(last.max()),
            allowed="the starting pressure or less",
            code="inconsistent",
        )
    if (last < low).any():
        raise BadInput(
            f"to is {last.min():g} Pa, below the air around ({low:g} Pa); it never gets there.",
            field="to",
            given=float(last.min()),
            allowed=f"{low:g} Pa or more",
            code="inconsistent",
        )


def _angle(
    pressure: NDArray[np.float64], ambient: float, critical: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the angle at which a chamber's pressure lies on the ellipse of subsonic flow."""
    place = (ambient / pressure - critical) / (1.0 - critical)
    return np.asarray(np.arcsin(np.minimum(np.maximum(place, 0.0), 1.0)))
