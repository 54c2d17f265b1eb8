"""What the Run page shows and orders: the next weight, the wheel, what is held, the drift."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.jobs.act import CAUTIONS, Act, Caution, Expects, Option
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import Limits, limits_of
from fillwright.jobs.match.stage import HOT_C, cautions_of
from fillwright.jobs.run.every_jar import small_words
from fillwright.jobs.run.orders import change_act, scale_act
from fillwright.jobs.run.turn import Turn, advised_turn, due_container
from fillwright.jobs.setup.settings import back_marks
from fillwright.jobs.words import plain, shown_g, trays
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState, Weighed
from fillwright.records.runbook import Pending, RunBook
from fillwright.records.spans import Span, count, words
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.drift import watch_drift

__all__ = ["RunLook", "look"]

_LEAST_FOR_DRIFT: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLook:
    """Everything the Run page shows; its size does not grow with the batch."""

    act: Act
    limits: Limits
    is_started: bool
    is_finished: bool
    next_container: int | None
    next_words: str
    to_go_words: str
    last: Weighed | None
    last_words: str
    wheel_words: str
    wheel_why: str
    turn: Turn | None
    drift_words: str
    held_words: str
    held_count: int
    filled: int
    lot_size: int
    weighed: int
    paused: str


def look(desk: Desk, state: JobState) -> RunLook:
    """Return what the Run page shows."""
    facts = state.known
    limits = limits_of(facts, desk.rule_sets)
    book = state.run
    started = book is not None and book.started is not None
    finished = started and book is not None and book.finished is not None
    turn = advised_turn(state, book) if book is not None and started else None
    due = due_container(state)
    last = _last_dose(state)
    order = _act(desk, state, limits, turn, due, last)
    wheel_words, wheel_why = _wheel(state, turn, order)
    open_spans = state.open_spans
    return RunLook(
        act=order,
        limits=limits,
        is_started=started,
        is_finished=finished,
        next_container=due,
        next_words=_next_words(state, due),
        to_go_words=_to_go(state, due),
        last=last,
        last_words=_last_words(limits, last, facts.scale.readability_g),
        wheel_words=wheel_words,
        wheel_why=wheel_why,
        turn=turn if turn is not None and order.what == "adjust" else None,
        drift_words=_drift_words(state, book, turn) if book is not None else "",
        held_words=_held_words(state, open_spans),
        held_count=count(open_spans),
        filled=state.filled_to,
        lot_size=facts.lot_size,
        weighed=len(book.all_containers) if book is not None else 0,
        paused=book.paused.reason if book is not None and book.paused is not None else "",
    )


def _last_dose(state: JobState) -> Weighed | None:
    """Return the last weight of the run that counts."""
    return next(
        (w for w in reversed(state.weighings) if w.fact.purpose == "dose" and w.counts), None
    )


def _next_words(state: JobState, due: int | None) -> str:
    """Return which container is next on the scale."""
    word = state.known.container.word
    if due is None:
        return f"No {word} is due."
    place = trays(due, due, state.known.tray_size)
    last = " the last of" if due % state.known.tray_size == 0 else " in"
    return f"{word.capitalize()} {due},{last} {place}"


def _to_go(state: JobState, due: int | None) -> str:
    """Return how many are to be filled first, and how many are left."""
    left = state.known.lot_size - state.filled_to
    if due is None:
        return f"{state.filled_to} of {state.known.lot_size} filled"
    ahead = due - state.filled_to
    fill = "this one" if ahead == 1 else f"{ahead} to fill first"
    return f"{fill}, {max(left, 0)} left in all"


def _last_words(limits: Limits, last: Weighed | None, step: Decimal) -> str:
    """Return how the last weight stands against the aim."""
    if last is None:
        return ""
    net = last.fact.net_g
    if last.fact.state == "low" and net < limits.band_low_g:
        return f"{shown_g(limits.band_low_g - net, step)} below the band"
    if last.fact.state == "high" and net > limits.band_high_g:
        return f"{shown_g(net - limits.band_high_g, step)} above the band"
    if net == limits.aim_g:
        return "on the aim"
    side = "under" if net < limits.aim_g else "over"
    return f"{shown_g(abs(net - limits.aim_g), step)} {side} the aim"


def _held_words(state: JobState, spans: tuple[Span, ...]) -> str:
    """Return what is held, by tray and number."""
    if not spans:
        return ""
    size = state.known.tray_size
    place = trays(spans[0].first, spans[-1].last, size)
    word = state.known.container.word
    return f"{word.capitalize()}s {words(spans)} are held, {place}. Settle them before release."


def _wheel(state: JobState, turn: Turn | None, act: Act) -> tuple[str, str]:
    """Return the order for the wheel, and why."""
    if turn is None or state.run is None:
        return "", ""
    if act.what == "adjust":
        return f"Turn the wheel to {plain(turn.to_marks)}.", f"{turn.words}."
    if state.run.pending is not None:
        return (
            "Hands off the wheel.",
            "One odd weight can be a bad recharge. Two more tell us which.",
        )
    return "Leave the wheel alone.", (
        f"The level is inside its dead band of {turn.dead_band_g:.2f} g either way."
    )


def _drift_words(state: JobState, book: RunBook, turn: Turn | None) -> str:
    """Return the drift in words, and when a turn will be worth making."""
    watch = book.watch
    if turn is None or watch is None or len(book.positions) < _LEAST_FOR_DRIFT:
        return ""
    line = watch_drift(watch, limit=kg_from_g(turn.dead_band_g))
    if line.slope is None or line.slope_interval is None:
        return ""
    per_hundred = 100 * g_from_kg(line.slope)
    low, high = (100 * g_from_kg(edge) for edge in line.slope_interval)
    word = state.known.container.word
    if low <= 0 <= high:
        return f"No drift seen since {word} {book.block_from}."
    words_ = f"Slow drift of {per_hundred:+.2f} g in a hundred {word}s"
    reach = line.reaches_limit_at
    if reach is None or reach <= book.positions[-1]:
        return f"{words_} since {word} {book.block_from}."
    return (
        f"{words_}. It is worth a turn at {turn.dead_band_g:.1f} g, near {word} {reach:.0f} "
        f"{_between(line.reaches_interval)}at this rate."
    )


def _between(interval: tuple[float | None, float | None] | None) -> str:
    """Return the range of a container to come, in brackets with a blank behind it."""
    if interval is None or interval[0] is None:
        return ""
    low, high = interval
    return f"({low:.0f} or later) " if high is None else f"({low:.0f} to {high:.0f}) "


def _act(
    desk: Desk,
    state: JobState,
    limits: Limits,
    turn: Turn | None,
    due: int | None,
    last: Weighed | None,
) -> Act:
    """Return the order of the page."""
    facts = state.known
    word = facts.container.word
    book = state.run
    if book is None or book.started is None:
        return _start_act(state, small_words(desk, state))
    if book.finished is not None:
        return Act(
            stage=Stage.RUN,
            what="next",
            order="The run is finished. Go on with Release.",
            why=f"{book.finished.filled} {word}s filled.",
            main="Go on with Release",
            state="on",
            state_words="Finished",
        )
    if book.is_scale_off:
        return scale_act(state)
    change = change_act(desk, state, due, _cautions(state))
    if change is not None:
        return change
    pending = book.pending
    if pending is not None and pending.outcome() == "jumps":
        return _jumps_act(word)
    # One odd weight never turns the wheel: the two more are weighed first, whatever the level.
    waits = pending is not None and pending.outcome() == "waiting"
    if turn is not None and turn.is_due and not waits and (pending or not book.check_next):
        return _turn_act(state, turn, pending)
    if pending is not None and pending.outcome() == "moved":
        return _no_turn_act(state)
    if due is None:
        return Act(
            stage=Stage.RUN,
            what="finish",
            order="All are filled. Finish the run.",
            why=f"{state.filled_to} of {facts.lot_size} {word}s.",
            main="Finish the run",
            expects=Expects.CONFIRM,
            value=str(state.filled_to),
            options=(Option(what="undo", label="Undo last weight", key="-"),),
        )
    return _weigh_act(state, limits, due, last)


def _start_act(state: JobState, small: str) -> Act:
    """Return the order to start; for a small lot every one is offered to be weighed first."""
    facts = state.known
    word = facts.container.word
    every = f"every {word}" if facts.weigh_every == 1 else f"one in {facts.weigh_every}"
    why = f"{facts.lot_size} {word}s, {facts.tray_size} on a tray; weigh {every}."
    offer = Option(what="weigh-all", label=f"Weigh every {word}", key="*")
    return Act(
        stage=Stage.RUN,
        what="start-run",
        order="Start the run.",
        why=f"{why} {small}".strip(),
        main="Start the run",
        expects=Expects.CONFIRM,
        cautions=(CAUTIONS["pinch"], *cautions_of(facts)),
        options=(offer,) if small else (),
    )


def _weigh_act(state: JobState, limits: Limits, due: int, last: Weighed | None) -> Act:
    """Return the order to weigh the next container."""
    word = state.known.container.word
    pending = state.run.pending if state.run is not None else None
    tag, tag_words = _tag(limits, last)
    if pending is not None:
        left = 2 - len(pending.seen)
        order = (
            f"Fill two more and weigh both. Nothing leaves the bench. First: {word} {due}."
            if left == 2  # noqa: PLR2004  two more, as the order says
            else f"One more: fill {word} {due} and weigh it. Nothing leaves the bench."
        )
        why = "One odd weight can be a bad recharge. Two more tell us which."
        if pending.signal in ("short", "far-short", "overfull"):
            span = words(state.open_spans)
            order = f"Tag and hold {word}s {span}. {order}"
    else:
        order = f"Weigh {word} {due}."
        ahead = due - state.filled_to
        if ahead > 1:
            order = f"Fill to {word} {due}, then weigh it."
        why = _next_words(state, due) + "."
    return Act(
        stage=Stage.RUN,
        what="weigh",
        order=order,
        why=why,
        main="Keep",
        expects=Expects.WEIGHT,
        cautions=_cautions(state),
        options=(
            Option(what="spoilt", label="Spoilt", key="*", asks="Why?"),
            Option(what="undo", label="Undo last weight", key="-"),
            Option(what="pause", label="Stop the run"),
        ),
        state=tag,
        state_words=tag_words,
        value=str(due),
    )


def _cautions(state: JobState) -> tuple[Caution, ...]:
    """Return what can hurt somebody while the run goes on."""
    found = list(cautions_of(state.known))
    if "glass" in state.known.container.name.lower():
        found.append(CAUTIONS["glass"])
        if state.known.product.product_c > HOT_C:
            found.append(CAUTIONS["hot-glass"])
    paused = state.run.paused if state.run is not None else None
    if paused is not None and paused.reason == "refill":
        found.append(CAUTIONS["refill"])
    return tuple(found)


def _tag(limits: Limits, last: Weighed | None) -> tuple[str, str]:
    """Return the last weight's state as a tag."""
    if last is None:
        return "", ""
    shown = {
        "on": "In band",
        "low": "Low",
        "high": "High",
        "short": "Short",
        "far-short": "Far short",
        "overfull": "Overfull",
    }
    tag = "short" if last.fact.state in ("short", "far-short", "overfull") else last.fact.state
    if last.fact.state == "on" and last.fact.net_g == limits.aim_g:
        return tag, "On the aim"
    return tag, shown.get(last.fact.state, "")


