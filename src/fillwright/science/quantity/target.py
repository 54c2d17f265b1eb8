"""The target fill that gives least away and still keeps every promise of a rule set.

Four constraints, each with what it would cost: the average, the shares below T1 and T2, and the
chance that the reference test accepts.  Model and quantities as in `operating`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal

from fillwright.errors import BadInput
from fillwright.knowledge.types import RuleSet
from fillwright.science.quantity.acceptance import known_shortage
from fillwright.science.quantity.operating import (
    count_chance,
    finite,
    lot_effects,
    mean_chance,
    sd_upper_factor,
)
from fillwright.science.quantity.plans import (
    OwnPlan,
    Plan,
    PlanNumbers,
    check_count,
    find_plan,
    plan_from_numbers,
)
from fillwright.science.quantity.shortage import SuppliedShortage, rule_text
from fillwright.science.quantity.verdicts import Constraint, TargetCosts, TargetFill

__all__ = ["target_fill"]

_STEP_SHARE = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class _Aim:
    """Figures that stay the same while the deviation is varied."""

    nominal: float
    shortage: float
    sd_lot: float
    sd_tare: float
    u_bias: float
    bias_confidence: float
    p1: float | None
    p2: float | None
    alpha: float
    plan: Plan | None


def target_fill(
    rules: RuleSet,
    *,
    nominal: Decimal,
    unit: str,
    sd_within: float,
    lot_size: int | None = None,
    plan: str | None = None,
    plan_numbers: PlanNumbers | None = None,
    own_plan: OwnPlan | None = None,
    t: Decimal | None = None,
    supplied: SuppliedShortage | None = None,
    sd_between_lots: float = 0.0,
    sd_tare: float = 0.0,
    u_bias: float = 0.0,
    bias_confidence: float = 0.95,
    p1_max: float | None = None,
    p2_max: float | None = None,
    alpha: float = 0.01,
    sd_estimated_from_n: int | None = None,
    sd_confidence: float = 0.95,
) -> TargetFill:
    """Return the least process mean that keeps every promise.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    sd_within : float
        Standard deviation of contents within a lot. [g or mL]
    lot_size : int, optional
        Packages in the lot; without it and without `plan_numbers` the test is left out.
    plan : str, optional
        Plan, where the rule set has a choice.
    plan_numbers : PlanNumbers, optional
        Plan by its figures, instead of `lot_size`.
    own_plan : OwnPlan, optional
        Figures of the plan ``own``.
    t : Decimal, optional
        Tolerable shortage instead of the table's. [g or mL]
    supplied : SuppliedShortage, optional
        Shortage typed from the document, where the rule set lets the user supply it.
    sd_between_lots : float
        Standard deviation of the mean from lot to lot. [g or mL]
    sd_tare : float
        Standard deviation of single tares, where the inspector uses a mean tare. [g or mL]
    u_bias : float
        Standard uncertainty of what shifts every package alike. [g or mL]
    bias_confidence : float
        Confidence that the average is not short for that reason. [1]
    p1_max : float, optional
        Largest true share below T1; left out, the rule set's own, which may be none. [1]
    p2_max : float, optional
        Largest true share below T2; left out, the rule set's own, which may be none. [1]
    alpha : float
        Largest chance that the reference test rejects. [1]
    sd_estimated_from_n : int, optional
        Doses behind `sd_within`, where it is an estimate.
    sd_confidence : float
        Confidence of its upper limit. [1]

    Returns
    -------
    TargetFill
        The target, what binds, and what each constraint would cost.

    Raises
    ------
    BadInput
        If a figure is out of range, there is no shortage, or the plan is given twice.

    Notes
    -----
    With σ_tot² = σ_within² + σ_lot²:
    average: µ >= Qn + z(c) u; T1: µ >= Qn - T + z(1 - p1) σ_tot; T2: µ >= Qn - 2T + z(1 - p2)
    σ_tot; test: P(accept | µ) >= 1 - α, where P is the product of the two chances at each lot
    effect, averaged over lot effects.  The product is a little below the true chance (a low
    sample fails both tests), so the target errs to the safe side by far less than the scatter.
    Our own derivation; the constraints on shares are those of the packers' rules where a rule set
    has them.
    """
    shortage = float(known_shortage(rules, nominal, unit=unit, t=t, supplied=supplied))
    choice = _plan(rules, lot_size, plan, plan_numbers=plan_numbers, own_plan=own_plan)
    chosen = choice.plan
    factor = 1.0
    if sd_estimated_from_n is not None:
        check_count(sd_estimated_from_n, "sd_estimated_from_n", 2)
        factor = sd_upper_factor(
            sd_estimated_from_n, confidence=_chance(sd_confidence, "sd_confidence")
        )
    aim = _Aim(
        nominal=float(nominal),
        shortage=shortage,
        sd_lot=finite(sd_between_lots, "sd_between_lots"),
        sd_tare=finite(sd_tare, "sd_tare"),
        u_bias=finite(u_bias, "u_bias"),
        bias_confidence=_chance(bias_confidence, "bias_confidence"),
        p1=_share(p1_max, rules.share_below_t1, "p1_max"),
        p2=_share(p2_max, rules.share_below_t2, "p2_max"),
        alpha=_chance(alpha, "alpha"),
        plan=chosen,
    )
    sd = finite(sd_within, "sd_within")
    used = sd * factor
    costs = _costs(aim, used)
    highest = _highest(aim, costs)
    target, binding = highest.target, highest.binding
    known = target if factor == 1.0 else _highest(aim, _costs(aim, sd)).target
    less = _highest(aim, _costs(aim, used * (1 - _STEP_SHARE))).target if used else target
    giveaway = target - aim.nominal
    return TargetFill(
        target=target,
        giveaway=giveaway,
        binding=binding,
        components=costs,
        sd_within_used=used,
        sd_factor=factor,
        giveaway_if_sd_known=known - aim.nominal,
        saving_per_sd=(target - less) / (_STEP_SHARE * used) if used else 0.0,
        shortage=shortage,
        plan_row=None if chosen is None else chosen.row,
        rule=rule_text(rules),
        assumptions=_assumptions(aim, choice.note, estimated=factor > 1.0),
        sources=(rule_text(rules),) if chosen is None else (rule_text(rules), chosen.source),
        because=f"{_WORDS[binding]} sets the target: {target:.6g} {unit}, {giveaway:.3g} {unit} "
        "above the label.",
    )


_WORDS = {
    Constraint.AVERAGE: "The average",
    Constraint.T1_FRACTION: "The share of packages below T1",
    Constraint.T2_FRACTION: "The share of packages below T2",
    Constraint.REFERENCE_TEST: "The reference test",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """The plan that the test constraint uses, or why it is left out."""

    plan: Plan | None
    note: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Highest:
    """The highest of the constraints."""

    target: float
    binding: Constraint


def _plan(
    rules: RuleSet,
    lot_size: int | None,
    plan: str | None,
    *,
    plan_numbers: PlanNumbers | None,
    own_plan: OwnPlan | None,
) -> _Plan:
    """Return the plan by its figures, or that of the lot, or none."""
    if plan_numbers is not None:
        if lot_size is not None or plan is not None or own_plan is not None:
            raise BadInput(
                "plan_numbers: the plan is also given by the lot or by name; give one of them.",
                field="plan_numbers",
                given=plan_numbers.n,
                allowed="plan_numbers alone",
                code="inconsistent",
            )
        return _Plan(plan=plan_from_numbers(plan_numbers), note=None)
    if lot_size is None:
        note = "No lot size was given: the chance of the reference test is left out."
        return _Plan(plan=None, note=note)
    found = find_plan(rules, lot_size=lot_size, plan=plan, own_plan=own_plan)
    left_out = None if found.plan else f"The reference test is left out: {found.because}"
    return _Plan(plan=found.plan, note=left_out)


def _costs(aim: _Aim, sd_within: float) -> TargetCosts:
    """Return the least target of each constraint alone."""
    from scipy.special import ndtri  # noqa: PLC0415  scipy is loaded when first asked

    sd_total = math.hypot(sd_within, aim.sd_lot)

    def by_share(share: float | None, times: int) -> float | None:
        if share is None:
            return None
        return aim.nominal - times * aim.shortage - float(ndtri(share)) * sd_total

    return TargetCosts(
        average=aim.nominal + max(0.0, float(ndtri(aim.bias_confidence))) * aim.u_bias,
        t1_fraction=by_share(aim.p1, 1),
        t2_fraction=by_share(aim.p2, 2),
        reference_test=_by_test(aim, aim.plan, math.hypot(sd_within, aim.sd_tare)),
    )


def _by_test(aim: _Aim, plan: Plan | None, sd_seen: float) -> float | None:
    """Return the least mean at which the reference test accepts often enough."""
    from scipy.optimize import brentq  # noqa: PLC0415  scipy is loaded when first asked

    if plan is None:
        return None
    if sd_seen == 0 and aim.sd_lot == 0:
        return aim.nominal
    effects = lot_effects(aim.sd_lot, sd_seen=sd_seen, n=plan.n_mean)
    sd_mean = sd_seen / math.sqrt(plan.n_mean)

    def excess(offset: float) -> float:
        at = offset + effects.at
        mean = mean_chance(at, sd_seen=sd_seen, sd_mean=sd_mean, plan=plan)
        count = count_chance(at, sd_seen=sd_seen, shortage=aim.shortage, plan=plan)
        return float(effects.weight @ (mean * count.both)) - (1 - aim.alpha)

    step = max(math.hypot(sd_seen, aim.sd_lot), aim.shortage / 10)
    low, high = -step, step
    while excess(high) < 0:
        low, high = high, 2 * high
    while excess(low) >= 0:
        low, high = 2 * low, low
    return aim.nominal + float(brentq(excess, low, high, xtol=1e-7 * step))


def _highest(aim: _Aim, costs: TargetCosts) -> _Highest:
    """Return the highest constraint; the average is never below the label."""
    found = [(costs.average, Constraint.AVERAGE)]
    for value, constraint in (
        (costs.t1_fraction, Constraint.T1_FRACTION),
        (costs.t2_fraction, Constraint.T2_FRACTION),
        (costs.reference_test, Constraint.REFERENCE_TEST),
    ):
        if value is not None:
            found.append((value, constraint))
    target, binding = max(found, key=_value)
    return _Highest(target=max(target, aim.nominal), binding=binding)


def _value(pair: tuple[float, Constraint]) -> float:
    """Return the figure by which constraints are compared."""
    return pair[0]


def _assumptions(aim: _Aim, plan_note: str | None, *, estimated: bool) -> tuple[str, ...]:
    """Say what was taken for granted."""
    found = ["Contents within a lot are normal; the mean of a lot is normal about the target."]
    if aim.p1 is None:
        found.append("No limit on the share of packages below T1 was asked for.")
    if aim.p2 is None:
        found.append("No limit on the share of packages below T2 was asked for.")
    if plan_note is not None:
        found.append(plan_note)
    if aim.sd_lot == 0:
        found.append("The mean does not move from lot to lot; enter its deviation if it does.")
    if estimated:
        found.append("The deviation within a lot is taken at its upper limit.")
    return tuple(found)


def _share(given: float | None, own: Decimal | None, field: str) -> float | None:
    """Return the share given, else the rule set's own."""
    if given is not None:
        return _chance(given, field)
    return None if own is None else float(own)


def _chance(value: float, field: str) -> float:
    """Refuse what is not a chance between zero and one."""
    if not 0 < value < 1:
        raise BadInput(
            f"{field}: {value} is not between 0 and 1; give a share such as 0.05.",
            field=field,
            given=value,
            allowed="above 0, below 1",
        )
    return value
