"""What a lot test and a target fill answer: the verdict with every figure behind it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from fillwright.knowledge.types import Basis, PlanKind

__all__ = [
    "Constraint",
    "IndividualOutcome",
    "LotOutcome",
    "LotVerdict",
    "TargetCosts",
    "TargetFill",
]


class LotOutcome(StrEnum):
    """What the reference test says about a lot."""

    ACCEPTED = "accepted"
    REJECTED = "rejected"
    SECOND_SAMPLE = "second-sample"
    SAMPLE_TOO_SMALL = "sample-too-small"
    NO_PLAN = "no-plan"
    OUT_OF_SCOPE = "out-of-scope"
    NOT_EVALUATED = "not-evaluated"


class IndividualOutcome(StrEnum):
    """What the count of short packages says."""

    ACCEPTED = "accepted"
    REJECTED = "rejected"
    SECOND_SAMPLE = "second-sample"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotVerdict:
    """Verdict on one lot; figures that do not apply are None.

    Attributes
    ----------
    verdict : LotOutcome
        What the reference test says.
    compliant : bool or None
        Whether the goods may be released under the rules; None while that is open.
    rule : str
        Name, title and edition of the rule set.
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    lot_size : int
        Packages in the lot.
    plan : PlanKind or None
        Way of drawing the sample.
    plan_row : str or None
        Row of the table of plans, in words.
    plan_basis : Basis or None
        How that row is held.
    t, t_raw : Decimal or None
        Tolerable shortage as compared, and before rounding. [g or mL]
    t1_limit, t2_limit : Decimal or None
        Label quantity less once and twice the shortage. [g or mL]
    t_row : str or None
        Row of the table of shortages.
    t_basis : Basis or None
        How that row is held.
    rounding_basis : Basis or None
        How the rounding is held, where it changed the shortage.
    required_n : int or None
        Packages that the plan asks for.
    mean_n : int or None
        Packages in the test of the mean: the first of the list.
    missing : int or None
        Packages still to be drawn; zero when the sample is complete.
    mean : float or None
        Mean content of those packages. [g or mL]
    mean_error : float or None
        Mean less the label quantity. [g or mL]
    s : float or None
        Their standard deviation, divisor n - 1. [g or mL]
    k : Decimal or None
        Sample correction factor as printed. [1]
    limit : float or None
        Least mean that accepts, for showing. [g or mL]
    margin : float or None
        Mean less that limit, for showing. [g or mL]
    mean_ok : bool or None
        Result of the test of the mean, decided on exact numbers.
    count_below_t1, count_below_t2 : int or None
        Packages of the sample short by more than once and twice the shortage; the first count
        includes the second.
    acceptance_number, rejection_number : int or None
        Limits for `count_below_t1`.
    individual_test : IndividualOutcome or None
        What the count says.
    t2_ok : bool or None
        Whether no package, or no more than allowed, is short by more than twice the shortage;
        None where the rules have no such limit.
    count_below_t1_total : int or None
        The count over both samples.
    acceptance_number_2, rejection_number_2 : int or None
        Limits for that count.
    mav_limit : Decimal or None
        Label quantity less the maximum allowable variation, where rules use that word. [g or mL]
    count_beyond_mav : int or None
        Packages short by more than that variation.
    sample_error_limit : float or None
        Factor times standard deviation, where rules use that word. [g or mL]
    cannot_pass : bool
        True when the sample is incomplete and already decides against the lot.
    notes : tuple of str
        What a report must say beside the verdict.
    sources : tuple of str
        Documents behind the figures.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        One sentence.
    """

    verdict: LotOutcome
    compliant: bool | None
    rule: str
    nominal: Decimal
    unit: str
    lot_size: int
    plan: PlanKind | None = None
    plan_row: str | None = None
    plan_basis: Basis | None = None
    t: Decimal | None = None
    t_raw: Decimal | None = None
    t1_limit: Decimal | None = None
    t2_limit: Decimal | None = None
    t_row: str | None = None
    t_basis: Basis | None = None
    rounding_basis: Basis | None = None
    required_n: int | None = None
    mean_n: int | None = None
    missing: int | None = None
    mean: float | None = None
    mean_error: float | None = None
    s: float | None = None
    k: Decimal | None = None
    limit: float | None = None
    margin: float | None = None
    mean_ok: bool | None = None
    count_below_t1: int | None = None
    count_below_t2: int | None = None
    acceptance_number: int | None = None
    rejection_number: int | None = None
    individual_test: IndividualOutcome | None = None
    t2_ok: bool | None = None
    count_below_t1_total: int | None = None
    acceptance_number_2: int | None = None
    rejection_number_2: int | None = None
    mav_limit: Decimal | None = None
    count_beyond_mav: int | None = None
    sample_error_limit: float | None = None
    cannot_pass: bool = False
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    because: str = ""


class Constraint(StrEnum):
    """What may set the target."""

    AVERAGE = "average"
    T1_FRACTION = "T1_fraction"
    T2_FRACTION = "T2_fraction"
    REFERENCE_TEST = "reference_test"


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetCosts:
    """Least target that each constraint alone would ask for; None where it does not apply.

    Attributes
    ----------
    average : float
        From the average. [g or mL]
    t1_fraction : float or None
        From the share below T1. [g or mL]
    t2_fraction : float or None
        From the share below T2. [g or mL]
    reference_test : float or None
        From the chance of acceptance. [g or mL]
    """

    average: float
    t1_fraction: float | None
    t2_fraction: float | None
    reference_test: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetFill:
    """The target fill and what sets it.

    Attributes
    ----------
    target : float
        Process mean to aim at, never below the label. [g or mL]
    giveaway : float
        Target less label quantity. [g or mL]
    binding : Constraint
        The constraint that sets it.
    components : TargetCosts
        Least target of each constraint alone.
    sd_within_used : float
        Standard deviation within a lot as used, upper limit where it was estimated. [g or mL]
    sd_factor : float
        Factor from the deviation given to the one used. [1]
    giveaway_if_sd_known : float
        Giveaway if the deviation given were exact: the rest is the price of too few doses.
        [g or mL]
    saving_per_sd : float
        Giveaway saved for each unit that the deviation within a lot comes down. [1]
    shortage : float
        Tolerable shortage used. [g or mL]
    plan_row : str or None
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

    target: float
    giveaway: float
    binding: Constraint
    components: TargetCosts
    sd_within_used: float
    sd_factor: float
    giveaway_if_sd_known: float
    saving_per_sd: float
    shortage: float
    plan_row: str | None
    rule: str
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]
    because: str
