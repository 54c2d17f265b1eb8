"""The fold: the state of a job from its journal entries.

Replaying from the start, or from any stored state onward, gives the same state.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal

from fillwright.records.againbook import AgainBook
from fillwright.records.dosing_parts import dosing_parts
from fillwright.records.entities import JobFacts
from fillwright.records.entries import (
    AdjustmentMade,
    CheckTaken,
    ContainersHeld,
    Entry,
    FactsChanged,
    FaultAnswered,
    FaultClosed,
    FaultOpened,
    HopperRead,
    JobOpened,
    LotJudged,
    LotJudgedElsewhere,
    MatchJudged,
    PrimingJudged,
    ProofJudged,
    ProofJudgedFirst,
    ProofPlanned,
    ProofPlannedFirst,
    Released,
    ReleaseReopened,
    RepairTried,
    RunFinished,
    RunPaused,
    RunStarted,
    SampleDrawn,
    SettingMoved,
    SignalRaised,
    SignatureSeen,
    Signed,
    StepDone,
    StruckOut,
    TareSet,
    TrimJudged,
    WatchChosen,
    WeighingFromFile,
    WeighingTaken,
)
from fillwright.records.faultcase import FaultCase, take_fault
from fillwright.records.filebook import FileBook, own_facts
from fillwright.records.heldbook import HeldBook
from fillwright.records.lotbook import LotBook
from fillwright.records.replay import RunNote, filled_again, proved_shots, replayed
from fillwright.records.runbook import RunBook
from fillwright.records.spans import Span
from fillwright.records.startbook import StartBook
from fillwright.records.stripbook import StripBook
from fillwright.records.weighed import Weighed, Weighings

__all__ = ["JobState", "Weighed", "fold_job"]


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
    weighings: Weighings = field(default_factory=Weighings)
    setting_marks: Decimal | None = None
    moves: list[tuple[datetime, SettingMoved | AdjustmentMade]] = field(default_factory=list)
    weighed_empties: list[Weighed] = field(default_factory=list)
    purges: list[Weighed] = field(default_factory=list)
    priming: PrimingJudged | None = None
    shots: list[Weighed] = field(default_factory=list)
    is_from_above: bool = False
    shots_from_above: set[str] = field(default_factory=set)
    trim: TrimJudged | None = None
    proof_plan: ProofPlanned | None = None
    proof_shots: list[Weighed] = field(default_factory=list)
    proof: ProofJudged | None = None
    proofs: list[ProofJudged] = field(default_factory=list)
    tries: int = 0
    run: RunBook | None = None
    run_log: list[RunNote] = field(default_factory=list)
    run_from: int = 0
    run_proof: list[Weighed] = field(default_factory=list)
    aim_at_start_g: float = 0.0
    watch_way: WatchChosen | None = None
    scale_good_to: int = 0
    signals: list[SignalRaised] = field(default_factory=list)
    signatures_seen: list[SignatureSeen] = field(default_factory=list)
    holds: list[ContainersHeld] = field(default_factory=list)
    held: HeldBook = field(default_factory=HeldBook)
    samples: list[SampleDrawn] = field(default_factory=list)
    lot: LotJudged | None = None
    other_lot: LotJudged | None = None
    signatures: list[tuple[datetime, Signed]] = field(default_factory=list)
    released: Released | None = None
    released_at: datetime | None = None
    reopenings: list[tuple[datetime, str, ReleaseReopened]] = field(default_factory=list)
    filled_to: int = 0
    open_spans: tuple[Span, ...] = ()
    strip: StripBook = field(default_factory=StripBook)
    start: StartBook = field(default_factory=StartBook)
    faults: list[FaultCase] = field(default_factory=list)
    files: FileBook = field(default_factory=FileBook)
    lots: LotBook = field(default_factory=LotBook)
    again: AgainBook = field(default_factory=AgainBook)

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
    def scrapped(self) -> tuple[Span, ...]:
        """Return the containers that were scrapped."""
        return self.held.of("scrapped")

    def apply(self, entry: Entry) -> None:
        """Take one more entry of this job."""
        before = self.facts
        self.revision = entry.revision
        self.last_hash = entry.hash
        self.changed_at = entry.at
        fact = entry.payload
        match fact:
            case WeighingFromFile(purpose="elsewhere"):
                pass
            case WeighingTaken():
                self._weigh(entry, fact)
            case JobOpened():
                self.facts, self.opened_at = own_facts(self.number, fact.facts), entry.at
            case FactsChanged():
                self._change(entry, fact)
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
                self._check_scale(entry, fact)
            case StruckOut():
                self._strike(fact)
            case SettingMoved() | AdjustmentMade():
                self._turn(entry, fact)
            case TrimJudged():
                self.trim = fact
                self.reopened.pop("trim", None)
            case PrimingJudged():
                self.priming = fact
            case ProofPlanned() | ProofPlannedFirst():
                self._plan(fact.now() if isinstance(fact, ProofPlannedFirst) else fact)
            case ProofJudged():
                self._prove(fact)
            case ProofJudgedFirst():
                self._prove(replace(fact.now(), attempt=self.tries + 1))
            case _:
                self._apply_batch(entry)
        self.start.apply(entry, self.weighings)
        self.files.apply(entry)
        self.held.apply(entry, self)
        self._take_lots(entry, before)
        self.again.apply(entry, self)

    def _take_lots(self, entry: Entry, before: JobFacts | None) -> None:
        """Take what is filled with what; `before` are the facts before this entry."""
        due = (self.lots.look_due, self.lots.look_from, self.lots.look_for)
        self.lots.apply(entry, self)
        if isinstance(entry.payload, FactsChanged) and _weighs_otherwise(before, self.facts):
            # Weighed more or less often, a jar is filled as before: nobody has to look for it.
            self.lots.look_due, self.lots.look_from, self.lots.look_for = due

    def _check_scale(self, entry: Entry, fact: CheckTaken) -> None:
        """Keep a check of the scale; a good one speaks for all that is filled so far."""
        self.checks.append((entry.at, fact))
        if fact.passed:
            self.scale_good_to = self.filled_to
        if self.run is not None:
            self.run.scale_checked(fact)
            self.run_log.append(RunNote(entry.revision, fact))

    def _plan(self, plan: ProofPlanned) -> None:
        """Begin a proving run."""
        self.proof_plan, self.proof = plan, None
        self.proof_shots = []

    def _prove(self, proof: ProofJudged) -> None:
        """End a proving run."""
        self.proof = proof
        self.proofs.append(proof)
        self.tries = max(self.tries, proof.attempt)
        self.reopened.pop("prove", None)

    def _apply_batch(self, entry: Entry) -> None:
        """Take an entry of the run or of the release."""
        fact = entry.payload
        match fact:
            case WatchChosen():
                self.watch_way = fact
            case SignatureSeen():
                self.signatures_seen.append(fact)
            case HopperRead() if self.run is not None:
                self.run.hopper(fact)
                self.run_log.append(RunNote(entry.revision, fact))
            case RunStarted():
                self.aim_at_start_g = float(self.known.aim_g)
                self.run_proof = list(self.proof_shots)
                self.run = RunBook(aim_g=self.aim_at_start_g, way=self.watch_way)
                self.run.start(fact, proved_shots(self))
                self.run_log, self.run_from = [], entry.revision
            case RunPaused() if self.run is not None:
                self.filled_to = max(self.filled_to, fact.after_container)
                self.run.pause(fact)
                self.run_log.append(RunNote(entry.revision, fact))
            case RunFinished() if self.run is not None:
                self.run.finished = fact
                self.filled_to = fact.filled
            case SignalRaised() if self.run is not None:
                self.run.signal(fact)
                self.signals.append(fact)
                self.run_log.append(RunNote(entry.revision, fact))
            case SampleDrawn():
                self.samples = [*self.samples, fact] if fact.first_sample else [fact]
                self.lot = None
            case LotJudged():
                # Names stand under one judgement; a new one is signed anew.
                self.lot, self.other_lot, self.signatures = fact, None, []
            case LotJudgedElsewhere():
                self.other_lot = fact.judgement
            case Signed():
                self.signatures = [s for s in self.signatures if s[1].role != fact.role] + [
                    (entry.at, fact)
                ]
            case Released() | ReleaseReopened():
                self._release(entry, fact)
            case FaultOpened() | FaultAnswered() | RepairTried() | FaultClosed():
                take_fault(self.faults, fact, entry.at)
            case _:
                self.strip.apply(entry.at, entry.person, fact)

    def _release(self, entry: Entry, fact: Released | ReleaseReopened) -> None:
        """Close the lot, or open it again; names stood under a judgement that is gone."""
        if isinstance(fact, Released):
            self.released, self.released_at = fact, entry.at
            return
        self.released, self.released_at, self.lot, self.signatures = None, None, None, []
        self.reopenings.append((entry.at, entry.person, fact))

    def _weigh(self, entry: Entry, fact: WeighingTaken) -> None:
        """Take one weighing where it counts."""
        weighed = Weighed(entry.id, entry.at, entry.person, entry.revision, fact)
        self.weighings.append(weighed)
        if fact.purpose == "shot":
            self.shots.append(weighed)
            if self.is_from_above:
                self.shots_from_above.add(weighed.id)
        elif fact.purpose == "proof":
            self.proof_shots.append(weighed)
        elif fact.purpose == "tare":
            self.weighed_empties.append(weighed)
        elif fact.purpose == "purge":
            self.purges.append(weighed)
        if fact.purpose in ("proof", "dose") and fact.container is not None:
            self.filled_to = max(self.filled_to, fact.filled_to or 0, fact.container)
        if fact.purpose == "dose" and self.run is not None and weighed.counts:
            self.run.take(fact)
        if fact.purpose in ("dose", "held", "sample"):
            self.lot = None

    def _turn(self, entry: Entry, fact: SettingMoved | AdjustmentMade) -> None:
        """Move the setting; a turn in the run starts a new block."""
        self.setting_marks = fact.to_marks
        self.is_from_above = isinstance(fact, SettingMoved) and fact.is_from_above
        self.moves.append((entry.at, fact))
        if isinstance(fact, AdjustmentMade) and self.run is not None:
            self.run.adjust(fact)
            self.run_log.append(RunNote(entry.revision, fact))

    def _strike(self, fact: StruckOut) -> None:
        """Strike a weighing out and work out anew what hangs on it."""
        weighed = self.weighings.find(fact.entry_id)
        if weighed is None:
            return
        weighed.struck = fact.reason
        # What this very weight raised is withdrawn; other signals stand as they were judged.
        self.signals = [s for s in self.signals if s.weighing_id != weighed.id]
        self.lot = None
        if any(shot is weighed for shot in self.proof_shots) and self.proof is not None:
            self.proof = None
            self.reopened["prove"] = f"A shot was struck out: {fact.reason}."
        if any(shot is weighed for shot in self.shots) and self.proof_plan is None:
            self.trim = None
        if weighed.fact.purpose == "purge" and self.priming is not None:
            self.priming = None
            self.steps.pop("air-out", None)
        if weighed.fact.purpose in ("proof", "dose"):
            if self.run is None or self.run.finished is None:
                self.filled_to = filled_again(self)
            if self.run is not None:
                self.run = replayed(self)

    def _change(self, entry: Entry, fact: FactsChanged) -> None:
        """Take other facts; a lot that was judged by the old ones is judged again."""
        old, self.facts = self.facts, own_facts(self.number, fact.facts)
        self.lot = None
        self._reopen(fact.reopens, fact.reason)
        if old is not None and _claimed(old) != _claimed(fact.facts):
            self.tries = 0
        if self.run is not None and old is not None and old.aim_g != fact.facts.aim_g:
            self.run.aim_at(float(fact.facts.aim_g))
            self.run_log.append(RunNote(entry.revision, fact))

    def _reopen(self, stages: Iterable[str], reason: str) -> None:
        """Open stages again; their earlier results stay in the journal."""
        for stage in stages:
            self.reopened[stage] = reason
            if stage == "match":
                self.match = None
            elif stage == "setup":
                self.steps.clear()
                self.purges, self.priming = [], None
            elif stage == "trim":
                self.trim, self.shots = None, []
            elif stage == "prove":
                if self.proof_plan is not None and any(s.counts for s in self.proof_shots):
                    # A run that was broken off is a try like one that came to its end.
                    self.tries = max(self.tries, self.proof_plan.attempt)
                self.proof, self.proof_plan, self.proof_shots = None, None, []


def _weighs_otherwise(old: JobFacts | None, new: JobFacts | None) -> bool:
    """Return True where nothing but how often is weighed was changed."""
    return old is not None and new is not None and replace(new, weigh_every=old.weigh_every) == old


def _claimed(facts: JobFacts) -> tuple[object, ...]:
    """Return what a proving run is about; another claim or machine counts from one again."""
    claim = (facts.claim_pct, facts.claim_content_pct, facts.claim_confidence_pct)
    return (*claim, facts.product, *dosing_parts(facts))


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
