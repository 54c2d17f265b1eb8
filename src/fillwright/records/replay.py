"""The run folded again without what was struck out since, and what hangs on that."""

from __future__ import annotations

from dataclasses import dataclass
from heapq import merge
from typing import TYPE_CHECKING, TypeAlias

from fillwright.records.entries import (
    AdjustmentMade,
    CheckTaken,
    DensityTaken,
    FactsChanged,
    FirstJarLooked,
    HopperRead,
    LotTaken,
    PersonChanged,
    RunPaused,
    SignalRaised,
    WeighingTaken,
)
from fillwright.records.heldbook import BY_HAND, TO_WEIGH
from fillwright.records.runbook import RunBook

if TYPE_CHECKING:
    from fillwright.records.fold import JobState

__all__ = ["RunNews", "RunNote", "filled_again", "proved_shots", "replayed"]

RunNews: TypeAlias = (
    WeighingTaken
    | AdjustmentMade
    | RunPaused
    | SignalRaised
    | FactsChanged
    | CheckTaken
    | HopperRead
    | LotTaken
    | DensityTaken
    | PersonChanged
    | FirstJarLooked
)


@dataclass(frozen=True, slots=True)
class RunNote:
    """Something that happened in the run, with its place among the job's entries."""

    revision: int
    fact: RunNews


def replayed(state: JobState, entry_id: str = "") -> RunBook | None:
    """Return the run folded again from its start, without what is struck out.

    Parameters
    ----------
    state : JobState
        The job.
    entry_id : str
        A weighing that is left out as well, as if it were struck out already.

    Returns
    -------
    RunBook or None
        The run; None where none was started.
    """
    if state.run is None or state.run.started is None:
        return None
    book = RunBook(aim_g=state.aim_at_start_g, way=state.watch_way, finished=state.run.finished)
    book.start(state.run.started, proved_shots(state, entry_id))
    out = {w.id for w in state.weighings if w.struck} | {entry_id}
    doses = [
        RunNote(w.revision, w.fact)
        for w in state.weighings
        if w.revision > state.run_from
        and w.fact.purpose == "dose"
        and w.counts
        and w.id != entry_id
    ]
    for note in merge(doses, state.run_log, key=lambda note: note.revision):
        if not (isinstance(note.fact, SignalRaised) and note.fact.weighing_id in out):
            _again(book, note.fact)
    return book


def _again(book: RunBook, fact: RunNews) -> None:
    """Fold one thing that happened in the run again."""
    match fact:
        case WeighingTaken():
            book.take(fact)
        case AdjustmentMade():
            book.adjust(fact)
        case RunPaused():
            book.pause(fact)
        case CheckTaken():
            book.scale_checked(fact)
        case HopperRead():
            book.hopper(fact)
        case FactsChanged() | DensityTaken():
            told = fact.facts if isinstance(fact, FactsChanged) else fact
            book.aim_at(float(told.aim_g))
        case LotTaken() | PersonChanged():
            book.change(fact)
        case FirstJarLooked():
            book.look()
        case SignalRaised():
            book.signal(fact)


def proved_shots(state: JobState, entry_id: str = "") -> list[WeighingTaken]:
    """Return the shots that count of the proving run before the run."""
    return [w.fact for w in state.run_proof if w.counts and w.id != entry_id]


def filled_again(state: JobState) -> int:
    """Return the last container that anything on record still says is filled."""
    started = None if state.run is None else state.run.started
    told = [0 if started is None else started.first_container - 1]
    for weighed in state.weighings:
        fact = weighed.fact
        if fact.purpose in ("proof", "dose") and not weighed.struck:
            told.append(max(fact.container or 0, fact.filled_to or 0))
    told += [
        note.fact.after_container
        for note in state.run_log
        if isinstance(note.fact, AdjustmentMade | RunPaused | LotTaken | PersonChanged)
    ]
    told += [
        note.fact.container for note in state.run_log if isinstance(note.fact, FirstJarLooked)
    ]
    # Who holds them by hand has them in hand, whatever becomes of a weight.
    told += [hold.last for hold in state.holds if hold.reason.startswith((BY_HAND, TO_WEIGH))]
    return max(told)
