"""The line behind trimming: dose = offset + slope · setting + hand-wheel error + scatter.

All Gaussian given the shot sd, which is unknown on a grid of nine values; conditioning is
exact and in one piece, so that leaving one shot out costs nothing. Own model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.rounding import rounding_bias

__all__ = [
    "Belief",
    "Outlook",
    "Posterior",
    "condition",
    "outlook_at",
    "outlook_here",
    "prior_belief",
]

_Floats = NDArray[np.float64]

_GRID = np.linspace(-2.0, 2.0, 9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """What is taken for granted before the first shot.

    Attributes
    ----------
    offset_var : float
        Variance of the dose at setting zero. [kg²]
    slope_mean : float
        Expected dose gained per volume of scale. [kg/m³]
    slope_var : float
        Variance of it. [kg²/m⁶]
    wheel_var : float
        Variance of the dose by the hand wheel, redrawn at each move. [kg²]
    round_var : float
        Variance of rounding one reading, d²/12. [kg²]
    shot_sd : ndarray, shape (g,)
        Grid of the sd of a shot. [kg]
    bias_var : ndarray, shape (g,)
        Part of the rounding that repeats cannot remove. [kg²]
    weight : ndarray, shape (g,)
        Prior weight of each grid point. [1]
    """

    offset_var: float
    slope_mean: float
    slope_var: float
    wheel_var: float
    round_var: float
    shot_sd: _Floats
    bias_var: _Floats
    weight: _Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """What is believed after some shots, one row a grid point of the shot sd.

    Attributes
    ----------
    weight : ndarray, shape (g,)
        Weight of each grid point. [1]
    line : ndarray, shape (g, 2)
        Mean of offset and slope. [kg, kg/m³]
    cov : ndarray, shape (g, 2, 2)
        Covariance of offset and slope. [kg², kg²/m³, kg²/m⁶]
    here : ndarray, shape (g,)
        Mean of the mean dose at the last stay. [kg]
    here_var : ndarray, shape (g,)
        Variance of it. [kg²]
    tail : ndarray, shape (n,)
        Two-sided chance of each shot, all others known. [1]
    """

    weight: _Floats
    line: _Floats
    cov: _Floats
    here: _Floats
    here_var: _Floats
    tail: _Floats


def prior_belief(
    *,
    target: float,
    cylinder: float,
    slope: float,
    slope_sd: float,
    offset_sd: float,
    wheel_sd: float,
    shot_sd: float,
    shot_spread: float,
    readability: float,
) -> Belief:
    """Return the belief before the first shot.

    Parameters
    ----------
    target : float
        Reading wanted of the mean dose; scatter is taken constant near it. [kg]
    cylinder : float
        Full scale. [m³]
    slope : float
        Expected dose gained per volume of scale. [kg/m³]
    slope_sd : float
        Sd of it. [kg/m³]
    offset_sd : float
        Sd of the dose at setting zero, as a share of the full cylinder. [1]
    wheel_sd : float
        Sd of the setting. [m³]
    shot_sd : float
        Middle of the grid of shot sds, as a share of the target. [1]
    shot_spread : float
        Sd of the log of the shot sd. [1]
    readability : float
        Step of the weighing scale. [kg]

    Returns
    -------
    Belief
        Variances, grid and weights.
    """
    sds = shot_sd * target * np.exp(shot_spread * _GRID)
    weight = np.exp(-0.5 * _GRID**2)
    bias = np.asarray(rounding_bias(readability, sd=sds))
    return Belief(
        offset_var=(offset_sd * cylinder * slope) ** 2,
        slope_mean=slope,
        slope_var=slope_sd**2,
        wheel_var=(wheel_sd * slope) ** 2,
        round_var=readability**2 / 12.0,
        shot_sd=sds,
        bias_var=bias**2,
        weight=weight / float(np.sum(weight)),
    )


def condition(
    belief: Belief,
    settings: _Floats,
    stays: NDArray[np.int64],
    readings: _Floats,
    *,
    here: float,
    last: int,
) -> Posterior:
    """Return what is believed after the shots given.

    Parameters
    ----------
    belief : Belief
        What was believed before.
    settings : ndarray, shape (n,)
        Setting of each shot. [m³]
    stays : ndarray of int, shape (n,)
        Number of the stay of each shot.
    readings : ndarray, shape (n,)
        Reading of each shot. [kg]
    here : float
        Setting of the last stay. [m³]
    last : int
        Number of the last stay, which may have no shot among these.

    Returns
    -------
    Posterior
        Line, mean dose here and the chance of each shot given the others.

    Notes
    -----
    Gaussian conditioning; leaving one out by the inverse covariance S⁻¹: residual
    (S⁻¹r)_i / (S⁻¹)_ii with variance 1 / (S⁻¹)_ii (standard identity, checked in the tests
    against leaving the shot out). Rounding has a part shared by a whole stay, which repeats
    do not remove, and a part that averages.
    """
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    size = readings.size
    grid = belief.shot_sd.size
    spread = np.array([belief.offset_var, belief.slope_var])
    rows = np.column_stack([np.ones(size), settings])
    line_cov = spread[:, None] * rows.T
    same = (stays[:, None] == stays[None, :]).astype(np.float64)
    noise = belief.shot_sd**2 + belief.round_var - belief.bias_var
    total = (
        rows @ line_cov
        + same * (belief.wheel_var + belief.bias_var)[:, None, None]
        + np.eye(size) * noise[:, None, None]
    )
    scale = float(np.max(spread[0] + noise))
    inverse = np.linalg.inv(total / scale) / scale
    residual = readings - belief.slope_mean * settings
    pulled = inverse @ residual
    log_det = np.linalg.slogdet(total / scale)[1]
    log_fit = -0.5 * (pulled @ residual + log_det)
    weight = belief.weight * np.exp(log_fit - float(np.max(log_fit)))

    row = np.array([1.0, here])
    here_cov = row @ line_cov + belief.wheel_var * (stays == last)
    here_prior = belief.offset_var + here**2 * belief.slope_var + belief.wheel_var
    line = np.array([0.0, belief.slope_mean]) + pulled @ line_cov.T
    cov = np.diag(spread) - line_cov @ inverse @ line_cov.T
    here_var = here_prior - np.einsum("i,gij,j->g", here_cov, inverse, here_cov)

    own = np.diagonal(inverse, axis1=1, axis2=2)
    sds_off = np.abs(pulled) / np.sqrt(own)
    # Evidence of all the others alone, so that an odd shot cannot excuse itself.
    log_others = log_fit[:, None] + 0.5 * (sds_off**2 - np.log(own * scale))
    others = belief.weight[:, None] * np.exp(
        log_others - np.max(log_others, axis=0, initial=-math.inf)
    )
    tail = np.sum(others * 2.0 * ndtr(-sds_off), axis=0) / np.sum(others, axis=0)
    return Posterior(
        weight=weight / float(np.sum(weight)),
        line=line.reshape(grid, 2),
        cov=cov,
        here=belief.slope_mean * here + pulled @ here_cov,
        here_var=np.maximum(here_var, 0.0),
        tail=np.asarray(tail),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What a setting promises: the mean dose there and the next shot.

    Attributes
    ----------
    place : float
        The setting. [m³]
    mean : ndarray, shape (g,)
        Mean of the mean dose there. [kg]
    sd : ndarray, shape (g,)
        Its sd. [kg]
    shot_sd : ndarray, shape (g,)
        Sd of the next reading there. [kg]
    weight : ndarray, shape (g,)
        Weight of each grid point. [1]
    """

    place: float
    mean: _Floats
    sd: _Floats
    shot_sd: _Floats
    weight: _Floats

    def mean_between(self, low: float, high: float) -> float:
        """Return the probability that the mean dose lies between two figures.

        Parameters
        ----------
        low : float
            Lower figure. [kg]
        high : float
            Upper figure. [kg]

        Returns
        -------
        float
            Probability. [1]
        """
        from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

        ends = ndtr((high - self.mean) / self.sd) - ndtr((low - self.mean) / self.sd)
        return float(self.weight @ ends)

    def shot_above(self, limit: float) -> float:
        """Return the probability that the next reading passes a limit.

        Parameters
        ----------
        limit : float
            The limit. [kg]

        Returns
        -------
        float
            Probability. [1]
        """
        from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

        return float(self.weight @ ndtr((self.mean - limit) / self.shot_sd))

    def mean_quantile(self, probability: float) -> float:
        """Return the figure that the mean dose stays below with a probability.

        Parameters
        ----------
        probability : float
            The probability. [1]

        Returns
        -------
        float
            The figure. [kg]
        """
        return _quantile(self.weight, self.mean, self.sd, probability)

    def shot_quantile(self, probability: float) -> float:
        """Return the figure that the next reading stays below with a probability.

        Parameters
        ----------
        probability : float
            The probability. [1]

        Returns
        -------
        float
            The figure. [kg]
        """
        return _quantile(self.weight, self.mean, self.shot_sd, probability)