def _turn_act(state: JobState, turn: Turn, pending: Pending | None) -> Act:
    """Return the order to turn the wheel."""
    now = plain(state.setting_marks or Decimal(0))
    down = turn.to_marks < (state.setting_marks or Decimal(0))
    to = plain(turn.to_marks)
    learnt = None if state.trim is None else state.trim.lost_motion_marks
    back = plain(turn.to_marks - back_marks(state.known, learnt))
    level = f"The level is {turn.mean_deviation_g:+.2f} g from the aim"
    seen = "it stays there"
    if pending is not None:
        is_sum = pending.signal == "cusum"
        seen = "the weights add up to a shift" if is_sum else "two more weights agree"
    return Act(
        stage=Stage.RUN,
        what="adjust",
        order=f"Turn the wheel {'down and up' if down else 'up'} to {to}.",
        why=f"{level}, and {seen}.",
        main=f"Set to {to} and locked",
        expects=Expects.SETTING,
        steps=(
            "Release the wheel lock.",
            f"Go down to {back} first, then come up to {to}."
            if down
            else f"Turn up to {to}, {turn.words}.",
            "Lock the wheel.",
        ),
        options=(
            Option(what="adjust", label=f"Leave it at {now}", value=now),
            Option(what="pause", label="Stop the run"),
        ),
        state="high" if turn.mean_deviation_g > 0 else "low",
        state_words="High" if turn.mean_deviation_g > 0 else "Low",
        value=to,
    )


def _no_turn_act(state: JobState) -> Act:
    """Return the order where the level moved by less than the wheel can set."""
    now = plain(state.setting_marks or Decimal(0))
    return Act(
        stage=Stage.RUN,
        what="adjust",
        order=f"Leave the wheel at {now} and look at the lock.",
        why="The level has moved, but by less than the wheel can set.",
        main=f"Left at {now}, locked",
        expects=Expects.SETTING,
        options=(Option(what="pause", label="Stop the run"),),
        value=now,
        state="warn",
        state_words="Moved a little",
    )


def _jumps_act(word: str) -> Act:
    """Return the order where two more weights disagree with each other."""
    return Act(
        stage=Stage.RUN,
        what="pause",
        order="Stop filling. The dose jumps about.",
        why="Two more weights fall on different sides: air in the line, a sticking valve, a "
        f"loose lock. Nothing is gained by turning. The {word}s are held.",
        main="Stopped. Look for the cause",
        expects=Expects.CONFIRM,
        value="fault",
        state="warn",
        state_words="Jumps about",
    )
