"""What is believed of a machine before its first shot: told, remembered, else invented."""

from __future__ import annotations

import math

import numpy as np

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, not_negative
from fillwright.science.trim_model import Belief, prior_belief
from fillwright.science.trim_step import TrimHistory, TrimPrior

__all__ = ["belief_of"]

_OFFSET = 0.012
_SLOPE = 0.04
_DENSITY = 0.007
_SHOT = 0.0025
_SHOT_SPREAD = 0.6
_SHOT_KNOWN = 0.2
_AIR = 0.008
_AIR_CHANCE = 0.05
_CREEP = 0.0002
_PLAY_SPREAD = 0.5


def belief_of(
    prior: TrimPrior,
    history: TrimHistory | None,
    *,
    target: float,
    cylinder: float,
    density: float,
    readability: float,
    wheel_sd: float,
    play: float,
) -> Belief:
    """Return the belief before the first shot.

    Parameters
    ----------
    prior : TrimPrior
        What was told of the machine; goes before what is remembered.
    history : TrimHistory or None
        What earlier trims of the same machine and product taught.
    target : float
        Reading wanted of the mean dose. [kg]
    cylinder : float
        Full scale. [m³]
    density : float
        Apparent density of the product. [kg/m³]
    readability : float
        Step of the weighing scale. [kg]
    wheel_sd : float
        Sd of the setting when come to from below. [m³]
    play : float
        Play of the hand wheel. [m³]

    Returns
    -------
    Belief
        Means, covariances and cells of the model.

    Raises
    ------
    BadInput
        If a figure of the prior cannot be used.
    """
    line, cov = _line(prior, history, cylinder=cylinder, density=density)
    shot_sd, spread = _SHOT, _SHOT_SPREAD
    if prior.shot_sd is not None:
        shot_sd, spread = above_zero(prior.shot_sd, "prior.shot_sd") / target, _SHOT_KNOWN
    elif history is not None:
        shot_sd, spread = history.shot_sd, history.shot_spread
    chance = _AIR_CHANCE if history is None else history.air_chance
    if prior.air_chance is not None:
        chance = _share(prior.air_chance, "prior.air_chance")
    return prior_belief(
        target=target,
        line=line,
        line_cov=cov,
        wheel_sd=wheel_sd,
        shot_sd=shot_sd,
        shot_spread=spread,
        readability=readability,
        air=_AIR if prior.air is None else above_zero(prior.air, "prior.air"),
        air_chance=chance,
        creep_sd=_CREEP,
        play=play if history is None or history.lost_motion is None else history.lost_motion,
        play_sd=_PLAY_SPREAD * play
        if history is None or history.lost_motion is None
        else history.lost_motion_sd,
    )


def _line(
    prior: TrimPrior, history: TrimHistory | None, *, cylinder: float, density: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return means and covariance of offset and slope."""
    gain, gain_sd = 1.0, math.hypot(_SLOPE, _DENSITY)
    offset, offset_sd, linked = 0.0, _OFFSET * cylinder, 0.0
    if history is not None:
        gain, gain_sd = history.gain, history.gain_sd
        offset, offset_sd, linked = history.offset, history.offset_sd, history.correlation
    told = _told_slope(prior, density)
    if told is not None:
        (gain, gain_sd), linked = told, 0.0
    if prior.offset_sd is not None:
        offset, linked = 0.0, 0.0
        offset_sd = not_negative(prior.offset_sd, "prior.offset_sd") * cylinder
    both = linked * gain_sd * offset_sd
    cov = np.array([[offset_sd**2, both], [both, gain_sd**2]])
    # An offset is so much volume at the expected slope, as the wheel's error is.
    scale = np.array([gain * density, density])
    return np.array([offset, gain]) * scale, cov * np.outer(scale, scale)


def _told_slope(prior: TrimPrior, density: float) -> tuple[float, float] | None:
    """Return slope over density and its sd as told, or none."""
    if (prior.slope_low is None) != (prior.slope_high is None):
        raise BadInput(
            "prior.slope has one end only; give both or none.",
            field="prior.slope_low" if prior.slope_low is None else "prior.slope_high",
            allowed="both ends or none",
            code="missing",
        )
    if prior.slope_low is not None and prior.slope_high is not None:
        low = above_zero(prior.slope_low, "prior.slope_low")
        high = finite(prior.slope_high, "prior.slope_high")
        if high < low:
            raise BadInput(
                f"prior.slope_high is {high:g}; give one not below slope_low, {low:g}.",
                field="prior.slope_high",
                given=high,
                allowed="slope_low or above",
                code="inconsistent",
            )
        # Anywhere between the ends: the mean and variance of an even spread.
        return 0.5 * (low + high) / density, (high - low) / math.sqrt(12.0) / density
    if prior.slope_sd is not None:
        return 1.0, not_negative(prior.slope_sd, "prior.slope_sd")
    return None


def _share(value: float, name: str) -> float:
    """Return a chance from 0 to below 1."""
    number = not_negative(value, name)
    if number >= 1.0:
        raise BadInput(
            f"{name} is {number:g}; give a chance from 0 to below 1.",
            field=name,
            given=number,
            allowed="0 to below 1",
        )
    return number
