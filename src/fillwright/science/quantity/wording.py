"""The sentences of a lot test: why this verdict, and what a report must say beside it."""

from __future__ import annotations

from dataclasses import dataclass

from fillwright.knowledge.types import RuleSet
from fillwright.science.quantity.plans import Plan
from fillwright.science.quantity.verdicts import IndividualOutcome, LotOutcome, LotVerdict

__all__ = ["LotFacts", "because", "notes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotFacts:
    """How far a lot test has come.

    Attributes
    ----------
    outcome : LotOutcome
        The verdict.
    cannot_pass : bool
        True when an incomplete sample already decides against the lot.
    given : int
        Packages in the (first) sample as given.
    missing : int
        Packages still to be drawn.
    second_given : int
        Packages in the second sample as given.
    second_used : bool
        Whether the plan wanted them.
    below_t2_untested : int
        Packages below T2 that were given but are no part of the test.
    """

    outcome: LotOutcome
    cannot_pass: bool
    given: int
    missing: int
    second_given: int
    second_used: bool
    below_t2_untested: int


def because(rules: RuleSet, plan: Plan, verdict: LotVerdict) -> str:
    """Say in one sentence why the verdict is what it is.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    plan : Plan
        The plan.
    verdict : LotVerdict
        The verdict with its figures.

    Returns
    -------
    str
        One sentence.
    """
    if verdict.verdict is LotOutcome.SAMPLE_TOO_SMALL:
        open_ = "; the lot cannot pass any more" if verdict.cannot_pass else ""
        return f"The sample is too small: {verdict.missing} more to draw{open_}."
    if verdict.verdict is LotOutcome.REJECTED:
        return "Rejected: " + "; ".join(_against(rules, plan, verdict)) + "."
    if verdict.verdict is LotOutcome.SECOND_SAMPLE:
        return (
            f"{verdict.count_below_t1} short in {plan.n} is more than {plan.accept} and fewer "
            f"than {plan.reject}: draw a second sample of {plan.n_second}."
        )
    mean = _mean(verdict, "is not below")
    if verdict.verdict is LotOutcome.NOT_EVALUATED:
        return f"{mean}, but the {rules.shortage_word} is not known: type it from the document."
    if plan.accept is None:
        return f"Accepted: {mean}; a lot of one is judged on that only."
    return f"Accepted: {mean}; {_count(plan, verdict)}."


def notes(rules: RuleSet, plan: Plan, facts: LotFacts, first: tuple[str, ...]) -> tuple[str, ...]:
    """Return what a report must say beside the verdict.

    Parameters
    ----------
    rules : RuleSet
        The rule set, with its own notes.
    plan : Plan
        The plan.
    facts : LotFacts
        How far the test has come.
    first : tuple of str
        Notes of the shortage and the plan.

    Returns
    -------
    tuple of str
        One sentence each.
    """
    found = list(first)
    if plan.n_mean < plan.n:
        found.append(f"the test of the mean uses the first {plan.n_mean} of the {plan.n} drawn")
    if facts.given > plan.n:
        found.append(f"the sample is the first {plan.n} of the {facts.given} packages listed")
    if facts.second_given and not facts.second_used:
        found.append("the second sample was not asked for and is not counted")
    if facts.second_used and plan.n_second is not None and facts.second_given > plan.n_second:
        found.append(
            f"the second sample is the first {plan.n_second} of the {facts.second_given} listed"
        )
    if facts.below_t2_untested:
        found.append(
            f"{facts.below_t2_untested} listed outside the sample below T2: take out of the goods"
        )
    return (*found, *rules.notes)


def _against(rules: RuleSet, plan: Plan, verdict: LotVerdict) -> list[str]:
    """Return the reasons for a rejection."""
    reasons = []
    if verdict.mean_ok is False:
        reasons.append(_mean(verdict, "is below"))
    if verdict.individual_test is IndividualOutcome.REJECTED:
        reasons.append(_count(plan, verdict))
    if verdict.t2_ok is False and plan.t2_allowed is not None:
        reasons.append(
            f"{verdict.count_below_t2} short by more than twice the {rules.shortage_word}, "
            f"{plan.t2_allowed or 'none'} allowed"
        )
    return reasons


def _mean(verdict: LotVerdict, how: str) -> str:
    """Return the result of the mean in words."""
    mean, limit = verdict.mean or 0.0, verdict.limit or 0.0
    return f"the mean {mean:.6g} {verdict.unit} {how} the limit {limit:.6g} {verdict.unit}"


def _count(plan: Plan, verdict: LotVerdict) -> str:
    """Return the result of the count in words."""
    count, drawn, most = verdict.count_below_t1, plan.n, plan.accept
    if verdict.count_below_t1_total is not None:
        count, most = verdict.count_below_t1_total, plan.accept_total
        drawn = plan.n + (plan.n_second or 0)
    return f"{count} of {drawn} short by more than {verdict.t} {verdict.unit}, most {most}"
