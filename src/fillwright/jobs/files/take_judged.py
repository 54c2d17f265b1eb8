"""Weights of a file judged one by one, as if they were weighed now, on a copy of the job.

Nothing is kept here: what each weight would come to is returned, to be kept in one transaction.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.files.take_check import RowCheck
from fillwright.jobs.run.weigh import judged
from fillwright.records.book import stream_of
from fillwright.records.entries import Entry, Payload
from fillwright.records.filecells import FileWeight
from fillwright.records.fold import JobState, fold_job

__all__ = ["Played", "rehearsed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """What the weights of a file would come to.

    Parameters
    ----------
    facts : tuple of (str or None, Payload)
        What would be kept, in order; a weighing with its id.
    refused : tuple of (FileWeight, BadInput)
        Rows that the job would not take.
    kept, again : int
        Weights that would be new, and weights that are on record.
    """

    facts: tuple[tuple[str | None, Payload], ...]
    refused: tuple[tuple[FileWeight, BadInput], ...]
    kept: int
    again: int


def rehearsed(
    desk: Desk,
    number: str,
    check: RowCheck,
    rows: Iterable[tuple[str, FileWeight]],
    file_id: str,
) -> Played:
    """Return what weights would come to, one after the other.

    Parameters
    ----------
    desk : Desk
        Where the job is.
    number : str
        The job.
    check : RowCheck
        The checks of every weight.
    rows : iterable of (str, FileWeight)
        Id and weight, in the order of the file.
    file_id : str
        Id of the entry of the file.

    Returns
    -------
    Played
        A weight that the job does not take leaves it as it was.
    """
    state = fold_job(number, desk.journal.entries(stream_of(number)))
    facts: list[tuple[str | None, Payload]] = []
    refused: list[tuple[FileWeight, BadInput]] = []
    kept = again = 0
    for entry_id, one in rows:
        if state.weighings.find(entry_id) is not None:
            again += 1
            continue
        try:
            found = judged(desk, state, check.fact_of(one, file_id, state=state), entry_id)
        except BadInput as error:
            refused.append((one, error))
            continue
        kept += 1
        for place, fact in enumerate(found):
            _apply(desk, state, fact, entry_id if place == 0 else "")
            facts.append((entry_id if place == 0 else None, fact))
    return Played(facts=tuple(facts), refused=tuple(refused), kept=kept, again=again)


def _apply(desk: Desk, state: JobState, fact: Payload, entry_id: str) -> None:
    """Let the copy take what would be kept."""
    state.apply(
        Entry(
            seq=0,
            revision=state.revision + 1,
            id=entry_id,
            stream=stream_of(state.number),
            at=desk.clock.now(),
            zone=desk.clock.zone(),
            person="",
            bench=desk.bench,
            payload=fact,
            previous_hash="",
            hash=state.last_hash,
        )
    )
