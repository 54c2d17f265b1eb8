"""What is put on record of a search: the sign, answers, a walk-round, repairs, the end.

The same for the search of a job and for a case without one; nothing is kept here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fillwright.errors import BadInput
from fillwright.knowledge.faults_types import FaultBook
from fillwright.records.entries import FaultAnswered, FaultClosed, FaultOpened, RepairTried
from fillwright.records.faultcase import FaultCase

__all__ = ["answer_fact", "closing_fact", "repair_facts", "sign_fact", "walk_facts"]


def sign_fact(book: FaultBook, sign: str, findings: Sequence[str]) -> FaultOpened:
    """Return what was seen.

    Raises
    ------
    BadInput
        If nothing that is known was picked.
    """
    known = tuple(name for name in findings if name in book.findings)
    if sign not in book.signs and not known:
        message = "Say what you see: pick one of the signs."
        raise BadInput(message, field="sign", given=sign, code="missing")
    return FaultOpened(sign=sign if sign in book.signs else "", findings=known)


def answer_fact(book: FaultBook, check: str, finding: str, said: str) -> FaultAnswered:
    """Return the answer to a check.

    Parameters
    ----------
    book : FaultBook
        The fault data of the site.
    check : str
        Key of the check.
    finding : str
        Which of its findings was asked.
    said : str
        ``yes``, ``no`` or ``cannot``.

    Raises
    ------
    BadInput
        If the answer is none of those asked for.
    """
    row = book.checks.get(check)
    if row is None or finding not in row.findings or said not in {"yes", "no", "cannot"}:
        message = "Answer the check that is shown: it is, it is not, or cannot check now."
        raise BadInput(message, field="answer", given=said, code="choice")
    return FaultAnswered(
        check=check,
        present=(finding,) if said == "yes" else (),
        absent=(finding,) if said == "no" else (),
        was_possible=said != "cannot",
    )


def walk_facts(book: FaultBook, checks: Sequence[str], seen: Sequence[str]) -> list[FaultAnswered]:
    """Return a walk round the machine: what is not right is named, the rest was looked at.

    Raises
    ------
    BadInput
        If a check is no quick look, or none was made.
    """
    facts = []
    for name in checks:
        if name not in book.walk_checks:
            message = "The walk-round has quick looks only. Open the page again."
            raise BadInput(message, field="answer", given=name[:60], code="choice")
        found = book.checks[name].findings
        facts.append(
            FaultAnswered(
                check=name,
                present=found if name in seen else (),
                absent=() if name in seen else found,
            )
        )
    if not facts:
        message = "Nothing was looked at. Open the page again."
        raise BadInput(message, field="answer", given="", code="missing")
    return facts


def repair_facts(
    book: FaultBook, case: FaultCase, repair: str, outcome: str
) -> list[RepairTried | FaultClosed]:
    """Return a repair; a cure closes the search, with the likeliest cause that it ends.

    Raises
    ------
    BadInput
        If the repair is kept for a technician, or the outcome is none.
    """
    row = book.repairs.get(repair)
    if row is None or not row.is_offered:
        message = "That repair is not for this page: a qualified technician makes it."
        raise BadInput(message, field="repair", given=repair[:60], code="choice")
    if outcome == "cured":
        return [
            RepairTried(repair=repair, outcome="cured"),
            FaultClosed(
                outcome="cured",
                cause=_ended(book, case, row.fixes),
                repair=repair,
                note=f"{row.name}; test passed: {row.after}",
            ),
        ]
    if outcome == "not-cured":
        return [RepairTried(repair=repair, outcome="not-cured")]
    if outcome == "not-possible":
        return [RepairTried(repair=repair, outcome="not-possible")]
    message = "Say whether the test after it passed."
    raise BadInput(message, field="answer", given=outcome[:60], code="choice")


def closing_fact(outcome: str, words: str) -> FaultClosed:
    """Return the end of a search that is handed to a technician, or left.

    Raises
    ------
    BadInput
        If the outcome is none of the two.
    """
    note = words.strip()[:200]
    if outcome == "handed-over":
        return FaultClosed(outcome="handed-over", note=note)
    if outcome == "left":
        return FaultClosed(outcome="left", note=note)
    message = "A search ends by a cure, a hand-over, or by leaving it."
    raise BadInput(message, field="answer", given=outcome[:60], code="choice")


def _ended(book: FaultBook, case: FaultCase, fixes: Mapping[str, float]) -> str:
    """Return the cause that a repair ended: one that a look showed, else what it is for."""
    return max(
        fixes,
        key=lambda key: (
            fixes[key] + sum(book.causes[key].links.get(name, 0.0) for name in case.present)
        ),
    )
