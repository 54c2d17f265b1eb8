"""Viscosity against temperature from what was measured: a constant, Andrade, or Vogel.

One point gives a constant, two a curve after Andrade, three or more one after Vogel. Curves
are fitted to the logarithm, because a viscometer is good to a share of its reading.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput, OutsideModel
from fillwright.science.given_many import all_above_zero, all_inside
from fillwright.science.product import ZERO_C

__all__ = ["EXTRAPOLATED_FROM", "ViscosityFit", "ViscosityModel", "fit_viscosity"]

EXTRAPOLATED_FROM: Final = 5.0
"""Further outside the measured temperatures than this, an answer is extrapolated. [K]"""
_COLDEST, _HOTTEST = -200.0, 1000.0
_POLE_CLEAR: Final = 10.0
_LOWEST_POLE: Final = -20_000.0
_UNKNOWN_SLOPE: Final = 0.06
_READING: Final = 0.05
_STEPS: Final = 200


class ViscosityModel(StrEnum):
    """How the viscosity depends on temperature."""

    CONSTANT = "constant"
    ANDRADE = "andrade"
    VOGEL = "vogel"


_POINTS_FOR: Final = {
    ViscosityModel.CONSTANT: 1,
    ViscosityModel.ANDRADE: 2,
    ViscosityModel.VOGEL: 3,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ViscosityFit:
    """A curve of viscosity: ln µ = far + slope/(T - pole), T absolute.

    Attributes
    ----------
    model : ViscosityModel
        Which of the three.
    far : float
        ln of the viscosity in Pa·s at an endless temperature. [1]
    slope : float
        B of the equation, zero for a constant. [K]
    pole : float
        T0 of the equation, zero except after Vogel. [K]
    coldest, warmest : float
        Ends of the temperatures that were measured. [°C]
    residual : float
        Root mean square of what the curve leaves of ln µ. [1]
    told : tuple of str
        What a reader has to know: a fall back, a product that thickens as it warms.
    """

    model: ViscosityModel
    far: float
    slope: float
    pole: float
    coldest: float
    warmest: float
    residual: float
    told: tuple[str, ...]

    def at(self, celsius: ArrayLike) -> NDArray[np.float64]:
        """Return the viscosity at a temperature.

        Parameters
        ----------
        celsius : float or ndarray
            Temperature. [°C]

        Returns
        -------
        ndarray
            Viscosity. [Pa·s]

        Raises
        ------
        OutsideModel
            At or below the temperature where Vogel's curve has no end.
        """
        kelvin = all_inside(celsius, "at_c", low=_COLDEST, high=_HOTTEST) + ZERO_C
        if self.model is ViscosityModel.VOGEL and np.any(kelvin <= self.pole + 1.0):
            floor = self.pole + 1.0 - ZERO_C
            raise OutsideModel(
                f"at_c is {float(np.min(kelvin)) - ZERO_C:g}; the curve has no end at "
                f"{floor:.4g} °C. Measure nearer to the temperature asked for.",
                field="at_c",
                given=float(np.min(kelvin)) - ZERO_C,
                allowed=f"above {floor:.4g} °C",
            )
        return np.asarray(np.exp(self.far + self.slope / (kelvin - self.pole)))

    def is_extrapolated(self, celsius: ArrayLike) -> NDArray[np.bool_]:
        """Return where a temperature [°C] is over 5 K outside what was measured."""
        return np.asarray(self._outside(celsius) > EXTRAPOLATED_FROM)

    def spread(self, celsius: ArrayLike) -> NDArray[np.float64]:
        """Return how far the viscosity may be off, as a share, about 19 times in 20.

        Parameters
        ----------
        celsius : float or ndarray
            Temperature. [°C]

        Returns
        -------
        ndarray
            Half width of ln µ: 5 % of a reading, what the curve leaves, and outside the
            measured span 6 % for each kelvin where no slope is known, a tenth of the slope
            where one is (judgement, replaced by a measurement). [1]
        """
        outside = self._outside(celsius)
        per_kelvin = _UNKNOWN_SLOPE
        if self.model is not ViscosityModel.CONSTANT:
            edge = np.clip(np.asarray(celsius, float), self.coldest, self.warmest) + ZERO_C
            per_kelvin = 0.1 * abs(self.slope) / float(np.min(edge - self.pole)) ** 2
        return np.asarray(np.sqrt(_READING**2 + (2.0 * self.residual) ** 2) + per_kelvin * outside)

    def celsius_for(self, viscosity: float) -> float:
        """Return the temperature at which the product has a viscosity.

        Parameters
        ----------
        viscosity : float
            Viscosity wanted. [Pa·s]

        Returns
        -------
        float
            Temperature. [°C]

        Raises
        ------
        OutsideModel
            If one point was measured, or the curve never gets there.
        """
        wanted = float(np.log(all_above_zero(viscosity, "viscosity")))
        if self.slope == 0.0 or (wanted - self.far) * self.slope <= 0.0:
            raise OutsideModel(
                f"viscosity {viscosity:g} Pa·s is nowhere on this curve; measure at a second "
                "temperature, nearer to it.",
                field="viscosity",
                given=viscosity,
                allowed="a viscosity that the curve reaches",
            )
        return self.pole + self.slope / (wanted - self.far) - ZERO_C

    def _outside(self, celsius: ArrayLike) -> NDArray[np.float64]:
        """Return how far temperatures are outside the measured ones. [K]."""
        asked = np.asarray(celsius, dtype=np.float64)
        return np.maximum(np.maximum(self.coldest - asked, asked - self.warmest), 0.0)


def fit_viscosity(
    celsius: ArrayLike, viscosity: ArrayLike, *, model: ViscosityModel | None = None
) -> ViscosityFit:
    """Return the curve through measured viscosities.

    Parameters
    ----------
    celsius : array
        Temperatures; one may come more than once. [°C]
    viscosity : array
        Viscosity at each. [Pa·s]
    model : ViscosityModel, optional
        Which curve; by the number of different temperatures when left out.

    Returns
    -------
    ViscosityFit
        Through the points where there are as many as constants, else by least squares in ln µ.

    Raises
    ------
    BadInput
        If a figure is not finite or above zero, the two have different lengths, or there are
        fewer temperatures than the curve has constants.

    Notes
    -----
    Andrade, Philosophical Magazine 17, 497 (1934); Vogel, Physikalische Zeitschrift 22, 645
    (1921); both from memory. Vogel's curve is refused where its pole comes within 10 K of the
    coldest point or the product would thicken with warmth; then Andrade's stands, and is told.

    Examples
    --------
    >>> found = fit_viscosity([20.0, 40.0], [10.0, 1.0])
    >>> round(float(found.at(30.0)), 3)
    3.044
    """
    kelvin, logs, counts = _points(celsius, viscosity)
    chosen = (
        model
        or (ViscosityModel.CONSTANT, ViscosityModel.ANDRADE, ViscosityModel.VOGEL)[
            min(len(kelvin), 3) - 1
        ]
    )
    if len(kelvin) < _POINTS_FOR[chosen]:
        needs = _POINTS_FOR[chosen]
        raise BadInput(
            f"model {chosen} needs {needs} different temperatures, {len(kelvin)} given; measure "
            "more, or leave the model out.",
            field="points",
            given=len(kelvin),
            allowed=f"{needs} or more temperatures",
            code="inconsistent",
        )
    told: list[str] = []
    pole = 0.0
    if chosen is ViscosityModel.VOGEL:
        found = _pole(kelvin, logs, counts)
        if found is None:
            chosen = ViscosityModel.ANDRADE
            told.append("Vogel's curve does not fit these points; Andrade's is taken instead.")
        else:
            pole = found
    if chosen is ViscosityModel.CONSTANT:
        far, slope = float(np.average(logs, weights=counts)), 0.0
    else:
        far, slope = _line(kelvin, logs, counts, pole)
    if slope < 0.0:
        told.append("It thickens as it warms: see whether two points were swapped.")
    left = logs - far - slope / (kelvin - pole)
    return ViscosityFit(
        model=chosen,
        far=far,
        slope=slope,
        pole=pole,
        coldest=float(kelvin[0]) - ZERO_C,
        warmest=float(kelvin[-1]) - ZERO_C,
        residual=float(np.sqrt(np.average(left**2, weights=counts))),
        told=tuple(told),
    )


def _points(
    celsius: ArrayLike, viscosity: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return different temperatures [K] in order, mean ln µ [1], and how often each came [1]."""
    kelvin = np.atleast_1d(all_inside(celsius, "points", low=_COLDEST, high=_HOTTEST)) + ZERO_C
    logs = np.log(np.atleast_1d(all_above_zero(viscosity, "points")))
    if kelvin.shape != logs.shape or kelvin.ndim != 1 or not len(kelvin):
        raise BadInput(
            f"points hold {kelvin.size} temperatures and {logs.size} viscosities; give one of "
            "each for every point.",
            field="points",
            given=f"{kelvin.size} and {logs.size}",
            allowed="pairs",
            code="inconsistent",
        )
    different, where, counts = np.unique(kelvin, return_inverse=True, return_counts=True)
    return different, np.bincount(where, weights=logs) / counts, counts.astype(np.float64)


