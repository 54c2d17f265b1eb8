"""What earlier trims of the same machine, cylinder and product teach the next one.

Set-ups differ: the batch's density is weighed anew, the stop is fitted anew. How much they
differ is itself learnt from the past trims, so that five set-ups that agree narrow the start
and five that do not leave it wide. Own model.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fillwright.science.trim_fit import fit
from fillwright.science.trim_model import AIR, PLAY
from fillwright.science.trim_prior import belief_of
from fillwright.science.trim_step import ShotGroup, TrimHistory, TrimPrior, taken_in_order

__all__ = ["PastTrim", "history_of"]

_Floats = NDArray[np.float64]

_GAIN = 0.04
_OFFSET = 0.012
_BETWEEN = np.array([0.001, 0.002, 0.004, 0.007, 0.011, 0.016, 0.025, 0.04])
_BETWEEN_MIDDLE, _BETWEEN_SPREAD = 0.007, 0.8
_SHOT_BETWEEN = 0.2
_SHOT_FIRST = 0.6
_AIR_CHANCE, _AIR_WORTH = 0.05, 8.0
_WHEEL = 0.001
_PLAY = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class PastTrim:
    """One trim that has ended.

    Attributes
    ----------
    shots : tuple of ShotGroup
        Its stays in time order.
    target : float
        Reading that was wanted. [kg]
    cylinder : float
        Full scale. [m³]
    density : float
        Apparent density of the product that day. [kg/m³]
    readability : float
        Step of the weighing scale. [kg]
    hand_wheel_sd : float or None
        Sd of the setting; none for 0.1 % of the cylinder. [m³]
    lost_motion : float or None
        Play as believed that day; none for 1 % of the cylinder. [m³]
    """

    shots: tuple[ShotGroup, ...]
    target: float
    cylinder: float
    density: float
    readability: float
    hand_wheel_sd: float | None = None
    lost_motion: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Learnt:
    """What one past trim says by itself: its shots as volumes, and its nuisances."""

    rows: _Floats
    volumes: _Floats
    noise: _Floats
    log_sd: float
    log_sd_var: float
    p_air: float
    play: float
    play_var: float
    play_before: float


def history_of(past: Sequence[PastTrim]) -> TrimHistory | None:
    """Return what past trims teach, or none where no shot of theirs can be used.

    Parameters
    ----------
    past : sequence of PastTrim
        Trims of the same machine, cylinder and product, in any order.

    Returns
    -------
    TrimHistory or None
        Line, scatter, play and air to start the next trim with.

    Raises
    ------
    BadInput
        If a setting or a reading of a past trim cannot be used.

    Notes
    -----
    Volume of a shot = offset + (gain + set-up) · setting + hand wheel + scatter, with
    set-up ~ N(0, τ²), and τ averaged over a grid by the marginal likelihood. With few set-ups
    τ keeps its prior, a log-normal about 0.7 % (invented).
    """
    used = [trim for trim in past if trim.shots]
    if not used:
        return None
    learnt = [_learnt(trim) for trim in used]
    cylinder = max(trim.cylinder for trim in used)
    line, cov, between = _line(learnt, cylinder)
    gain_sd, offset_sd = math.sqrt(cov[1, 1]), math.sqrt(cov[0, 0])
    log_sd, spread = _pooled(
        [(each.log_sd, each.log_sd_var) for each in learnt],
        first=(math.log(0.0025), _SHOT_FIRST**2),
    )
    plays = [each for each in learnt if each.play_var < 0.99 * each.play_before]
    lost, lost_sd = None, 0.0
    if plays:
        first = (_PLAY * cylinder, max(each.play_before for each in plays))
        lost, lost_sd = _pooled([(each.play, each.play_var) for each in plays], first=first)
    return TrimHistory(
        setups=len(used),
        gain=float(line[1]),
        gain_sd=gain_sd,
        offset=float(line[0]),
        offset_sd=offset_sd,
        correlation=float(cov[0, 1]) / (gain_sd * offset_sd),
        shot_sd=math.exp(log_sd),
        shot_spread=math.hypot(spread, _SHOT_BETWEEN),
        lost_motion=lost,
        lost_motion_sd=lost_sd,
        air_chance=(_AIR_CHANCE * _AIR_WORTH + sum(each.p_air for each in learnt))
        / (_AIR_WORTH + len(used)),
        between_setups=between,
    )


def _learnt(trim: PastTrim) -> _Learnt:
    """Return what one trim says by itself."""
    wheel = _WHEEL * trim.cylinder if trim.hand_wheel_sd is None else trim.hand_wheel_sd
    belief = belief_of(
        TrimPrior(),
        None,
        target=trim.target,
        cylinder=trim.cylinder,
        density=trim.density,
        readability=trim.readability,
        wheel_sd=wheel,
        play=_PLAY * trim.cylinder if trim.lost_motion is None else trim.lost_motion,
    )
    taken = taken_in_order(trim.shots, trim.cylinder)
    fitted = fit(belief, taken)
    after = fitted.after
    log_sd = np.log(belief.shot_sd / trim.target)
    middle = float(after.weight @ log_sd)
    play = float(after.weight @ after.mean[:, PLAY])
    # The air and creep believed in are taken off, so that only the line is left.
    air = np.exp(-np.arange(taken.readings.size) / belief.fade[:, None])
    shortfall = after.weight @ (after.mean[:, AIR, None] * air)
    masses = taken.readings + shortfall - play * trim.density * taken.above
    kept = fitted.kept
    noise = float(after.weight @ belief.shot_sd**2) + belief.round_var
    same = (taken.stays[:, None] == taken.stays[None, :])[np.ix_(kept, kept)]
    wheel_var = belief.wheel_var + float(after.weight @ belief.bias_var)
    return _Learnt(
        rows=np.column_stack([np.ones(int(kept.sum())), taken.settings[kept]]),
        volumes=masses[kept] / trim.density,
        noise=(same * wheel_var + np.eye(int(kept.sum())) * noise) / trim.density**2,
        log_sd=middle,
        log_sd_var=float(after.weight @ (log_sd - middle) ** 2),
        p_air=float(after.weight[belief.cov[:, AIR, AIR] > 0.0].sum()),
        play=play,
        play_var=float(after.weight @ after.cov[:, PLAY, PLAY]),
        play_before=float(belief.cov[0, PLAY, PLAY]),
    )


def _line(learnt: Sequence[_Learnt], cylinder: float) -> tuple[_Floats, _Floats, float]:
    """Return offset and gain at the next set-up, their covariance, and the sd between set-ups."""
    rows = np.vstack([each.rows for each in learnt])
    volumes = np.concatenate([each.volumes for each in learnt])
    noise = np.zeros((volumes.size, volumes.size))
    linked = np.zeros_like(noise)
    edges = np.cumsum([0, *(each.volumes.size for each in learnt)])
    for (low, high), each in zip(pairwise(edges), learnt, strict=True):
        noise[low:high, low:high] = each.noise
        linked[low:high, low:high] = np.outer(each.rows[:, 1], each.rows[:, 1])
    first = np.diag([(_OFFSET * cylinder) ** 2, _GAIN**2])
    before = np.array([0.0, 1.0])
    left = volumes - rows @ before
    unit = float(np.max(np.diag(noise)))
    logs, means, covs = [], [], []
    for between in _BETWEEN:
        total = noise + between**2 * linked + rows @ first @ rows.T
        pulled = np.linalg.solve(total, np.column_stack([left, rows @ first]))
        logs.append(
            -0.5 * (float(left @ pulled[:, 0]) + float(np.linalg.slogdet(total / unit)[1]))
            - 0.5 * (math.log(between / _BETWEEN_MIDDLE) / _BETWEEN_SPREAD) ** 2
        )
        means.append(before + first @ rows.T @ pulled[:, 0])
        covs.append(first - first @ rows.T @ pulled[:, 1:] + np.diag([0.0, between**2]))
    weight = np.exp(np.array(logs) - max(logs))
    weight /= weight.sum()
    mean = weight @ np.array(means)
    apart = np.array(means) - mean
    cov = np.einsum("t,tpq->pq", weight, np.array(covs)) + np.einsum(
        "t,tp,tq->pq", weight, apart, apart
    )
    return mean, cov, float(weight @ _BETWEEN)


def _pooled(
    each: Sequence[tuple[float, float]], *, first: tuple[float, float]
) -> tuple[float, float]:
    """Return the mean and sd of one common figure from posteriors that share a prior.

    The prior counts once, not once a trim.
    """
    precision, pull = 1.0 / first[1], first[0] / first[1]
    for mean, var in each:
        gained = max(1.0 / max(var, 1e-9 * first[1]) - 1.0 / first[1], 0.0)
        if gained > 0.0:
            own = (mean / max(var, 1e-9 * first[1]) - first[0] / first[1]) / gained
            precision += gained
            pull += gained * own
    return pull / precision, 1.0 / math.sqrt(precision)
