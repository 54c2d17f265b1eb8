"""Settle held containers: by weight, or by what is said of them; Release waits for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from fillwright.errors import BadInput
from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk, Press, find_job, keep, refuse_stale
from fillwright.jobs.held.fates import fate_lines
from fillwright.jobs.held.orders import (
    PIECE,
    act_of,
    doubt_at,
    due_held,
    hold_order,
    is_for_piece,
)
from fillwright.jobs.held.pick import all_held, outcome_at
from fillwright.jobs.held.words import OUTCOMES, more_words
from fillwright.jobs.limits import content_of, judge_weight, limits_of
from fillwright.jobs.words import trays
from fillwright.records.entries import ContainersSettled, Payload, WeighingTaken
from fillwright.records.fold import JobState
from fillwright.records.heldbook import Settling
from fillwright.records.sheets_held import FateLine
from fillwright.records.spans import Span, count, overlap, words

__all__ = [
    "PIECE",
    "SALEABLE",
    "HeldRow",
    "SettleLook",
    "SettledRow",
    "asked",
    "hold_order",
    "is_for_piece",
    "judge_held",
    "latest_of",
    "look",
    "refuse_unweighed",
    "settle",
    "states_of",
]

SALEABLE: Final = ("on", "low", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldRow:
    """Held containers that nobody has settled, with why; `topped` are to be weighed again."""

    first: int
    last: int
    containers: int
    trays: str
    reasons: tuple[str, ...]
    topped: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledRow:
    """Something that was said of held containers: what became of them, and whether it stands.

    Parameters
    ----------
    row : int
        Its number on the page, from 1 in journal order.
    settling_id : str
        Id of its entry.
    numbers, trays : str
        Which, and where they stood.
    containers : int
        How many.
    outcome, more, reason, person : str
        What became of them, what is said beside it, why, and who said so.
    struck : str
        Why it was struck out, and by whom; empty while it stands.
    """

    row: int
    settling_id: str
    numbers: str
    trays: str
    containers: int
    outcome: str
    more: str
    reason: str
    person: str
    struck: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettleLook:
    """Everything the page of held containers shows.

    Parameters
    ----------
    act : Act
        The order, with every outcome as an option.
    open_rows : tuple of HeldRow
        What is held still.
    settled_rows : tuple of SettledRow
        What was said of held ones, in journal order, struck-out rows included.
    next_container : int or None
        The one to weigh next.
    next_tray : int or None
        Its tray.
    last_state : str
        How the last held one was judged that was weighed.
    last_net_g : Decimal or None
        Its weight.
    last_container : int or None
        Its number.
    counts : tuple of FateLine
        What became of every one filled; each is counted once.
    filled : int
        How many that are.
    can_take_back : bool
        True where the last thing done here can be taken back.
    """

    act: Act
    open_rows: tuple[HeldRow, ...]
    settled_rows: tuple[SettledRow, ...]
    next_container: int | None
    next_tray: int | None
    last_state: str
    last_net_g: Decimal | None
    last_container: int | None
    counts: tuple[FateLine, ...]
    filled: int
    can_take_back: bool


def look(desk: Desk, state: JobState) -> SettleLook:
    """Return what the page of held containers shows."""
    _ = desk
    spans, book = state.open_spans, state.held
    size = max(state.known.tray_size, 1)
    held = [w for w in state.weighings if w.fact.purpose == "held" and w.counts]
    last = held[-1].fact if held else None
    due = due_held(state)
    # What was weighed before it was topped up says nothing of it any more.
    is_new = bool(held) and due is not None and held[-1].revision > _topped_at(state, due)
    topped_short = ""
    if last is not None and is_new and last.container == due:
        topped_short = _below_label(state, last)
    is_open = state.released is None
    return SettleLook(
        act=act_of(state, due, last if is_new else None, below_label=topped_short),
        open_rows=tuple(_held_row(state, span, size) for span in spans),
        settled_rows=tuple(
            _settled_row(row, one, size) for row, one in enumerate(book.settlings, start=1)
        ),
        next_container=due,
        next_tray=None if due is None else (due - 1) // size + 1,
        last_state=last.state if last else "",
        last_net_g=last.net_g if last else None,
        last_container=last.container if last else None,
        counts=fate_lines(state),
        filled=state.filled_to,
        can_take_back=is_open and (bool(held) or any(not one.struck for one in book.settlings)),
    )


def judge_held(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Weigh one held container: good settles it, short leaves it held.

    One that was topped up is good from the label on: what a hand adds goes up to the label.
    """
    _ = weighing_id
    spans = state.open_spans
    container = fact.container or due_held(state) or 0
    here = (Span(container, container),)
    if not overlap(here, spans):
        told = outcome_at(state, container)
        message = (
            f"{container or 'That one'} is not held{f': {told}' if told else ''}. Held are: "
            f"{words(spans)}."
        )
        raise BadInput(message, field="container", given=container, allowed=words(spans))
    if is_for_piece(state, here):
        message = (
            f"{container} is held for a missing piece, and a weight does not show that. Scrap it, "
            "or release it with the reason."
        )
        raise BadInput(message, field="container", given=container, code="inconsistent")
    if doubt := doubt_at(state, container):
        message = (
            f"{container} is held by hand, and no weight shows why: {doubt}. Scrap it, or release "
            "it with the reason."
        )
        raise BadInput(message, field="container", given=container, code="inconsistent")
    facts = state.lots.facts_for(state.known, container)
    limits = limits_of(facts, desk.rule_sets)
    judged = replace(fact, container=container, state=judge_weight(limits, fact.net_g))
    if judged.state not in SALEABLE or fact.set_aside:
        return [judged]
    reason = f"{fact.net_g} g net"
    if overlap(here, state.held.topped):
        if _below_label(state, judged):
            return [judged]
        before = latest_of(state, here).get(container)
        reason += ", topped up" + (f" from {before.net_g} g" if before is not None else "")
    good = ContainersSettled(
        first=container, last=container, outcome="weighed-good", reason=reason
    )
    return [judged, good]


