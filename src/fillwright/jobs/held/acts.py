"""Held containers that are topped up, or emptied and their product used again."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.day.cleaning import traits
from fillwright.jobs.desk import Desk, Press, find_job, keep, refuse_stale
from fillwright.jobs.held.orders import doubt_at, is_doubted
from fillwright.jobs.held.settle import SettleLook, asked, is_for_piece, look, states_of
from fillwright.jobs.held.words import is_own_reason
from fillwright.jobs.limits import limits_of
from fillwright.jobs.release.lot import sample_of
from fillwright.jobs.words import in_steps, plain
from fillwright.records.entries import ContainersEmptied, ContainersToppedUp
from fillwright.records.fold import JobState
from fillwright.records.kinds_held import EmptiedInto
from fillwright.records.spans import Span, count, words

__all__ = ["back_of", "empty_back", "top_up", "why_not_back"]

_NONE: Final = "none"


def top_up(
    desk: Desk, number: str, spans: tuple[Span, ...], reason: str, press: Press
) -> SettleLook:
    """Put on record that held containers were topped up; each is weighed anew after it.

    Every rule set here that says anything of fewer than a hundred filled by themselves wants
    each of them tested, and a hand with a spoon is no piston: no sample speaks for them.

    Raises
    ------
    BadInput
        If some of them are not held, the reason is missing, they are held for a piece of the
        machine, or one was weighed overfull.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        refuse_stale(desk, state, press)
        mine = asked(state, spans, reason)
        if is_for_piece(state, mine):
            message = (
                f"{words(mine)} are held for a missing piece, and topping up does not take it "
                "out. Scrap them, or release them with the reason."
            )
            raise BadInput(message, field="outcome", given="topped-up", code="inconsistent")
        if is_doubted(state, mine):
            message = (
                f"{words(mine)} are held by hand for what no weight shows, and topping up does "
                "not mend it. Scrap them, or release them with the reason."
            )
            raise BadInput(message, field="outcome", given="topped-up", code="inconsistent")
        over = [n for n, one in states_of(state, mine).items() if one == "overfull"]
        if over:
            shown = words(Span(n, n) for n in over)
            message = f"{shown} was weighed overfull: take product out and weigh it again."
            raise BadInput(message, field="outcome", given=shown, code="inconsistent")
        fact = ContainersToppedUp(spans=mine, reason=reason.strip())
        return look(desk, keep(desk, state, [fact], press))


def empty_back(
    desk: Desk,
    number: str,
    spans: tuple[Span, ...],
    into: EmptiedInto,
    reason: str,
    press: Press,
    *,
    back_g: Decimal | None = None,
) -> SettleLook:
    """Put on record that held containers were emptied and their product kept.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    spans : tuple of Span
        Which.
    into : str
        ``"hopper"``, or ``"drum"`` for a drum of its own.
    reason : str
        Why; in one's own words where they are held for a piece of the machine.
    press : Press
        Who pressed.
    back_g : Decimal, optional
        What came out of them, weighed; reckoned when left out.

    Returns
    -------
    SettleLook
        The page as it stands then.

    Raises
    ------
    BadInput
        If some of them are not held, the reason is missing, the product must not go back, or
        more would come out than they hold.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if into not in ("hopper", "drum"):
            message = "Say where the product went: the hopper, or a drum of its own."
            raise BadInput(message, field="into", given=into, code="choice")
        refuse_stale(desk, state, press)
        mine = asked(state, spans, reason)
        bar = why_not_back(desk, state, mine, into, is_own=is_own_reason(into, reason))
        if bar:
            raise BadInput(bar, field="reason", given=reason, code="inconsistent")
        if back_g is not None:
            _refuse_far(desk, state, mine, back_g)
        fact = ContainersEmptied(
            spans=mine,
            reason=reason.strip(),
            into=into,
            back_g=back_of(state, mine) if back_g is None else back_g,
            is_weighed=back_g is not None,
            after_container=state.filled_to,
        )
        return look(desk, keep(desk, state, [fact], press))


def why_not_back(
    desk: Desk,
    state: JobState,
    spans: tuple[Span, ...],
    into: EmptiedInto,
    *,
    is_own: bool = False,
) -> str:
    """Return why the product of containers may not go back; empty where it may.

    A piece that is missing, or a doubt that somebody held them for, asks for a reason in one's
    own words (`is_own`), wherever the product
    goes; an allergen keeps it out of the hopper whatever the reason.
    """
    facts = state.known
    allergen = traits(desk, facts)["allergen"]
    if into == "hopper" and allergen != _NONE:
        return (
            f"{facts.product.name} carries an allergen ({allergen}): nothing of it goes back into "
            "the hopper. Empty it into a drum of its own, or scrap it."
        )
    if is_for_piece(state, spans) and not is_own:
        return (
            f"{words(spans)} are held for a missing piece, which may be in the product. Say in "
            "your own words why it may be used: sieved, or the piece was found. Else scrap them."
        )
    if is_doubted(state, spans) and not is_own:
        told = next(filter(None, (doubt_at(state, span.first) for span in spans)), "")
        return (
            f"{words(spans)} are held by hand{f' ({told})' if told else ''}. Say in your own "
            "words why the product may be used. Else scrap them."
        )
    return ""


def back_of(state: JobState, spans: tuple[Span, ...]) -> Decimal:
    """Return what containers hold by their latest weights; the aim where one has none."""
    nets, facts = sample_of(state, extra={}), state.known
    total = sum(
        (
            nets.get(n, state.lots.facts_for(facts, n).aim_g)
            for span in spans
            for n in range(span.first, span.last + 1)
        ),
        Decimal(0),
    )
    return in_steps(total, facts.scale.readability_g, ROUND_HALF_UP)


def _refuse_far(desk: Desk, state: JobState, spans: tuple[Span, ...], back_g: Decimal) -> None:
    """Refuse what cannot have come out of so many."""
    most_g = limits_of(state.known, desk.rule_sets).brim_g * count(spans)
    if not 0 < back_g <= most_g:
        many, word = count(spans), state.known.container.word
        message = (
            f"{plain(back_g)} g cannot come out of {many} {word}{'s' if many > 1 else ''}: they "
            f"hold {plain(most_g)} g at most. Type the grams that went back."
        )
        raise BadInput(message, field="back_g", given=plain(back_g), allowed=f"to {most_g} g")
