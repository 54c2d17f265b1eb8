"""Fault: from a sign to the next best step, one answer at a time, to a cure or a hand-over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Caution
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.fault.facts import (
    answer_fact,
    closing_fact,
    repair_facts,
    sign_fact,
    walk_facts,
)
from fillwright.jobs.fault.look import signature_of
from fillwright.jobs.match.stage import cautions_of
from fillwright.records.entries import FaultClosed, Payload, RunPaused
from fillwright.records.faultcase import FaultCase
from fillwright.records.fold import JobState
from fillwright.science.faults_next import DOSE_SIGNS

__all__ = [
    "answer",
    "begin",
    "cautions",
    "close",
    "note",
    "open_case",
    "tried",
    "walked",
]


def cautions(state: JobState) -> tuple[Caution, ...]:
    """Return the cautions that stand on the Fault page of a job."""
    standing = (Caution(words=CAUTIONS[key].words) for key in ("starts", "ports"))
    return (*standing, *cautions_of(state.known))


def open_case(state: JobState) -> FaultCase | None:
    """Return the search that is open, if there is one."""
    return state.faults[-1] if state.faults and state.faults[-1].closed is None else None


def begin(desk: Desk, number: str, sign: str, findings: Sequence[str], press: Press) -> JobState:
    """Open a search; in a run it is a pause, and the next container is weighed.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    sign : str
        Key of what was seen; may be empty where a finding is stated.
    findings : sequence of str
        Findings that were seen besides.
    press : Press
        Who pressed.

    Raises
    ------
    BadInput
        If nothing that is known was picked.
    """
    book = desk.faults.book
    with desk.book.lock:
        state = find_job(desk, number)
        seen = sign_fact(desk.faults.book, sign, findings)
        stated = {*seen.findings, *(book.signs[sign].findings if sign in book.signs else ())}
        signature, doses = signature_of(state, stated) if DOSE_SIGNS & stated else ({}, 0)
        fact = replace(seen, signature=signature, doses=doses, after_container=state.filled_to)
        facts: list[Payload] = [fact]
        if open_case(state) is not None:
            facts.insert(0, FaultClosed(outcome="left", note="another sign was picked"))
        if _is_running(state):
            words = (
                book.signs[sign].words
                if sign in book.signs
                else book.findings[seen.findings[0]].text
            )
            facts.append(RunPaused(reason="fault", after_container=state.filled_to, note=words))
        return keep(desk, state, facts, press)


def _is_running(state: JobState) -> bool:
    """Return True while containers are being filled."""
    return state.run is not None and state.run.started is not None and not state.run.finished


def _searched(desk: Desk, number: str) -> tuple[JobState, FaultCase]:
    """Return the job and its open search, or say that there is none."""
    state = find_job(desk, number)
    case = open_case(state)
    if case is None:
        message = "No fault is open. Say what you see first."
        raise BadInput(message, field="sign", given="", code="missing")
    return state, case


def answer(desk: Desk, number: str, check: str, finding: str, said: str, press: Press) -> JobState:
    """Keep the answer to a check.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    check : str
        Key of the check.
    finding : str
        Which of its findings was asked.
    said : str
        ``yes``, ``no`` or ``cannot``.
    press : Press
        Who pressed.

    Raises
    ------
    BadInput
        If no search is open, or the answer is none of those asked for.
    """
    with desk.book.lock:
        state, _ = _searched(desk, number)
        return keep(desk, state, [answer_fact(desk.faults.book, check, finding, said)], press)


def walked(
    desk: Desk, number: str, checks: Sequence[str], seen: Sequence[str], press: Press
) -> JobState:
    """Keep a walk round the machine: what is not right is named, the rest was looked at.

    Raises
    ------
    BadInput
        If no search is open, or a check is no quick look.
    """
    with desk.book.lock:
        state, _ = _searched(desk, number)
        return keep(desk, state, walk_facts(desk.faults.book, checks, seen), press)


def tried(desk: Desk, number: str, repair: str, outcome: str, press: Press) -> JobState:
    """Keep a repair; a cure closes the search, with the likeliest cause that it ends.

    Raises
    ------
    BadInput
        If no search is open, the repair is kept for a technician, or the outcome is none.
    """
    with desk.book.lock:
        state, case = _searched(desk, number)
        return keep(desk, state, repair_facts(desk.faults.book, case, repair, outcome), press)


def close(desk: Desk, number: str, outcome: str, words: str, press: Press) -> JobState:
    """Hand a search over to a technician, or leave it.

    Raises
    ------
    BadInput
        If no search is open, or the outcome is none of the two.
    """
    with desk.book.lock:
        state, _ = _searched(desk, number)
        return keep(desk, state, [closing_fact(outcome, words)], press)


def note(desk: Desk, number: str, sign: str, found: str, press: Press) -> JobState:
    """Keep what was seen and found without a search; in a run the next container is weighed.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    sign : str
        Key of what was seen.
    found : str
        What was found and done, in a few words.
    press : Press
        Who pressed.

    Raises
    ------
    BadInput
        If nothing was picked or nothing is told.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        seen = desk.faults.book.signs.get(sign)
        if seen is None:
            message = "Say what you see: pick one of the signs."
            raise BadInput(message, field="sign", given=sign, code="missing")
        if not found.strip():
            message = "Say what was found and done, in a few words; the record prints it."
            raise BadInput(message, field="found", given=found, code="missing")
        words = f"{seen.words}: {found.strip()}"
        fact = RunPaused(reason="fault", after_container=state.filled_to, note=words)
        return keep(desk, state, [fact], press)
