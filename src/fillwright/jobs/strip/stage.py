"""Strip: the cautions and the gate before it, and the record that the machine was stripped.

The order of parts and seals is the machine's manual's; this page asks what the person saw.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Act, Caution, Expects
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.held.settle import PIECE, hold_order
from fillwright.jobs.match.stage import cautions_of
from fillwright.jobs.strip.acts import hold_for_piece
from fillwright.jobs.strip.guide import Guide, guide_of
from fillwright.knowledge.procedures_types import Step
from fillwright.records.entities import Stage
from fillwright.records.entries import StepDone
from fillwright.records.fold import JobState

__all__ = ["StripLook", "look", "stripped"]

_KEY = Stage.STRIP.value


@dataclass(frozen=True, slots=True, kw_only=True)
class StripLook:
    """Everything the Strip page shows."""

    act: Act
    seals_words: str
    guide: Guide | None = None
    held_words: str = ""
    problems: tuple[str, ...] = ()


def look(desk: Desk, state: JobState, *, person: str = "", wanted: str = "") -> StripLook:
    """Return what the Strip page shows.

    Parameters
    ----------
    desk : Desk
        Where the job is kept.
    state : JobState
        The job.
    person : str
        Who looks: the look at the air is each person's own.
    wanted : str
        The open step that this person has in hand.
    """
    kept = state.steps.get(_KEY)
    if state.strip.profile and state.strip.profile not in desk.profiles.by_name:
        broken = f"The profile {state.strip.profile!r} cannot be read now."
        return replace(_plain(state), problems=(broken, *desk.profiles.problems))
    guide = guide_of(desk, state, person=person, wanted=wanted)
    holds = kept is not None and kept.reading.startswith(PIECE)
    if guide is not None and guide.now is not None and (kept is None or holds):
        held = _hold_act(state, kept).order if kept is not None else ""
        return StripLook(
            act=_step_act(state, guide, guide.now),
            seals_words="" if kept is None else kept.reading,
            guide=guide,
            held_words=held,
            problems=desk.profiles.problems,
        )
    plain = _plain(state)
    if guide is not None and kept is None:
        # Every step is ticked: the cautions stood at the steps, not at this last question.
        act = replace(
            plain.act,
            order="Every step is done. Is every seal and ring accounted for?",
            cautions=(),
            steps=(),
        )
        plain = replace(plain, act=act)
    return replace(plain, guide=guide, problems=desk.profiles.problems)


def _step_act(state: JobState, guide: Guide, step: Step) -> Act:
    """Return the order for the step in hand."""
    cautions = [CAUTIONS["ports"], *cautions_of(state.known)]
    if step.is_isolated and not guide.air_is_off:
        cautions = [CAUTIONS["air"], CAUTIONS["starts"], *cautions]
    if step.caution:
        cautions.append(Caution(words=step.caution))
    hints = (
        f"Trap: {step.trap}" if step.trap else "",
        f"Two people. {step.tool}".strip() if step.is_two_person else "",
        f"Take: {step.tool}." if step.tool and not step.is_two_person else "",
    )
    others = len(guide.open_steps) - 1
    return Act(
        stage=Stage.STRIP,
        what="tick",
        order=step.do,
        why=f"{guide.left_min} min left as listed. {others} more can be done beside it."
        if others
        else f"{guide.left_min} min left as listed.",
        main=_main(step, guide),
        expects=Expects.CONFIRM,
        cautions=tuple(cautions),
        steps=tuple(hint for hint in hints if hint),
        value=step.id,
        state="stop" if guide.last_test and step.brings_air_on else "",
        state_words=guide.last_test if step.brings_air_on else "",
    )


def _main(step: Step, guide: Guide) -> str:
    """Return what the main button of a step says."""
    if step.brings_air_on:
        return "Good or not: read the table"
    return "Take the photo" if guide.wants_photo else "Done"


def _plain(state: JobState) -> StripLook:
    """Return the page where no step of a guided strip is open."""
    kept = state.steps.get(_KEY)
    cautions = (CAUTIONS["air"], CAUTIONS["starts"], CAUTIONS["ports"])
    if kept is not None and kept.reading.startswith(PIECE):
        return StripLook(act=_hold_act(state, kept), seals_words=kept.reading)
    if kept is not None:
        return StripLook(
            act=Act(
                stage=Stage.STRIP,
                what="next",
                order="Stripped and cleaned. The job is done.",
                why=kept.reading,
                main="Back to the job list",
                state="on",
                state_words="Done",
            ),
            seals_words=kept.reading,
        )
    order = Act(
        stage=Stage.STRIP,
        what="stripped",
        order="Strip, clean and rebuild by the machine's manual.",
        why="Every seal and ring counted: a missing piece may be in the product.",
        main="Stripped, every seal accounted for",
        expects=Expects.CONFIRM,
        cautions=(*cautions, *cautions_of(state.known)),
        steps=(
            "Air off and vented before hands go in.",
            "Take the wet end apart; lay the parts out in order.",
            "Look at every seal: good, worn, damaged.",
            "Clean, rinse, dry, grease, rebuild. Nothing is left on the bench.",
        ),
    )
    return StripLook(act=order, seals_words="")


def stripped(
    desk: Desk, number: str, press: Press, *, air_is_off: bool, missing_piece: str
) -> StripLook:
    """Keep that the machine was stripped.

    Raises
    ------
    BadInput
        If the air is not off, or a guided strip still has open steps.

    Notes
    -----
    With a torn or missing piece every container since the last sound strip of the machine is
    held, in whatever job: it may be in the product.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if not air_is_off:
            message = "Air off and vented first: the gauge must read 0."
            raise BadInput(message, field="air", given="on", allowed="off", code="missing")
        piece = missing_piece.strip()
        if piece:
            return look(desk, hold_for_piece(desk, state, piece, press))
        guide = guide_of(desk, state)
        if guide is not None and guide.now is not None:
            message = f"The guided strip is not done: {guide.now.do}"
            raise BadInput(message, field="step", given=guide.now.id, code="inconsistent")
        sound = StepDone(step=_KEY, outcome="done", reading="every seal accounted for")
        return look(desk, keep(desk, state, [sound], press))


def _hold_act(state: JobState, kept: StepDone) -> Act:
    """Return the order where a piece of the machine is not accounted for."""
    return Act(
        stage=Stage.STRIP,
        what="next",
        order=hold_order(state),
        why=f"{kept.reading.capitalize()}. It may be in the product.",
        main="Back to the job list",
        state="stop",
        state_words="Hold the lot",
    )
