"""Strokes that each seal has run, from the journal, and the jobs since the last sound strip."""

from __future__ import annotations

from datetime import datetime

from fillwright.jobs.desk import Desk
from fillwright.jobs.held.settle import PIECE
from fillwright.jobs.strip.strokes import jobs_of, strokes_of
from fillwright.knowledge.procedures_types import SealPlace
from fillwright.records.entities import Stage
from fillwright.records.entries import SealSeen
from fillwright.records.fold import JobState
from fillwright.records.sitefold import SiteState

__all__ = [
    "age_cycles",
    "fitted_material",
    "jobs_on",
    "jobs_since_sound_strip",
    "last_seen",
]


def jobs_on(desk: Desk, machine: str) -> list[JobState]:
    """Return the jobs of a machine that filled anything, oldest first."""
    return [state for state in jobs_of(desk, machine) if state.filled_to]


def last_seen(site: SiteState, machine: str, position: str) -> tuple[datetime, SealSeen] | None:
    """Return when a seal was last looked at, and what was seen."""
    for at, _, seal in reversed(site.seals):
        if (seal.machine, seal.position) == (machine, position):
            return at, seal
    return None


def age_cycles(desk: Desk, jobs: list[JobState], machine: str, position: str) -> int:
    """Return the cycles that the seal in a place has run, as far as the journal goes.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    jobs : list of JobState
        Every job of the machine, from `strokes.jobs_of`.
    machine, position : str
        Which seal.

    Notes
    -----
    `strokes.COUNTED` says what is a cycle; those before the seal was last looked at are in what
    was said of it then, or gone with the one that was replaced.
    """
    seen = last_seen(desk.book.site(), machine, position)
    since = None if seen is None else seen[0]
    before = 0 if seen is None or seen[1].action == "replaced" else seen[1].life_cycles
    return before + strokes_of(desk, machine, jobs, since)


def fitted_material(site: SiteState, machine: str, place: SealPlace, *, job: str) -> str:
    """Return what the seal in a place is made of.

    Parameters
    ----------
    site : SiteState
        What is on record of seals and of the shelf.
    machine : str
        The machine.
    place : SealPlace
        The place; what its profile names counts where nothing was fitted from the shelf.
    job : str
        The job of this strip: what was fitted in it is the new one.
    """
    for _, _, seal in reversed(site.seals):
        if (seal.machine, seal.position) == (machine, place.position) and seal.job != job:
            lot = site.shelf.get(seal.seal_lot) if seal.action == "replaced" else None
            return seal.material if lot is None else lot.material
    return place.material


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
