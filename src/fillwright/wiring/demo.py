"""The demo bench: an invented maker, jobs in different stages, a simulated machine and scale."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from fillwright.jobs.act import Act
from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run.changes import tell_lots
from fillwright.jobs.traveller import purpose_now
from fillwright.records.entities import JobFacts
from fillwright.records.fold import JobState
from fillwright.records.kinds_lots import LotOf
from fillwright.records.ports import Line
from fillwright.scale.capture import PanReader
from fillwright.scale.simulated import SimulatedBench
from fillwright.scale.watching import ScaleWatch
from fillwright.science.twin_faults import Fault
from fillwright.wiring import maker
from fillwright.wiring.bench import Bench, desk_on
from fillwright.wiring.demo_faults import effect_words
from fillwright.wiring.player import play, ready_for
from fillwright.wiring.scale_hub import ScaleHub
from fillwright.wiring.standing import bench_for, readings_of, stand_by

__all__ = ["DemoBench", "open_demo", "seed_demo"]

_CHANGE_S = 0.4
_CREEP_SHARE = 0.00012
_SEED = 20
_PROOF_SO_FAR = 7
_FILLED_SO_FAR = 60


class DemoBench:
    """The simulated machine and scale beside the pages.

    It fills and puts on its pan what the act at hand wants weighed, through the same line,
    grammar and capture as a real scale.

    Parameters
    ----------
    desk : Desk
        Where the jobs are.
    hub : ScaleHub
        Who is told what the scale says.
    faults : sequence of Fault
        What is wrong with the machine of every job.
    """

    def __init__(self, desk: Desk, hub: ScaleHub, faults: Sequence[Fault] = ()) -> None:
        self._desk = desk
        self._hub = hub
        self._faults = tuple(faults)
        self._benches: dict[str, SimulatedBench] = {}
        self._now: SimulatedBench | None = None
        self._product = ""
        self._asked: tuple[object, ...] = ()
        self._read: tuple[str, ...] = ()
        self._lock = threading.RLock()
        self._stopping = threading.Event()
        self._timer: threading.Timer | None = None
        self._creeps = False
        self._unplugged = False
        self._pan = PanReader(desk.clock, readability_g=maker.SCALES[0].readability_g)
        self._watch = ScaleWatch(lambda: _Switching(self), self._pan, hub.hear, pause_s=0.5)

    @property
    def creeps(self) -> bool:
        """True while the dose creeps."""
        return self._creeps

    @property
    def unplugged(self) -> bool:
        """True while the simulated scale is unplugged."""
        return self._unplugged

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is wrong with the machines."""
        return self._faults

    @property
    def seen(self) -> tuple[str, ...]:
        """What is read and what strikes a person at the machine in use, a sentence each."""
        with self._lock:
            seen = None if self._now is None else self._now.machine.seen
            return (*self._read, *(() if seen is None else seen.words))

    @property
    def watch(self) -> str:
        """Stroke times and air pressure of the last cycle; empty before the first."""
        with self._lock:
            seen = None if self._now is None else self._now.machine.seen
        if seen is None:
            return ""
        strokes = f"recharge {seen.recharge_s:.2f} s, fill {seen.fill_s:.2f} s"
        return f"Last cycle: {strokes}, air {seen.gauge_bar_g:.1f} bar."

    @property
    def told(self) -> tuple[str, ...]:
        """What the faults that are set do to the product in use, a sentence each."""
        with self._lock:
            effects = () if self._now is None else self._now.machine.effects
            return tuple(effect_words(effect, self._product) for effect in effects)

    def set_faults(self, faults: Sequence[Fault]) -> None:
        """Let these faults, and no others, act on the machine of every job."""
        with self._lock:
            self._faults = tuple(faults)
            for bench in self._benches.values():
                bench.machine.set_faults(self._faults)

    def start(self) -> None:
        """Begin to weigh."""
        self._hub.join()
        self._watch.start()

    def stop(self) -> None:
        """Stop weighing."""
        self._stopping.set()
        if self._timer is not None:
            self._timer.cancel()
        self._watch.stop()

    def creep(self, *, is_on: bool) -> None:
        """Let the dose of every machine creep down slowly, or stop that."""
        with self._lock:
            self._creeps = is_on
            for bench in self._benches.values():
                self._set_creep(bench)

    def unplug(self) -> None:
        """Pull the plug of the simulated scale."""
        with self._lock:
            self._unplugged = True
            if self._now is not None:
                self._now.scale.unplug()

    def plug_in(self) -> None:
        """Put the plug back."""
        with self._lock:
            self._unplugged = False
            if self._now is not None:
                self._now.scale.plug_in()

    def expect(self, state: JobState, act: Act) -> None:
        """Put on the pan what an act wants weighed, once for each act.

        Parameters
        ----------
        state : JobState
            The job in front of the person.
        act : Act
            What they are asked to do.
        """
        with self._lock:
            asked = (state.number, act.stage, act.what, act.value, state.revision)
            if asked == self._asked:
                return
            self._asked = asked
            bench = self._bench(state)
            if self._timer is not None:
                self._timer.cancel()
            bench.take_off()
            self._hub.forget()
            if "flush" in state.steps and not state.shots:
                for _ in range(14):
                    bench.machine.fill()
            self._read = readings_of(self._desk, state, act, bench)
            self._later(lambda: self._place(state, act, bench, asked))

    def current(self) -> SimulatedBench | None:
        """Return the bench whose scale is read now."""
        return self._now

    def _place(
        self, state: JobState, act: Act, bench: SimulatedBench, asked: tuple[object, ...]
    ) -> None:
        """Put the container on the pan, unless something else was asked since."""
        # The book before the bench, as a page has it: the other way round both would wait.
        with self._desk.book.lock, self._lock:
            if asked != self._asked or self._stopping.is_set():
                return
            ready_for(self._desk, act, state, bench, purpose_now(state))

    def _later(self, act: Callable[[], None]) -> None:
        """Do something after the pan has been seen empty."""
        self._timer = threading.Timer(_CHANGE_S, act)
        self._timer.daemon = True
        self._timer.start()

    def _bench(self, state: JobState) -> SimulatedBench:
        """Return the simulated bench of a job, and read its scale from now on."""
        bench = self._benches.get(state.number)
        if bench is None:
            bench = _bench_of(self._desk, state, wait=self._stopping.wait)
            self._benches[state.number] = bench
            bench.machine.set_faults(self._faults)
            self._set_creep(bench)
        if bench is not self._now:
            bench.take_off()
            bench.scale.close()
            if self._unplugged:
                bench.scale.unplug()
            self._now = bench
            self._pan.fit(state.known)
            self._product = state.known.product.name
        stand_by(self._desk, state, bench)
        return bench

    def _set_creep(self, bench: SimulatedBench) -> None:
        """Switch the creep of one machine."""
        if self._creeps:
            bench.machine.creep_on(-_CREEP_SHARE * bench.machine.mean_dose_g)
        else:
            bench.machine.creep_off()


