"""What a reading on a weighing scale is worth: buoyancy and conformance.

Dose-to-dose comparison needs no buoyancy; claims about mass or volume do. Rounding is in
`rounding`, the choice of scale in `scale_check`, component studies in `repeatability`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import OutsideModel
from fillwright.science.given import above_zero, finite, not_negative, share
from fillwright.science.rounding import RoundedSd, rounded_sd, rounding_bias

__all__ = [
    "AcceptanceLimit",
    "RoundedSd",
    "acceptance_limit",
    "air_density",
    "conformance_probability",
    "mass_from_reading",
    "rounded_sd",
    "rounding_bias",
]

_ZERO_CELSIUS = 273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptanceLimit:
    """How far from the target a single reading may lie and still be taken as conforming.

    Attributes
    ----------
    limit : float or None
        Largest deviation that is accepted; none where no reading reaches the probability. [kg]
    guard_band : float or None
        Tolerance less the limit. [kg]
    probability : float
        Conformance probability at the limit. [1]
    equation : str
        Where the equation comes from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    limit: float | None
    guard_band: float | None
    probability: float
    equation: str
    assumptions: tuple[str, ...]
    because: str


def air_density(temperature: float, *, pressure: float, humidity: float) -> float:
    """Return the density of moist air.

    Parameters
    ----------
    temperature : float
        Air temperature, absolute. [K]
    pressure : float
        Air pressure at the place, not reduced to sea level. [Pa]
    humidity : float
        Relative humidity as a share. [1]

    Returns
    -------
    float
        Density of the air. [kg/m³]

    Raises
    ------
    OutsideModel
        If the air is beyond 0 to 50 °C, 500 to 1100 hPa or 0 to 100 % humidity.

    Notes
    -----
    Simplified equation of [1]_, there said to be good to 0.02 % for 900 to 1100 hPa,
    10 to 30 °C and below 80 % humidity. Beyond that, and within the limits checked here, it
    stays well inside what buoyancy of a dose needs.

    References
    ----------
    .. [1] OIML R 111-1:2004, Annex E, equation E.3-1; from memory.

    Examples
    --------
    >>> round(air_density(293.15, pressure=101325.0, humidity=0.5), 4)
    1.1993
    """
    celsius = finite(temperature, "temperature") - _ZERO_CELSIUS
    hectopascal = finite(pressure, "pressure") / 100.0
    percent = finite(humidity, "humidity") * 100.0
    _within(celsius, 0.0, 50.0, "temperature", "°C")
    _within(hectopascal, 500.0, 1100.0, "pressure", "hPa")
    _within(percent, 0.0, 100.0, "humidity", "%")
    vapour = 0.009 * percent * math.exp(0.061 * celsius)
    return (0.34848 * hectopascal - vapour) / (_ZERO_CELSIUS + celsius)


def mass_from_reading(
    reading: ArrayLike,
    *,
    liquid_density: float,
    air_density: float,
    weights_density: float = 8000.0,
) -> float | NDArray[np.float64]:
    """Return the mass of a liquid from what a scale shows in air.

    Parameters
    ----------
    reading : float or ndarray
        Net reading of a scale adjusted with weights of `weights_density`. [kg]
    liquid_density : float
        Density of the liquid weighed. [kg/m³]
    air_density : float
        Density of the air at the scale. [kg/m³]
    weights_density : float
        Density of the weights the scale was adjusted with; 8000 by convention. [kg/m³]

    Returns
    -------
    float or ndarray
        Mass. [kg]

    Raises
    ------
    BadInput
        If a density is not above zero.
    OutsideModel
        If the air is not lighter than the liquid.

    Notes
    -----
    m = w (1 - ρa/ρw) / (1 - ρa/ρl), the buoyancy part of the Z factor of [1]_.

    References
    ----------
    .. [1] ISO 8655-6:2022, annex on the conversion of balance readings; from memory.

    Examples
    --------
    >>> round(mass_from_reading(0.25, liquid_density=998.2, air_density=1.2), 6)
    0.250263
    """
    liquid = above_zero(liquid_density, "liquid_density")
    air = not_negative(air_density, "air_density")
    weights = above_zero(weights_density, "weights_density")
    if air >= min(liquid, weights):
        raise OutsideModel(
            f"air_density is {air:g}; buoyancy needs air lighter than liquid and weights.",
            field="air_density",
            given=air,
            allowed="below the density of the liquid",
        )
    mass = np.asarray(reading, dtype=np.float64) * ((1.0 - air / weights) / (1.0 - air / liquid))
    return float(mass) if mass.ndim == 0 else mass


