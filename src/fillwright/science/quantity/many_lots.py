"""Decide lots, one or a hundred thousand, by the same exact comparisons.

Errors (content less label quantity) are whole numbers of one division.  Counts compare integers;
the mean is tested without a root: it accepts when the sum of errors is not negative, or when
k² s² is at least the square of the mean error.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.knowledge.types import RuleSet, SecondLimit
from fillwright.science.quantity.exact import above_zero, ceiling
from fillwright.science.quantity.plans import OwnPlan, Plan, find_plan
from fillwright.science.quantity.shortage import (
    ShortageVerdict,
    SuppliedShortage,
    tolerable_shortage,
)

__all__ = ["LotDecisions", "decide", "decide_lots"]

Integers = NDArray[np.int64] | NDArray[np.object_]
Flags = NDArray[np.bool_]

# An int64 holds n·Σe² and (Σe)² as long as (n·|e|)² stays below 2**63.
_EXACT_PEAK = 3_037_000_499
# Both sides of the mean test carry at most a few roundings of 2**-53 each.
_TOO_CLOSE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDecisions:
    """Decisions on many lots, one row a lot.

    Attributes
    ----------
    accepted, rejected, second_sample : ndarray of bool, shape (lots,)
        What the reference test says; exactly one of the three is true, unless there is no limit
        for short packages and the mean is fine: then none is.
    mean_ok : ndarray of bool, shape (lots,)
        Result of the test of the mean.
    individual_ok : ndarray of bool, shape (lots,)
        True where the count of short packages accepts.
    t2_ok : ndarray of bool, shape (lots,)
        True where no more packages than allowed are short by more than twice the shortage.
    count_below_t1, count_below_t2 : ndarray of int, shape (lots,)
        Packages short by more than once and twice the shortage; the second sample is in the
        count below T2 where it was used.
    count_below_t1_total : ndarray of int, shape (lots,)
        The count over both samples where the second was used, else that of the first.
    sum_errors : ndarray of int, shape (lots,)
        Sum of the errors in the test of the mean. [divisions]
    spread : ndarray of int, shape (lots,)
        n (n - 1) times their variance. [divisions²]
    """

    accepted: Flags
    rejected: Flags
    second_sample: Flags
    mean_ok: Flags
    individual_ok: Flags
    t2_ok: Flags
    count_below_t1: NDArray[np.int64]
    count_below_t2: NDArray[np.int64]
    count_below_t1_total: NDArray[np.int64]
    sum_errors: Integers
    spread: Integers


def decide_lots(
    rules: RuleSet,
    errors: Integers,
    *,
    division: Decimal,
    nominal: Decimal,
    unit: str,
    lot_size: int,
    plan: str | None = None,
    second_errors: Integers | None = None,
    supplied: SuppliedShortage | None = None,
    own_plan: OwnPlan | None = None,
) -> LotDecisions:
    """Decide many lots of one product under one plan.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    errors : ndarray of int, shape (lots, packages)
        Content less label quantity, in random drawing order, in whole divisions; packages beyond
        the plan's sample are not looked at.
    division : Decimal
        Size of a division. [g or mL]
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    lot_size : int
        Packages in each lot.
    plan : str, optional
        Plan, where the rule set has a choice.
    second_errors : ndarray of int, shape (lots, packages), optional
        Second samples; used in the rows whose first sample leaves the lot open.
    supplied : SuppliedShortage, optional
        Shortage typed from the document, where the rule set lets the user supply it.
    own_plan : OwnPlan, optional
        Figures of the plan ``own``.

    Returns
    -------
    LotDecisions
        One row a lot.

    Raises
    ------
    BadInput
        If the array is not whole numbers in rows, a sample is too small, or the rule set has no
        plan or no shortage for these lots.

    Notes
    -----
    Decision as in `lot_test`, which calls the same function with one row.
    """
    shortage = tolerable_shortage(rules, nominal, unit=unit, supplied=supplied)
    found = find_plan(rules, lot_size=lot_size, plan=plan, own_plan=own_plan)
    if shortage.verdict is not ShortageVerdict.OK:
        raise BadInput(
            shortage.because,
            field="nominal",
            given=nominal,
            allowed="a quantity with a shortage",
            code="not-available",
        )
    if found.plan is None:
        raise BadInput(
            found.because,
            field="lot_size",
            given=lot_size,
            allowed="a lot with a plan",
            code="not-available",
        )
    _check_array(errors, found.plan.n, "errors")
    if second_errors is not None and found.plan.n_second is not None:
        _check_array(second_errors, found.plan.n_second, "second_errors")
        if len(second_errors) != len(errors):
            raise BadInput(
                f"second_errors: {len(second_errors)} rows, but errors has {len(errors)}.",
                field="second_errors",
                given=len(second_errors),
                allowed=f"{len(errors)} rows",
                code="inconsistent",
            )
    return decide(
        errors,
        plan=found.plan,
        shortage=Fraction(shortage.t or 0) / above_zero(division, "division"),
        rules=rules,
        second=second_errors,
    )


def decide(
    errors: Integers,
    *,
    plan: Plan,
    shortage: Fraction | None,
    rules: RuleSet,
    second: Integers | None = None,
) -> LotDecisions:
    """Decide rows of errors under a plan that is already known.

    Parameters
    ----------
    errors : ndarray of int, shape (lots, at least the plan's sample)
        Content less label quantity, in whole divisions.
    plan : Plan
        The plan.
    shortage : Fraction or None
        Tolerable shortage in divisions; None where it is not known. [divisions]
    rules : RuleSet
        Says whether a package short by twice the shortage fails the test.
    second : ndarray of int, optional
        Second samples, at least as long as the plan's.

    Returns
    -------
    LotDecisions
        One row a lot.

    Notes
    -----
    An integer is below a fraction exactly when it is below the fraction's ceiling, so counts need
    no rounding.  With whole numbers S = Σe and V = nΣe² - S² the mean test reads
    k² n V >= (n - 1) S²; it is decided in floats where the sides are far apart and in unbounded
    integers where they are not.
    """
    first = errors[:, : plan.n]
    sums, spread = _sums(errors[:, : plan.n_mean])
    mean_ok = _mean_ok(sums, spread, k=Fraction(plan.k), n=plan.n_mean)
    rows = len(errors)
    nothing = np.zeros(rows, dtype=np.int64)
    below_t1 = below_t2 = nothing
    if shortage is not None:
        below_t1 = _count_below(first, ceiling(-shortage))
        below_t2 = _count_below(first, ceiling(-2 * shortage))
    judged = shortage is not None and plan.accept is not None
    if not judged or plan.accept is None or plan.reject is None:
        individual_ok = np.full(rows, plan.accept is None)
        individual_bad = open_ = np.zeros(rows, dtype=np.bool_)
    else:
        individual_ok = below_t1 <= plan.accept
        individual_bad = below_t1 >= plan.reject
        open_ = ~individual_ok & ~individual_bad
    total = below_t1
    if second is not None and shortage is not None and plan.n_second is not None:
        more = second[:, : plan.n_second]
        total = below_t1 + np.where(open_, _count_below(more, ceiling(-shortage)), 0)
        more_t2 = np.where(open_, _count_below(more, ceiling(-2 * shortage)), 0)
        below_t2 = below_t2 + more_t2
        individual_ok = individual_ok | (open_ & (total <= (plan.accept_total or 0)))
        individual_bad = ~individual_ok
        open_ = nothing.astype(np.bool_)
    allowed = rules.second_allowed if plan.t2_allowed is None else plan.t2_allowed
    has_second_limit = shortage is not None and rules.second_limit is not SecondLimit.NONE
    t2_ok = below_t2 <= allowed if has_second_limit else np.ones(rows, dtype=np.bool_)
    t2_fails = ~t2_ok if plan.t2_allowed is not None else np.zeros(rows, dtype=np.bool_)
    rejected = ~mean_ok | individual_bad | t2_fails
    return LotDecisions(
        accepted=~rejected & individual_ok,
        rejected=rejected,
        second_sample=~rejected & open_,
        mean_ok=mean_ok,
        individual_ok=individual_ok,
        t2_ok=t2_ok,
        count_below_t1=below_t1,
        count_below_t2=below_t2,
        count_below_t1_total=total,
        sum_errors=sums,
        spread=spread,
    )


def _sums(errors: Integers) -> tuple[Integers, Integers]:
    """Return Σe and nΣe² - (Σe)² of each row, exactly."""
    n = errors.shape[1]
    if errors.dtype != np.object_ and errors.size:
        peak = max(-int(errors.min()), int(errors.max()))
        if peak * n <= _EXACT_PEAK:
            whole = errors.astype(np.int64, copy=False)
            sums = whole.sum(axis=1)
            return sums, n * np.einsum("ij,ij->i", whole, whole) - sums * sums
    large = errors.astype(np.object_)
    total = np.array([sum(row) for row in large], dtype=np.object_)
    squares = np.array([sum(e * e for e in row) for row in large], dtype=np.object_)
    return total, n * squares - total * total


def _mean_ok(sums: Integers, spread: Integers, *, k: Fraction, n: int) -> Flags:
    """Test the mean of each row, exactly."""
    short = np.asarray(sums < 0, dtype=np.bool_)
    ok = ~short
    if k == 0 or n == 1 or not short.any():
        return ok
    weight_spread = k.numerator**2 * n
    weight_sum = k.denominator**2 * (n - 1)
    where = np.flatnonzero(short)
    some_sums, some_spread = sums[where], spread[where]
    if sums.dtype != np.object_:
        left = float(Fraction(weight_spread, weight_sum)) * some_spread.astype(np.float64)
        right = some_sums.astype(np.float64) ** 2
        ok[where] = left >= right
        near = np.abs(left - right) <= _TOO_CLOSE * (left + right)
        where, some_sums, some_spread = where[near], some_sums[near], some_spread[near]
    for row, total, variance in zip(where, some_sums, some_spread, strict=True):
        ok[row] = weight_spread * int(variance) >= weight_sum * int(total) ** 2
    return ok


def _count_below(errors: Integers, limit: int) -> NDArray[np.int64]:
    """Count the errors of each row that lie below a whole number."""
    below: NDArray[np.int64] = np.count_nonzero(errors < limit, axis=1).astype(np.int64)
    return below


def _check_array(errors: Integers, least: int, field: str) -> None:
    """Refuse what is not rows of whole numbers, long enough for the plan."""
    if errors.ndim != 2 or not (errors.dtype == np.object_ or errors.dtype.kind == "i"):  # noqa: PLR2004  rows and columns
        raise BadInput(
            f"{field}: an array of {errors.dtype} in {errors.ndim} dimensions; give whole "
            "divisions, one row a lot.",
            field=field,
            given=str(errors.dtype),
            allowed="a two-dimensional array of integers",
            code="type",
        )
    if errors.shape[1] < least:
        raise BadInput(
            f"{field}: {errors.shape[1]} packages a lot, but the plan asks for {least}.",
            field=field,
            given=errors.shape[1],
            allowed=f"{least} or more",
            code="inconsistent",
        )
