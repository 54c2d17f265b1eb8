"""The fold: the state of a job, and of the site, from their journal entries.

Replaying from the start, or from any stored state onward, gives the same state.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal

from fillwright.records.entities import (
    Container,
    JobFacts,
    Machine,
    Person,
    Product,
    SiteSettings,
    WeighingScale,
)
from fillwright.records.entries import (
    AdjustmentMade,
    CheckTaken,
    ContainerKept,
    ContainersHeld,
    ContainersSettled,
    Entry,
    FactsChanged,
    JobOpened,
    LotJudged,
    MachineKept,
    MatchJudged,
    PersonListed,
    ProductKept,
    ProofJudged,
    ProofPlanned,
    Released,
    RunFinished,
    RunPaused,
    RunStarted,
    SampleDrawn,
    ScaleKept,
    SettingMoved,
    SignalRaised,
    Signed,
    SiteSettingsChanged,
    StepDone,
    StruckOut,
    TareSet,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.runbook import RunBook
from fillwright.records.spans import Span, minus

__all__ = ["JobState", "SiteState", "Weighed", "fold_job", "fold_site"]


@dataclass(slots=True)
class Weighed:
    """A weighing with what became of it; `struck` is the reason of its strike-out."""

    id: str
    at: datetime
    person: str
    revision: int
    fact: WeighingTaken
    struck: str = ""

    @property
    def counts(self) -> bool:
        """Return True when the weight is used: neither struck out nor set aside."""
        return not self.struck and not self.fact.set_aside


@dataclass(slots=True)
class JobState:
    """A job as its entries say it stands.

    Every list is in journal order. `reopened` names a stage that must be done again, with
    the reason in words; `shots`, `proof` and `doses` start anew when their stage does.
    """

    number: str
    revision: int = 0
    last_hash: str = ""
    opened_at: datetime | None = None
    changed_at: datetime | None = None
    facts: JobFacts | None = None
    reopened: dict[str, str] = field(default_factory=dict)
    match: MatchJudged | None = None
    steps: dict[str, StepDone] = field(default_factory=dict)
    step_times: dict[str, datetime] = field(default_factory=dict)
    tare: TareSet | None = None
    checks: list[tuple[datetime, CheckTaken]] = field(default_factory=list)
    weighings: list[Weighed] = field(default_factory=list)
    by_id: dict[str, int] = field(default_factory=dict)
    setting_marks: Decimal | None = None
    moves: list[tuple[datetime, SettingMoved | AdjustmentMade]] = field(default_factory=list)
    weighed_empties: list[Weighed] = field(default_factory=list)
    shots: list[Weighed] = field(default_factory=list)
    trim: TrimJudged | None = None
    proof_plan: ProofPlanned | None = None
    proof_shots: list[Weighed] = field(default_factory=list)
    proof: ProofJudged | None = None
    proofs: list[ProofJudged] = field(default_factory=list)
    run: RunBook | None = None
    run_log: list[Weighed | AdjustmentMade | RunPaused | SignalRaised] = field(
        default_factory=list
    )
    signals: list[SignalRaised] = field(default_factory=list)
    holds: list[ContainersHeld] = field(default_factory=list)
    settled: list[tuple[datetime, str, ContainersSettled]] = field(default_factory=list)
    samples: list[SampleDrawn] = field(default_factory=list)
    lot: LotJudged | None = None
    signatures: list[tuple[datetime, Signed]] = field(default_factory=list)
    released: Released | None = None
    released_at: datetime | None = None
    filled_to: int = 0
    _open: tuple[Span, ...] | None = None

    @property
    def known(self) -> JobFacts:
        """Return the facts of a job that has been opened."""
        if self.facts is None:
            message = f"job {self.number} was never opened"
            raise LookupError(message)
        return self.facts

    @property
    def empties(self) -> list[Weighed]:
        """Return the empties weighed."""
        return [w for w in self.weighed_empties if w.counts]

    @property
    def open_spans(self) -> tuple[Span, ...]:
        """Return the held containers that nobody has settled."""
        if self._open is None:
            held = [Span(hold.first, hold.last) for hold in self.holds]
            gone = [Span(s.first, s.last) for _, _, s in self.settled]
            self._open = minus(held, gone)
        return self._open

    @property
    def scrapped(self) -> tuple[Span, ...]:
        """Return the containers that were scrapped."""
        gone = [Span(s.first, s.last) for _, _, s in self.settled if s.outcome == "scrapped"]
        return minus(gone, ())

    def apply(self, entry: Entry) -> None:
        """Take one more entry of this job."""
        self.revision = entry.revision
        self.last_hash = entry.hash
        self.changed_at = entry.at
        fact = entry.payload
        match fact:
            case WeighingTaken():
                self._weigh(entry, fact)
            case JobOpened():
                self.facts, self.opened_at = fact.facts, entry.at
            case FactsChanged():
                self.facts = fact.facts
                self._reopen(fact.reopens, fact.reason)
                if self.run is not None:
                    self.run.aim_g = float(fact.facts.aim_g)
            case MatchJudged():
                self.match = fact
                self.reopened.pop("match", None)
            case StepDone():
                self.steps[fact.step] = fact
                self.step_times[fact.step] = entry.at
                self.reopened.pop("setup", None)
            case TareSet():
                self.tare = fact
            case CheckTaken():
                self.checks.append((entry.at, fact))
            case StruckOut():
                self._strike(fact)
            case SettingMoved() | AdjustmentMade():
                self._turn(entry.at, fact)
            case TrimJudged():
                self.trim = fact
                self.reopened.pop("trim", None)
            case ProofPlanned():
                self.proof_plan, self.proof = fact, None
                self.proof_shots = []
            case ProofJudged():
                self.proof = fact
                self.proofs.append(fact)
                self.reopened.pop("prove", None)
            case _:
                self._apply_batch(entry)

    def _apply_batch(self, entry: Entry) -> None:
        """Take an entry of the run or of the release."""
        fact = entry.payload
        match fact:
            case RunStarted():
                if self.run is None:
                    self.run = RunBook(aim_g=float(self.known.aim_g))
                self.run.finished = None
                self.run.start(fact, self._proved())
            case RunPaused() if self.run is not None:
                self.run.pause(fact)
                self.run_log.append(fact)
            case RunFinished() if self.run is not None:
                self.run.finished = fact
                self.filled_to = fact.filled
            case SignalRaised() if self.run is not None:
                self.run.signal(fact)
                self.signals.append(fact)
                self.run_log.append(fact)
            case ContainersHeld():
                self.holds.append(fact)
                self._open = None
                self.lot = None
            case ContainersSettled():
                self.settled.append((entry.at, entry.person, fact))
                self._open = None
                self.lot = None
            case SampleDrawn():
                self.samples = [*self.samples, fact] if fact.first_sample else [fact]
                self.lot = None
            case LotJudged():
                self.lot = fact
            case Signed():
                self.signatures = [s for s in self.signatures if s[1].role != fact.role] + [
                    (entry.at, fact)
                ]
            case Released():
                self.released, self.released_at = fact, entry.at
            case _:
                pass

    def _weigh(self, entry: Entry, fact: WeighingTaken) -> None:
        """Take one weighing where it counts."""
        weighed = Weighed(entry.id, entry.at, entry.person, entry.revision, fact)
        self.by_id[entry.id] = len(self.weighings)
        self.weighings.append(weighed)
        if fact.purpose == "shot":
            self.shots.append(weighed)
        elif fact.purpose == "proof":
            self.proof_shots.append(weighed)
        elif fact.purpose == "tare":
            self.weighed_empties.append(weighed)
        if fact.purpose in ("proof", "dose") and fact.container is not None:
            self.filled_to = max(self.filled_to, fact.filled_to or 0, fact.container)
        if fact.purpose == "dose" and self.run is not None:
            self.run_log.append(weighed)
            if weighed.counts:
                self.run.take(fact)
        if fact.purpose in ("dose", "held", "sample"):
            self.lot = None

    def _turn(self, at: datetime, fact: SettingMoved | AdjustmentMade) -> None:
        """Move the setting; a turn in the run starts a new block."""
        self.setting_marks = fact.to_marks
        self.moves.append((at, fact))
        if isinstance(fact, AdjustmentMade) and self.run is not None:
            self.run.adjust(fact)
            self.run_log.append(fact)

    def _strike(self, fact: StruckOut) -> None:
        """Strike a weighing out and work out anew what hangs on it."""
        index = self.by_id.get(fact.entry_id)
        if index is None:
            return
        weighed = self.weighings[index]
        weighed.struck = fact.reason
        self.lot = None
        if weighed.fact.purpose == "dose" and self.run is not None:
            self._replay_run()

    def _replay_run(self) -> None:
        """Fold the run again from its start, without what was struck out."""
        if self.run is None or self.run.started is None:
            return
        book = RunBook(aim_g=self.run.aim_g, finished=self.run.finished)
        book.start(self.run.started, self._proved())
        struck = {w.id for w in self.weighings if w.struck}
        for item in self.run_log:
            match item:
                case Weighed():
                    if item.counts:
                        book.take(item.fact)
                case AdjustmentMade():
                    book.adjust(item)
                case RunPaused():
                    book.pause(item)
                case SignalRaised():
                    if item.weighing_id not in struck:
                        book.signal(item)
        self.run = book

    def _proved(self) -> list[WeighingTaken]:
        """Return the shots of the present proving run that count."""
        return [w.fact for w in self.proof_shots if w.counts]

    def _reopen(self, stages: Iterable[str], reason: str) -> None:
        """Open stages again; their earlier results stay in the journal."""
        for stage in stages:
            self.reopened[stage] = reason
            if stage == "match":
                self.match = None
            elif stage == "setup":
                self.steps.clear()
            elif stage == "trim":
                self.trim, self.shots = None, []
            elif stage == "prove":
                self.proof, self.proof_plan, self.proof_shots = None, None, []


@dataclass(slots=True)
class SiteState:
    """What the site keeps for every job."""

    revision: int = 0
    settings: SiteSettings = field(default_factory=SiteSettings)
    people: dict[str, Person] = field(default_factory=dict)
    products: dict[str, Product] = field(default_factory=dict)
    containers: dict[str, Container] = field(default_factory=dict)
    machines: dict[str, Machine] = field(default_factory=dict)
    scales: dict[str, WeighingScale] = field(default_factory=dict)

    def apply(self, entry: Entry) -> None:
        """Take one more entry of the site."""
        self.revision = entry.revision
        match entry.payload:
            case SiteSettingsChanged(settings=settings):
                self.settings = replace(settings)
            case PersonListed(listed=person):
                self.people[person.initials] = person
            case ProductKept(product=product):
                self.products[product.name] = product
            case ContainerKept(container=container):
                self.containers[container.name] = container
            case MachineKept(machine=machine):
                self.machines[machine.name] = machine
            case ScaleKept(scale=scale):
                self.scales[scale.name] = scale
            case _:
                pass


def fold_job(number: str, entries: Iterable[Entry], *, onto: JobState | None = None) -> JobState:
    """Return the state of a job after `entries`.

    Parameters
    ----------
    number : str
        Job number.
    entries : iterable of Entry
        The entries of the job's stream, in order.
    onto : JobState, optional
        A state that already holds the earlier entries; it is carried on.

    Returns
    -------
    JobState
        The state after the last entry.
    """
    state = JobState(number) if onto is None else onto
    for entry in entries:
        state.apply(entry)
    return state


def fold_site(entries: Iterable[Entry], *, onto: SiteState | None = None) -> SiteState:
    """Return the state of the site after `entries`."""
    state = SiteState() if onto is None else onto
    for entry in entries:
        state.apply(entry)
    return state
