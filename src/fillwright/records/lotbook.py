"""What a job has on record of its cartons, drums and people, and which container is under which.

Every container has at most one carton of containers, one of lids and one drum; where none is on
record there is a hole, and it is named.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar

from fillwright.records.entities import JobFacts, Product, Stage
from fillwright.records.entries import (
    DensityTaken,
    Entry,
    FactsChanged,
    FirstJarLooked,
    LotTaken,
    PersonChanged,
    PhotoKept,
    RunFinished,
    RunPaused,
    RunStarted,
    SampleKept,
    StepDone,
    StripBegan,
    TareCarriedOn,
    TareSet,
    WeighingTaken,
)
from fillwright.records.kinds_lots import LotOf, Occasion
from fillwright.records.nearest import plain_code
from fillwright.records.replay import RunNote
from fillwright.records.spans import Span, join

if TYPE_CHECKING:
    from fillwright.records.fold import JobState

__all__ = ["Dated", "FilledWith", "LotBook", "Under", "Use"]

_Placed = TypeVar("_Placed")


@dataclass(frozen=True, slots=True)
class Dated:
    """Something on record with its time and person; for a look, all that asked for it."""

    at: datetime
    person: str
    fact: FirstJarLooked | PersonChanged | TareCarriedOn
    occasions: tuple[Occasion, ...] = ()


@dataclass(frozen=True, slots=True)
class Use:
    """A carton or drum in use, with the time and person of its entry."""

    at: datetime
    person: str
    fact: LotTaken


@dataclass(frozen=True, slots=True)
class Under:
    """Containers `span` under one carton or drum; no `use` where none is on record."""

    span: Span
    use: Use | None


@dataclass(frozen=True, slots=True)
class FilledWith:
    """Product and aim of what is filled after a container."""

    after_container: int
    product: Product
    aim_g: Decimal


@dataclass(slots=True)
class LotBook:
    """Cartons, drums, people and looks, in journal order.

    Parameters
    ----------
    uses : list of Use
        Everything that was taken into use.
    tares : list of tuple
        Average empty by the last container before it.
    fillings : list of FilledWith
        Product and aim, where a drum changed its density; empty where one holds for all.
    carton_due : LotTaken or None
        A new carton whose empties are not weighed yet.
    looks : list of Dated
        Looks at first containers.
    look_due : str
        What asks for one now, the start before all; None where nothing does.
    look_for : tuple of str
        Everything that asks for it, in the order in which it came.
    look_from : int
        First container that the next look speaks for.
    """

    uses: list[Use] = field(default_factory=list)
    tares: list[tuple[int, TareSet]] = field(default_factory=list)
    fillings: list[FilledWith] = field(default_factory=list)
    carton_due: LotTaken | None = None
    carried_on: list[Dated] = field(default_factory=list)
    looks: list[Dated] = field(default_factory=list)
    look_due: Occasion | None = None
    look_for: tuple[Occasion, ...] = ()
    look_from: int = 1
    people: list[Dated] = field(default_factory=list)
    kept: list[SampleKept] = field(default_factory=list)
    photos: list[PhotoKept] = field(default_factory=list)

    def apply(self, entry: Entry, state: JobState) -> None:
        """Take one more entry of the job, after the state has taken it."""
        fact = entry.payload
        if isinstance(fact, WeighingTaken):
            return
        match fact:
            case LotTaken():
                self._take(entry, fact, state)
            case DensityTaken():
                self._fill_with(entry, fact, state)
            case TareSet():
                self._tare(fact)
            case TareCarriedOn():
                self.carried_on.append(Dated(entry.at, entry.person, fact))
                self.carton_due = None
            case FirstJarLooked():
                self._look(entry, fact, state)
            case SampleKept():
                self.kept.append(fact)
            case _:
                self._apply_run(entry, state)

    def _apply_run(self, entry: Entry, state: JobState) -> None:
        """Take what asks for a look at the next container."""
        fact = entry.payload
        match fact:
            case PersonChanged():
                self.people.append(Dated(entry.at, entry.person, fact))
                _note(entry, fact, state)
                self._ask(state, "person")
            case PhotoKept():
                self.photos.append(fact)
            case RunStarted():
                self.look_due, self.look_for = "start", ("start",)
                self.look_from = fact.first_container
            case RunFinished():
                self.look_due, self.look_for = None, ()
            case FactsChanged():
                if self.fillings:
                    last = self.fillings[-1].after_container
                    now = state.known
                    self.fillings[-1] = FilledWith(last, now.product, now.aim_g)
                self._ask(state, "facts")
            case RunPaused() if fact.asks_look:
                self._ask(state, fact.reason)
            case StripBegan() | StepDone(step=Stage.STRIP.value):
                self._ask(state, "strip")
            case _:
                pass

    def under(self, what: LotOf, filled: int) -> tuple[Under, ...]:
        """Return containers 1 to `filled` by carton or drum: each once, in order.

        Of two that began after the same container the later entry stands: so a code that was
        typed wrong is put right.
        """
        if filled < 1:
            return ()
        starts: dict[int, Use | None] = {0: None}
        for use in self.uses:
            if use.fact.what == what:
                starts[use.fact.after_container] = use if use.fact.code else None
        order = sorted(after for after in starts if after < filled)
        ends = [*order[1:], filled]
        return tuple(
            Under(Span(after + 1, end), starts[after])
            for after, end in zip(order, ends, strict=True)
        )

    def from_code(self, what: LotOf, code: str, filled: int) -> tuple[Span, ...]:
        """Return the containers that a code went into: the way back of `at`."""
        wanted = plain_code(code)
        return join(
            under.span
            for under in self.under(what, filled)
            if under.use is not None and plain_code(under.use.fact.code) == wanted
        )

    def from_batch(self, batch: str, filled: int) -> tuple[Span, ...]:
        """Return the containers that a batch of the product went into."""
        wanted = plain_code(batch)
        starts: dict[int, str] = {0: ""}
        for use in self.uses:
            if use.fact.what == "drum":
                starts[use.fact.after_container] = plain_code(use.fact.batch)
        order = [after for after in sorted(starts) if after < filled]
        ends = [*order[1:], filled]
        return (
            join(
                Span(after + 1, end)
                for after, end in zip(order, ends, strict=True)
                if starts[after] == wanted
            )
            if order
            else ()
        )

    def at(self, what: LotOf, container: int) -> Use | None:
        """Return the carton or drum of one container; None where none is on record."""
        return self.under(what, max(container, 1))[-1].use

    def tare_of(self, container: int | None) -> TareSet | None:
        """Return the average empty of a container's carton; of the present one for None."""
        if not self.tares:
            return None
        if container is None:
            return self.tares[-1][1]
        if 0 < container <= self.tares[0][0]:
            return None
        return _last_before(self.tares, [after for after, _ in self.tares], container)[1]

    def facts_for(self, facts: JobFacts, container: int | None) -> JobFacts:
        """Return the facts of a job as they are for one container: its own density and aim."""
        if not self.fillings or container is None:
            return facts
        starts = [filling.after_container for filling in self.fillings]
        found = _last_before(self.fillings, starts, container)
        return replace(facts, product=found.product, aim_g=found.aim_g)

    def _take(self, entry: Entry, fact: LotTaken, state: JobState) -> None:
        """Take a carton or a drum; in a run its empties, or a look, are asked for."""
        place = (fact.what, fact.after_container)
        is_correction = any((u.fact.what, u.fact.after_container) == place for u in self.uses)
        self.uses.append(Use(entry.at, entry.person, fact))
        if is_correction or not (_runs(state) or _proves(state)):
            return
        if fact.after_container == 0:
            # There from the first one on: no change, and the empties weighed so far are of it.
            if fact.what == "container" and state.tare is None:
                self.carton_due = fact if state.known.tare_way == "mean" else None
            return
        _note(entry, fact, state)
        if fact.what == "container":
            # Empties of the carton before stay on record and count no more.
            state.weighed_empties = []
            self.carton_due = fact if state.known.tare_way == "mean" else None
        self._ask(state, fact.what)

    def _fill_with(self, entry: Entry, fact: DensityTaken, state: JobState) -> None:
        """Take a density; what was filled before keeps its own."""
        known = state.known
        if not self.fillings:
            self.fillings.append(FilledWith(0, known.product, known.aim_g))
        product = replace(
            known.product,
            density_g_per_ml=fact.density_g_per_ml,
            density_c=fact.density_c,
            is_apparent=fact.is_apparent,
        )
        state.facts = replace(known, product=product, aim_g=fact.aim_g)
        kept = [one for one in self.fillings if one.after_container < fact.after_container]
        self.fillings = [*kept, FilledWith(fact.after_container, product, fact.aim_g)]
        state.lot = None
        if _proves(state) and fact.aim_g != known.aim_g:
            _end_proving(state)
        elif state.run is not None and fact.aim_g != known.aim_g:
            state.run.aim_at(float(fact.aim_g))
            state.run_log.append(RunNote(entry.revision, fact))

    def _tare(self, fact: TareSet) -> None:
        """Take an average empty for the carton that is open."""
        cartons = [use.fact for use in self.uses if use.fact.what == "container"]
        after = cartons[-1].after_container if cartons else 0
        kept = [one for one in self.tares if one[0] < after]
        self.tares = [*kept, (after, fact)]
        self.carton_due = None

    def _look(self, entry: Entry, fact: FirstJarLooked, state: JobState) -> None:
        """Take a look; one that found something wrong is asked for again."""
        self.looks.append(Dated(entry.at, entry.person, fact, self.look_for or (fact.occasion,)))
        if fact.is_right or fact.skipped:
            self.look_due, self.look_for = None, ()
        else:
            state.filled_to = max(state.filled_to, fact.container)
            state.run_log.append(RunNote(entry.revision, fact))
            if state.run is not None:
                state.run.look()

    def _ask(self, state: JobState, occasion: Occasion) -> None:
        """Ask for a look at the next container, while a run is open."""
        if _runs(state):
            if self.look_due is None:
                self.look_from = state.filled_to + 1
            self.look_for = (*(one for one in self.look_for if one != occasion), occasion)
            self.look_due = "start" if "start" in self.look_for else occasion


