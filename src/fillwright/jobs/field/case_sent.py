"""Cases that owners send: taken in as a file, answered, closed; the answer as file or text.

What comes from outside is checked before it is kept, kept letter by letter, and looked at:
nothing in it is run, no name in it is opened, and no case that is there is replaced.
"""

from __future__ import annotations

import hashlib
from pathlib import PurePosixPath
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.fault.case import own_names, sheet_of
from fillwright.jobs.fault.case_photos import keep_case_photos, with_photo_bytes
from fillwright.jobs.field.case import keep_in_case, look, next_case
from fillwright.jobs.field.register import case_of, cases_of_field, machine_of, register
from fillwright.knowledge.faults_load import fault_book
from fillwright.knowledge.faults_types import FaultBook
from fillwright.records.answer_file import AnswerFile
from fillwright.records.case_file import (
    CaseAnswer,
    CaseClosed,
    CaseFile,
    CaseRepair,
    Fact,
    case_from_bytes,
    case_to_bytes,
    in_words,
)
from fillwright.records.entries import CaseEnded, CaseReceived, CaseReplied
from fillwright.records.fieldfold import CaseState
from fillwright.records.sheets_fault import CallSheet

__all__ = ["answer_file", "answer_text", "as_sent", "end", "receive", "reply", "sheet"]

_LONGEST: Final = 400


def receive(desk: Desk, data: bytes, file_name: str, machine: int, press: Press) -> int:
    """Take in a case that was sent; the same file again is the case that is there.

    Its photos are kept beside the journal by their hashes, which stay in the case.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    data : bytes
        The file.
    file_name : str
        What it was called: a word to read.
    machine : int
        Number on the register; 0 for none.
    press : Press
        Who pressed.

    Returns
    -------
    int
        Number of the case.

    Raises
    ------
    BadInput
        If it is no case file, or there is no such machine.
    """
    sent = case_from_bytes(data)
    content = data
    if any(photo.data for photo in sent.photos):
        # The photos go beside the journal; the journal keeps their hashes.
        content = case_to_bytes(sent.without_photo_bytes())
    digest = hashlib.sha256(data).hexdigest()
    with desk.book.lock:
        if machine:
            machine_of(register(desk), machine)
        for case in cases_of_field(desk):
            if case.received is not None and case.received.digest == digest:
                return case.number
        number = next_case(desk)
        keep_case_photos(desk, sent)
        # Only the last part of a name is a word to read; the browser may send a path.
        short = PurePosixPath(file_name.replace("\\", "/")).name
        fact = CaseReceived(
            content=content.decode("utf-8"),
            file_name=in_words(short)[:80],
            digest=digest,
            machine=machine,
        )
        keep_in_case(desk, CaseState(number=number), [fact], press)
        return number


def reply(desk: Desk, number: int, asked: str, words: str, press: Press) -> CaseReplied:
    """Keep the answer to a received case.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : int
        Number of the case.
    asked : str
        Number or key of the check to make, or key of the repair; may be empty.
    words : str
        The answer in words; may be empty where a check or repair is named.
    press : Press
        Who answers.

    Raises
    ------
    BadInput
        If it was not received, is closed, names no check or repair, or says nothing.
    """
    check, repair = _named(desk.faults.book, asked)
    told = in_words(" ".join(words.split()))
    if not (check or repair or told):
        message = "Say what the owner shall do: the number of a check, or a sentence."
        raise BadInput(message, field="words", given="", code="missing")
    with desk.book.lock:
        case = _received(desk, number)
        fact = CaseReplied(check=check, repair=repair, words=told)
        keep_in_case(desk, case, [fact], press)
        return fact


def end(desk: Desk, number: int, came_to: str, words: str, press: Press) -> None:
    """Close a received case.

    Raises
    ------
    BadInput
        If it was not received, is closed, or came to nothing that is known.
    """
    with desk.book.lock:
        case = _received(desk, number)
        if came_to not in {"cured", "visit", "left"}:
            message = "A case ends cured, with a visit, or left. Pick one."
            raise BadInput(message, field="came_to", given=came_to[:40], code="choice")
        fact = CaseEnded(came_to=came_to, words=words.strip()[:_LONGEST])  # type: ignore[arg-type]  # one of the three words above
        keep_in_case(desk, case, [fact], press)


def answer_file(desk: Desk, number: int) -> AnswerFile:
    """Return the latest answer to a received case as the file that goes back.

    Raises
    ------
    BadInput
        If it was not received, or not answered yet.
    """
    case = case_of(desk, number)
    if case.sent is None or not case.replies:
        message = f"Case {number} has no answer yet. Write one first."
        raise BadInput(message, field="case", given=number, code="missing")
    at, person, latest = case.replies[-1]
    return AnswerFile(
        program=in_words(desk.program),
        job=case.sent.job,
        case=case.sent.case,
        opened_at=case.sent.opened_at,
        answered_at=at,
        answered_by=in_words(person),
        check=latest.check,
        repair=latest.repair,
        words=latest.words,
    )


