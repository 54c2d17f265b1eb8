"""The whole job as a traveller card: seven rows, each with its result, and the next act."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk
from fillwright.jobs.held import settle
from fillwright.jobs.match import stage as match
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.release import stage as release
from fillwright.jobs.run import stage as run
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.steps import key_now, keys_of
from fillwright.jobs.strip import stage as strip
from fillwright.jobs.trim import stage as trim
from fillwright.jobs.words import plain, shown_g
from fillwright.records.entities import Stage
from fillwright.records.entries import Purpose
from fillwright.records.fold import JobState

__all__ = ["STAGE_WORDS", "Row", "Traveller", "act_of", "next_act", "purpose_now", "traveller"]

STAGE_WORDS = {
    Stage.MATCH: "Match",
    Stage.SET_UP: "Set up",
    Stage.TRIM: "Trim",
    Stage.PROVE: "Prove",
    Stage.RUN: "Run",
    Stage.RELEASE: "Release",
    Stage.STRIP: "Strip",
}
_PURPOSES: dict[Stage, Purpose] = {
    Stage.SET_UP: "tare",
    Stage.TRIM: "shot",
    Stage.PROVE: "proof",
    Stage.RUN: "dose",
    Stage.RELEASE: "sample",
}
_WEIGHED_STEPS: dict[str, Purpose] = {"empties": "tare", "air-out": "purge"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A stage with how it stands: done, now, later, or reopened with its cause."""

    stage: Stage
    name: str
    status: str
    words: str
    at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Traveller:
    """The whole job on one page."""

    act: Act
    rows: tuple[Row, ...]
    progress: str


def stage_now(state: JobState) -> Stage:
    """Return the stage that the job stands at."""
    if state.released is not None:
        return Stage.STRIP
    if state.run is not None and state.run.started is not None:
        return Stage.RUN if state.run.finished is None else Stage.RELEASE
    if state.match is None:
        return Stage.MATCH
    if key_now(state) is not None:
        return Stage.SET_UP
    if state.trim is None:
        return Stage.TRIM
    if state.proof is None or state.proof.verdict != "proved":
        return Stage.PROVE
    return Stage.RUN


def act_of(desk: Desk, state: JobState, stage: Stage) -> Act:
    """Return the act of one stage."""
    match stage:
        case Stage.MATCH:
            return match.look(desk, state).act
        case Stage.SET_UP:
            return setup.look(desk, state).act
        case Stage.TRIM:
            return trim.look(desk, state).act
        case Stage.PROVE:
            return prove.look(desk, state).act
        case Stage.RUN:
            return run.look(desk, state).act
        case Stage.RELEASE:
            return release.look(desk, state).act
        case Stage.STRIP:
            return strip.look(desk, state).act


def next_act(desk: Desk, state: JobState) -> Act:
    """Return the next act of the whole job."""
    if _settles(state):
        return settle.look(desk, state).act
    return act_of(desk, state, stage_now(state))


def purpose_now(state: JobState) -> Purpose | None:
    """Return what a weight sent now would be, or None when none is wanted."""
    if _settles(state):
        return "held"
    stage = stage_now(state)
    if stage is Stage.SET_UP:
        return _WEIGHED_STEPS.get(key_now(state) or "")
    if stage in (Stage.RUN, Stage.PROVE) and state.lots.carton_due is not None:
        return "tare"
    if stage is Stage.PROVE and (state.proof_plan is None or state.proof is not None):
        return None
    if stage is Stage.RELEASE and not state.samples:
        return None
    return _PURPOSES.get(stage)


def _settles(state: JobState) -> bool:
    """Return True when held containers are what the job waits for."""
    ended = state.run is not None and state.run.finished is not None
    return ended and state.released is None and bool(state.open_spans)


def traveller(desk: Desk, state: JobState) -> Traveller:
    """Return the whole job on one page."""
    now = stage_now(state)
    order = list(Stage)
    rows = tuple(
        Row(
            stage=stage,
            name=STAGE_WORDS[stage],
            status=_status(state, stage, now, order),
            words=state.reopened.get(stage.value) or _words(desk, state, stage),
        )
        for stage in order
    )
    return Traveller(act=next_act(desk, state), rows=rows, progress=_progress(desk, state, now))


def _status(state: JobState, stage: Stage, now: Stage, order: list[Stage]) -> str:
    """Return how a stage stands."""
    if stage.value in state.reopened:
        return "reopened"
    if stage is now:
        return "now"
    return "done" if order.index(stage) < order.index(now) else "later"


def _words(desk: Desk, state: JobState, stage: Stage) -> str:
    """Return the result of a stage in one line."""
    facts = state.known
    step = facts.scale.readability_g
    word = facts.container.word
    match stage:
        case Stage.MATCH:
            result = state.match.because if state.match else ""
        case Stage.SET_UP:
            done = len(state.steps)
            result = f"{done} of {len(keys_of(state))} steps" if done else ""
        case Stage.TRIM if state.trim:
            result = (
                f"{shown_g(state.trim.mean_g, step)} at {plain(state.trim.setting_marks)}, in "
                f"{state.trim.shots} weighed shots"
            )
        case Stage.PROVE if state.proof:
            result = prove.look(desk, state).headline
        case Stage.PROVE if state.proof_plan:
            counted = len([s for s in state.proof_shots if s.counts])
            result = f"{counted} of {state.proof_plan.shots} shots weighed"
        case Stage.RUN:
            result = f"{state.filled_to} of {facts.lot_size} {word}s filled"
        case Stage.RELEASE if state.lot or state.released:
            result = release.look(desk, state).headline
        case Stage.RELEASE:
            result = f"Lot {facts.lot_code}, {facts.label_words}"
        case _:
            result = ""
    return result


def _progress(desk: Desk, state: JobState, now: Stage) -> str:
    """Return how far the present stage is, as a figure."""
    match now:
        case Stage.PROVE:
            seen = prove.look(desk, state)
            return f"{seen.weighed} of {seen.planned}"
        case Stage.RUN:
            return f"{state.filled_to} of {state.known.lot_size}"
        case Stage.SET_UP:
            return f"{len(state.steps)} of {len(keys_of(state))}"
        case _:
            return ""
