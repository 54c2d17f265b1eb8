"""Keep the weights of a file that was looked over, when a person says so.

The same file again adds nothing, since each weight gets the same id. A short file is kept in
one transaction or not at all; a long one goes in by pieces, and is carried on if broken off.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from typing import Final

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.files.row_ids import FILE_MARK, ids_of, named
from fillwright.jobs.files.take_check import RowCheck
from fillwright.jobs.files.take_judged import rehearsed
from fillwright.jobs.files.take_look import AT_ONCE, Looked, Progress, job_for_file
from fillwright.jobs.opening import open_job
from fillwright.jobs.people.allowed import refuse_strangers
from fillwright.records.alike import Alike, AlikeRow
from fillwright.records.book import SITE, is_practice, stream_of
from fillwright.records.codec import draft
from fillwright.records.entries import Draft, Payload, StruckOut
from fillwright.records.filefields import Choice
from fillwright.records.fold import JobState

__all__ = ["TakenIn", "open_like", "remember_columns", "strike_file", "take_in"]

_BATCH: Final = 10_000
_LOT_CODE: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What was kept: weights that are new, and weights that were here before."""

    number: str
    file_id: str
    kept: int
    again: int


def take_in(
    desk: Desk, looked: Looked, press: Press, *, progress: Progress | None = None
) -> TakenIn:
    """Keep the good rows of a file that was looked over.

    Parameters
    ----------
    desk : Desk
        Where to.
    looked : Looked
        From `look_over`.
    press : Press
        Who says so.
    progress : callable
        Told how far it is, from 0 to 1, and how many rows are done.

    Returns
    -------
    TakenIn
        How many were new. A file that was broken off is carried on by taking it in again.

    Raises
    ------
    BadInput
        If no row can be used, or the job does not take them any more.
    Conflict
        If the job moved on in between.
    StoreFull
        If it could not be kept; what an earlier piece brought is on record.
    """
    if not looked.fact.good:
        message = "No row of this file can be used. Nothing was kept."
        raise BadInput(message, field="file", given=looked.fact.name, code="missing")
    file_id = named(looked.identity, FILE_MARK)
    with desk.book.lock:
        state = job_for_file(desk, looked.number, "")
        check = RowCheck(desk, state, looked.choice, looked.purpose)
        if looked.purpose != "elsewhere":
            return _taken_as_weighed(desk, looked, check, state, press)
    head = None if desk.journal.entry(file_id) else _head(desk, looked, press)
    rows = ids_of(looked.spool, looked.identity)
    size = _BATCH if looked.is_in_pieces else AT_ONCE
    kept = again = 0
    while some := list(islice(rows, size)):
        told: list[AlikeRow] = []
        for entry_id, one in some:
            shared = check.shared_of(one, file_id)
            told.append((entry_id, shared.text_of(one), shared, one))
        alike = Alike(
            stream=stream_of(looked.number),
            at=desk.clock.now(),
            zone=desk.clock.zone(),
            person=press.person,
            bench=desk.bench,
            head=head,
            rows=told,
        )
        fresh = _append(desk, looked.number, alike)
        head = None
        kept += fresh
        again += len(told) - fresh
        if progress is not None:
            progress((kept + again) / looked.fact.good, kept + again)
    return TakenIn(number=looked.number, file_id=file_id, kept=kept, again=again)


def open_like(desk: Desk, looked: Looked, press: Press) -> None:
    """Open the job of their own that the weights get; its lot is named by the file.

    Raises
    ------
    BadInput
        If the number was taken in between.
    """
    lot_code = looked.fact.name[:_LOT_CODE]
    open_job(desk, replace(looked.facts, number=looked.number, lot_code=lot_code), press)