def outlook_at(belief: Belief, after: Posterior, place: float) -> Outlook:
    """Return what a setting promises when the wheel is brought to it anew.

    Parameters
    ----------
    belief : Belief
        The model's constants.
    after : Posterior
        What is believed now.
    place : float
        The setting. [m³]

    Returns
    -------
    Outlook
        The promise, with a fresh hand-wheel error.
    """
    row = np.array([1.0, place])
    var = np.einsum("i,gij,j->g", row, after.cov, row) + belief.wheel_var
    return _outlook(belief, after, place=place, mean=after.line @ row, var=var)


def outlook_here(belief: Belief, after: Posterior, place: float) -> Outlook:
    """Return what the last stay promises when the wheel is left alone.

    Parameters
    ----------
    belief : Belief
        The model's constants.
    after : Posterior
        What is believed now.
    place : float
        The setting of the last stay. [m³]

    Returns
    -------
    Outlook
        The promise, with the hand-wheel error as far as the shots here show it.
    """
    return _outlook(belief, after, place=place, mean=after.here, var=after.here_var)


def _outlook(
    belief: Belief, after: Posterior, *, place: float, mean: _Floats, var: _Floats
) -> Outlook:
    """Return the promise of one setting from mean and variance of its mean dose."""
    noise = belief.shot_sd**2 + belief.round_var
    floor = 1e-24 * noise
    return Outlook(
        place=place,
        mean=mean,
        sd=np.sqrt(np.maximum(var, floor)),
        shot_sd=np.sqrt(np.maximum(var, 0.0) + noise),
        weight=after.weight,
    )


def _quantile(weight: _Floats, mean: _Floats, sd: _Floats, probability: float) -> float:
    """Return the quantile of a mixture of normals."""
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked
    from scipy.special import ndtr, ndtri  # noqa: PLC0415  heavy library, loaded when asked

    each = mean + float(ndtri(probability)) * sd
    # Rounding may leave the root a hair outside its exact bracket, so that is widened a little.
    hair = 1e-6 * float(np.max(sd))
    low, high = float(np.min(each)) - hair, float(np.max(each)) + hair
    if hair == 0.0:
        return high
    return float(
        brentq(lambda x: float(weight @ ndtr((x - mean) / sd)) - probability, low, high, rtol=1e-9)
    )
