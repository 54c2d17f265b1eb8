"""Strip: the cautions and the gate before it, and the record that the machine was stripped.

The order of parts and seals is the machine's manual's; this page asks what the person saw.
"""

from __future__ import annotations

from dataclasses import dataclass

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Act, Expects
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.match import cautions_of
from fillwright.jobs.settle import PIECE
from fillwright.records.entities import Stage
from fillwright.records.entries import ContainersHeld, Payload, StepDone
from fillwright.records.fold import JobState

__all__ = ["StripLook", "look", "stripped"]

_KEY = Stage.STRIP.value


@dataclass(frozen=True, slots=True, kw_only=True)
class StripLook:
    """Everything the Strip page shows."""

    act: Act
    seals_words: str


def look(state: JobState) -> StripLook:
    """Return what the Strip page shows."""
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
        If the air is not off.

    Notes
    -----
    With a torn or missing piece every container of the lot is held: it may be in the product.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if not air_is_off:
            message = "Air off and vented first: the gauge must read 0."
            raise BadInput(message, field="air", given="on", allowed="off", code="missing")
        piece = missing_piece.strip()
        reading = PIECE + piece if piece else "every seal accounted for"
        facts: list[Payload] = [StepDone(step=_KEY, outcome="done", reading=reading)]
        if piece and state.filled_to:
            facts.append(ContainersHeld(first=1, last=state.filled_to, reason=reading))
        return look(keep(desk, state, facts, press))


def _hold_act(state: JobState, kept: StepDone) -> Act:
    """Return the order where a piece of the machine is not accounted for."""
    word = state.known.container.word
    gone = state.released is not None and state.released.outcome == "released"
    call = " They went out: tell whoever can call them back." if gone else ""
    return Act(
        stage=Stage.STRIP,
        what="next",
        order=f"Hold every {word} of lot {state.known.lot_code}.{call}",
        why=f"{kept.reading.capitalize()}. It may be in the product.",
        main="Back to the job list",
        state="stop",
        state_words="Hold the lot",
    )
