"""The book of states: folds kept in memory and carried on from the journal.

Nothing is remembered here that the journal could not give again. The fold of a long job is
also kept as bytes from time to time, so that the first look after a restart reads only what
came since.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Iterable, Iterator
from datetime import UTC
from itertools import takewhile
from typing import Final

from fillwright.records.alike import Alike, AlikeKept
from fillwright.records.entries import Entry
from fillwright.records.fold import JobState, fold_job
from fillwright.records.keepsake import state_from_bytes, state_to_bytes
from fillwright.records.ports import Journal, KeptStates
from fillwright.records.sitefold import SiteState, fold_site
from fillwright.records.weighed import Weighed

__all__ = ["SITE", "Book", "is_practice", "names_practice", "stream_of"]

SITE: Final = "site"
_JOBS: Final = "job/"
_PRACTICE: Final = "practice/"
_PRACTICE_NUMBER: Final = re.compile(r"practice-\d{1,9}")
_KEEP_EVERY: Final = 2000
"""Entries between two kept states; so many are folded at most after a restart."""


def is_practice(number: str) -> bool:
    """Return True for the number of a job that is practice.

    The number itself is the mark: it stands on every page and paper, and no change of facts
    takes it off.
    """
    return _PRACTICE_NUMBER.fullmatch(number) is not None


def names_practice(words: str) -> bool:
    """Return True where the name of a paper holds the number of a practice job."""
    return any(is_practice(word.strip(",.;:")) for word in words.split())


def stream_of(number: str) -> str:
    """Return the name of a job's stream; practice has streams apart from those of jobs."""
    return (_PRACTICE if is_practice(number) else _JOBS) + number


class Book:
    """States by job, each brought up to date from the journal when asked for.

    Parameters
    ----------
    journal : Journal
        Where the entries are.
    kept : KeptStates, optional
        Where folds of long jobs are kept; none are when left out.
    """

    def __init__(self, journal: Journal, kept: KeptStates | None = None) -> None:
        self._journal = journal
        self._kept = kept
        self._kept_at: dict[str, int] = {}
        self._jobs: dict[str, JobState] = {}
        self._site = SiteState()
        self.lock = threading.RLock()

    def job(self, number: str) -> JobState | None:
        """Return the state of a job, or None when it was never opened."""
        with self.lock:
            state = self._jobs.get(number) or self._from_kept(number)
            after = 0 if state is None else state.revision
            fresh = self._journal.entries(stream_of(number), after=after)
            state = fold_job(number, fresh, onto=state)
            if state.facts is None:
                return None
            self._jobs[number] = state
            self._keep(state)
            return state

    def carry_on(self, state: JobState, entries: Iterable[Entry]) -> JobState:
        """Return a job's state with entries that were just appended, without reading them back.

        Entries that do not follow on from the state (a repeat, another writer) are left to the
        journal.
        """
        with self.lock:
            for entry in entries:
                if self._jobs.get(state.number) is state and entry.revision == state.revision + 1:
                    state.apply(entry)
                elif entry.revision > state.revision:
                    return self.job(state.number) or state
            self._keep(state)
            return state

    def carry_on_alike(self, state: JobState, alike: Alike, kept: AlikeKept) -> JobState:
        """Return a job's state with weights of a file that were just stored.

        The same as `carry_on` comes to with each of them: weighed elsewhere, they are counted
        by their file and touch nothing else.
        """
        with self.lock:
            if kept.head is not None:
                state = self.carry_on(state, [kept.head])
            is_next = kept.first_revision == state.revision + 1
            if self._jobs.get(state.number) is not state or not is_next:
                return self.job(state.number) or state
            state.revision, state.last_hash = kept.last_revision, kept.last_hash
            state.changed_at = alike.at.astimezone(UTC)
            state.files.take([shared.fact for _, _, shared, _ in alike.rows])
            self._keep(state)
            return state

    def site(self) -> SiteState:
        """Return what the site keeps."""
        with self.lock:
            fresh = self._journal.entries(SITE, after=self._site.revision)
            self._site = fold_site(fresh, onto=self._site)
            return self._site

    def numbers(self) -> tuple[str, ...]:
        """Return the numbers of all jobs, oldest first.

        Practice is not among them, so whatever is learnt, reckoned, traced or exported from
        all jobs leaves it out.
        """
        return tuple(name.removeprefix(_JOBS) for name in self._journal.streams(_JOBS))

    def practice_numbers(self) -> tuple[str, ...]:
        """Return the numbers of all practice jobs, oldest first."""
        return tuple(name.removeprefix(_PRACTICE) for name in self._journal.streams(_PRACTICE))

    def _keep(self, state: JobState) -> None:
        """Keep the state of a long job as bytes, once in so many entries."""
        at = self._kept_at.get(state.number, 0)
        if self._kept is not None and state.revision - at >= _KEEP_EVERY:
            self._kept.keep(stream_of(state.number), state_to_bytes(state))
            self._kept_at[state.number] = state.revision

    def _from_kept(self, number: str) -> JobState | None:
        """Return the state that was kept, where the journal still bears it out."""
        data = None if self._kept is None else self._kept.find(stream_of(number))
        state = None if data is None else state_from_bytes(data)
        if state is None or state.number != number:
            return None
        last = next(self._journal.entries(stream_of(number), after=state.revision - 1), None)
        if last is None or (last.revision, last.hash) != (state.revision, state.last_hash):
            return None
        state.weighings.leave_early_to(_Early(self._journal, state))
        self._kept_at[number] = state.revision
        return state


class _Early:
    """Reads the early weighings of a job again, as they stood when its state was kept."""

    def __init__(self, journal: Journal, state: JobState) -> None:
        self._journal = journal
        self._state = state
        self._upto = state.revision

    def recall(self, count: int) -> list[Weighed]:
        """Return the first `count` weighings; objects held elsewhere are the same."""
        state = self._state
        empties = (state.weighed_empties, state.purges)
        held = (*empties, state.shots, state.proof_shots, state.run_proof)
        known = {weighed.id: weighed for one in held for weighed in one}
        again = fold_job(state.number, self._entries()).weighings[:count]
        return [known.get(weighed.id, weighed) for weighed in again]

    def holds(self, entry_id: str) -> bool:
        """Return True when the job has an entry with this id."""
        entry = self._journal.entry(entry_id)
        return entry is not None and entry.stream == stream_of(self._state.number)

    def _entries(self) -> Iterator[Entry]:
        """Yield the entries that the kept state was folded from."""
        fresh = self._journal.entries(stream_of(self._state.number))
        return takewhile(lambda entry: entry.revision <= self._upto, fresh)
