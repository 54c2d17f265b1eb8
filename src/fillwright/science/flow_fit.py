"""A flow curve from viscometer readings: Newtonian, power law, Bingham, Herschel and Bulkley.

Relative residuals of stress are made least, because a rotational viscometer is good to a share
of its reading; the simplest of the curves that does as well as the others is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.given_many import all_above_zero

__all__ = ["FlowFit", "FlowModel", "fit_flow_curve"]

FlowModel = Literal["newtonian", "power-law", "bingham", "herschel-bulkley"]

_CONSTANTS: Final[dict[FlowModel, int]] = {
    "newtonian": 1,
    "power-law": 2,
    "bingham": 2,
    "herschel-bulkley": 3,
}
_MOST_YIELD: Final = 0.999
_LEAST_INDEX, _MOST_INDEX = 0.1, 1.8
_EXACT: Final = 1e-6
_TIE: Final = 2.0
_GRID: Final = 80
_LEAST_FOR_ALL: Final = 4
_REACH: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowFit:
    """A flow curve and how well it fits.

    Attributes
    ----------
    model : str
        ``"newtonian"``, ``"power-law"``, ``"bingham"`` or ``"herschel-bulkley"``.
    curve : FlowCurve
        The curve itself.
    error : float
        Root mean square of the relative residuals of stress. [1]
    least_rate, most_rate : float
        Ends of the shear rates that were measured. [1/s]
    told : tuple of str
        What a reader has to know.
    """

    model: FlowModel
    curve: FlowCurve
    error: float
    least_rate: float
    most_rate: float
    told: tuple[str, ...]

    def is_beyond(self, rate: ArrayLike) -> NDArray[np.bool_]:
        """Return where a shear rate [1/s] is over three times outside what was measured."""
        asked = np.asarray(rate, dtype=np.float64)
        return np.asarray((asked > _REACH * self.most_rate) | (asked < self.least_rate / _REACH))


def fit_flow_curve(rate: ArrayLike, stress: ArrayLike) -> FlowFit:
    """Return the flow curve through viscometer readings.

    Parameters
    ----------
    rate : array
        Shear rates. [1/s]
    stress : array
        Stress at each: apparent viscosity times rate. [Pa]

    Returns
    -------
    FlowFit
        The simplest curve that is exact; else by Akaike's criterion with its correction for
        few points, within 2 of which the fewer constants win.

    Raises
    ------
    BadInput
        If a figure is not above zero or the two have different lengths.

    Notes
    -----
    Herschel and Bulkley, Kolloid-Zeitschrift 39, 291 (1926); Hurvich and Tsai, Biometrika 76,
    297 (1989); from memory. For a given yield stress the rest is a line in ln(stress - yield),
    which gives the start; all constants are then polished together. Fewer than four points
    fix no curve of three constants. The criterion's correction takes one point to spare where
    there is none.

    Examples
    --------
    >>> found = fit_flow_curve([1.0, 10.0, 100.0], [8.0, 25.298, 80.0])
    >>> found.model, round(float(found.curve.index), 3)
    ('power-law', 0.5)
    """
    rates = np.atleast_1d(all_above_zero(rate, "points"))
    stresses = np.atleast_1d(all_above_zero(stress, "points"))
    if rates.shape != stresses.shape or rates.ndim != 1:
        raise BadInput(
            f"points hold {rates.size} shear rates and {stresses.size} readings; give one of "
            "each for every point.",
            field="points",
            given=f"{rates.size} and {stresses.size}",
            allowed="pairs",
            code="inconsistent",
        )
    found = _candidates(rates, stresses)
    model = _best(found, len(rates))
    error, start, consistency, index = found[model]
    return FlowFit(
        model=model,
        curve=FlowCurve(yield_stress=start, consistency=consistency, index=index),
        error=error,
        least_rate=float(rates.min()),
        most_rate=float(rates.max()),
        told=_told(model, len(np.unique(rates))),
    )


CurveTried = tuple[float, float, float, float]


def _candidates(
    rates: NDArray[np.float64], stresses: NDArray[np.float64]
) -> dict[FlowModel, CurveTried]:
    """Return error [1], yield [Pa], consistency [Pa·sⁿ] and index [1] of each curve to try."""
    ratio = rates / stresses
    found: dict[FlowModel, CurveTried] = {}
    plain = float(ratio.sum() / np.square(ratio).sum())
    found["newtonian"] = _with_error(rates, stresses, 0.0, plain, 1.0)
    different = len(np.unique(rates))
    if different == 1:
        return found
    line = np.polyfit(np.log(rates), np.log(stresses), 1)
    index = float(np.clip(line[0], _LEAST_INDEX, _MOST_INDEX))
    log_k = float(np.mean(np.log(stresses) - index * np.log(rates)))
    found["power-law"] = _polished(rates, stresses, (None, log_k, index))
    start, plastic = np.linalg.lstsq(
        np.column_stack([1.0 / stresses, ratio]), np.ones(len(rates)), rcond=None
    )[0]
    if start > 0.0 and plastic > 0.0:
        found["bingham"] = _with_error(rates, stresses, float(start), float(plastic), 1.0)
    if different >= _LEAST_FOR_ALL:
        found["herschel-bulkley"] = _polished(rates, stresses, _started(rates, stresses))
    return found


def _started(
    rates: NDArray[np.float64], stresses: NDArray[np.float64]
) -> tuple[float, float, float]:
    """Return yield [Pa], ln K [1] and index [1] on a grid of yields, the rest a line in ln."""
    tries = np.linspace(0.0, _MOST_YIELD, _GRID) * stresses.min()
    over = np.log(stresses[np.newaxis, :] - tries[:, np.newaxis])
    away = np.log(rates) - np.log(rates).mean()
    index = np.clip(over @ away / (away @ away), _LEAST_INDEX, _MOST_INDEX)
    log_k = over.mean(axis=1) - index * np.log(rates).mean()
    model = tries[:, None] + np.exp(log_k[:, None] + index[:, None] * np.log(rates))
    place = int(np.argmin(np.square(model / stresses - 1.0).sum(axis=1)))
    return float(tries[place]), float(log_k[place]), float(index[place])


def _polished(
    rates: NDArray[np.float64],
    stresses: NDArray[np.float64],
    begin: tuple[float | None, float, float],
) -> CurveTried:
    """Return a curve with least relative residuals; no yield where it begins with None."""
    from scipy.optimize import least_squares  # noqa: PLC0415  heavy library, loaded when asked

    logs, has_yield = np.log(rates), begin[0] is not None
    least, most = float(stresses.min()), [np.inf, _MOST_INDEX]
    low: list[float] = [-np.inf, _LEAST_INDEX]
    x = [begin[1], begin[2]]
    if begin[0] is not None:
        share = min(max(begin[0] / least, 1e-9), _MOST_YIELD)
        x, low, most = [share, *x], [0.0, *low], [1.0, *most]

    def parts(x: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        return (float(x[0]) * least if has_yield else 0.0), np.exp(x[-2] + x[-1] * logs)

    def residuals(x: NDArray[np.float64]) -> NDArray[np.float64]:
        start, flowing = parts(x)
        return np.asarray((start + flowing) / stresses - 1.0)

    def slopes(x: NDArray[np.float64]) -> NDArray[np.float64]:
        share = parts(x)[1] / stresses
        columns = [share, share * logs]
        return np.column_stack([least / stresses, *columns] if has_yield else columns)

    done = least_squares(
        residuals, x, jac=slopes, bounds=(low, most), x_scale="jac", xtol=1e-15, ftol=1e-15,
        gtol=1e-15, max_nfev=2000,
    )  # fmt: skip
    start, _ = parts(done.x)
    return _with_error(rates, stresses, start, float(np.exp(done.x[-2])), float(done.x[-1]))


def _with_error(
    rates: NDArray[np.float64],
    stresses: NDArray[np.float64],
    start: float,
    consistency: float,
    index: float,
) -> CurveTried:
    """Return a curve's constants behind its root mean square error [1]."""
    left = (start + consistency * rates**index) / stresses - 1.0
    return float(np.sqrt(np.mean(left**2))), start, consistency, index


