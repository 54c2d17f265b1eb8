"""Settle held containers: weigh, scrap, or release with a reason; Release waits for it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, Literal

from fillwright.errors import BadInput
from fillwright.jobs.act import Act, Expects, Option
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import judge_weight, limits_of
from fillwright.jobs.words import trays
from fillwright.records.entities import Stage
from fillwright.records.entries import ContainersSettled, Payload, WeighingTaken
from fillwright.records.fold import JobState
from fillwright.records.spans import Span, count, minus, words

__all__ = ["PIECE", "HeldRow", "SettleLook", "SettledRow", "judge_held", "look", "settle"]

PIECE: Final = "torn or missing: "
"""How the reason of a hold begins that a weight cannot settle."""
_SALEABLE: Final = ("on", "low", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldRow:
    """Held containers that nobody has settled, with why."""

    first: int
    last: int
    containers: int
    trays: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledRow:
    """Held containers that were settled: what became of them."""

    first: int
    last: int
    outcome: str
    reason: str
    person: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettleLook:
    """Everything the page of held containers shows."""

    act: Act
    open_rows: tuple[HeldRow, ...]
    settled_rows: tuple[SettledRow, ...]
    next_container: int | None
    last_state: str
    last_net_g: Decimal | None
    last_container: int | None


def look(desk: Desk, state: JobState) -> SettleLook:
    """Return what the page of held containers shows."""
    _ = desk
    spans = state.open_spans
    size = state.known.tray_size
    rows = tuple(
        HeldRow(
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
        )
        for span in spans
    )
    held = [w for w in state.weighings if w.fact.purpose == "held" and w.counts]
    last = held[-1].fact if held else None
    due = spans[0].first if spans else None
    return SettleLook(
        act=_act(state, spans, due, last),
        open_rows=rows,
        settled_rows=tuple(
            SettledRow(
                first=s.first, last=s.last, outcome=s.outcome, reason=s.reason, person=person
            )
            for _, person, s in state.settled
        ),
        next_container=due,
        last_state=last.state if last else "",
        last_net_g=last.net_g if last else None,
        last_container=last.container if last else None,
    )


def judge_held(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Weigh one held container: good settles it, short leaves it held."""
    _ = weighing_id
    spans = state.open_spans
    container = fact.container or (spans[0].first if spans else 0)
    if not any(span.first <= container <= span.last for span in spans):
        message = f"{container or 'That one'} is not held. Held are: {words(spans)}."
        raise BadInput(message, field="container", given=container, allowed=words(spans))
    if any(h.reason.startswith(PIECE) and h.first <= container <= h.last for h in state.holds):
        message = (
            f"{container} is held for a missing piece, and a weight does not show that. Scrap it, "
            "or release it with the reason."
        )
        raise BadInput(message, field="container", given=container, code="inconsistent")
    limits = limits_of(state.known, desk.rule_sets)
    judged = replace(fact, container=container, state=judge_weight(limits, fact.net_g))
    if judged.state not in _SALEABLE or fact.set_aside:
        return [judged]
    good = ContainersSettled(
        first=container, last=container, outcome="weighed-good", reason=f"{fact.net_g} g net"
    )
    return [judged, good]


def settle(
    desk: Desk,
    number: str,
    span: Span,
    outcome: Literal["scrapped", "released-with-reason"],
    reason: str,
    press: Press,
) -> SettleLook:
    """Settle held containers without weighing them.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    span : Span
        First and last container.
    outcome : str
        ``"scrapped"`` or ``"released-with-reason"``.
    reason : str
        Why; a release needs one.
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
        a container that was weighed short would be released.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if outcome not in ("scrapped", "released-with-reason"):
            message = "Say what becomes of them: scrap, or release with a reason."
            raise BadInput(message, field="outcome", given=outcome, code="choice")
        if span.first > span.last or minus([span], state.open_spans):
            message = f"Held are {words(state.open_spans)}; {words([span])} are not all held."
            raise BadInput(message, field="first", given=words([span]), code="inconsistent")
        if not reason.strip():
            message = "Say why; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        if outcome == "released-with-reason":
            _refuse_short(state, span)
        fact = ContainersSettled(
            first=span.first, last=span.last, outcome=outcome, reason=reason.strip()
        )
        return look(desk, keep(desk, state, [fact], press))


def _refuse_short(state: JobState, span: Span) -> None:
    """Refuse to release a container whose last weight was short or overfull."""
    last: dict[int, WeighingTaken] = {}
    for weighed in state.weighings:
        number = weighed.fact.container
        if weighed.counts and number is not None and span.first <= number <= span.last:
            last[number] = weighed.fact
    bad = [n for n, fact in last.items() if fact.state and fact.state not in _SALEABLE]
    if bad:
        shown = words(Span(n, n) for n in bad)
        message = f"{shown} was weighed short or overfull. Top up and weigh again, or scrap."
        raise BadInput(message, field="outcome", given=shown, code="inconsistent")


def _act(
    state: JobState, spans: tuple[Span, ...], due: int | None, last: WeighingTaken | None
) -> Act:
    """Return the order of the page."""
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
    again = last is not None and last.container == due and last.state not in _SALEABLE
    order = f"Weigh held {word} {due}, {trays(due, due, state.known.tray_size)}."
    if again:
        order = f"{word.capitalize()} {due} is short or overfull. Scrap it, or top up and weigh."
    return Act(
        stage=Stage.RELEASE,
        what="weigh",
        order=order,
        why=f"{count(spans)} held. A good weight settles it.",
        main="Keep",
        expects=Expects.WEIGHT,
        options=(
            Option(what="scrapped", label="Scrap", asks="Why?"),
            Option(what="released-with-reason", label="Release with reason", asks="Why?"),
        ),
        state="short" if again else "held",
        state_words="Short" if again else "Held",
        value=str(due),
    )
