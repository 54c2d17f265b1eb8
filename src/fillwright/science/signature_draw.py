"""Runs of doses drawn as the signature takes them to be: invented machines for calibration.

What is stated about a run is right as often as stated over runs drawn like this. Noise with
heavier tails departs from the model on purpose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_kinds import DoseKind
from fillwright.science.signature_models import FADES, PHIS, STEP_FEWEST
from fillwright.science.signature_scan import CREEP_FEWEST, RATIOS, SCATTER_FEWEST, SIZES
from fillwright.science.signature_short import MANY_GOOD, SHORT_PARTS

__all__ = ["DrawnRun", "draw_level", "draw_run"]

_Floats = NDArray[np.float64]

_HALF = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnRun:
    """A run of doses and the truth about it.

    Attributes
    ----------
    doses : ndarray, shape (n,)
        Doses less the target, in units of the sd. [1]
    change : int or None
        First dose after the change of the kind, counted from 1; none where there is none.
    size : float or None
        Size of the effect of the kind, in units of the sd; none where it has none. [1]
    """

    doses: _Floats
    change: int | None
    size: float | None


@dataclass(slots=True, kw_only=True)
class _Making:
    """A run in the making: noise, times the growth of its sd, and effects."""

    noise: _Floats
    effect: _Floats
    change: int | None = None
    size: float | None = None


def draw_level(rng: np.random.Generator, count: int) -> _Floats:
    """Return hopper levels: a straight fall, filled up when it is low.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    count : int
        Number of doses.

    Returns
    -------
    ndarray, shape (n,)
        Level as a share of the full hopper. [1]
    """
    fall = 1.0 / (count * rng.uniform(0.3, 2.0))
    low, now = rng.uniform(0.1, 0.5), rng.uniform(0.5, 1.0)
    level = np.empty(count)
    for i in range(count):
        level[i] = now
        now -= fall
        if now < low:
            now = rng.uniform(0.8, 1.0)
    return level


def draw_run(
    rng: np.random.Generator,
    kind: DoseKind,
    *,
    level: _Floats,
    with_kind: DoseKind | None = None,
    noise_df: float | None = None,
    effect: float | None = None,
) -> DrawnRun:
    """Return a run of one kind, drawn from the prior of the signature.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.
    kind : DoseKind
        The kind at work.
    level : ndarray, shape (n,)
        Hopper level at each dose; sets the number of doses. [1]
    with_kind : DoseKind or None
        Second kind at work: level beside creep, scatter beside step, or the other way round.
    noise_df : float or None
        Degrees of freedom of Student noise of sd 1; none for normal noise. [1]
    effect : float or None
        Size of the effects instead of drawn ones, in units of the sd, either sign where the
        kind has both; none to draw. [1]

    Returns
    -------
    DrawnRun
        Doses and the truth about them.
    """
    count = level.size
    noise = rng.standard_normal(count)
    if noise_df is not None:
        noise = rng.standard_t(noise_df, count) * math.sqrt((noise_df - 2.0) / noise_df)
    made = _Making(noise=noise, effect=np.zeros(count))
    together = frozenset({kind, with_kind})
    at = None
    if together == frozenset({DoseKind.STEP, DoseKind.SCATTER}) and rng.random() < _HALF:
        at = int(rng.integers(SCATTER_FEWEST, count - SCATTER_FEWEST + 1))
    # The kind asked for comes last, so that change and size are its own.
    for one in (with_kind, kind):
        if one is not None:
            _work(rng, one, made, level=level, effect=effect, at=at)
    return DrawnRun(doses=made.effect + made.noise, change=made.change, size=made.size)


def _work(
    rng: np.random.Generator,
    kind: DoseKind,
    made: _Making,
    *,
    level: _Floats,
    effect: float | None,
    at: int | None,
) -> None:
    """Let one kind work on a run."""
    n = made.noise.size
    order = np.arange(n)
    made.change = None
    if kind is DoseKind.STEP:
        place = int(rng.integers(STEP_FEWEST, n - STEP_FEWEST + 1)) if at is None else at
        made.size, made.change = _size(rng, SIZES.step, effect), place + 1
        made.effect += made.size * (order >= place)
    elif kind is DoseKind.CREEP:
        place = 0 if rng.random() < _HALF else int(rng.integers(0, n - CREEP_FEWEST + 1))
        made.size, made.change = _size(rng, SIZES.creep, effect), place + 1
        made.effect += made.size * np.maximum(order - place + 1.0, 0.0) / (n - place)
    elif kind is DoseKind.SCATTER:
        _scatter(rng, made, at=at, effect=effect)
    elif kind is DoseKind.PURGE:
        fade = math.exp(rng.uniform(math.log(FADES[0]), math.log(FADES[-1])))
        made.size = -abs(_size(rng, SIZES.purge, effect))
        made.effect += made.size * np.exp(-order / fade)
    elif kind is DoseKind.ALTERNATE:
        made.size = 2.0 * _size(rng, SIZES.alternate, None if effect is None else effect / 2.0)
        made.effect += 0.5 * made.size * np.where(order % 2 == 0, 1.0, -1.0)
    elif kind is DoseKind.LEVEL:
        made.size = _size(rng, SIZES.level, effect)
        made.effect += made.size * (level - np.mean(level)) / float(np.ptp(level))
    elif kind is DoseKind.SHORT:
        _short(rng, made, effect=effect)
    elif kind is DoseKind.AUTOCORR:
        phi = rng.uniform(PHIS[0], PHIS[-1])
        for i in range(1, n):
            fresh = math.sqrt(1.0 - phi**2) * made.noise[i]
            made.noise[i] = phi * made.noise[i - 1] + fresh


def _size(rng: np.random.Generator, sd: float, effect: float | None) -> float:
    """Return a drawn size, or the given one with a drawn sign."""
    if effect is None:
        return float(sd * rng.standard_normal())
    return effect if rng.random() < _HALF else -effect


def _scatter(
    rng: np.random.Generator, made: _Making, *, at: int | None, effect: float | None
) -> None:
    """Let the scatter grow at once or in a straight line."""
    n = made.noise.size
    place = int(rng.integers(SCATTER_FEWEST, n - SCATTER_FEWEST + 1)) if at is None else at
    drawn = math.exp(rng.uniform(math.log(RATIOS[0]), math.log(RATIOS[-1])))
    ratio = drawn if effect is None else effect
    up = np.maximum(np.arange(n) - place + 1.0, 0.0) / (n - place)
    at_once = at is not None or rng.random() < _HALF
    made.noise *= 1.0 + (ratio - 1.0) * ((up > 0.0) if at_once else up)
    made.size, made.change = ratio - 1.0, place + 1


def _short(rng: np.random.Generator, made: _Making, *, effect: float | None) -> None:
    """Make at least one dose short."""
    n = made.noise.size
    short = np.zeros(n, dtype=np.bool_)
    while not np.any(short):
        short = rng.random(n) < rng.beta(1.0, MANY_GOOD)
    shares, sds = zip(*SHORT_PARTS, strict=True)
    amount = np.abs(rng.standard_normal(n)) * rng.choice(sds, size=n, p=shares)
    amount = amount if effect is None else np.full(n, effect)
    made.effect -= amount * short
    made.size = -float(np.max(amount[short]))