def _runs(state: JobState) -> bool:
    """Return True while a run is open."""
    run = state.run
    return run is not None and run.started is not None and run.finished is None


def _proves(state: JobState) -> bool:
    """Return True while a proving run is open."""
    return state.proof_plan is not None and state.proof is None and not _runs(state)


def _end_proving(state: JobState) -> None:
    """End a proving run whose aim has moved: shots at two aims prove nothing together.

    It counts as a try of the claim where anything was weighed, so that no drum hides a bad one.
    """
    if state.proof_plan is not None and any(shot.counts for shot in state.proof_shots):
        state.tries = max(state.tries, state.proof_plan.attempt)
    state.proof_plan, state.proof_shots = None, []


def _note(entry: Entry, fact: LotTaken | PersonChanged, state: JobState) -> None:
    """Put a change into the run: its post, the last one filled, the next one to weigh.

    Before the run, in a proving run, it only says which was the last one filled.
    """
    state.filled_to = max(state.filled_to, fact.after_container)
    if state.run is None:
        state.run_log.append(RunNote(entry.revision, fact))
    elif _runs(state):
        state.run.change(fact)
        state.run_log.append(RunNote(entry.revision, fact))


def _last_before(placed: Sequence[_Placed], starts: Sequence[int], container: int) -> _Placed:
    """Return the last that began before a container, else the first."""
    return placed[max(bisect_left(starts, container) - 1, 0)]
