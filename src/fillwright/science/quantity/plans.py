"""Which sample a rule set asks for: the plan for a lot of a given size.

Plans are rows of the rule set's data file; a plan that the user types from a document is
held to the same form.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fillwright.errors import BadInput
from fillwright.knowledge.types import Basis, PlanKind, PlanRow, RuleSet, SecondLimit
from fillwright.science.quantity.exact import not_negative
from fillwright.science.quantity.shortage import NOT_CHECKED

__all__ = [
    "OwnPlan",
    "Plan",
    "PlanFound",
    "PlanNumbers",
    "check_count",
    "find_plan",
    "plan_from_numbers",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPlan:
    """A plan that the user read in a document.

    Attributes
    ----------
    n : int
        Packages drawn.
    k : Decimal
        Sample correction factor. [1]
    acceptance_number : int
        Most packages short by more than the shortage that still accept.
    t2_allowed : int
        Packages that may be short by more than twice the shortage.
    """

    n: int
    k: Decimal
    acceptance_number: int
    t2_allowed: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A plan for one lot.

    Attributes
    ----------
    kind : PlanKind
        Way of drawing the sample.
    n : int
        Packages drawn (first sample of a double plan).
    n_mean : int
        Packages in the test of the mean: the first ones drawn.
    k : Decimal
        Sample correction factor, zero where the mean must simply reach the label. [1]
    k_printed : bool
        False where the rules print no factor for this lot.
    accept, reject : int or None
        Limits for packages short by more than the shortage; None where there is no such test.
    n_second, accept_total, reject_total : int or None
        Second sample and the limits for both samples together.
    t2_allowed : int or None
        Packages that may be short by more than twice the shortage; None where that is no part
        of the test.
    row : str
        Row of the table, in words.
    basis : Basis
        How the row is held.
    source : str
        Document behind the row.
    """

    kind: PlanKind
    n: int
    n_mean: int
    k: Decimal
    k_printed: bool
    accept: int | None
    reject: int | None
    n_second: int | None
    accept_total: int | None
    reject_total: int | None
    t2_allowed: int | None
    row: str
    basis: Basis
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanNumbers:
    """A plan given by its figures alone.

    Attributes
    ----------
    n, n_mean : int
        Packages drawn, and in the test of the mean.
    k : Decimal
        Sample correction factor. [1]
    ac : int
        Acceptance number.
    re : int or None
        Rejection number; None is one more than `ac`.
    ac2 : int or None
        Acceptance number over both samples of a double plan.
    n2 : int or None
        Second sample of a double plan; None is as large as the first.
    t2_allowed : int or None
        Packages that may be below T2; None where that is no part of the test.
    """

    n: int
    n_mean: int
    k: Decimal
    ac: int
    re: int | None = None
    ac2: int | None = None
    n2: int | None = None
    t2_allowed: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFound:
    """The plan for a lot, or why there is none.

    Attributes
    ----------
    plan : Plan or None
        The plan.
    notes : tuple of str
        What a report must say beside it.
    because : str
        One sentence.
    """

    plan: Plan | None
    notes: tuple[str, ...]
    because: str


def find_plan(
    rules: RuleSet,
    *,
    lot_size: int,
    plan: str | None = None,
    own_plan: OwnPlan | None = None,
) -> PlanFound:
    """Return the plan of a rule set for a lot.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    lot_size : int
        Packages in the lot.
    plan : str, optional
        ``single``, ``double``, ``destructive``, ``census`` or ``own``; left out it is the rule
        set's own default.
    own_plan : OwnPlan, optional
        Figures of the plan ``own``.

    Returns
    -------
    PlanFound
        The plan, or why there is none.

    Raises
    ------
    BadInput
        If the lot is empty, the rule set has no plan of that name, or the figures of an own
        plan are missing or contradict themselves.
    """
    check_count(lot_size, "lot_size", 1)
    kind = _kind(rules, plan, own_plan)
    if kind is PlanKind.OWN:
        return _own(rules, lot_size, own_plan)
    rows = [row for row in rules.plan_rows if row.covers(lot_size)]
    small = [row for row in rows if row.kind is PlanKind.CENSUS]
    if small and kind is not PlanKind.DESTRUCTIVE:
        return _found(rules, small[0], lot_size)
    for row in rows:
        if row.kind is kind:
            return _found(rules, row, lot_size)
    gap = next((gap for gap in rules.gaps if gap.lot_from <= lot_size <= gap.lot_to), None)
    because = gap.because if gap else f"{rules.name} has no {kind} plan for a lot of {lot_size}."
    return PlanFound(plan=None, notes=(), because=because)