class _Switching:
    """The line to whichever simulated scale is in use."""

    def __init__(self, demo: DemoBench) -> None:
        self._demo = demo

    def read(self, timeout_s: float) -> bytes:
        """Return what the scale in use has sent."""
        line = self._line()
        if line is None:
            time.sleep(timeout_s)
            return b""
        return line.read(timeout_s)

    def write(self, data: bytes) -> None:
        """Send bytes to the scale in use."""
        line = self._line()
        if line is not None:
            line.write(data)

    def close(self) -> None:
        """Let go of the scale in use."""
        line = self._line()
        if line is not None:
            line.close()

    def _line(self) -> Line | None:
        """Return the scale in use."""
        bench = self._demo.current()
        return None if bench is None else bench.scale


def open_demo(where: str | Path, faults: Sequence[Fault] = ()) -> Bench:
    """Open the demo bench, filled with invented jobs the first time; faults act from now on."""
    desk = desk_on(where)
    seed_demo(desk)
    hub = ScaleHub()
    demo = DemoBench(desk, hub, faults)
    demo.start()
    return Bench(desk=desk, scale=hub, demo=demo, store_words=str(where))


def seed_demo(desk: Desk) -> None:
    """Fill a journal with the invented maker and those of its jobs that are not in it yet."""
    known = set(desk.book.numbers())
    if not known:
        _furnish(desk)
    thin, foamy, oily, thick = maker.JOBS
    # One by one: a first start that was cut off leaves jobs out, and the next one adds them.
    plays: tuple[tuple[JobFacts, Callable[[JobState], bool]], ...] = (
        (thin, lambda s: s.released is not None),
        (foamy, lambda s: s.run is not None and s.filled_to > _FILLED_SO_FAR),
        (oily, lambda s: len(s.proof_shots) >= _PROOF_SO_FAR),
    )
    for facts, until in plays:
        if facts.number not in known:
            _play(desk, facts, until=until)
    if thick.number not in known:
        _open(desk, thick)


def _furnish(desk: Desk) -> None:
    """Keep the invented maker with people and things."""
    press = Press(person=maker.PEOPLE[0].initials)
    change_settings(desk, maker.SETTINGS, press)
    for person in maker.PEOPLE:
        list_person(desk, person, press)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, *maker.SCALES):
        keep_thing(desk, thing, press)


def _open(desk: Desk, facts: JobFacts) -> None:
    """Open an invented job at the aim that the rules propose."""
    aimed = replace(facts, aim_g=propose_aim(desk, facts).aim_g)
    press = Press(person=maker.PEOPLE[0].initials)
    open_job(desk, aimed, press)
    number = facts.number
    codes: dict[LotOf, str] = {"container": f"C-{number}", "drum": f"D-{number}"}
    tell_lots(desk, number, codes, press, batch=f"B-{number}")


def _play(desk: Desk, facts: JobFacts, *, until: Callable[[JobState], bool]) -> None:
    """Open an invented job and play it to where it shall stand."""
    _open(desk, facts)
    chance = np.random.Generator(np.random.PCG64([_SEED, int(facts.number)]))
    bench = bench_for(desk, find_job(desk, facts.number), chance, time.monotonic)
    play(desk, facts.number, bench, maker.PEOPLE[0], until=until, seed=_SEED)


def _bench_of(desk: Desk, state: JobState, *, wait: Callable[[float], object]) -> SimulatedBench:
    """Return a simulated bench that remembers what the job has on record."""
    seed = [_SEED, int(state.number) if state.number.isascii() and state.number.isdigit() else 0]
    chance = np.random.Generator(np.random.PCG64(seed))
    bench = bench_for(desk, state, chance, time.monotonic, wait=wait)
    known = {
        w.fact.container: float(w.fact.net_g)
        for w in state.weighings
        if w.counts and w.fact.container is not None
    }
    for number in range(1, state.filled_to + 1):
        bench.remember(number, known.get(number))
    return bench
