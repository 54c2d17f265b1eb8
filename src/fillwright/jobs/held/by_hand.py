"""Containers that somebody doubts are held by hand, by tray or number, with the reason."""

from __future__ import annotations

from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep, refuse_stale
from fillwright.jobs.held.pick import outcome_at, trays_named
from fillwright.records.entries import ContainersHeld, Payload, RunPaused
from fillwright.records.fold import JobState
from fillwright.records.heldbook import BY_HAND, GONE, TO_WEIGH
from fillwright.records.spans import Span, overlap, typed, words

__all__ = ["hold_by_hand", "named"]

_PAUSED: Final = "held by hand"


def hold_by_hand(
    desk: Desk,
    number: str,
    reason: str,
    press: Press,
    *,
    tray: str = "",
    numbers: str = "",
    last_filled: int | None = None,
    weight_settles: bool = False,
) -> JobState:
    """Hold containers that somebody doubts, until each is settled; Release waits for it.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    reason : str
        Why, in words.
    press : Press
        Who pressed.
    tray : str
        ``"3"``, or ``"3-7"``.
    numbers : str
        ``"40-60"``, or ``"40, 44-46"``, where no tray is meant.
    last_filled : int, optional
        Last container filled by now, where more are filled than is on record; the run stops
        there, and the next one is weighed.
    weight_settles : bool
        True where a good weight shows that nothing is wrong; a crack shows on no scale.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If neither tray nor numbers are given or both are, one is not filled or is gone, the
        reason is missing, or the lot is closed.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        refuse_stale(desk, state, press)
        filled = _filled(state, last_filled)
        mine = named(state, tray, numbers, filled)
        if not reason.strip():
            message = "Say why they are held; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        how = f" ({press.person})" if press.person else ""
        told = f"{TO_WEIGH if weight_settles else BY_HAND}{how}: {reason.strip()}"
        facts: list[Payload] = []
        if filled > state.filled_to:
            facts.append(RunPaused(reason="pause", after_container=filled, note=_PAUSED))
        facts += [ContainersHeld(first=one.first, last=one.last, reason=told) for one in mine]
        return keep(desk, state, facts, press)


def named(state: JobState, tray: str, numbers: str, filled: int) -> tuple[Span, ...]:
    """Return the containers that are named by tray or by number, of those that are filled.

    Raises
    ------
    BadInput
        If they are named in no way or in two, one is not filled, or is scrapped or emptied.
    """
    word = state.known.container.word
    if not tray.strip() and not numbers.strip():
        message = "Say which: type a tray (3, or 3-7), or numbers (40-60)."
        raise BadInput(message, field="tray", code="missing")
    if tray.strip() and numbers.strip():
        message = "Type a tray or numbers, not both: leave one of the two empty."
        raise BadInput(message, field="numbers", given=numbers[:20], code="inconsistent")
    if filled < 1:
        message = f"No {word} is filled yet: there is nothing to hold."
        raise BadInput(message, field="tray", code="inconsistent")
    if tray.strip():
        size = max(state.known.tray_size, 1)
        low, high = trays_named(tray, size, filled)
        mine: tuple[Span, ...] = (Span((low - 1) * size + 1, min(high * size, filled)),)
    else:
        mine = _by_number(numbers, word, filled)
    gone = overlap(mine, state.held.of(*GONE))
    if gone:
        message = (
            f"{words(gone)} cannot be held: {outcome_at(state, gone[0].first)}. Leave "
            f"{'it' if gone[0].first == gone[-1].last else 'them'} out."
        )
        raise BadInput(message, field="numbers", given=words(gone), code="inconsistent")
    return mine


def _by_number(numbers: str, word: str, filled: int) -> tuple[Span, ...]:
    """Return the spans that are typed by number, all of them filled."""
    spans = typed(numbers, field="numbers", word=word)
    missing = [span for span in spans if not 1 <= span.first <= span.last <= filled]
    if missing:
        first, last = missing[0].first, missing[0].last
        wrong = last if 1 <= first <= filled else first
        message = (
            f"There is no {word} {wrong}: 1 to {filled} are filled. If more are, type the "
            "last one filled as well."
        )
        raise BadInput(
            message, field="numbers", given=numbers[:20], allowed=f"1 to {filled}", code="range"
        )
    return spans


def _filled(state: JobState, last_filled: int | None) -> int:
    """Return the last container that is filled by now."""
    run = state.run
    at = state.filled_to
    if last_filled is None or last_filled == at:
        return at
    runs = run is not None and run.started is not None and run.finished is None
    most = max(state.known.lot_size, at) + state.known.tray_size if runs else at
    if not at <= last_filled <= most:
        allowed = f"{at} to {most}" if most > at else str(at)
        message = f"{last_filled} cannot be the last one filled: type {allowed}."
        raise BadInput(
            message, field="last_filled", given=last_filled, allowed=allowed, code="range"
        )
    return last_filled
