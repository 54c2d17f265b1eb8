"""The look at the first container: at the start, after a change, other facts, or a stop.

Nine things, each right or not, and why. One that is not right holds the container, and the next
one is looked at; who skips the look says why.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.run.turn import due_container
from fillwright.records.entries import ContainersHeld, FirstJarLooked, Payload, WeighingTaken
from fillwright.records.fold import JobState
from fillwright.records.kinds_lots import JarAnswer

__all__ = [
    "KEYS",
    "OCCASIONS",
    "LookItem",
    "items_of",
    "look_at_first",
    "refuse_unlooked",
    "skip_look",
]

KEYS: Final = (
    "product", "container", "lid", "label", "market", "allergen", "lot-code", "best-before",
    "leak",
)  # fmt: skip
OCCASIONS: Final = {
    "start": "the run starts",
    "container": "a new carton",
    "lid": "new lids",
    "drum": "a new drum",
    "person": "another person",
    "facts": "the facts were changed",
    "pause": "the run was stopped",
    "refill": "the hopper was refilled",
    "fault": "the run was stopped for a fault",
    "strip": "the machine was opened",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LookItem:
    """One thing to look at: what is right, in words."""

    key: str
    name: str
    words: str


def items_of(state: JobState) -> tuple[LookItem, ...]:
    """Return the nine things to look at, with what is right in this job."""
    facts = state.known
    notes = f"; noted here: {facts.product.notes}" if facts.product.notes else ""
    told = (
        ("Product", facts.product.name),
        (facts.container.word.capitalize(), f"{facts.container.name}, clean and whole"),
        ("Lid", "the right one, seated, liner in"),
        ("Label", f"{facts.label_words} of this product, straight and readable"),
        ("Market", "language and marks of where it goes"),
        ("Allergen line", f"as the recipe has it{notes}"),
        ("Lot code", facts.lot_code),
        ("Best-before", "date as planned, readable"),
        ("Leak", "lid down on dry paper, then squeezed: paper stays dry"),
    )
    return tuple(
        LookItem(key=key, name=name, words=words)
        for key, (name, words) in zip(KEYS, told, strict=True)
    )


def look_at_first(
    desk: Desk,
    number: str,
    answers: Mapping[str, str | None],
    press: Press,
    *,
    photo_place: str = "",
) -> JobState:
    """Keep what a look at the first container showed.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    answers : mapping of str to str or None
        For each of `KEYS`: None where it is right, else what is wrong with it.
    press : Press
        Who looked.
    photo_place : str
        Where a photo of it is kept, in words.

    Returns
    -------
    JobState
        The job as it stands; the container is held where something is not right.

    Raises
    ------
    BadInput
        If no look is asked for, or something was not answered.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        due = _due(state)
        items = items_of(state)
        for item in items:
            found = answers.get(item.key, "")
            if found is not None and not found.strip():
                message = f"{item.name}: tick it, or say what is wrong."
                raise BadInput(message, field=f"look-{item.key}", code="missing")
        told = tuple(
            JarAnswer(key=key, is_right=found is None, reason=(found or "").strip())
            for key in KEYS
            for found in [answers[key]]
        )
        fact = FirstJarLooked(
            container=due,
            occasion=state.lots.look_due or "start",
            answers=told,
            photo_place=photo_place.strip(),
        )
        facts: list[Payload] = [fact]
        if not fact.is_right:
            names = {item.key: item.name for item in items}
            wrong = "; ".join(f"{names[a.key]}: {a.reason}" for a in told if not a.is_right)
            first = min(max(state.lots.look_from, 1), due)
            facts.append(
                ContainersHeld(first=first, last=due, reason=f"first look at {due}: {wrong}")
            )
        return keep(desk, state, facts, press)


def skip_look(desk: Desk, number: str, reason: str, press: Press) -> JobState:
    """Skip the look at the first container, with a reason.

    Raises
    ------
    BadInput
        If no look is asked for, or the reason is missing.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        due = _due(state)
        if not reason.strip():
            message = "Say why nobody looks at it; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        fact = FirstJarLooked(
            container=due, occasion=state.lots.look_due or "start", skipped=reason.strip()
        )
        return keep(desk, state, [fact], press)


def refuse_unlooked(state: JobState, fact: WeighingTaken) -> None:
    """Refuse a weight of the run while the look at the first one is due, as the page does.

    What is wrong on the first one is wrong on all that follow, so nobody weighs on before it was
    looked at. The sender keeps its weight and its id, and sends both again after the look.

    Raises
    ------
    BadInput
        If the look is due; one that was set aside is kept all the same.
    """
    occasion = state.lots.look_due
    if fact.purpose != "dose" or fact.set_aside or occasion is None:
        return
    if due_container(state) is None:
        return
    number = state.filled_to + 1
    word = state.known.container.word
    message = (
        f"{word.capitalize()} {number} is the first since {OCCASIONS[occasion]}: look at it on "
        "the Run page, or skip the look there with a reason, then send this weight again."
    )
    raise BadInput(message, field="look", given=fact.value, code="inconsistent")


def _due(state: JobState) -> int:
    """Return the container to look at; refuses where no look is asked for."""
    if state.lots.look_due is None or due_container(state) is None:
        message = "No look at a first one is asked for now."
        raise BadInput(message, field="look", code="inconsistent")
    return state.filled_to + 1
