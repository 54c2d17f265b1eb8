"""Fault: what can be seen, first looks that need no tool, and a note on record.

The signs and first looks are common practice, no source; the machine's manual goes first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Caution
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.match import cautions_of
from fillwright.records.entries import RunPaused
from fillwright.records.fold import JobState

__all__ = ["SIGNS", "FaultLook", "Sign", "look", "note"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """Something that is seen, with first looks in the order of least effort."""

    key: str
    words: str
    looks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultLook:
    """Everything the Fault page shows."""

    cautions: tuple[Caution, ...]
    signs: tuple[Sign, ...]


SIGNS: Final = (
    Sign(
        key="nothing-moves",
        words="Nothing moves",
        looks=(
            "Is the emergency stop out?",
            "Does the air gauge read what the machine wants?",
            "Is the pointer on its scale, not wound past the end?",
        ),
    ),
    Sign(
        key="stops",
        words="Moves but stops",
        looks=(
            "Watch the air gauge through three strokes. Does it dip?",
            "Is the recharge valve open far enough?",
            "Does the piston reach both ends of its stroke?",
        ),
    ),
    Sign(
        key="creeps",
        words="Dose creeps up or down",
        looks=(
            "What does the pointer read now? Then try the lock: is it loose?",
            "Is the hopper level far from where it was?",
            "Take the product temperature. Has it moved?",
        ),
    ),
    Sign(
        key="jumps",
        words="Dose jumps about",
        looks=(
            "Look into the hopper: air, foam, or product off the outlet?",
            "Slow the recharge by half and fill five. Does it settle?",
            "Weigh one full container ten times. Does the scale agree with itself?",
        ),
    ),
    Sign(
        key="drips",
        words="Drips between shots",
        looks=(
            "Is the nozzle wet outside, or does it drip from the bore?",
            "Is the product warmer or thinner than on the card?",
            "Fill more slowly. Does the drip stop?",
        ),
    ),
    Sign(
        key="leaks",
        words="Leaks",
        looks=(
            "Wipe every joint dry, run ten strokes from outside the guard, and look again.",
            "Is the clamp above the leak tight?",
            "Wipe the floor before you carry on.",
        ),
    ),
    Sign(
        key="air",
        words="Air in the product",
        looks=(
            "Is the hopper outlet covered with product?",
            "Slow the recharge. Do the bubbles stop?",
            "Is the clamp on the suction side tight?",
        ),
    ),
    Sign(
        key="slow",
        words="Slow",
        looks=(
            "Does the air gauge dip while it strokes?",
            "Is the product colder or thicker than on the card?",
            "Are both speed valves as the card says?",
        ),
    ),
)


def look(state: JobState) -> FaultLook:
    """Return what the Fault page shows."""
    standing = tuple(
        Caution(words=caution.words) for caution in (CAUTIONS["starts"], CAUTIONS["ports"])
    )
    return FaultLook(cautions=(*standing, *cautions_of(state.known)), signs=SIGNS)


def note(desk: Desk, number: str, sign: str, found: str, press: Press) -> JobState:
    """Keep what was seen and found; in a run the next container is weighed.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    sign : str
        Key of what was seen.
    found : str
        What was found and done, in a few words.
    press : Press
        Who pressed.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If nothing was picked or nothing is told.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        seen = next((s for s in SIGNS if s.key == sign), None)
        if seen is None:
            message = "Say what you see: pick one of the signs."
            raise BadInput(message, field="sign", given=sign, code="missing")
        if not found.strip():
            message = "Say what was found and done, in a few words; the record prints it."
            raise BadInput(message, field="found", given=found, code="missing")
        words = f"{seen.words}: {found.strip()}"
        fact = RunPaused(reason="fault", after_container=state.filled_to, note=words)
        return keep(desk, state, [fact], press)
