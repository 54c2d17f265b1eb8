"""The verdict of a lot test as journal and papers keep it: every figure, as text or number."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from fillwright.knowledge.types import RuleSet, SecondLimit
from fillwright.records.kinds_batch import LotJudged
from fillwright.science.quantity import LotVerdict

__all__ = ["lot_judged"]


def lot_judged(
    verdict: LotVerdict,
    *,
    rules: RuleSet,
    n: int,
    first_n: int,
    cited: Sequence[str],
    program: str,
) -> LotJudged:
    """Return a verdict in the form that is kept.

    Parameters
    ----------
    verdict : LotVerdict
        What the lot test said.
    rules : RuleSet
        Under which rules.
    n : int
        Containers weighed, both samples together.
    first_n : int
        Containers of the first sample where there are two, else 0.
    cited : sequence of str
        Documents that the user took figures from.
    program : str
        Name and version of the software that judged.

    Returns
    -------
    LotJudged
        After a second sample with the counts and limits of both together.
    """
    # A limit that the rules do not have is no limit of the record either.
    has_t2 = rules.second_limit is not SecondLimit.NONE
    is_second = verdict.count_below_t1_total is not None
    bases = (verdict.plan_basis, verdict.t_basis, verdict.rounding_basis)
    count = verdict.count_below_t1_total if is_second else verdict.count_below_t1
    return LotJudged(
        verdict=verdict.verdict.value,
        is_compliant=verdict.compliant,
        rules=rules.name,
        edition=rules.edition,
        plan="" if verdict.plan is None else verdict.plan.value,
        basis=tuple(sorted({basis.value for basis in bases if basis is not None})),
        lot_size=verdict.lot_size,
        n=n,
        mean_n=verdict.mean_n or 0,
        nominal=f"{verdict.nominal:f}",
        unit=verdict.unit,
        shortage=_text(verdict.t),
        t1_limit=_text(verdict.t1_limit),
        t2_limit=_text(verdict.t2_limit) if has_t2 else "",
        mean=verdict.mean,
        mean_error=verdict.mean_error,
        sd=verdict.s,
        k=None if verdict.k is None else str(verdict.k),
        limit=verdict.limit,
        margin=verdict.margin,
        count_below_t1=count or 0,
        count_below_t2=verdict.count_below_t2 or 0,
        acceptance_number=(
            verdict.acceptance_number_2 if is_second else verdict.acceptance_number
        ),
        rejection_number=verdict.rejection_number_2 if is_second else verdict.rejection_number,
        individual_test=None if verdict.individual_test is None else verdict.individual_test.value,
        is_mean_ok=verdict.mean_ok,
        because=verdict.because,
        first_sample_n=first_n if is_second else 0,
        first_sample_below_t1=verdict.count_below_t1 if is_second else None,
        notes=verdict.notes,
        assumptions=verdict.assumptions,
        sources=(*verdict.sources, *cited),
        program=program,
    )


def _text(value: Decimal | None) -> str:
    """Return an exact figure as text, or nothing."""
    return "" if value is None else f"{value:f}"
