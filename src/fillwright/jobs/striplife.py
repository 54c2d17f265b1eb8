"""Cycles that each seal has run, from the journal, and the jobs since the last sound strip."""

from __future__ import annotations

from datetime import datetime

from fillwright.jobs.desk import Desk
from fillwright.jobs.settle import PIECE
from fillwright.records.entities import Stage
from fillwright.records.entries import SealSeen
from fillwright.records.fold import JobState
from fillwright.records.sitefold import SiteState

__all__ = ["age_cycles", "jobs_on", "jobs_since_sound_strip", "last_seen"]


def jobs_on(desk: Desk, machine: str) -> list[JobState]:
    """Return the jobs of a machine that filled anything, oldest first."""
    found = []
    for number in desk.book.numbers():
        state = desk.book.job(number)
        if state is None or state.facts is None or not state.filled_to:
            continue
        if state.known.machine.name == machine:
            found.append(state)
    return found


def last_seen(site: SiteState, machine: str, position: str) -> tuple[datetime, SealSeen] | None:
    """Return when a seal was last looked at, and what was seen."""
    for at, _, seal in reversed(site.seals):
        if (seal.machine, seal.position) == (machine, position):
            return at, seal
    return None


def age_cycles(jobs: list[JobState], site: SiteState, machine: str, position: str) -> int:
    """Return the cycles that the seal in a place has run, as far as the journal goes.

    Every container filled counts as one cycle; a job counts where it went on after the seal was
    last looked at.
    """
    seen = last_seen(site, machine, position)
    since = None if seen is None else seen[0]
    before = 0 if seen is None or seen[1].action == "replaced" else seen[1].life_cycles
    return before + sum(state.filled_to for state in jobs if _filled_after(state, since))


def jobs_since_sound_strip(desk: Desk, machine: str) -> list[JobState]:
    """Return the jobs whose containers may hold a piece that is missing now."""
    jobs = jobs_on(desk, machine)
    key = Stage.STRIP.value
    sound = [
        state.step_times[key]
        for state in jobs
        if key in state.steps and not state.steps[key].reading.startswith(PIECE)
    ]
    since = max(sound, default=None)
    return [state for state in jobs if _filled_after(state, since)]


def _filled_after(state: JobState, since: datetime | None) -> bool:
    """Say whether something was filled in a job after a moment, as its entries tell."""
    if since is None:
        return True
    times = [weighed.at for weighed in state.weighings if weighed.fact.container is not None]
    last = max(times, default=state.opened_at)
    return last is not None and last > since