def strike_file(desk: Desk, number: str, file_id: str, reason: str, press: Press) -> JobState:
    """Strike out all that came by one file, with a reason; it stays on record.

    Raises
    ------
    BadInput
        If there is no such file, it is struck out, the reason is missing, or the lot is closed.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        tally = state.files.files.get(file_id)
        if tally is None or tally.struck or state.released is not None:
            message = "There is no such file to strike out in this job. Open the page again."
            raise BadInput(message, field="file", given=file_id, code="choice")
        if not reason.strip():
            message = "Say why the file is struck out: wrong file, wrong column, wrong job."
            raise BadInput(message, field="reason", given=reason, code="missing")
        fact = StruckOut(entry_id=file_id, reason=reason.strip())
        entry = _drafted(desk, fact, stream_of(number), press)
        return desk.book.carry_on(state, desk.journal.append([entry], seen=state.revision))


def remember_columns(desk: Desk, choice: Choice, headings: tuple[str, ...], press: Press) -> None:
    """Keep which column holds what, for the next file with the same headings."""
    fact = choice.remembered(headings)
    if desk.book.site().columns.get((fact.holds, *fact.headings)) != fact:
        desk.journal.append([_drafted(desk, fact, SITE, press)])


def _taken_as_weighed(
    desk: Desk, looked: Looked, check: RowCheck, state: JobState, press: Press
) -> TakenIn:
    """Keep the weights as if they were weighed one by one, all in one transaction."""
    stream = stream_of(looked.number)
    file_id = named(looked.identity, FILE_MARK)
    rows = ids_of(looked.spool, looked.identity)
    played = rehearsed(desk, looked.number, check, rows, file_id)
    if len(played.refused) != looked.spool.count - looked.fact.good:
        message = "The job moved on since the file was looked over. Look it over again."
        raise Conflict(message)
    if not is_practice(looked.number):
        refuse_strangers(desk.book.site, press.person, [fact for _, fact in played.facts])
    drafts = [_drafted(desk, fact, stream, press, name) for name, fact in played.facts]
    if drafts:
        head = [] if desk.journal.entry(file_id) else [_head(desk, looked, press)]
        stored = desk.journal.append([*head, *drafts], seen=state.revision)
        desk.book.carry_on(state, stored)
    return TakenIn(number=looked.number, file_id=file_id, kept=played.kept, again=played.again)


def _append(desk: Desk, number: str, alike: Alike) -> int:
    """Keep weights in one transaction and return how many of them are new."""
    with desk.book.lock:
        state = find_job(desk, number)
        stored = desk.journal.append_alike(alike)
        if stored is not None:
            desk.book.carry_on_alike(state, alike, stored)
            return len(alike.rows)
        return _append_one_by_one(desk, state, alike)


def _append_one_by_one(desk: Desk, state: JobState, alike: Alike) -> int:
    """Keep those of the weights that are not on record; return how many that were."""
    head = [] if alike.head is None else [alike.head]
    drafts = [*head, *alike.drafts_of(alike.rows)]
    before = state.revision
    try:
        stored = desk.journal.append(drafts)
    except Conflict:
        # An id that is there says something else beside the weight (another name of the
        # file, another band): the weight is on record, and stays as it was kept.
        drafts = [one for one in drafts if desk.journal.entry(one.id) is None]
        stored = desk.journal.append(drafts) if drafts else ()
    desk.book.carry_on(state, stored)
    new = sum(entry.stream == alike.stream and entry.revision > before for entry in stored)
    return new - len(head)


def _head(desk: Desk, looked: Looked, press: Press) -> Draft:
    """Return the entry of the file itself."""
    file_id = named(looked.identity, FILE_MARK)
    return _drafted(desk, looked.fact, stream_of(looked.number), press, file_id)


def _drafted(
    desk: Desk, fact: Payload, stream: str, press: Press, entry_id: str | None = None
) -> Draft:
    """Return a draft of an entry that is made now."""
    return draft(
        fact,
        stream=stream,
        at=desk.clock.now(),
        zone=desk.clock.zone(),
        person=press.person,
        bench=desk.bench,
        entry_id=entry_id,
    )
