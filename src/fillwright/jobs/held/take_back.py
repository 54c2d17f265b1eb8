"""Take back what was said of held containers; it stays on record, struck through."""

from __future__ import annotations

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.held.settle import SettleLook, look
from fillwright.jobs.run.weigh import strike_out
from fillwright.records.entries import Payload, SettlingStruck
from fillwright.records.fold import JobState, Weighed
from fillwright.records.heldbook import Settling
from fillwright.records.spans import overlap, words

__all__ = ["strike_settling", "take_back"]

_AT_BENCH = "taken back at the bench"


def take_back(desk: Desk, number: str, press: Press) -> SettleLook:
    """Take back the last thing that was done to held containers: a weight, or what was said.

    What one press settled is taken back as one, however many spans it was.

    Raises
    ------
    BadInput
        If there is nothing to take back, or the lot is closed.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        said = next((one for one in reversed(state.held.settlings) if not one.struck), None)
        weighed = _last_weight(state)
        if said is None and weighed is None:
            message = "There is nothing to take back on this page."
            raise BadInput(message, field="settling", code="inconsistent")
        # A weight that settled has its settling right behind it: striking the weight strikes both.
        by_weight = said is not None and _weight_of(state, said) is weighed
        is_later = said is None or (weighed is not None and said.revision < weighed.revision)
        if weighed is not None and (by_weight or is_later):
            return look(desk, strike_out(desk, number, weighed.id, _AT_BENCH, press))
        whole = [] if said is None else _one_press(state, said)
        return look(desk, keep(desk, state, _strikes(state, whole, _AT_BENCH), press))


def strike_settling(desk: Desk, number: str, row: int, reason: str, press: Press) -> SettleLook:
    """Strike out what was said of held containers, by its row on the page.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    row : int
        Row of the page, from 1.
    reason : str
        Why it was wrong.
    press : Press
        Who pressed.

    Returns
    -------
    SettleLook
        The page as it stands then: the containers are held again.

    Raises
    ------
    BadInput
        If there is no such row, it is struck out already, a later word stands in its place, a
        weight made it, the reason is missing, or the lot is closed.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        rows = state.held.settlings
        if not 1 <= row <= len(rows):
            many = f"Type 1 to {len(rows)}." if rows else "Nothing was settled yet."
            message = f"There is no row {row}. {many}"
            raise BadInput(message, field="row", given=row, allowed=f"1 to {len(rows)}")
        one = rows[row - 1]
        if one.struck:
            message = f"Row {row} is struck out already: {one.struck}."
            raise BadInput(message, field="row", given=row, code="inconsistent")
        if not reason.strip():
            message = "Say why it is struck out; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        if (weighed := _weight_of(state, one)) is not None:
            # The weight goes with what it settled, or the next look would settle it again.
            return look(desk, strike_out(desk, number, weighed.id, reason, press))
        return look(desk, keep(desk, state, _strikes(state, [one], reason.strip()), press))


def _strikes(state: JobState, settlings: list[Settling], reason: str) -> list[Payload]:
    """Return the strike-outs of settlings; refuse one whose place a later word has taken."""
    for one in settlings:
        stands = (
            overlap(one.spans, state.held.topped)
            if one.outcome == "waits-for-weight"
            else state.held.spans_of(one)
        )
        if stands != overlap(one.spans, one.spans):
            message = (
                f"{words(one.spans)}: something was done to them since. Take that back first."
            )
            raise BadInput(message, field="row", given=words(one.spans), code="inconsistent")
    return [SettlingStruck(settling_id=one.id, reason=reason) for one in settlings]


def _one_press(state: JobState, last: Settling) -> list[Settling]:
    """Return all that was settled by the press that the last one came of."""
    found, revision = [last], last.revision
    for one in reversed(state.held.settlings):
        same = (one.at, one.person, one.outcome, one.reason) == (
            last.at,
            last.person,
            last.outcome,
            last.reason,
        )
        if one.revision == revision - 1 and same and not one.struck:
            found.append(one)
            revision = one.revision
    return found


def _last_weight(state: JobState) -> Weighed | None:
    """Return the last weight of a held container that counts."""
    return next(
        (w for w in reversed(state.weighings) if w.fact.purpose == "held" and w.counts), None
    )


def _weight_of(state: JobState, one: Settling) -> Weighed | None:
    """Return the weight that made a settling, where a weight did."""
    if one.outcome not in ("weighed-good", "topped-up"):
        return None
    return next((w for w in reversed(state.weighings) if w.revision == one.revision - 1), None)