def conformance_probability(
    deviation: ArrayLike, *, tolerance: float, standard_uncertainty: float
) -> float | NDArray[np.float64]:
    """Return the probability that the true dose is inside, given one reading.

    Parameters
    ----------
    deviation : float or ndarray
        Reading less target. [kg]
    tolerance : float
        Half width of the band about the target. [kg]
    standard_uncertainty : float
        Standard uncertainty of the reading. [kg]

    Returns
    -------
    float or ndarray
        Probability of conformance. [1]

    Raises
    ------
    BadInput
        If the tolerance or the uncertainty is not above zero.

    Notes
    -----
    Φ((t - d)/u) - Φ((-t - d)/u): normal error, nothing known of the dose beforehand [1]_.

    References
    ----------
    .. [1] JCGM 106:2012, section 7; from memory.

    Examples
    --------
    >>> round(conformance_probability(0.0, tolerance=0.002, standard_uncertainty=0.001), 4)
    0.9545
    """
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    band = above_zero(tolerance, "tolerance")
    spread = above_zero(standard_uncertainty, "standard_uncertainty")
    off = np.abs(np.asarray(deviation, dtype=np.float64))
    inside = ndtr((band - off) / spread) - ndtr((-band - off) / spread)
    return float(inside) if inside.ndim == 0 else np.asarray(inside)


def acceptance_limit(
    tolerance: float, *, standard_uncertainty: float, probability: float
) -> AcceptanceLimit:
    """Return the largest deviation that may be accepted for a wanted probability.

    Parameters
    ----------
    tolerance : float
        Half width of the band about the target. [kg]
    standard_uncertainty : float
        Standard uncertainty of the reading. [kg]
    probability : float
        Conformance probability that every accepted reading must have. [1]

    Returns
    -------
    AcceptanceLimit
        The limit and the guard band, or none where no reading reaches the probability.

    Raises
    ------
    BadInput
        If the tolerance or the uncertainty is not above zero, or the probability is no share.

    Notes
    -----
    Solves ``conformance_probability(limit) = probability``; two-sided, so it differs from
    the one-sided guard band Φ⁻¹(p) u of [1]_ only where the uncertainty is large.

    References
    ----------
    .. [1] JCGM 106:2012, section 8; from memory.

    Examples
    --------
    >>> answer = acceptance_limit(0.005, standard_uncertainty=0.001, probability=0.95)
    >>> round(answer.guard_band, 6)
    0.001645
    """
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked

    band = above_zero(tolerance, "tolerance")
    spread = above_zero(standard_uncertainty, "standard_uncertainty")
    wanted = share(probability, "probability")

    def surplus(deviation: float) -> float:
        return (
            float(conformance_probability(deviation, tolerance=band, standard_uncertainty=spread))
            - wanted
        )

    limit: float | None = None
    if surplus(0.0) >= 0.0:
        limit = float(brentq(surplus, 0.0, band + 40.0 * spread, xtol=1e-15 * band, rtol=1e-14))
        because = f"Readings up to {1e3 * limit:.4g} g off are inside with {wanted:g}."
    else:
        because = f"No reading reaches {wanted:g}: the uncertainty is too large for the tolerance."
    return AcceptanceLimit(
        limit=limit,
        guard_band=None if limit is None else band - limit,
        probability=wanted,
        equation="JCGM 106:2012 section 8 (from memory)",
        assumptions=(
            "Errors of the scale are normal.",
            "Nothing is known of the dose before it is weighed.",
        ),
        because=because,
    )


def _within(value: float, low: float, high: float, field: str, unit: str) -> None:
    """Refuse a figure outside the range that the air equation is used for."""
    if not low <= value <= high:
        raise OutsideModel(
            f"{field} is {value:g} {unit}; the air equation is used from {low:g} to "
            f"{high:g} {unit}.",
            field=field,
            given=f"{value:g} {unit}",
            allowed=f"{low:g} to {high:g} {unit}",
        )
