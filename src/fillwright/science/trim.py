"""The next setting of the volume scale, so that the mean dose comes right from below.

A Bayesian line with hand-wheel error: own model, constants invented and marked, to be
replaced by each machine's history. A shot that does not fit never moves the wheel.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, not_negative, share
from fillwright.science.trim_fit import Fitted, fit
from fillwright.science.trim_history import PastTrim, history_of
from fillwright.science.trim_model import AIR, LINE, PLAY, Belief, Posterior
from fillwright.science.trim_outlook import Outlook, outlook_at, outlook_here
from fillwright.science.trim_prior import belief_of
from fillwright.science.trim_step import (
    Direction,
    ShotGroup,
    Taken,
    TrimHistory,
    TrimPrior,
    TrimStep,
    taken_in_order,
)

_WHEEL = 0.001
_PLAY = 0.01
_FULL = 1.05
_MOVES = 5
_SHOTS = 15
_HAIR = 1e-6

_ASSUMPTIONS = (
    "The dose is a straight line in the setting near the target.",
    "Every setting is come to from below, and the wheel is locked before the shot.",
    "Air that is left leaves as an exponential; shots are independent and normal.",
    "Readings are compared with readings: air buoyancy is the same for all.",
    "Constants of the model are invented where the machine's history gives none.",
)

_COARSE = {
    "scale": " The scale is too coarse for this: take a finer one or a wider band.",
    "wheel": " The wheel is too coarse for this: take a smaller cylinder or a wider band.",
    "scatter": " The doses scatter too much for this: find the cause or take a wider band.",
}

__all__ = [
    "Direction",
    "PastTrim",
    "ShotGroup",
    "TrimHistory",
    "TrimPrior",
    "TrimStep",
    "history_of",
    "next_setting",
]


def next_setting(
    shots: Sequence[ShotGroup],
    *,
    target: float,
    upper_limit: float,
    within: float,
    probability: float,
    alpha: float,
    cylinder: float,
    density: float,
    readability: float,
    hand_wheel_sd: float | None = None,
    lost_motion: float | None = None,
    prior: TrimPrior | None = None,
    history: TrimHistory | None = None,
) -> TrimStep:
    """Return the next setting, or that the mean dose is right.

    Parameters
    ----------
    shots : sequence of ShotGroup
        All stays so far in time order; empty for the starting setting.
    target : float
        Reading wanted of the mean dose. [kg]
    upper_limit : float
        Reading that a shot must not pass. [kg]
    within : float
        Half width of the band for the mean, as a share of the target. [1]
    probability : float
        Wanted probability that the mean is inside the band. [1]
    alpha : float
        Allowed probability for one shot to pass the upper limit. [1]
    cylinder : float
        Volume of the product cylinder, full scale. [m³]
    density : float
        Apparent density of the product, weighed from this batch. [kg/m³]
    readability : float
        Step of the weighing scale. [kg]
    hand_wheel_sd : float or None
        Sd of the setting itself when it is come to from below; none for 0.1 % of the
        cylinder. [m³]
    lost_motion : float or None
        Play of the hand wheel; none for 1 % of the cylinder. [m³]
    prior : TrimPrior or None
        What is known of the machine.
    history : TrimHistory or None
        What earlier trims of the same machine, cylinder and product taught (`history_of`);
        what `prior` or `lost_motion` say goes before it.

    Returns
    -------
    TrimStep
        What to do next and why.

    Raises
    ------
    BadInput
        If a figure cannot be used, the upper limit is not above the target, or the target
        cannot come out of the cylinder.

    Notes
    -----
    Model and policy are our own: y = a + b x + h + e, exact given the shot sd (`trim_model`).
    The next setting is the smaller of the one that makes the expected mean the target and
    the largest one whose next shot passes the upper limit with probability alpha at most.
    The wheel is moved only when that raises the probability of being inside, when another
    shot here would pass the limit too likely, or when the setting was come to from above.
    A shot beyond 4 sd of what all others say is set aside. Defaults (offset 1.2 % of the
    cylinder, slope 4 % beside 0.7 % of density, wheel 0.1 % of the cylinder, shot sd 0.25 %
    of the target with a long tail, creep 0.02 % a shot, air left in one trim of twenty) are
    invented and stand in `trim_prior`.
    Readings are compared with readings: no buoyancy here.

    The ceiling is the smallest of three: the chance left by the rounding bias after endless
    shots, the chance that one of five moves lands inside, and the chance left by the scatter
    of fifteen shots. In simulated trims of 15 shots at most the second agrees with the share
    that gets done within 0.05.
    """
    case = _Case(
        target=above_zero(target, "target"),
        upper=finite(upper_limit, "upper_limit"),
        band=above_zero(within, "within") * target,
        probability=share(probability, "probability"),
        alpha=share(alpha, "alpha"),
        cylinder=above_zero(cylinder, "cylinder"),
        readability=not_negative(readability, "readability"),
    )
    thick = above_zero(density, "density")
    _must_fit(case, thick)
    wheel = _WHEEL * case.cylinder if hand_wheel_sd is None else hand_wheel_sd
    play = _PLAY * case.cylinder if lost_motion is None else lost_motion
    belief = belief_of(
        TrimPrior() if prior is None else prior,
        history,
        target=case.target,
        cylinder=case.cylinder,
        density=thick,
        readability=case.readability,
        wheel_sd=not_negative(wheel, "hand_wheel_sd"),
        play=not_negative(play, "lost_motion"),
    )
    taken = taken_in_order(shots, case.cylinder)
    learnt = bool(np.any(taken.above)) or (history is not None and history.lost_motion is not None)
    return _step(case, belief, fit(belief, taken), taken=taken, play=None if learnt else play)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """What was asked for, checked."""

    target: float
    upper: float
    band: float
    probability: float
    alpha: float
    cylinder: float
    readability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ceiling:
    """The best chance, and what limits it."""

    value: float
    by: str


def _must_fit(case: _Case, density: float) -> None:
    """Refuse a target that is not below its limit or does not fit the cylinder."""
    if case.upper <= case.target:
        raise BadInput(
            f"upper_limit is {case.upper:g} kg; give one above the target of {case.target:g} kg.",
            field="upper_limit",
            given=case.upper,
            allowed="above the target",
            code="inconsistent",
        )
    if case.target > _FULL * density * case.cylinder:
        raise BadInput(
            f"target is {case.target:g} kg; the cylinder gives {density * case.cylinder:g} kg "
            "at most: take a larger cylinder.",
            field="target",
            given=case.target,
            allowed="what the cylinder holds",
            code="inconsistent",
        )


def _step(
    case: _Case, belief: Belief, fitted: Fitted, *, taken: Taken, play: float | None
) -> TrimStep:
    """Return the next act from what is believed now."""
    after, kept = fitted.after, fitted.kept
    begun = taken.settings.size > 0
    aim = _aim(case, belief, after)
    now = outlook_here(belief, after, float(taken.settings[-1])) if begun else aim
    low, high = case.target - case.band, case.target + case.band
    chance = now.mean_between(low, high)
    too_likely = now.shot_above(case.upper) > case.alpha + _HAIR
    odd_last = begun and not bool(kept[-1])
    shot_here = begun and bool(np.any(kept[taken.stays == taken.stays[-1]]))
    above = begun and bool(taken.above[-1])
    done = shot_here and not above and chance >= case.probability
    move = not done and (
        not begun or above or too_likely or (not odd_last and aim.mean_between(low, high) > chance)
    )
    then = aim if move else now
    direction, because = Direction.STAY, "Shoot again here: a turn would not help yet."
    if done:
        because = f"The mean dose is inside the band with {chance:.0%}."
    elif not begun:
        direction, because = Direction.UP, "Start from below; the shot says how the scale reads."
    elif above:
        direction = Direction.DOWN
        because = (
            "The wheel was come to from above and its play is not taken up: go down past the "
            "setting, then come up to it."
        )
    elif move and then.place >= now.place:
        direction, because = Direction.UP, "The mean dose is low: turn up."
    elif move:
        direction = Direction.DOWN
        because = "The mean dose is high: go down past the setting, then come up to it."
    elif odd_last:
        because = "The last shot does not fit the others: shoot again here, do not turn."
    ceiling = _ceiling(case, belief, after)
    feasible = ceiling.value >= case.probability
    if not feasible and not done:
        because += _COARSE[ceiling.by]
    slope = float(after.weight @ after.mean[:, 1])
    lost, lost_sd = _lost_motion(after)
    back = lost + 2.0 * lost_sd if play is None else play
    return TrimStep(
        done=done,
        feasible=feasible,
        setting=then.place,
        via=max(then.place - back, 0.0) if direction is Direction.DOWN else None,
        direction=direction,
        p_within=chance,
        p_over=then.shot_above(case.upper),
        mean=float(now.weight @ now.mean),
        mean_sd=now.mean_sd(),
        sd=float(after.weight @ belief.shot_sd),
        set_aside=tuple(int(i) for i in np.flatnonzero(~kept)),
        next_upper=then.shot_quantile(1.0 - case.alpha),
        setting_low=_clip(
            then.place + (case.target - then.mean_quantile(0.975)) / slope, case.cylinder
        ),
        setting_high=_clip(
            then.place + (case.target - then.mean_quantile(0.025)) / slope, case.cylinder
        ),
        ceiling=ceiling.value,
        limited_by=ceiling.by,
        lost_motion=lost if play is None else play,
        lost_motion_learnt=play is None,
        lost_motion_sd=lost_sd,
        p_air=float(after.weight[belief.cov[:, AIR, AIR] > 0.0].sum()),
        because=because,
        assumptions=_ASSUMPTIONS,
        equation="own model: straight line, hand-wheel error, unknown scatter",
    )


def _aim(case: _Case, belief: Belief, after: Posterior) -> Outlook:
    """Return the outlook of the best setting to move to."""
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked

    offset, slope = (float(v) for v in after.weight @ after.mean[:, LINE])
    place = _clip((case.target - offset) / slope, case.cylinder)
    aim = outlook_at(belief, after, place)
    if aim.shot_above(case.upper) <= case.alpha:
        return aim

    def surplus(x: float) -> float:
        return case.alpha - outlook_at(belief, after, x).shot_above(case.upper)

    if surplus(0.0) <= 0.0:
        return outlook_at(belief, after, 0.0)
    place = float(brentq(surplus, 0.0, place, xtol=1e-11 * case.cylinder))
    return outlook_at(belief, after, place)


def _ceiling(case: _Case, belief: Belief, after: Posterior) -> _Ceiling:
    """Return the best chance of being inside that wheel, scale and scatter allow.

    Endless shots at one stay leave the rounding bias; each move draws the hand-wheel error
    anew, and some five moves fit into fifteen shots; fifteen shots leave the scatter of their
    mean.
    """
    from scipy.special import erf  # noqa: PLC0415  heavy library, loaded when asked

    reach = case.band / math.sqrt(2.0)
    bias = np.sqrt(np.maximum(belief.bias_var, 1e-300))
    landing = math.erf(reach / math.sqrt(max(belief.wheel_var, 1e-300)))
    chances = {
        "wheel": 1.0 - (1.0 - landing) ** _MOVES,
        "scale": float(after.weight @ erf(reach / bias)),
        "scatter": float(after.weight @ erf(reach * math.sqrt(_SHOTS) / belief.shot_sd)),
    }
    least = min(chances, key=lambda by: chances[by])
    return _Ceiling(value=chances[least], by=least)


def _lost_motion(after: Posterior) -> tuple[float, float]:
    """Return the play of the wheel and its sd over all cells."""
    each, var = after.mean[:, PLAY], after.cov[:, PLAY, PLAY]
    centre = float(after.weight @ each)
    spread = float(after.weight @ (np.maximum(var, 0.0) + (each - centre) ** 2))
    return centre, math.sqrt(spread)


def _clip(place: float, cylinder: float) -> float:
    """Return a setting that the volume scale has."""
    return min(max(place, 0.0), cylinder)
