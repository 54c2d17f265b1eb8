"""Test one lot by the reference test of a rule set.

The decision is that of `many_lots.decide` with one row, on exact numbers; this module finds the
limits and the plan, checks that the sample is complete, and puts the answer into words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

import numpy as np

from fillwright.errors import BadInput
from fillwright.knowledge.types import RuleSet, SecondLimit
from fillwright.science.quantity.exact import Exact, on_one_denominator
from fillwright.science.quantity.many_lots import Integers, LotDecisions, decide
from fillwright.science.quantity.plans import OwnPlan, Plan, PlanFound, find_plan
from fillwright.science.quantity.shortage import (
    Shortage,
    ShortageVerdict,
    SuppliedShortage,
    tolerable_shortage,
)
from fillwright.science.quantity.verdicts import IndividualOutcome, LotOutcome, LotVerdict
from fillwright.science.quantity.wording import LotFacts, because, notes

__all__ = ["lot_test"]


def lot_test(
    rules: RuleSet,
    sample: Sequence[Exact],
    *,
    nominal: Decimal,
    unit: str,
    lot_size: int,
    plan: str | None = None,
    second_sample: Sequence[Exact] = (),
    supplied: SuppliedShortage | None = None,
    own_plan: OwnPlan | None = None,
) -> LotVerdict:
    """Test one lot by its sample.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    sample : sequence of Decimal, Fraction or int
        Actual contents in random drawing order; where the test of the mean, or the plan, uses
        fewer, it uses the first ones and the answer says so. [g or mL]
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    lot_size : int
        Packages in the lot.
    plan : str, optional
        ``single``, ``double``, ``destructive``, ``census`` or ``own``, where the rule set has a
        choice.
    second_sample : sequence of Decimal, Fraction or int, optional
        Second sample of a double plan. [g or mL]
    supplied : SuppliedShortage, optional
        Shortage typed from the document, where the rule set lets the user supply it.
    own_plan : OwnPlan, optional
        Figures of the plan ``own``.

    Returns
    -------
    LotVerdict
        The verdict and every figure behind it.

    Raises
    ------
    BadInput
        If a content is not an exact number, there are more contents than packages in the lot, or
        what `tolerable_shortage` and `find_plan` refuse.

    Notes
    -----
    Accepts when mean error + k s >= 0, when no more packages than allowed hold less than the
    label quantity less T, and, where the rules test it, when none holds less than the label
    quantity less 2 T.  All three are decided on exact numbers; equality is in favour of the lot.
    The order is: out of scope, no plan, sample too small, rejected by any of the three, second
    sample, not evaluated (no shortage known), accepted.
    """
    shortage = tolerable_shortage(rules, nominal, unit=unit, supplied=supplied)
    found = find_plan(rules, lot_size=lot_size, plan=plan, own_plan=own_plan)
    if len(sample) + len(second_sample) > lot_size:
        raise BadInput(
            f"sample: {len(sample) + len(second_sample)} contents, but the lot has {lot_size} "
            "packages; check the lot size.",
            field="sample",
            given=len(sample) + len(second_sample),
            allowed=f"at most {lot_size}",
            code="inconsistent",
        )

    def name(place: int) -> str:
        first = place <= len(sample)
        return f"sample {place}" if first else f"second_sample {place - len(sample)}"

    exact = on_one_denominator([*sample, *second_sample, nominal], name)
    *contents, label = exact.numerators
    errors = [content - label for content in contents]
    if shortage.verdict is ShortageVerdict.OUT_OF_SCOPE or found.plan is None:
        return _without_plan(rules, shortage, found, lot_size)
    case = _Case(
        rules=rules,
        shortage=shortage,
        found=found,
        plan=found.plan,
        lot_size=lot_size,
        denominator=exact.denominator,
        first=errors[: len(sample)],
        second=errors[len(sample) :],
    )
    return _judge(case)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """What a lot test has in hand; contents are errors over one denominator."""

    rules: RuleSet
    shortage: Shortage
    found: PlanFound
    plan: Plan
    lot_size: int
    denominator: int
    first: list[int]
    second: list[int]

    @property
    def shortage_units(self) -> Fraction | None:
        """Tolerable shortage in units of one over the denominator. [1]."""
        if self.shortage.t is None:
            return None
        return Fraction(self.shortage.t) * self.denominator

    @property
    def t2_allowed(self) -> int | None:
        """Packages that may be below T2, None where the rules have no such limit."""
        if self.rules.second_limit is SecondLimit.NONE:
            return None
        own = self.plan.t2_allowed
        return self.rules.second_allowed if own is None else own


def _judge(case: _Case) -> LotVerdict:
    """Decide, then say it."""
    plan = case.plan
    missing = max(0, plan.n - len(case.first))
    part = replace(plan, n=plan.n - missing, n_mean=min(plan.n_mean, plan.n - missing))
    row = _decide(case, part, None)
    wants_second = not missing and bool(row.second_sample[0])
    has_second = wants_second and len(case.second) >= (plan.n_second or 0)
    if has_second:
        row = _decide(case, plan, case.second)
    partial_second = wants_second and not has_second and bool(case.second)
    if wants_second and not has_second:
        missing = (plan.n_second or 0) - len(case.second)
    incomplete = len(case.first) < plan.n or partial_second
    mean_known = len(case.first) >= plan.n_mean
    against = _against(case, row, mean_known=mean_known, partial_second=partial_second)
    outcome = _outcome(case, row, incomplete=incomplete)
    facts = LotFacts(
        outcome=outcome,
        cannot_pass=incomplete and against,
        given=len(case.first),
        missing=missing,
        second_given=len(case.second),
        second_used=has_second or partial_second,
        below_t2_untested=_below_t2_untested(case, row),
    )
    verdict = _figures(case, row, facts, mean_known=mean_known, has_second=has_second)
    return replace(verdict, because=because(case.rules, plan, verdict))


def _decide(case: _Case, plan: Plan, second: list[int] | None) -> LotDecisions:
    """Put one lot through the decision of many."""
    return decide(
        _row(case.first),
        plan=plan,
        shortage=case.shortage_units,
        rules=case.rules,
        second=None if second is None else _row(second),
    )


def _row(errors: list[int]) -> Integers:
    """Return one lot as an array of one row, of unbounded integers where 64 bits do not do."""
    try:
        return np.array([errors], dtype=np.int64)
    except OverflowError:
        return np.array([errors], dtype=np.object_)


def _against(case: _Case, row: LotDecisions, *, mean_known: bool, partial_second: bool) -> bool:
    """Say whether what is there already decides against the lot."""
    plan, count = case.plan, int(row.count_below_t1[0])
    against = mean_known and not bool(row.mean_ok[0])
    against |= plan.reject is not None and count >= plan.reject
    against |= plan.t2_allowed is not None and not bool(row.t2_ok[0])
    if partial_second and plan.reject_total is not None:
        against |= count + _below(case, case.second, 1) >= plan.reject_total
    return against


def _outcome(case: _Case, row: LotDecisions, *, incomplete: bool) -> LotOutcome:
    """Return the verdict in the order of decisions."""
    if incomplete:
        return LotOutcome.SAMPLE_TOO_SMALL
    if row.rejected[0]:
        return LotOutcome.REJECTED
    if row.second_sample[0]:
        return LotOutcome.SECOND_SAMPLE
    if case.shortage.t is None and case.plan.accept is not None:
        return LotOutcome.NOT_EVALUATED
    return LotOutcome.ACCEPTED


def _below(case: _Case, errors: list[int], times: int) -> int:
    """Count the errors short by more than the shortage, once or twice."""
    units = case.shortage_units
    return 0 if units is None else sum(error < -times * units for error in errors)


def _below_t2_untested(case: _Case, row: LotDecisions) -> int:
    """Count the packages below T2 that were given but are no part of the test."""
    if case.t2_allowed is None:
        return 0
    return _below(case, [*case.first, *case.second], 2) - int(row.count_below_t2[0])


def _compliant(case: _Case, facts: LotFacts, row: LotDecisions) -> bool | None:
    """Say whether the goods comply; None while that is open."""
    allowed = case.t2_allowed
    far_short = int(row.count_below_t2[0]) + facts.below_t2_untested
    if facts.outcome is LotOutcome.REJECTED or (allowed is not None and far_short > allowed):
        return False
    return True if facts.outcome is LotOutcome.ACCEPTED else None


def _individual(
    case: _Case, facts: LotFacts, row: LotDecisions, *, has_second: bool
) -> IndividualOutcome | None:
    """Return the result of the count; None where it is not complete or not asked."""
    if facts.given < case.plan.n or case.shortage.t is None or case.plan.reject is None:
        return None
    if row.individual_ok[0]:
        return IndividualOutcome.ACCEPTED
    if has_second or int(row.count_below_t1[0]) >= case.plan.reject:
        return IndividualOutcome.REJECTED
    return IndividualOutcome.SECOND_SAMPLE


def _figures(
    case: _Case, row: LotDecisions, facts: LotFacts, *, mean_known: bool, has_second: bool
) -> LotVerdict:
    """Gather the figures behind the verdict."""
    rules, plan, shortage = case.rules, case.plan, case.shortage
    n_mean = min(plan.n_mean, facts.given)
    label = Fraction(shortage.nominal)
    error = Fraction(int(row.sum_errors[0]), n_mean * case.denominator) if n_mean else None
    s = None
    if n_mean > 1:
        s = math.sqrt(Fraction(int(row.spread[0]), n_mean * (n_mean - 1) * case.denominator**2))
    doubt = None
    if mean_known:
        doubt = float(plan.k) * s if s is not None else 0.0
    known_t = shortage.t is not None
    count = int(row.count_below_t1[0]) if known_t else None
    t2_ok = None
    if case.t2_allowed is not None and known_t:
        open_ = facts.outcome is LotOutcome.SAMPLE_TOO_SMALL and facts.given < plan.n
        t2_ok = None if open_ and row.t2_ok[0] else bool(row.t2_ok[0])
    us_words = rules.sample_error_limit
    return LotVerdict(
        verdict=facts.outcome,
        compliant=_compliant(case, facts, row),
        rule=shortage.rule,
        nominal=shortage.nominal,
        unit=shortage.unit,
        lot_size=case.lot_size,
        plan=plan.kind,
        plan_row=plan.row,
        plan_basis=plan.basis,
        t=shortage.t,
        t_raw=shortage.t_raw,
        t1_limit=shortage.t1_limit,
        t2_limit=shortage.t2_limit,
        t_row=shortage.row,
        t_basis=shortage.basis,
        rounding_basis=None if shortage.t == shortage.t_raw else shortage.rounding_basis,
        required_n=plan.n,
        mean_n=plan.n_mean,
        missing=facts.missing,
        mean=None if error is None else float(label + error),
        mean_error=None if error is None else float(error),
        s=s,
        k=plan.k if plan.k_printed else None,
        limit=None if doubt is None else float(label) - doubt,
        margin=None if error is None or doubt is None else float(error) + doubt,
        mean_ok=bool(row.mean_ok[0]) if mean_known else None,
        count_below_t1=count,
        count_below_t2=int(row.count_below_t2[0]) if known_t else None,
        acceptance_number=plan.accept,
        rejection_number=plan.reject,
        individual_test=_individual(case, facts, row, has_second=has_second),
        t2_ok=t2_ok,
        count_below_t1_total=int(row.count_below_t1_total[0]) if has_second else None,
        acceptance_number_2=plan.accept_total if has_second else None,
        rejection_number_2=plan.reject_total if has_second else None,
        mav_limit=shortage.t1_limit if us_words else None,
        count_beyond_mav=count if us_words else None,
        sample_error_limit=doubt if us_words and plan.k_printed else None,
        cannot_pass=facts.cannot_pass,
        notes=notes(case.rules, plan, facts, (*shortage.notes, *case.found.notes)),
        sources=_sources(shortage, plan.source),
        assumptions=_assumptions(shortage.unit),
    )


def _without_plan(
    rules: RuleSet, shortage: Shortage, found: PlanFound, lot_size: int
) -> LotVerdict:
    """Answer for a label quantity out of scope, or a lot without a plan."""
    outside = shortage.verdict is ShortageVerdict.OUT_OF_SCOPE
    return LotVerdict(
        verdict=LotOutcome.OUT_OF_SCOPE if outside else LotOutcome.NO_PLAN,
        compliant=None,
        rule=shortage.rule,
        nominal=shortage.nominal,
        unit=shortage.unit,
        lot_size=lot_size,
        t=shortage.t,
        t_raw=shortage.t_raw,
        t1_limit=shortage.t1_limit,
        t2_limit=shortage.t2_limit,
        t_row=shortage.row,
        t_basis=shortage.basis,
        rounding_basis=None if shortage.t == shortage.t_raw else shortage.rounding_basis,
        mav_limit=shortage.t1_limit if rules.sample_error_limit else None,
        notes=(*shortage.notes, *rules.notes),
        sources=shortage.sources,
        assumptions=_assumptions(shortage.unit),
        because=shortage.because if outside else found.because,
    )


def _sources(shortage: Shortage, plan_source: str) -> tuple[str, ...]:
    """Return each document once."""
    return tuple(dict.fromkeys((*shortage.sources, plan_source)))


def _assumptions(unit: str) -> tuple[str, ...]:
    """Return what every lot test takes for granted."""
    drawn = "The packages were drawn at random and are listed in the order of drawing."
    at_20 = "Volumes are those at 20 °C."
    return (drawn, at_20) if unit == "mL" else (drawn,)
