"""The line behind trimming: dose = offset + slope · setting + hand-wheel error + scatter.

Beside the line: air that still leaves, creep from shot to shot, play of the wheel from above.
Gaussian given a cell of (shot sd, pace of the air); conditioning is exact. Own model.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.rounding import rounding_bias
from fillwright.science.trim_step import Taken

__all__ = ["AIR", "CREEP", "LINE", "PLAY", "Belief", "Posterior", "condition", "prior_belief"]

_Floats = NDArray[np.float64]

_GRID = np.linspace(-2.0, 4.0, 13)
_TAIL = 6.0
_FADES = (1.5, 4.0)
"""Doses in which the shortfall by air falls to 1/e; invented, as in priming 1 to 6."""

LINE = slice(0, 2)
AIR, CREEP, PLAY = 2, 3, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """What is taken for granted before the first shot; one row a cell.

    Attributes
    ----------
    mean : ndarray, shape (g, 5)
        Means of offset, slope, shortfall of the first shot, creep a shot, play.
        [kg, kg/m³, kg, kg, m³]
    cov : ndarray, shape (g, 5, 5)
        Their covariance, each cell. [product of the units of both]
    wheel_var : float
        Variance of the dose by the hand wheel, redrawn at each move. [kg²]
    round_var : float
        Variance of rounding one reading, d²/12. [kg²]
    shot_sd : ndarray, shape (g,)
        Sd of a shot. [kg]
    bias_var : ndarray, shape (g,)
        Part of the rounding that repeats cannot remove. [kg²]
    fade : ndarray, shape (g,)
        Doses in which the shortfall by air falls to 1/e. [1]
    weight : ndarray, shape (g,)
        Prior weight of each cell. [1]
    """

    mean: _Floats
    cov: _Floats
    wheel_var: float
    round_var: float
    shot_sd: _Floats
    bias_var: _Floats
    fade: _Floats
    weight: _Floats

    def row(self, place: float, *, shot: float, now: float, above: float) -> _Floats:
        """Return what multiplies the five unknowns in the dose of one shot.

        Parameters
        ----------
        place : float
            The setting. [m³]
        shot : float
            Number of the shot, counted from 0; infinite for a dose without air. [1]
        now : float
            Number of the last shot so far, where the creep is counted from. [1]
        above : float
            1 where the setting was come to from above, else 0. [1]

        Returns
        -------
        ndarray, shape (g, 5)
            One row a cell. [kg per unit of each unknown]
        """
        rows = np.empty_like(self.mean)
        rows[:, 0] = 1.0
        rows[:, 1] = place
        rows[:, AIR] = -np.exp(-shot / self.fade)
        rows[:, CREEP] = shot - now if math.isfinite(shot) else 0.0
        rows[:, PLAY] = above * self.mean[:, 1]
        return rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """What is believed after some shots, one row a cell.

    Attributes
    ----------
    weight : ndarray, shape (g,)
        Weight of each cell. [1]
    mean : ndarray, shape (g, 5)
        Means of the five unknowns. [kg, kg/m³, kg, kg, m³]
    cov : ndarray, shape (g, 5, 5)
        Their covariance. [product of the units of both]
    here : ndarray, shape (g,)
        Mean of the mean dose at the last stay, without air. [kg]
    here_var : ndarray, shape (g,)
        Variance of it. [kg²]
    next_here : ndarray, shape (g,)
        Mean of the mean of the next shot there, with the air still left. [kg]
    next_here_var : ndarray, shape (g,)
        Variance of it. [kg²]
    tail : ndarray, shape (n,)
        Two-sided chance of each shot, all others known. [1]
    shots : int
        How many shots were fired up to the last that is believed.
    """

    weight: _Floats
    mean: _Floats
    cov: _Floats
    here: _Floats
    here_var: _Floats
    next_here: _Floats
    next_here_var: _Floats
    tail: _Floats
    shots: int


def prior_belief(
    *,
    target: float,
    line: _Floats,
    line_cov: _Floats,
    wheel_sd: float,
    shot_sd: float,
    shot_spread: float,
    readability: float,
    air: float = 0.0,
    air_chance: float = 0.0,
    creep_sd: float = 0.0,
    play: float = 0.0,
    play_sd: float = 0.0,
) -> Belief:
    """Return the belief before the first shot.

    Parameters
    ----------
    target : float
        Reading wanted of the mean dose; scatter is taken constant near it. [kg]
    line : ndarray, shape (2,)
        Expected offset and slope. [kg, kg/m³]
    line_cov : ndarray, shape (2, 2)
        Their covariance. [product of the units of both]
    wheel_sd : float
        Sd of the setting. [m³]
    shot_sd : float
        Middle of the grid of shot sds, as a share of the target. [1]
    shot_spread : float
        Sd of the log of the shot sd; above the middle the tail is longer. [1]
    readability : float
        Step of the weighing scale. [kg]
    air : float
        Shortfall of the first shot where air is left: its mean and its sd, as a share of the
        target. [1]
    air_chance : float
        Chance that air is left. [1]
    creep_sd : float
        Sd of the creep from shot to shot, as a share of the target. [1]
    play : float
        Expected play of the wheel. [m³]
    play_sd : float
        Sd of it. [m³]

    Returns
    -------
    Belief
        Means, covariances, cells and weights.
    """
    fades = _FADES if air_chance > 0.0 else ()
    sds = shot_sd * target * np.exp(shot_spread * _GRID)
    # Student's tail: machines far rougher than usual are rare, not unheard of.
    sd_weight = (1.0 + _GRID**2 / _TAIL) ** (-0.5 * (_TAIL + 1.0))
    cells = 1 + len(fades)
    mean = np.zeros((cells, sds.size, 5))
    cov = np.zeros((cells, sds.size, 5, 5))
    mean[..., LINE], cov[..., LINE, LINE] = line, line_cov
    mean[1:, :, AIR], cov[1:, :, AIR, AIR] = air * target, (air * target) ** 2
    cov[..., CREEP, CREEP] = (creep_sd * target) ** 2
    mean[..., PLAY], cov[..., PLAY, PLAY] = play, play_sd**2
    shares = np.array([1.0 - air_chance, *(air_chance / len(fades) for _ in fades)])
    weight = np.outer(shares, sd_weight / np.sum(sd_weight)).ravel()
    bias = np.asarray(rounding_bias(readability, sd=sds))
    slope = float(line[1])
    return Belief(
        mean=mean.reshape(-1, 5),
        cov=cov.reshape(-1, 5, 5),
        wheel_var=(wheel_sd * slope) ** 2,
        round_var=readability**2 / 12.0,
        shot_sd=np.tile(sds, cells),
        bias_var=np.tile(bias**2, cells),
        fade=np.repeat([1.0, *fades], sds.size),
        weight=weight,
    )


def condition(
    belief: Belief, taken: Taken, *, kept: NDArray[np.bool_] | None = None, here: float, last: int
) -> Posterior:
    """Return what is believed after the shots given.

    Parameters
    ----------
    belief : Belief
        What was believed before.
    taken : Taken
        All shots in time order.
    kept : ndarray of bool, shape (n,) or None
        Which of them to believe; none for all.
    here : float
        Setting of the last stay. [m³]
    last : int
        Number of the last stay, which may have no shot among these.

    Returns
    -------
    Posterior
        The five unknowns, mean dose here and the chance of each kept shot given the others.

    Notes
    -----
    Gaussian conditioning; leaving one out by the inverse covariance S⁻¹: residual
    (S⁻¹r)_i / (S⁻¹)_ii with variance 1 / (S⁻¹)_ii (standard identity, checked in the tests
    against leaving the shot out). Rounding has a part shared by a whole stay, which repeats
    do not remove, and a part that averages.
    """
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    size = taken.readings.size
    which = np.arange(size) if kept is None else np.flatnonzero(kept)
    # An odd shot at the end tells nothing, so the next one is foretold in its place.
    count = int(which[-1]) + 1 if which.size else 0
    stays, readings = taken.stays[which], taken.readings[which]
    now = count - 1.0
    rows = _rows(belief, taken, which, now)
    rows_cov = rows @ belief.cov
    same = (stays[:, None] == stays[None, :]).astype(np.float64)
    noise = belief.shot_sd**2 + belief.round_var - belief.bias_var
    total = (
        rows_cov @ rows.transpose(0, 2, 1)
        + same * (belief.wheel_var + belief.bias_var)[:, None, None]
        + np.eye(which.size) * noise[:, None, None]
    )
    scale = float(np.max(belief.cov[:, 0, 0] + belief.wheel_var + noise))
    inverse = np.linalg.inv(total / scale) / scale
    residual = readings - np.einsum("gnp,gp->gn", rows, belief.mean)
    pulled = np.einsum("gij,gj->gi", inverse, residual)
    log_det = np.linalg.slogdet(total / scale)[1]
    log_fit = -0.5 * (np.sum(pulled * residual, axis=1) + log_det)
    weight = belief.weight * np.exp(log_fit - float(np.max(log_fit)))

    mean = belief.mean + np.einsum("gn,gnp->gp", pulled, rows_cov)
    cov = belief.cov - rows_cov.transpose(0, 2, 1) @ inverse @ rows_cov

    above = float(taken.above[-1]) if size else 0.0
    wheel = belief.wheel_var * (stays == last)

    def stay_at(row: _Floats) -> tuple[_Floats, _Floats]:
        """Return mean and variance of a dose of the last stay."""
        cross = np.einsum("gnp,gp->gn", rows_cov, row) + wheel
        prior_var = np.einsum("gp,gpq,gq->g", row, belief.cov, row) + belief.wheel_var
        var = prior_var - np.einsum("gi,gij,gj->g", cross, inverse, cross)
        at = np.sum(row * belief.mean, axis=1) + np.sum(pulled * cross, axis=1)
        return at, np.maximum(var, 0.0)

    here_mean, here_var = stay_at(belief.row(here, shot=math.inf, now=now, above=above))
    next_mean, next_var = stay_at(belief.row(here, shot=now + 1.0, now=now, above=above))

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
        mean=mean,
        cov=cov,
        here=here_mean,
        here_var=here_var,
        next_here=next_mean,
        next_here_var=next_var,
        tail=np.asarray(tail),
        shots=count,
    )


def _rows(belief: Belief, taken: Taken, which: NDArray[np.intp], now: float) -> _Floats:
    """Return what multiplies the five unknowns in each kept shot, shape (g, n, 5)."""
    rows = np.empty((belief.weight.size, which.size, 5))
    rows[..., 0] = 1.0
    rows[..., 1] = taken.settings[which]
    rows[..., AIR] = -np.exp(-which / belief.fade[:, None])
    rows[..., CREEP] = which - now
    rows[..., PLAY] = taken.above[which] * belief.mean[:, 1, None]
    return rows