def _kind(rules: RuleSet, plan: str | None, own_plan: OwnPlan | None) -> PlanKind:
    """Return the kind of plan asked for."""
    allowed = (*rules.plans, PlanKind.CENSUS, PlanKind.OWN)
    if plan is None:
        return rules.default_plan if own_plan is None else PlanKind.OWN
    if plan not in allowed:
        names = ", ".join(allowed)
        raise BadInput(
            f"plan: {rules.name} has no plan {plan!r}; choose one of {names}.",
            field="plan",
            given=plan,
            allowed=names,
            code="choice",
        )
    if own_plan is not None and plan != PlanKind.OWN:
        raise BadInput(
            f"own_plan: figures are given, but the plan named is {plan}; name the plan own.",
            field="own_plan",
            given=plan,
            allowed="plan own",
            code="inconsistent",
        )
    return PlanKind(plan)


def _found(rules: RuleSet, row: PlanRow, lot_size: int) -> PlanFound:
    """Fit a row of the table to the lot."""
    n = lot_size if row.n is None else row.n
    accept = row.accept
    if row.accept_percent is not None:
        accept = int(row.accept_percent * lot_size // 100)
    end = "and over" if row.lot_to is None else f"to {row.lot_to}"
    words = f"{row.kind}, lots of {row.lot_from} {end}"
    plan = Plan(
        kind=row.kind,
        n=n,
        n_mean=n if row.n_mean is None else row.n_mean,
        k=Decimal(0) if row.k is None else row.k,
        k_printed=row.k is not None,
        accept=accept,
        reject=_reject(row, accept),
        n_second=row.n_second,
        accept_total=row.accept_total,
        reject_total=row.reject_total,
        t2_allowed=rules.second_allowed if rules.second_limit is SecondLimit.TEST else None,
        row=words,
        basis=row.basis,
        source=rules.source_text(row.source),
    )
    notes = (f"{NOT_CHECKED}: plan {words}",) if row.basis is Basis.MEMORY else ()
    return PlanFound(plan=plan, notes=notes, because=f"{rules.name}, {words}: draw {n}.")


def _reject(row: PlanRow, accept: int | None) -> int | None:
    """Return the rejection number: the printed one, else one more than still accepts."""
    if row.reject is not None or accept is None:
        return row.reject
    return accept + 1


def _own(rules: RuleSet, lot_size: int, own: OwnPlan | None) -> PlanFound:
    """Turn the user's figures into a plan."""
    if own is None:
        raise BadInput(
            "own_plan: the figures are missing; give n, k, acceptance_number and t2_allowed.",
            field="own_plan",
            given=None,
            allowed="n, k, acceptance_number, t2_allowed",
            code="missing",
        )
    # A factor needs the spread of two; without one a single package has a mean of its own.
    check_count(own.n, "own_plan n", 2 if own.k else 1)
    check_count(own.acceptance_number, "own_plan acceptance_number", 0)
    check_count(own.t2_allowed, "own_plan t2_allowed", 0)
    not_negative(own.k, "own_plan k")
    if own.n > lot_size:
        raise BadInput(
            f"own_plan: n is {own.n}, but the lot has {lot_size}; give the whole lot or fewer.",
            field="own_plan",
            given=own.n,
            allowed=f"2 to {lot_size}",
            code="inconsistent",
        )
    if own.acceptance_number >= own.n:
        raise BadInput(
            f"own_plan: {own.acceptance_number} short packages of {own.n} are allowed, which "
            "accepts whatever the sample holds; give fewer.",
            field="own_plan",
            given=own.acceptance_number,
            allowed=f"0 to {own.n - 1}",
            code="inconsistent",
        )
    plan = Plan(
        kind=PlanKind.OWN,
        n=own.n,
        n_mean=own.n,
        k=own.k,
        k_printed=True,
        accept=own.acceptance_number,
        reject=own.acceptance_number + 1,
        n_second=None,
        accept_total=None,
        reject_total=None,
        t2_allowed=None if rules.second_limit is SecondLimit.NONE else own.t2_allowed,
        row="own plan",
        basis=Basis.SUPPLIED,
        source="plan typed in by the user",
    )
    note = "plan typed in by the user; its figures were not checked against a document"
    return PlanFound(plan=plan, notes=(note,), because=f"The user's own plan: draw {own.n}.")


def plan_from_numbers(numbers: PlanNumbers) -> Plan:
    """Turn figures into a plan, after a look at whether they fit together.

    Parameters
    ----------
    numbers : PlanNumbers
        The figures.

    Returns
    -------
    Plan
        The plan.

    Raises
    ------
    BadInput
        If a figure is out of range or they contradict each other.
    """
    for field, value, least in (("n", numbers.n, 1), ("n_mean", numbers.n_mean, 1)):
        check_count(value, f"plan_numbers {field}", least)
    check_count(numbers.ac, "plan_numbers ac", 0)
    not_negative(numbers.k, "plan_numbers k")
    reject = numbers.ac + 1 if numbers.re is None else numbers.re
    if numbers.n_mean > numbers.n or reject <= numbers.ac:
        raise BadInput(
            "plan_numbers: n_mean is above n, or re is not above ac; check the figures.",
            field="plan_numbers",
            given=f"n {numbers.n}, n_mean {numbers.n_mean}, ac {numbers.ac}, re {numbers.re}",
            allowed="n_mean up to n, re above ac",
            code="inconsistent",
        )
    is_double = numbers.ac2 is not None
    if not is_double and reject > numbers.ac + 1:
        raise BadInput(
            "plan_numbers: between ac and re a second sample decides, but ac2 is missing.",
            field="plan_numbers",
            given=numbers.re,
            allowed="ac2, or re one above ac",
            code="missing",
        )
    return Plan(
        kind=PlanKind.DOUBLE if is_double else PlanKind.OWN,
        n=numbers.n,
        n_mean=numbers.n_mean,
        k=numbers.k,
        k_printed=True,
        accept=numbers.ac,
        reject=reject,
        n_second=(numbers.n2 or numbers.n) if is_double else None,
        accept_total=numbers.ac2,
        reject_total=None if numbers.ac2 is None else numbers.ac2 + 1,
        t2_allowed=numbers.t2_allowed,
        row="plan by its figures",
        basis=Basis.SUPPLIED,
        source="plan typed in by the user",
    )


def check_count(value: int, field: str, least: int) -> None:
    """Refuse what is not a whole number, or too small.

    Parameters
    ----------
    value : int
        The number.
    field : str
        Name for the message.
    least : int
        Smallest number allowed.

    Raises
    ------
    BadInput
        If it is not a whole number of at least that size.
    """
    if isinstance(value, bool) or not isinstance(value, int):
        raise BadInput(
            f"{field}: {value!r} is not a whole number; give {least} or more.",
            field=field,
            given=value,
            allowed=f"a whole number, {least} or more",
            code="type",
        )
    if value < least:
        raise BadInput(
            f"{field}: {value} is too small; give {least} or more.",
            field=field,
            given=value,
            allowed=f"{least} or more",
        )
