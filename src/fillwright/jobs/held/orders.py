"""What the page of held containers orders, and everything else that may become of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fillwright.jobs.act import CAUTIONS, Act, Caution, Expects, Option, hot
from fillwright.jobs.match.stage import HOT_C
from fillwright.jobs.words import trays
from fillwright.records.entities import Stage
from fillwright.records.entries import WeighingTaken
from fillwright.records.fold import JobState
from fillwright.records.heldbook import BY_HAND
from fillwright.records.spans import Span, count, minus, overlap

__all__ = [
    "OPTIONS",
    "PIECE",
    "act_of",
    "cautions_of",
    "doubt_at",
    "due_held",
    "hold_order",
    "is_doubted",
    "is_for_piece",
]

PIECE: Final = "torn or missing: "
"""How the reason of a hold begins that is for a piece of the machine."""
OPTIONS: Final = (
    Option(what="topped-up", label="Top up", key="1", asks="Why?"),
    Option(what="hopper", label="Empty back into the hopper", key="2", asks="Why?"),
    Option(what="drum", label="Empty into a drum of its own", key="3", asks="Why?"),
    Option(what="scrapped", label="Scrap", key="4", asks="Why?"),
    Option(what="relabelled", label="Re-label", key="5", asks="Why?"),
    Option(what="released-with-reason", label="Release with reason", key="6", asks="Why?"),
)
"""What may become of held ones without a weight; a figure is its key once `*` was pressed."""
_AGAIN: Final = ("short", "far-short", "overfull")


def cautions_of(state: JobState) -> tuple[Caution, ...]:
    """Return the cautions for hands that top up containers or empty them back."""
    product_c = state.known.product.product_c
    warm = (hot(product_c), CAUTIONS["hot-glass"]) if product_c > HOT_C else ()
    return (CAUTIONS["ports"], CAUTIONS["refill"], CAUTIONS["glass"], *warm)


def is_for_piece(state: JobState, spans: Sequence[Span]) -> bool:
    """Return True when some of these containers are held for a piece of the machine."""
    return bool(overlap(spans, _held_for(state, PIECE)))


def is_doubted(state: JobState, spans: Sequence[Span]) -> bool:
    """Return True when some of these containers are held by hand for what no weight shows."""
    return bool(overlap(spans, _held_for(state, BY_HAND)))


def doubt_at(state: JobState, container: int) -> str:
    """Return why a container is held by hand for what no weight shows; empty where it is not."""
    here = (Span(container, container),)
    found = [
        hold.reason.partition(": ")[2]
        for hold, since in state.held.standing_holds(state.holds)
        if hold.reason.startswith(BY_HAND) and overlap(here, overlap(since, state.open_spans))
    ]
    return "; ".join(dict.fromkeys(found))


def due_held(state: JobState) -> int | None:
    """Return the held container that comes first: one that a weight can settle, where one is."""
    no_weight = (*_held_for(state, PIECE), *_held_for(state, BY_HAND))
    rest = minus(state.open_spans, no_weight) or state.open_spans
    return rest[0].first if rest else None


def _held_for(state: JobState, prefix: str) -> tuple[Span, ...]:
    """Return what is held for a reason that begins so, and was not settled since."""
    found = [
        span
        for hold, since in state.held.standing_holds(state.holds)
        if hold.reason.startswith(prefix)
        for span in since
    ]
    return overlap(found, state.open_spans)


def hold_order(state: JobState) -> str:
    """Return the order where a piece of the machine is not accounted for."""
    facts = state.known
    call = " They went out: tell whoever can call them back." if state.reopenings else ""
    return f"Hold every {facts.container.word} of lot {facts.lot_code}.{call}"


def act_of(
    state: JobState, due: int | None, last: WeighingTaken | None, *, below_label: str
) -> Act:
    """Return the order of the page.

    Parameters
    ----------
    state : JobState
        The job.
    due : int or None
        The held one that comes first.
    last : WeighingTaken or None
        The last weight of a held one.
    below_label : str
        The weight of `due` in words, where it was topped up and is below the label still.
    """
    word = state.known.container.word
    if due is None:
        return Act(
            stage=Stage.RELEASE,
            what="next",
            order="Nothing is held.",
            why="Every held one is settled." if state.holds else "Nothing was held in this job.",
            main="Go on with Release" if state.run and state.run.finished else "Back to the run",
            state="on",
            state_words="Settled",
        )
    here = (Span(due, due),)
    again = last is not None and last.container == due and last.state in _AGAIN
    stands = trays(due, due, max(state.known.tray_size, 1))
    order = f"Weigh held {word} {due}, {stands}."
    why = f"{count(state.open_spans)} held. A good weight settles it."
    tag, tag_words = ("short", "Short") if again else ("held", "Held")
    if is_for_piece(state, here):
        order = hold_order(state)
        why = (
            f"{count(state.open_spans)} held. A weight does not show a missing piece: scrap them, "
            "or release them with the reason."
        )
    elif doubt := doubt_at(state, due):
        order = f"Look at held {word} {due}, {stands}: {doubt}."
        why = (
            f"{count(state.open_spans)} held. No weight shows what was doubted: scrap it, or "
            "release it with the reason."
        )
    elif below_label:
        order = f"{word.capitalize()} {due} is {below_label}. Top up more, and weigh."
        tag, tag_words = "low", "Below the label"
    elif again and last is not None and last.state == "overfull":
        order = f"{word.capitalize()} {due} is overfull. Take product out and weigh, or scrap it."
        tag, tag_words = "short", "Overfull"
    elif overlap(here, state.held.topped):
        order = f"Weigh topped-up {word} {due}, {stands}."
        why = f"{count(state.open_spans)} held. Topped up by hand, each is weighed anew."
        tag_words = "Topped up"
    elif again:
        order = f"{word.capitalize()} {due} is short. Top up, scrap or re-label it."
    return Act(
        stage=Stage.RELEASE,
        what="weigh",
        order=order,
        why=why,
        main="Keep",
        expects=Expects.WEIGHT,
        options=OPTIONS,
        state=tag,
        state_words=tag_words,
        value=str(due),
    )