def answer_text(answer: AnswerFile, book: FaultBook | None = None) -> str:
    """Return an answer as a few lines of text, for a mail or to read out.

    Parameters
    ----------
    answer : AnswerFile
        The answer.
    book : FaultBook, optional
        Fault data of whoever wrote it; those of the program when left out.
    """
    book = fault_book() if book is None else book
    lines = [f"Answer to case {answer.case} of job {answer.job}, by {answer.answered_by}."]
    if answer.check in book.checks:
        check = book.checks[answer.check]
        lines.append(f"Do check {check.number}: {check.ask}")
        lines.append(f"On the Fault page of the job type /{check.number} to open it.")
    if answer.repair in book.repairs:
        lines.append(f"Then: {book.repairs[answer.repair].name}.")
    if answer.words:
        lines.append(answer.words)
    lines.append("Air off and vented, gauge reads 0, before hands go in.")
    return "\n".join(lines) + "\n"


def as_sent(desk: Desk, case: CaseState) -> CaseFile:
    """Return a case as the file that is sent on.

    Raises
    ------
    BadInput
        If it holds no search.
    """
    if case.search is None:
        message = f"Case {case.number} holds no search that can be sent."
        raise BadInput(message, field="case", given=case.number, code="missing")
    if case.sent is not None:
        base = with_photo_bytes(desk, case.sent)
    else:
        base = CaseFile(
            program=in_words(desk.program),
            job=f"case {case.number}",
            case=1,
            opened_at=case.search.at,
            sign=case.search.opened.sign,
            findings=case.search.opened.findings,
            machine=_machine_facts(desk, case),
            names=own_names(desk.faults.book, case.search),
        )
    search = case.search
    return base.model_copy(
        update={
            "answers": tuple(
                CaseAnswer(
                    at=at,
                    check=fact.check,
                    present=fact.present,
                    absent=fact.absent,
                    was_possible=fact.was_possible,
                )
                for at, fact in search.answers
            ),
            "repairs": tuple(
                CaseRepair(at=at, repair=fact.repair, outcome=fact.outcome)
                for at, fact in search.repairs
            ),
            "closed": None
            if search.closed is None or search.closed_at is None
            else CaseClosed(
                at=search.closed_at,
                outcome=search.closed.outcome,
                cause=search.closed.cause,
                repair=search.closed.repair,
                note=in_words(search.closed.note),
            ),
        }
    )


def sheet(desk: Desk, number: int) -> CallSheet:
    """Return the call sheet of a case.

    Raises
    ------
    BadInput
        If there is no such case, or it holds no search.
    """
    case = case_of(desk, number)
    sent = as_sent(desk, case)
    seen = look(desk, case)
    if seen is None:
        message = f"Case {number} holds no search that can be printed."
        raise BadInput(message, field="case", given=number, code="missing")
    invented = desk.book.site().settings.is_invented
    return sheet_of(
        sent, seen, zone=desk.clock.zone(), is_invented=invented, book=desk.faults.book
    )


def _machine_facts(desk: Desk, case: CaseState) -> tuple[Fact, ...]:
    """Return what is known of the machine of one's own search."""
    begun = case.begun
    if begun is None:
        return ()
    rows = [("machine", begun.machine_name)]
    machine = register(desk).machines.get(begun.machine)
    if machine is not None:
        rows = [("machine", machine.line.serial), ("fitted", machine.line.configuration)]
        rows += [(f"seal: {seal.place}", seal.what) for seal in machine.seals][:40]
    return tuple(Fact(name=in_words(name), words=in_words(words)) for name, words in rows if words)


def _named(book: FaultBook, asked: str) -> tuple[str, str]:
    """Return the check and the repair that an answer names, by the fault data of here."""
    wanted = asked.strip().lstrip("/")
    if not wanted:
        return "", ""
    for key, check in book.checks.items():
        if wanted in {key, str(check.number)}:
            return key, ""
    if wanted in book.repairs and book.repairs[wanted].is_offered:
        return "", wanted
    message = f"There is no check {wanted[:20]}. Take a number from the list of checks."
    raise BadInput(message, field="check", given=wanted[:20], code="choice")


def _received(desk: Desk, number: int) -> CaseState:
    """Return a received case that is open."""
    case = case_of(desk, number)
    if case.received is None or not case.is_open:
        message = f"Case {number} is closed, or was not sent. Open an open one from the list."
        raise BadInput(message, field="case", given=number, code="inconsistent")
    return case
