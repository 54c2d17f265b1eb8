"""The practice course: eight tasks with their pass marks, judged from what is on record.

A task is passed by what the person's own entries in practice jobs show; nothing is ticked by
hand. The pass marks are judgement, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.setup.settings import mean_within
from fillwright.jobs.words import plain, shown_g
from fillwright.records.book import stream_of
from fillwright.records.entries import (
    AdjustmentMade,
    ComplaintPractised,
    ContainersEmptied,
    ContainersHeld,
    ContainersRelabelled,
    ContainersSettled,
    Entry,
    FaultAnswered,
    FaultClosed,
    FaultOpened,
    LotJudged,
    ProofJudged,
    Released,
    RunPaused,
    SettlingStruck,
    SignalRaised,
    StripTicked,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.spans import Span, count, join, minus

__all__ = [
    "TASKS",
    "Passed",
    "Practised",
    "Task",
    "TaskLook",
    "course_of",
    "practised",
]

MOST_SHOTS: Final = 12
MOST_CHECKS: Final = 6
STEADY: Final = 3
_TURNED: Final = "turned as ordered"
_LEFT: Final = "an ordered turn was left"
_NOTHING_DONE: Final = "a signal, nothing done about it yet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Practised:
    """A practice job with its entries."""

    state: JobState
    entries: tuple[Entry, ...]
    profile_steps: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Passed:
    """A task that was passed, or how near it came."""

    is_passed: bool
    at: datetime
    job: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A task of the course: what to do, the pass mark, how it comes about, where, how judged."""

    key: str
    name: str
    mark: str
    how: str
    page: str
    judge: Callable[[Practised, str], Passed | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskLook:
    """A task as it stands for a person: the pass, or the latest try, or None."""

    task: Task
    latest: Passed | None

    @property
    def is_passed(self) -> bool:
        """Return True once it was passed."""
        return self.latest is not None and self.latest.is_passed


def practised(desk: Desk) -> tuple[Practised, ...]:
    """Return every practice job, oldest first."""
    found = []
    for number in desk.book.practice_numbers():
        with desk.book.lock:
            state = desk.book.job(number)
            if state is None:
                continue
            profile = desk.profiles.by_name.get(state.strip.profile)
            steps = () if profile is None else profile.steps
            found.append(
                Practised(
                    state=state,
                    entries=tuple(desk.journal.entries(stream_of(number))),
                    profile_steps=frozenset(step.id for step in steps),
                )
            )
    return tuple(found)


def course_of(jobs: Sequence[Practised], person: str) -> tuple[TaskLook, ...]:
    """Return the eight tasks as they stand for a person: a pass stays a pass."""
    looks = []
    for task in TASKS:
        tries = [one for one in (task.judge(job, person) for job in jobs) if one is not None]
        passes = [one for one in tries if one.is_passed]
        latest = passes[0] if passes else tries[-1] if tries else None
        looks.append(TaskLook(task=task, latest=latest))
    return tuple(looks)


def _own(job: Practised, person: str, kind: type) -> list[Entry]:
    """Return a person's entries of one kind."""
    return [one for one in job.entries if one.person == person and isinstance(one.payload, kind)]


def _told(job: Practised, entry: Entry, words: str, *, is_passed: bool) -> Passed:
    """Return how a try came out."""
    return Passed(is_passed=is_passed, at=entry.at, job=job.state.number, words=words)


def _trim(job: Practised, person: str) -> Passed | None:
    """Judge a trim: trimmed, within the limit, not by too many shots."""
    best = None
    for entry in _own(job, person, TrimJudged):
        trim = entry.payload
        if not isinstance(trim, TrimJudged):
            continue
        facts = job.state.known
        off = abs(trim.mean_g - float(facts.aim_g)) / float(facts.aim_g)
        near = trim.verdict == "trimmed" and off <= mean_within(facts)
        shown = shown_g(trim.mean_g, facts.scale.readability_g)
        words = f"{shown} for {plain(facts.aim_g)} g, in {trim.shots} shots"
        best = _told(job, entry, words, is_passed=near and trim.shots <= MOST_SHOTS)
        if best.is_passed:
            return best
    return best


def _prove(job: Practised, person: str) -> Passed | None:
    """Judge a proof: proved, by a plan that was fixed before."""
    best = None
    for entry in _own(job, person, ProofJudged):
        proof = entry.payload
        if isinstance(proof, ProofJudged):
            words = f"{proof.verdict.replace('-', ' ')}, {proof.shots} shots"
            best = _told(job, entry, words, is_passed=proof.verdict == "proved")
            if best.is_passed:
                return best
    return best


def _hold(job: Practised, person: str) -> Passed | None:
    """Judge a creeping run: a signal or an ordered turn, what was done, then steady weights.

    A slow creep is met by a turn that the level asks for before any single weight gives a signal.
    """
    asked: Entry | None = None
    acted, steady = False, 0
    for entry in job.entries:
        fact = entry.payload
        if isinstance(fact, SignalRaised):
            asked, acted, steady = entry, False, 0
        elif entry.person != person:
            continue
        elif asked is None:
            asked, acted = (entry, _is_as_ordered(entry)) if _was_ordered(entry) else (None, False)
        elif _acts(entry):
            acted, steady = True, 0
        elif acted and isinstance(fact, WeighingTaken) and fact.purpose == "dose":
            steady = steady + 1 if fact.state == "on" else 0
            if steady >= STEADY:
                done = "signal answered" if isinstance(asked.payload, SignalRaised) else _TURNED
                words = f"{done}, then {STEADY} on target one after the other"
                return _told(job, entry, words, is_passed=True)
    if asked is None or asked.person != person:
        return None
    words = (
        _NOTHING_DONE if isinstance(asked.payload, SignalRaised) else "an ordered turn was left"
    )
    return _told(job, asked, "acted, not steady yet" if acted else words, is_passed=False)


def _was_ordered(entry: Entry) -> bool:
    """Return True for the answer to an order to turn the wheel."""
    fact = entry.payload
    return isinstance(fact, AdjustmentMade) and fact.advised_marks != fact.from_marks


def _is_as_ordered(entry: Entry) -> bool:
    """Return True where the wheel was turned as ordered."""
    fact = entry.payload
    return isinstance(fact, AdjustmentMade) and fact.to_marks == fact.advised_marks


def _acts(entry: Entry) -> bool:
    """Return True for a turn, or a stop for a fault."""
    fact = entry.payload
    is_stop = isinstance(fact, RunPaused) and fact.reason == "fault"
    return is_stop or isinstance(fact, AdjustmentMade)


def _loose_lock(job: Practised, person: str) -> Passed | None:
    """Judge a search: the loose lock, found and cured with few checks."""
    latest, checks = None, 0
    for entry in job.entries:
        fact = entry.payload
        if isinstance(fact, FaultOpened):
            checks = 0
        elif isinstance(fact, FaultAnswered):
            checks += 1
        elif isinstance(fact, FaultClosed) and entry.person == person:
            found = fact.outcome == "cured" and fact.cause == "lock_open"
            words = f"{fact.outcome.replace('-', ' ')}, {checks} check{'' if checks == 1 else 's'}"
            latest = _told(job, entry, words, is_passed=found and checks <= MOST_CHECKS)
            if latest.is_passed:
                return latest
    return latest


def _settle(job: Practised, person: str) -> Passed | None:
    """Judge held containers: some settled, and none left open."""
    kinds = (ContainersSettled, ContainersEmptied, ContainersRelabelled)
    open_spans: tuple[Span, ...] = ()
    done: dict[str, Entry] = {}
    for entry in job.entries:
        fact = entry.payload
        if isinstance(fact, ContainersHeld):
            open_spans = join([*open_spans, Span(fact.first, fact.last)])
        elif isinstance(fact, SettlingStruck):
            struck = done.pop(fact.settling_id, None)
            open_spans = join([*open_spans, *(() if struck is None else _settled(struck))])
        elif isinstance(fact, kinds):
            done[entry.id] = entry
            open_spans = minus(open_spans, _settled(entry))
            if entry.person == person and not open_spans:
                # A pass stays a pass, whatever is held in the job later on.
                return _told(job, entry, "every held one is settled", is_passed=True)
    mine = [entry for entry in done.values() if entry.person == person]
    if not mine:
        return None
    return _told(job, mine[-1], f"{count(open_spans)} still held", is_passed=False)


def _settled(entry: Entry) -> tuple[Span, ...]:
    """Return the containers that an entry settled."""
    match entry.payload:
        case ContainersSettled(first=first, last=last):
            return (Span(first, last),)
        case ContainersEmptied(spans=spans) | ContainersRelabelled(spans=spans):
            return spans
        case _:
            return ()


def _release(job: Practised, person: str) -> Passed | None:
    """Judge a release: decided, with the lot test behind it and nothing held."""
    judged, latest = False, None
    for entry in job.entries:
        if isinstance(entry.payload, LotJudged):
            judged = True
        elif isinstance(entry.payload, Released) and entry.person == person:
            words = "decided on the lot test" if judged else "decided without a lot test"
            latest = _told(job, entry, words, is_passed=judged)
            if judged:
                return latest
    return latest


def _rebuild(job: Practised, person: str) -> Passed | None:
    """Judge a rebuild: every step of the profile, the test good, nothing on the bench."""
    done = _own(job, person, StripTicked)
    if not done or not job.profile_steps:
        return None
    left = len(job.profile_steps - set(job.state.strip.ticks))
    words = f"{left} steps left" if left else "every step in order, the test good"
    return _told(job, done[-1], words, is_passed=not left)


def _complaint(job: Practised, person: str) -> Passed | None:
    """Judge an answered complaint: suspects, weighed or not, and what comes first."""
    latest = None
    for entry in _own(job, person, ComplaintPractised):
        fact = entry.payload
        if isinstance(fact, ComplaintPractised):
            words = "as the record says" if fact.is_right else fact.because
            latest = _told(job, entry, words, is_passed=fact.is_right)
            if latest.is_passed:
                return latest
    return latest


TASKS: Final = (
    Task(
        key="trim",
        name="Trim within the limit",
        mark=f"Trimmed, the mean within its limit, in {MOST_SHOTS} shots or fewer.",
        how="Enter through Match and Set up of a practice job, then Trim.",
        page="trim",
        judge=_trim,
    ),
    Task(
        key="prove",
        name="Prove the dose",
        mark="Proved, by the number of shots that was fixed before the first.",
        how="It comes after Trim.",
        page="prove",
        judge=_prove,
    ),
    Task(
        key="hold",
        name="Hold a creeping run",
        mark=f"A signal, or an ordered turn, is answered; then {STEADY} on target in a row.",
        how="In Run let the dose creep by the strip on top; with water somebody turns the wheel.",
        page="run",
        judge=_hold,
    ),
    Task(
        key="lock",
        name="Find the loose lock",
        mark=f"Found, mended and tested with {MOST_CHECKS} checks or fewer.",
        how="Set the fault wheel-creep by the strip on top; with water somebody opens the lock.",
        page="fault",
        judge=_loose_lock,
    ),
    Task(
        key="settle",
        name="Settle what is held",
        mark="Every held one is settled, each with what became of it.",
        how="A low weight holds some in Run; or hold a tray by hand there.",
        page="held",
        judge=_settle,
    ),
    Task(
        key="release",
        name="Release a lot",
        mark="Decided after the lot test, with nothing held any more.",
        how="It comes after the run: finish it, then weigh the sample.",
        page="release",
        judge=_release,
    ),
    Task(
        key="rebuild",
        name="Rebuild in order",
        mark="Every step of strip and rebuild in its order, the suction test good.",
        how="It comes after the release: pick the guided strip.",
        page="strip",
        judge=_rebuild,
    ),
    Task(
        key="complaint",
        name="Answer a complaint",
        mark="Which ones are suspect, whether it was weighed, and what comes first.",
        how="Any practice job with three weighed in Run has one.",
        page="complaint",
        judge=_complaint,
    ),
)
"""The eight tasks, in the order of a job."""
