"""Proving with planned looks: stop as soon as it is enough, or as soon as it cannot be.

The looks are chosen before the first shot and the confidence at each keeps the chance of a
false claim over all looks at the stated level. Until it ends it shows only "carry on".
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.content import content_upper_bound
from fillwright.science.given import above_zero, not_negative, readings_in_order
from fillwright.science.order import order_tests
from fillwright.science.sequential_plan import (
    SequentialChance,
    SequentialPlan,
    sequential_chance,
    sequential_plan,
)

__all__ = [
    "SequentialChance",
    "SequentialLook",
    "SequentialPlan",
    "SequentialVerdict",
    "sequential_chance",
    "sequential_look",
    "sequential_plan",
]

_FALSE_ALARM = 0.02
_RISK = 0.05
_COARSE = 1.5


class SequentialVerdict(StrEnum):
    """What a proving run with planned looks shows so far."""

    CARRY_ON = "carry-on"
    ENOUGH = "enough"
    NOT_PROVED = "not-proved"
    NOT_STEADY = "not-steady"
    IMPOSSIBLE = "impossible"
    SCALE_TOO_COARSE = "scale-too-coarse"


@dataclass(frozen=True, slots=True, kw_only=True)
class SequentialLook:
    """What a run with planned looks shows so far; figures only once it has ended.

    Attributes
    ----------
    verdict : SequentialVerdict
        Carry on, enough, or how else it ended.
    ended : bool
        Whether the verdict stands.
    shots : int
        Readings given.
    next_look : int or None
        Readings at the next look; none once it has ended.
    decided_at : int or None
        Readings at the look that decided; none before.
    mean : float or None
        Mean of those readings. [kg]
    sd : float or None
        Their sample sd, divisor n - 1. [kg]
    k : float or None
        Tolerance factor of that look. [1]
    half_width : float or None
        k times sd. [kg]
    content : float
        Share of single doses claimed inside. [1]
    confidence : float
        Confidence of the claim over all looks. [1]
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The verdict in one sentence.
    """

    verdict: SequentialVerdict
    ended: bool
    shots: int
    next_look: int | None
    decided_at: int | None
    mean: float | None
    sd: float | None
    k: float | None
    half_width: float | None
    content: float
    confidence: float
    equation: str
    assumptions: tuple[str, ...]
    because: str


def sequential_look(
    readings: ArrayLike,
    *,
    plan: SequentialPlan,
    target: float,
    tolerance: float,
    readability: float = 0.0,
) -> SequentialLook:
    """Return what a run with planned looks shows so far.

    Parameters
    ----------
    readings : array_like, shape (n,)
        All readings of the run, in time order. [kg]
    plan : SequentialPlan
        The plan chosen before the first shot.
    target : float
        Target dose. [kg]
    tolerance : float
        Half width of the claim about the target. [kg]
    readability : float
        Step of the scale; zero where it is not known. [kg]

    Returns
    -------
    SequentialLook
        Carry on, or the verdict of the first look that decided, with its figures.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    Only planned looks decide, in order, each on the readings it had; what came after the
    deciding look changes nothing. At each: scale too coarse as in a proof of fixed length;
    not steady by the order tests at 2 % over all looks; enough; ended early or at the last
    look, which is called impossible where the upper bound of the share inside, at 5 % over
    all looks, is below the claim.
    """
    row = readings_in_order(readings, "readings", at_least=0)
    aim, band = above_zero(target, "target"), above_zero(tolerance, "tolerance")
    step = not_negative(readability, "readability")
    for place, n in enumerate(plan.looks):
        if n > row.size:
            break
        seen = row[:n]
        mean = float(np.mean(seen))
        sd = 0.0 if float(np.ptp(seen)) == 0.0 else float(np.std(seen, ddof=1))
        verdict = _verdict(seen, plan, place, off=mean - aim, sd=sd, band=band, step=step)
        if verdict is SequentialVerdict.CARRY_ON:
            continue
        k = plan.factors[place]
        return SequentialLook(
            verdict=verdict,
            ended=True,
            shots=row.size,
            next_look=None,
            decided_at=n,
            mean=mean,
            sd=sd,
            k=k,
            half_width=k * sd,
            content=plan.content,
            confidence=plan.confidence,
            equation=plan.equation,
            assumptions=plan.assumptions,
            because=_because(verdict, plan, n, percent=1e2 * band / aim),
        )
    upcoming = next(n for n in plan.looks if n > row.size)
    return SequentialLook(
        verdict=SequentialVerdict.CARRY_ON,
        ended=False,
        shots=row.size,
        next_look=upcoming,
        decided_at=None,
        mean=None,
        sd=None,
        k=None,
        half_width=None,
        content=plan.content,
        confidence=plan.confidence,
        equation=plan.equation,
        assumptions=plan.assumptions,
        because=f"Carry on: the next look is at {upcoming} readings.",
    )


def _verdict(
    seen: NDArray[np.float64],
    plan: SequentialPlan,
    place: int,
    *,
    off: float,
    sd: float,
    band: float,
    step: float,
) -> SequentialVerdict:
    """Return what one look decides."""
    n, last = seen.size, place == len(plan.looks) - 1
    if sd == 0.0 or step > _COARSE * sd or plan.factors[place] * step / math.sqrt(12.0) > band:
        return SequentialVerdict.SCALE_TOO_COARSE
    if not order_tests(seen, false_alarm=_FALSE_ALARM / len(plan.looks)).steady:
        return SequentialVerdict.NOT_STEADY
    fits = (band - abs(off)) / sd
    if fits >= plan.factors[place]:
        return SequentialVerdict.ENOUGH
    if not last and fits >= plan.futile_factors[place]:
        return SequentialVerdict.CARRY_ON
    upper = content_upper_bound(off, sd, n, tolerance=band, risk=_RISK / len(plan.looks))
    return SequentialVerdict.IMPOSSIBLE if upper < plan.content else SequentialVerdict.NOT_PROVED


def _because(verdict: SequentialVerdict, plan: SequentialPlan, n: int, *, percent: float) -> str:
    """Return the verdict of the look that decided in one sentence."""
    said = f"{1e2 * plan.content:.4g} in a hundred doses within ±{percent:.3g} %"
    last = n == plan.looks[-1]
    return {
        SequentialVerdict.ENOUGH: f"{said}: shown after {n} readings, with "
        f"{1e2 * plan.confidence:.4g} % confidence over all looks.",
        SequentialVerdict.NOT_PROVED: f"{said}: not shown after {n} readings"
        + ("." if last else ", and going on would hardly change that."),
        SequentialVerdict.NOT_STEADY: f"The first {n} readings are not steady and prove nothing.",
        SequentialVerdict.IMPOSSIBLE: f"{said}: does not hold; {n} readings speak against it.",
        SequentialVerdict.SCALE_TOO_COARSE: "The scale is too coarse to see this scatter: "
        "take a finer one.",
    }[verdict]