def _line(
    kelvin: NDArray[np.float64],
    logs: NDArray[np.float64],
    counts: NDArray[np.float64],
    pole: float,
) -> tuple[float, float]:
    """Return far [1] and slope [K] by least squares in ln µ at a given pole."""
    inverse = 1.0 / (kelvin - pole)
    middle, height = np.average(inverse, weights=counts), np.average(logs, weights=counts)
    away = inverse - middle
    slope = float(np.sum(counts * away * (logs - height)) / np.sum(counts * away**2))
    return float(height - slope * middle), slope


def _pole(
    kelvin: NDArray[np.float64], logs: NDArray[np.float64], counts: NDArray[np.float64]
) -> float | None:
    """Return T0 [K] of Vogel's curve, or None where it is refused."""
    highest = float(kelvin[0]) - _POLE_CLEAR
    if len(kelvin) == _POINTS_FOR[ViscosityModel.VOGEL]:
        first, last = logs[0] - logs[1], logs[1] - logs[2]
        bend = first * (kelvin[2] - kelvin[1])
        flat = last * (kelvin[1] - kelvin[0])
        if bend == flat:
            return None
        pole = float((bend * kelvin[0] - flat * kelvin[2]) / (bend - flat))
    else:
        pole = _least_pole(kelvin, logs, counts, highest)
    if not _LOWEST_POLE < pole < highest or _line(kelvin, logs, counts, pole)[1] <= 0.0:
        return None
    return pole


def _least_pole(
    kelvin: NDArray[np.float64],
    logs: NDArray[np.float64],
    counts: NDArray[np.float64],
    highest: float,
) -> float:
    """Return the T0 [K] with the least squares, far and slope being the best for each."""
    from scipy.optimize import least_squares  # noqa: PLC0415  heavy library, loaded when asked

    scale = np.sqrt(counts)

    def left(pole: float) -> float:
        far, slope = _line(kelvin, logs, counts, pole)
        return float(np.sum(counts * (logs - far - slope / (kelvin - pole)) ** 2))

    reach = kelvin[0] - np.geomspace(_POLE_CLEAR, kelvin[0] - _LOWEST_POLE, _STEPS)
    begin = float(reach[int(np.argmin([left(float(pole)) for pole in reach]))])
    far, slope = _line(kelvin, logs, counts, begin)

    def residuals(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(scale * (logs - x[0] - x[1] / (kelvin - x[2])))

    found = least_squares(
        residuals,
        [far, slope, min(begin, highest - 1e-6)],
        x_scale="jac",
        bounds=([-np.inf, -np.inf, -np.inf], [np.inf, np.inf, highest]),
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
    )
    return float(found.x[2])
