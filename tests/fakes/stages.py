"""A journal with jobs at every stage, each played on the simulated bench."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.records.entities import JobFacts
from fillwright.records.fold import JobState
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on
from fillwright.wiring.demo import seed_demo
from fillwright.wiring.player import play
from fillwright.wiring.standing import bench_for

__all__ = ["TO_HELD", "TO_PROVE", "TO_SAMPLE", "TO_SIGN", "TO_TRIM", "fill_with_stages"]

TO_TRIM, TO_SAMPLE, TO_HELD, TO_SIGN, TO_PROVE = "0201", "0202", "0203", "0204", "0205"
"""Jobs that wait for a trim, a sample, a look at held ones, a signature, a proving shot."""


def fill_with_stages(path: Path) -> None:
    """Fill a new journal with the jobs of the demo and one at each stage."""
    desk = desk_on(path)
    seed_demo(desk)
    _played(desk, TO_TRIM, lambda s: len(s.empties) >= 10 and len(s.steps) >= 9)
    _played(desk, TO_SAMPLE, lambda s: bool(s.samples) and _left(s) <= 2)
    _played(desk, TO_HELD, lambda s: bool(s.open_spans) and s.run is not None, drop_at=30)
    _played(desk, TO_SIGN, lambda s: s.lot is not None)
    _played(desk, TO_PROVE, lambda s: _shots_left(s) == 3)
    desk.journal.close()


def _facts(number: str) -> JobFacts:
    return replace(maker.JOBS[0], number=number, lot_code=f"NE-{number}")


def _left(state: JobState) -> int:
    """How many of the sample are still to be weighed."""
    weighed = {w.fact.container for w in state.weighings if w.counts}
    return len([n for drawn in state.samples for n in drawn.containers if n not in weighed])


def _shots_left(state: JobState) -> int | None:
    """How many shots of the open proving run are still to be weighed."""
    if state.proof_plan is None or state.proof is not None:
        return None
    return state.proof_plan.shots - len([w for w in state.proof_shots if w.counts])


def _played(
    desk: Desk, number: str, until: Callable[[JobState], bool], *, drop_at: int | None = None
) -> None:
    """Open a job and play it to where it shall stand; the dose drops at a container."""
    person = maker.PEOPLE[0]
    facts = _facts(number)
    aimed = replace(facts, aim_g=propose_aim(desk, facts).aim_g)
    open_job(desk, aimed, Press(person=person.initials))
    # Drawn as the demo draws it, so that the machine is the same when a server goes on.
    chance = np.random.Generator(np.random.PCG64([20, int(number)]))
    bench = bench_for(desk, desk.book.job(number), chance, time.monotonic)

    def stop(state: JobState) -> bool:
        if drop_at is not None and state.filled_to >= drop_at and not state.open_spans:
            bench.machine.creep_on(-0.02 * bench.machine.mean_dose_g)
        return until(state)

    play(desk, number, bench, person, until=stop, seed=5)