def settle(
    desk: Desk,
    number: str,
    spans: Span | tuple[Span, ...],
    outcome: Literal["scrapped", "released-with-reason"],
    reason: str,
    press: Press,
) -> SettleLook:
    """Scrap held containers, or release them with a reason.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    spans : Span or tuple of Span
        Which.
    outcome : str
        ``"scrapped"`` or ``"released-with-reason"``.
    reason : str
        Why.
    press : Press
        Who pressed.

    Returns
    -------
    SettleLook
        The page as it stands then.

    Raises
    ------
    BadInput
        If some of them are not held, the outcome is none of these, the reason is missing, or
        a container that was weighed short, or topped up and not weighed since, would be
        released.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if outcome not in ("scrapped", "released-with-reason"):
            message = "Say what becomes of them: scrap, or release with a reason."
            raise BadInput(message, field="outcome", given=outcome, code="choice")
        refuse_stale(desk, state, press)
        mine = asked(state, spans, reason)
        if outcome == "released-with-reason":
            refuse_unweighed(state, mine)
            _refuse_short(state, mine)
        facts = [
            ContainersSettled(
                first=span.first, last=span.last, outcome=outcome, reason=reason.strip()
            )
            for span in mine
        ]
        return look(desk, keep(desk, state, facts, press))


def asked(state: JobState, spans: Span | tuple[Span, ...], reason: str) -> tuple[Span, ...]:
    """Return the containers that are meant, once they are known to be held, with a reason."""
    mine = all_held(state, (spans,) if isinstance(spans, Span) else spans)
    if not reason.strip():
        message = "Say why; the record prints it."
        raise BadInput(message, field="reason", given=reason, code="missing")
    return mine


def _refuse_short(state: JobState, spans: tuple[Span, ...]) -> None:
    """Refuse to release a container whose last weight was short or overfull."""
    bad = [n for n, one in states_of(state, spans).items() if one and one not in SALEABLE]
    if bad:
        shown = words(Span(n, n) for n in bad)
        message = f"{shown} was weighed short or overfull. Top up and weigh again, or scrap."
        raise BadInput(message, field="outcome", given=shown, code="inconsistent")


def latest_of(state: JobState, spans: Sequence[Span]) -> dict[int, WeighingTaken]:
    """Return the latest weight that counts of each container of spans that has one."""
    found: dict[int, WeighingTaken] = {}
    for weighed in state.weighings:
        number = weighed.fact.container
        if weighed.counts and number is not None and _is_in(number, spans):
            found[number] = weighed.fact
    return found


def states_of(state: JobState, spans: Sequence[Span]) -> dict[int, str]:
    """Return how the latest weight of each container was judged, where it has one."""
    return {number: fact.state for number, fact in latest_of(state, spans).items()}


def refuse_unweighed(state: JobState, spans: tuple[Span, ...]) -> None:
    """Refuse what asks for a weight of containers that were topped up and not weighed since.

    Raises
    ------
    BadInput
        If one of them waits for its new weight.
    """
    waiting = overlap(spans, state.held.topped)
    if waiting:
        were = "was" if count(waiting) == 1 else "were"
        message = f"{words(waiting)} {were} topped up and not weighed since. Weigh each first."
        raise BadInput(message, field="outcome", given=words(waiting), code="inconsistent")


def _is_in(number: int, spans: Sequence[Span]) -> bool:
    """Return True when a container is in one of the spans."""
    return any(span.first <= number <= span.last for span in spans)


def _topped_at(state: JobState, container: int) -> int:
    """Return the revision at which a container was topped up last; 0 where it was not."""
    return max(
        (
            one.revision
            for one in state.held.settlings
            if one.outcome == "waits-for-weight"
            and not one.struck
            and _is_in(container, one.spans)
        ),
        default=0,
    )


def _below_label(state: JobState, fact: WeighingTaken) -> str:
    """Return the words of a weight after topping up that is below the label; else nothing."""
    number = fact.container or 0
    if not overlap([Span(number, number)], state.held.topped):
        return ""
    facts = state.lots.facts_for(state.known, number)
    if Fraction(content_of(facts, fact.net_g)) >= Fraction(facts.nominal):
        return ""
    return f"{fact.net_g} g, below the label of {facts.label_words}"


def _held_row(state: JobState, span: Span, size: int) -> HeldRow:
    """Return a row of what is held still."""
    topped = overlap([span], state.held.topped)
    return HeldRow(
        first=span.first,
        last=span.last,
        containers=count([span]),
        trays=trays(span.first, span.last, size),
        reasons=tuple(
            dict.fromkeys(
                hold.reason
                for hold in state.holds
                if hold.first <= span.last and hold.last >= span.first
            )
        ),
        topped=words(topped) if topped else "",
    )


def _settled_row(row: int, one: Settling, size: int) -> SettledRow:
    """Return a row of what was said of held containers."""
    by = f" ({one.struck_by})" if one.struck_by else ""
    return SettledRow(
        row=row,
        settling_id=one.id,
        numbers=words(one.spans),
        trays="; ".join(dict.fromkeys(trays(s.first, s.last, size) for s in one.spans)),
        containers=count(one.spans),
        outcome=OUTCOMES[one.outcome],
        more=more_words(one),
        reason=one.reason,
        person=one.person,
        struck=f"{one.struck}{by}" if one.struck else "",
    )
