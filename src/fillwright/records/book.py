"""The book of states: folds kept in memory and carried on from the journal.

Nothing is remembered here that the journal could not give again.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable
from typing import Final

from fillwright.records.entries import Entry
from fillwright.records.fold import JobState, fold_job
from fillwright.records.ports import Journal
from fillwright.records.sitefold import SiteState, fold_site

__all__ = ["SITE", "Book", "stream_of"]

SITE: Final = "site"
_JOBS: Final = "job/"


def stream_of(number: str) -> str:
    """Return the name of a job's stream."""
    return _JOBS + number


class Book:
    """States by job, each brought up to date from the journal when asked for.

    Parameters
    ----------
    journal : Journal
        Where the entries are.
    """

    def __init__(self, journal: Journal) -> None:
        self._journal = journal
        self._jobs: dict[str, JobState] = {}
        self._site = SiteState()
        self.lock = threading.RLock()

    def job(self, number: str) -> JobState | None:
        """Return the state of a job, or None when it was never opened."""
        with self.lock:
            state = self._jobs.get(number)
            after = 0 if state is None else state.revision
            fresh = self._journal.entries(stream_of(number), after=after)
            state = fold_job(number, fresh, onto=state)
            if state.facts is None:
                return None
            self._jobs[number] = state
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
            return state

    def site(self) -> SiteState:
        """Return what the site keeps."""
        with self.lock:
            fresh = self._journal.entries(SITE, after=self._site.revision)
            self._site = fold_site(fresh, onto=self._site)
            return self._site

    def numbers(self) -> tuple[str, ...]:
        """Return the numbers of all jobs, oldest first."""
        return tuple(name.removeprefix(_JOBS) for name in self._journal.streams(_JOBS))