def _best(found: dict[FlowModel, CurveTried], count: int) -> FlowModel:
    """Return the simplest exact curve, else the one that Akaike's criterion takes."""
    exact = [model for model, one in found.items() if one[0] < _EXACT]
    if exact:
        return min(exact, key=_CONSTANTS.__getitem__)
    score = {model: _akaike(one[0], _CONSTANTS[model], count) for model, one in found.items()}
    near = [model for model in found if score[model] <= min(score.values()) + _TIE]
    return min(near, key=lambda model: (_CONSTANTS[model], score[model]))


def _akaike(error: float, constants: int, count: int) -> float:
    """Return Akaike's criterion, corrected for few points. [1]."""
    spare = max(count - constants - 1, 1)
    return (
        2.0 * count * math.log(error) + 2.0 * constants + 2.0 * constants * (constants + 1) / spare
    )


def _told(model: FlowModel, different: int) -> tuple[str, ...]:
    """Return what a reader has to know of a curve from so few shear rates."""
    told = ["No thixotropy: give the readings taken on the way down."]
    if different == 1:
        told.append("One shear rate is no flow curve: in a nozzle it may run far thinner.")
    elif different < _LEAST_FOR_ALL and model != "newtonian":
        told.append("Fewer than four shear rates cannot show a yield stress with thinning.")
    return tuple(told)
