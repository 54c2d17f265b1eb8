"""What closed cases teach the search for faults, and the switch back to what was shipped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.jobs.fault.times import minutes_taken
from fillwright.jobs.field.register import cases_of_field
from fillwright.knowledge.faults_types import FaultBook
from fillwright.records.entries import FaultCaseCounted, FaultLearningSet
from fillwright.records.faultcase import FaultCase
from fillwright.science.faults import FaultNet, net_of
from fillwright.science.faults_learn import ClosedCase, Learned, learn

__all__ = [
    "Figures",
    "KeptCase",
    "cases_of",
    "count_case",
    "figures_of",
    "learned_of",
    "use_records",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCase:
    """A search that ended in a cure.

    Parameters
    ----------
    job : str
        Number of the job, or ``"case 7"`` for one beside the jobs.
    case : FaultCase
        The search.
    left_out : str
        Why it does not count; empty where it counts.
    """

    job: str
    case: FaultCase
    left_out: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """What the search works with: net, minutes, and whose figures they are in words."""

    net: FaultNet
    minutes: dict[str, float]
    words: str


def cases_of(desk: Desk) -> tuple[KeptCase, ...]:
    """Return every search that ended in a cure by a named repair: of jobs, then beside them."""
    out = desk.book.site().fault_cases_out
    found = []
    for number in desk.book.numbers():
        with desk.book.lock:
            state = desk.book.job(number)
        for case in [] if state is None else state.faults:
            if case.closed is not None and case.closed.outcome == "cured":
                why = out.get((number, case.number), "")
                found.append(KeptCase(job=number, case=case, left_out=why))
    for beside in cases_of_field(desk):
        case_there, name = beside.search, f"case {beside.number}"
        if case_there is None or case_there.closed is None:
            continue
        if case_there.closed.outcome == "cured":
            why = out.get((name, case_there.number), "")
            found.append(KeptCase(job=name, case=case_there, left_out=why))
    return tuple(found)


def learned_of(book: FaultBook, cases: tuple[KeptCase, ...]) -> Learned:
    """Return what the cases that count teach, beside what was shipped."""
    closed = [
        ClosedCase(
            causes=(kept.case.closed.cause,),
            present=kept.case.present & book.findings.keys(),
            absent=kept.case.absent & book.findings.keys(),
            minutes=minutes_taken(book, kept.case),
        )
        for kept in cases
        if kept.case.closed is not None
        and not kept.left_out
        and kept.case.closed.cause in book.causes
    ]
    return learn(book, closed)


def figures_of(desk: Desk, since: Mapping[str, int] | None = None) -> Figures:
    """Return the figures that the search works with: learned where the switch says so.

    `since` are the cycles since a rebuild and a changeover, where the journal tells them.
    """
    book = desk.faults.book
    shipped = f"Figures of {desk.faults.file}" if desk.faults.file else "Shipped figures"
    if not desk.book.site().uses_fault_records:
        net = net_of(book, cycles_since=since)
        return Figures(net=net, minutes={}, words=f"{shipped}; records do not count.")
    learned = learned_of(book, cases_of(desk))
    if not learned.cases:
        net = net_of(book, cycles_since=since)
        return Figures(net=net, minutes={}, words=f"{shipped}; no closed case yet.")
    net = net_of(
        book,
        weights={key: pair.learned for key, pair in learned.weights.items()},
        strengths={key: pair.learned for key, pair in learned.links.items()},
        chances={key: pair.learned for key, pair in learned.leaks.items()},
        cycles_since=since,
    )
    word = "case" if learned.cases == 1 else "cases"
    return Figures(
        net=net,
        minutes={key: pair.learned for key, pair in learned.minutes.items()},
        words=f"Figures learned from {learned.cases} closed {word} of this site.",
    )


def use_records(desk: Desk, press: Press, *, uses: bool) -> None:
    """Set the search to learned or to shipped figures."""
    keep_on_site(desk, [FaultLearningSet(uses_records=uses)], press)


def count_case(
    desk: Desk, press: Press, *, job: str, case: int, counts: bool, reason: str
) -> None:
    """Take a closed case out of what the records teach, or put it back.

    Raises
    ------
    BadInput
        If there is no such case, or no reason is given.
    """
    if not any(kept.job == job and kept.case.number == case for kept in cases_of(desk)):
        message = f"There is no closed case {case} of job {job[:40]}. Pick one from the list."
        raise BadInput(message, field="case", given=f"{job[:40]} {case}", code="choice")
    if not reason.strip():
        message = "Say why, in a few words; the record keeps it."
        raise BadInput(message, field="reason", given=reason, code="missing")
    fact = FaultCaseCounted(job=job, case=case, counts=counts, reason=reason.strip()[:200])
    keep_on_site(desk, [fact], press)
