"""Chances of the two tests together, by drawing: residual sets, or whole lots.

Both serve `acceptance`, which says when each applies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from fillwright.knowledge.types import RuleSet
from fillwright.science.quantity.many_lots import decide
from fillwright.science.quantity.operating import Process, at_most
from fillwright.science.quantity.plans import Plan

__all__ = ["Estimate", "Simulated", "both_fail", "simulate"]

Floats = NDArray[np.float64]

_BLOCK = 500_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A chance with its standard error.

    Attributes
    ----------
    value : float
        The chance. [1]
    error : float
        Its standard error. [1]
    """

    value: float
    error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Simulated:
    """What drawn lots show.

    Attributes
    ----------
    accepted : Estimate
        Share of lots accepted.
    both_fail : Estimate
        Share of lots in which both the mean and the counts fail.
    """

    accepted: Estimate
    both_fail: Estimate


def both_fail(
    process: Process, shortage: float, plan: Plan, *, rng: np.random.Generator, sets: int
) -> Estimate:
    """Estimate the chance that the mean and the counts both fail, by residual sets.

    Parameters
    ----------
    process : Process
        The filler.
    shortage : float
        Tolerable shortage. [g or mL]
    plan : Plan
        A plan whose test of the mean uses the whole first sample.
    rng : numpy.random.Generator
        Source of chance.
    sets : int
        Residual sets to draw.

    Returns
    -------
    Estimate
        The chance, with its standard error.

    Notes
    -----
    A count of j or more below T1 means that the j-th smallest residual lies below
    (Qn - T - mean)/s, that is, mean < Qn - T - s r_(j); so both tests fail where the mean lies
    below both that and Qn - k s, and given s and the residuals the mean is normal.
    """
    from scipy.special import ndtr  # noqa: PLC0415  scipy is loaded when first asked

    step = max(1, _BLOCK // plan.n)
    parts = []
    sd_mean = process.sd_seen / math.sqrt(plan.n)
    for start in range(0, sets, step):
        size = min(step, sets - start)
        effect = process.sd_lot * rng.standard_normal(size)
        draw = rng.standard_normal((size, plan.n))
        s = draw.std(axis=1, ddof=1)
        residual = np.sort((draw - draw.mean(axis=1)[:, None]) / s[:, None], axis=1)
        centre = process.offset + effect
        spread = process.sd_seen * s
        by_mean = -float(plan.k) * spread
        fails = np.zeros(size)
        for place, weight in _failing(plan, centre, process.sd_seen, shortage):
            limit = -shortage - spread * residual[:, place]
            if plan.t2_allowed is not None:
                far = -2 * shortage - spread * residual[:, plan.t2_allowed]
                limit = np.maximum(limit, far)
            fails += weight * ndtr((np.minimum(by_mean, limit) - centre) / sd_mean)
        parts.append(fails)
    together = np.concatenate(parts)
    return Estimate(
        value=float(together.mean()), error=float(together.std(ddof=1)) / math.sqrt(sets)
    )


def simulate(
    process: Process,
    shortage: Fraction,
    plan: Plan,
    *,
    rules: RuleSet,
    rng: np.random.Generator,
    lots: int,
) -> Simulated:
    """Draw lots and put them through the decision function for real lots.

    Parameters
    ----------
    process : Process
        The filler.
    shortage : Fraction
        Tolerable shortage. [g or mL]
    plan : Plan
        The plan.
    rules : RuleSet
        The rule set.
    rng : numpy.random.Generator
        Source of chance.
    lots : int
        Lots to draw.

    Returns
    -------
    Simulated
        Shares of lots, with their standard errors.
    """
    size = max(process.sd_seen, process.sd_lot, abs(process.offset)) or 1.0
    division = Fraction(10) ** (math.floor(math.log10(size)) - 5)
    units, accepted, failed = shortage / division, 0, 0
    step = max(1, _BLOCK // (plan.n + (plan.n_second or 0)))

    def draw(effect: Floats, packages: int) -> NDArray[np.int64]:
        scatter = process.sd_seen * rng.standard_normal((len(effect), packages))
        values = (process.offset + effect[:, None] + scatter) / float(division)
        return np.rint(values).astype(np.int64)

    for start in range(0, lots, step):
        effect = process.sd_lot * rng.standard_normal(min(step, lots - start))
        errors = draw(effect, plan.n)
        second = None if plan.n_second is None else draw(effect, plan.n_second)
        lot = decide(errors, plan=plan, shortage=units, rules=rules, second=second)
        counts_fail = ~lot.individual_ok
        if plan.t2_allowed is not None:
            counts_fail |= ~lot.t2_ok
        accepted += int(lot.accepted.sum())
        failed += int((~lot.mean_ok & counts_fail).sum())
    return Simulated(accepted=_share(accepted, lots), both_fail=_share(failed, lots))


def _share(count: int, lots: int) -> Estimate:
    """Return a share with its standard error, which is not zero even where none or all count."""
    share = count / lots
    inside = (count + 1) / (lots + 2) if count in (0, lots) else share
    return Estimate(value=share, error=math.sqrt(inside * (1 - inside) / lots))


def _failing(
    plan: Plan, centre: Floats, sd_seen: float, shortage: float
) -> list[tuple[int, Floats]]:
    """Return the places of the ordered residuals that turn the count, and what each adds.

    With j packages below T1 the count fails with a chance that rises from 0 at the acceptance
    number to 1 at the rejection number; each place adds its step.
    """
    from scipy.special import ndtr  # noqa: PLC0415  scipy is loaded when first asked

    accept, reject = plan.accept or 0, plan.reject or 1
    share = ndtr((-shortage - centre) / sd_seen)
    before = np.zeros_like(centre)
    steps = []
    for count in range(accept + 1, min(reject, plan.n) + 1):
        fail = np.ones_like(centre)
        if count < reject and plan.n_second is not None and plan.accept_total is not None:
            fail = 1 - at_most(plan.accept_total - count, plan.n_second, share)
        steps.append((count - 1, fail - before))
        before = fail
    return steps
