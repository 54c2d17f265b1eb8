"""What is known of a fault: what was stated, what was looked at, what the doses say."""

from __future__ import annotations

from fillwright.knowledge.faults_types import FaultBook, Sign
from fillwright.records.faultcase import FaultCase
from fillwright.science.faults import Evidence, class_factors
from fillwright.science.faults_next import DOSE_SIGNS

__all__ = ["evidence_of"]


def evidence_of(book: FaultBook, case: FaultCase) -> Evidence:
    """Return what is known; doses that speak for themselves replace what was said of them."""
    signature = case.opened.signature
    sign = book.signs.get(case.opened.sign)
    present, one_of = set(case.present & book.findings.keys()), []
    factors = class_factors(book, signature) if signature else None
    if sign is not None:
        stated = [name for name in sign.findings if not (signature and name in DOSE_SIGNS)]
        if len(stated) == 1:
            present.add(stated[0])
        elif stated:
            one_of.append(tuple(stated))
        if sign.direction and not signature:
            # Which way it creeps, given that it creeps: the sign itself counts as a finding.
            up = class_factors(book, {"drift_up": 1.0})
            down = class_factors(book, {"drift_down": 1.0})
            factors = (up if sign.direction == "up" else down) / (up + down)
    # A machine that doses is not one that stands still, even where its doses speak themselves.
    moving = _implied_by(book, present, one_of, sign)
    if signature:
        present -= DOSE_SIGNS
    absent = case.absent & book.findings.keys()
    return Evidence(
        present=frozenset(present),
        absent=frozenset((absent - DOSE_SIGNS if signature else absent) | (moving - present)),
        one_of=tuple(one_of),
        factors=factors,
    )


def _implied_by(
    book: FaultBook, present: set[str], one_of: list[tuple[str, ...]], sign: Sign | None
) -> frozenset[str]:
    """Return what cannot be, by all that was stated: of several signs, what each of them says."""
    groups = [*one_of, *([] if sign is None else [sign.findings])]
    told = [set(book.findings[name].implies_absent) for name in present]
    told += [
        set.intersection(*(set(book.findings[name].implies_absent) for name in group))
        for group in groups
    ]
    return frozenset(set().union(*told))
