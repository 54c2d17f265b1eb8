"""How likely a reference test accepts a lot of a given process.

The two tests use the same packages, so their chances do not simply multiply.  Three ways: exact
where the bounds meet, conditioning on the standardised residuals, and simulation through the
decision function itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.knowledge.types import RuleSet
from fillwright.science.quantity.exact import above_zero
from fillwright.science.quantity.joint import Estimate, both_fail, simulate
from fillwright.science.quantity.operating import (
    CountChance,
    Process,
    count_chance,
    finite,
    lot_effects,
    mean_chance,
)
from fillwright.science.quantity.plans import OwnPlan, Plan, check_count, find_plan
from fillwright.science.quantity.shortage import (
    ShortageVerdict,
    SuppliedShortage,
    check_unit,
    rule_text,
    tolerable_shortage,
)

__all__ = ["AcceptanceChance", "Method", "acceptance_chance", "known_shortage"]

Floats = NDArray[np.float64]

_BOUNDS_MEET = 1e-8


class Method(StrEnum):
    """Ways to the chance of acceptance."""

    BOUNDS = "bounds"
    CONDITIONING = "conditioning"
    FAILURES = "failures"
    SIMULATION = "simulation"


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptanceChance:
    """Chance that a reference test accepts.

    Attributes
    ----------
    p_accept : float
        The whole test accepts. [1]
    standard_error : float
        Standard error of that figure; zero where it is exact. [1]
    p_mean : float
        The test of the mean accepts. [1]
    p_individual : float
        The count of packages below T1 accepts. [1]
    p_t2 : float or None
        No more packages than allowed are below T2; None where that is no part of the test. [1]
    p_below_t1 : float
        True share of packages below T1. [1]
    lower, upper : float
        Bounds that hold whatever the dependence of the tests. [1]
    method : Method
        Way the figure was found.
    lots : int
        Lots or residual sets drawn; zero where none were.
    shortage : float
        Tolerable shortage used. [g or mL]
    plan_row : str
        Row of the table of plans, in words.
    rule : str
        Name, title and edition of the rule set.
    assumptions : tuple of str
        What was taken for granted.
    sources : tuple of str
        Documents behind the figures.
    because : str
        One sentence.
    """

    p_accept: float
    standard_error: float
    p_mean: float
    p_individual: float
    p_t2: float | None
    p_below_t1: float
    lower: float
    upper: float
    method: Method
    lots: int
    shortage: float
    plan_row: str
    rule: str
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]
    because: str


def acceptance_chance(
    rules: RuleSet,
    *,
    nominal: Decimal,
    unit: str,
    lot_size: int,
    process_mean: float,
    sd_within: float,
    rng: np.random.Generator,
    sd_between_lots: float = 0.0,
    sd_tare: float = 0.0,
    plan: str | None = None,
    t: Decimal | None = None,
    supplied: SuppliedShortage | None = None,
    own_plan: OwnPlan | None = None,
    method: Method | None = None,
    lots: int = 20_000,
) -> AcceptanceChance:
    """Return the chance that the reference test accepts a lot of a process.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    lot_size : int
        Packages in the lot.
    process_mean : float
        Long-run mean content. [g or mL]
    sd_within : float
        Standard deviation of contents within a lot. [g or mL]
    rng : numpy.random.Generator
        Source of chance, where the answer is not exact.
    sd_between_lots : float
        Standard deviation of the mean from lot to lot. [g or mL]
    sd_tare : float
        Standard deviation of single tares, where the inspector uses a mean tare. [g or mL]
    plan : str, optional
        Plan, where the rule set has a choice.
    t : Decimal, optional
        Tolerable shortage instead of the table's. [g or mL]
    supplied : SuppliedShortage, optional
        Shortage typed from the document, where the rule set lets the user supply it.
    own_plan : OwnPlan, optional
        Figures of the plan ``own``.
    method : Method, optional
        Way to use; left out, the best that applies.
    lots : int
        Lots, or residual sets, to draw.

    Returns
    -------
    AcceptanceChance
        The chance with its standard error, and the parts.

    Raises
    ------
    BadInput
        If there is no plan or no shortage, a figure is not finite or negative, or the method
        asked for does not apply.

    Notes
    -----
    Bounds, given the lot effect: P_mean + P_count - 1 <= P <= min(P_mean, P_count).
    Conditioning: mean and standard deviation of a normal sample are independent of the
    standardised residuals (Basu's theorem [1]_).  For each residual set the chance that *both*
    tests fail is a normal probability of the mean alone, and
    P = P_mean + P_count - 1 + P(both fail), the first two being exact; the standard error is that
    of the last term only.  It needs the test of the mean to use the whole first sample.
    Failures: the same sum, P(both fail) counted in lots drawn through the decision function.
    Simulation: lots accepted in the same draws, standard error √(p (1 - p)/R).

    References
    ----------
    .. [1] D. Basu, On statistics independent of a complete sufficient statistic, Sankhya 15, 377
       (1955); from memory.
    """
    process = Process(
        offset=finite(process_mean, "process_mean", least=None) - float(nominal),
        sd_seen=math.hypot(finite(sd_within, "sd_within"), finite(sd_tare, "sd_tare")),
        sd_lot=finite(sd_between_lots, "sd_between_lots"),
    )
    shortage = known_shortage(rules, nominal, unit=unit, t=t, supplied=supplied)
    found = find_plan(rules, lot_size=lot_size, plan=plan, own_plan=own_plan)
    if found.plan is None:
        raise BadInput(
            found.because,
            field="lot_size",
            given=lot_size,
            allowed="a lot with a plan",
            code="not-available",
        )
    exact = _exact_parts(process, float(shortage), found.plan)
    chosen = _choose(method, exact, found.plan, sd_seen=process.sd_seen)
    check_count(lots, "lots", 2)
    estimate = _estimate(
        chosen, exact, process, shortage=shortage, plan=found.plan, rules=rules, rng=rng, lots=lots
    )
    total = math.hypot(sd_within, sd_between_lots)
    error = f" ± {estimate.error:.1g}" if estimate.error else ""
    return AcceptanceChance(
        p_accept=estimate.value,
        standard_error=estimate.error,
        p_mean=exact.p_mean,
        p_individual=exact.p_individual,
        p_t2=exact.p_t2 if found.plan.t2_allowed is not None else None,
        p_below_t1=_normal_below(-float(shortage) - process.offset, total),
        lower=exact.lower,
        upper=exact.upper,
        method=chosen,
        lots=0 if chosen is Method.BOUNDS else lots,
        shortage=float(shortage),
        plan_row=found.plan.row,
        rule=rule_text(rules),
        assumptions=(
            "Contents within a lot are normal; the mean of a lot is normal about the process.",
            "The lot is large against the sample, or is the sample of a steady process.",
        ),
        sources=(found.plan.source,),
        because=f"{100 * estimate.value:.4g} %{error and f'{error} (one standard error)'} of "
        f"such lots are accepted; the test of the mean alone {100 * exact.p_mean:.4g} %, the "
        f"count of short packages alone {100 * exact.p_individual:.4g} %.",
    )


def known_shortage(
    rules: RuleSet,
    nominal: Decimal,
    *,
    unit: str,
    t: Decimal | None,
    supplied: SuppliedShortage | None,
) -> Fraction:
    """Return the shortage given, else that of the rule set.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    t : Decimal or None
        Shortage given. [g or mL]
    supplied : SuppliedShortage or None
        Shortage typed from the document.

    Returns
    -------
    Fraction
        Tolerable shortage. [g or mL]

    Raises
    ------
    BadInput
        If none is given and the rule set has none, or a figure is out of range.
    """
    if t is not None:
        above_zero(nominal, "nominal")
        check_unit(unit)
        return above_zero(t, "t")
    shortage = tolerable_shortage(rules, nominal, unit=unit, supplied=supplied)
    if shortage.verdict is not ShortageVerdict.OK:
        raise BadInput(
            shortage.because,
            field="nominal",
            given=nominal,
            allowed="a quantity with a shortage",
            code="not-available",
        )
    return Fraction(shortage.t or 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Exact:
    """What can be had without chance."""

    p_mean: float
    p_individual: float
    p_t2: float
    p_count: float
    lower: float
    upper: float
    product: float


def _exact_parts(process: Process, shortage: float, plan: Plan) -> _Exact:
    """Return the parts of the chance, averaged over lot effects."""
    effects = lot_effects(process.sd_lot, sd_seen=process.sd_seen, n=plan.n_mean)
    offset = process.offset + effects.at
    sd_mean = process.sd_seen / math.sqrt(plan.n_mean)
    mean = mean_chance(offset, sd_seen=process.sd_seen, sd_mean=sd_mean, plan=plan)
    count: CountChance = count_chance(
        offset, sd_seen=process.sd_seen, shortage=shortage, plan=plan
    )

    def over_lots(values: Floats) -> float:
        return min(1.0, float(effects.weight @ values))

    whole = mean_chance(
        process.offset,
        sd_seen=process.sd_seen,
        sd_mean=math.hypot(sd_mean, process.sd_lot),
        plan=plan,
    )
    return _Exact(
        p_mean=float(whole[0]),
        p_individual=over_lots(count.individual),
        p_t2=over_lots(count.t2),
        p_count=over_lots(count.both),
        lower=over_lots(np.maximum(mean + count.both - 1, 0.0)),
        upper=over_lots(np.minimum(mean, count.both)),
        product=over_lots(mean * count.both),
    )


def _choose(method: Method | None, exact: _Exact, plan: Plan, *, sd_seen: float) -> Method:
    """Return the way asked for, or the best that applies."""
    met = exact.upper - exact.lower <= _BOUNDS_MEET
    whole = plan.n_mean == plan.n and plan.n > 1 and sd_seen > 0
    if method is None:
        if met:
            return Method.BOUNDS
        return Method.CONDITIONING if whole else Method.FAILURES
    applies = {
        Method.BOUNDS: met,
        Method.CONDITIONING: whole,
        Method.FAILURES: True,
        Method.SIMULATION: True,
    }
    if not applies[method]:
        raise BadInput(
            f"method: {method} does not apply here; leave it out.",
            field="method",
            given=method,
            allowed=", ".join(way for way, fits in applies.items() if fits),
            code="choice",
        )
    return method


def _estimate(
    method: Method,
    exact: _Exact,
    process: Process,
    *,
    shortage: Fraction,
    plan: Plan,
    rules: RuleSet,
    rng: np.random.Generator,
    lots: int,
) -> Estimate:
    """Return the chance that the whole test accepts, in the way chosen."""
    if method is Method.BOUNDS:
        return Estimate(value=exact.product, error=0.0)
    if method is Method.CONDITIONING:
        failures = both_fail(process, float(shortage), plan, rng=rng, sets=lots)
    else:
        drawn = simulate(process, shortage, plan, rules=rules, rng=rng, lots=lots)
        if method is Method.SIMULATION:
            return drawn.accepted
        failures = drawn.both_fail
    together = exact.p_mean + exact.p_count - 1 + failures.value
    value = min(max(together, exact.lower), exact.upper)
    return Estimate(value=value, error=failures.error)


def _normal_below(limit: float, sd: float) -> float:
    """Return the share of a centred normal law below a limit."""
    if sd == 0:
        return float(limit > 0)
    return 0.5 * math.erfc(-limit / sd / math.sqrt(2))
