"""The one way in for a weight, whoever sends it: typed, scale, file or HTTP.

Checks it, lets the stage that is open judge it, keeps it in one transaction, and returns the
next act. The same id again gives the same answer and keeps nothing twice.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput, Conflict, StoreFull
from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk, Press, find_job, keep, keep_on_site
from fillwright.jobs.held import settle
from fillwright.jobs.limits import judge_weight, limits_of
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.release import stage as release
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.cartons import container_meant, judge_carton_empty
from fillwright.jobs.run.first_jar import refuse_unlooked
from fillwright.jobs.setup import recharge_edge as rechargeedge
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.traveller import next_act, purpose_now
from fillwright.jobs.trim import stage as trim
from fillwright.records.capture import Capture
from fillwright.records.entities import JobFacts
from fillwright.records.entries import (
    ContainersHeld,
    Payload,
    PrimingJudged,
    Purpose,
    SettlingStruck,
    StruckOut,
    WeighingTaken,
)
from fillwright.records.fold import JobState, Weighed
from fillwright.records.replay import replayed
from fillwright.records.units import grams

__all__ = ["FAR_TOO_MUCH", "Kept", "checked", "judged", "mean_tare", "strike_out", "undo", "weigh"]


FAR_TOO_MUCH: Final = 2
"""No weight goes beyond so many times what the container holds."""
_MOST_PLACES: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What a weight came to: how it was judged, and the next act."""

    state: JobState
    weighing: WeighingTaken
    act: Act
    is_repeat: bool = False


def weigh(
    desk: Desk,
    number: str,
    capture: Capture,
    press: Press,
    *,
    purpose: Purpose | None = None,
    waits_for_look: bool = False,
) -> Kept:
    """Keep one weight and return what it came to.

    Parameters
    ----------
    desk : Desk
        Journal, clock, states, rule sets.
    number : str
        Job number.
    capture : Capture
        The weight, with the id made at its source.
    press : Press
        Who, and what they had before them.
    purpose : str, optional
        What was weighed; left out, it is what the job waits for now.
    waits_for_look : bool
        True where nobody sees the order of the page: a weight of the run is refused then while
        the look at the first one is due.

    Returns
    -------
    Kept
        The weight as it was kept and judged, and the next act.

    Raises
    ------
    BadInput
        If the weight cannot be one of this job; the message says why.
    Conflict
        If the job moved on, or the id was used for another weight.
    StoreFull
        If it could not be kept.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        again = state.weighings.find(capture.weighing_id)
        if again is not None:
            return _repeat(desk, state, capture, again)
        meant = purpose or purpose_now(state)
        if meant is None:
            message = f"Nothing is to be weighed now. {next_act(desk, state).order}"
            raise BadInput(message, field="weight", given=capture.value, code="inconsistent")
        fact = checked(desk, state, capture, meant)
        if waits_for_look:
            refuse_unlooked(state, fact)
        facts = _JUDGES[fact.purpose](desk, state, fact, capture.weighing_id)
        kept = keep(desk, state, facts, press, first_id=capture.weighing_id)
        kept = _look_closer(desk, kept, facts, press)
        learnt = [fact for fact in facts if isinstance(fact, PrimingJudged)]
        if learnt:
            keep_on_site(desk, learnt, press)
        weighed = kept.weighings.find(capture.weighing_id) or kept.weighings[-1]
        return Kept(state=kept, weighing=weighed.fact, act=next_act(desk, kept))


def checked(desk: Desk, state: JobState, capture: Capture, purpose: Purpose) -> WeighingTaken:
    """Return a weight with its tare taken off, after all checks that every weight passes.

    Raises
    ------
    BadInput
        If the weight cannot be one of this job; the message says why.
    """
    fact = _weighing(state, capture, purpose)
    _refuse_slips(desk, state.known, fact)
    _refuse_numbers(state, fact)
    return fact


def judged(desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str) -> list[Payload]:
    """Return a weight as its stage judges it, first, and with it whatever it means.

    Raises
    ------
    BadInput
        If its stage takes no weight now.
    """
    facts = _JUDGES[fact.purpose](desk, state, fact, weighing_id)
    return [*facts, *run.noticed(state, facts, is_kept=False)]


def strike_out(desk: Desk, number: str, entry_id: str, reason: str, press: Press) -> JobState:
    """Strike a kept weight out, with a reason; it stays on record.

    Raises
    ------
    BadInput
        If there is no such weight, it is struck out already, the reason is missing, or the
        lot has been released.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        weighed = state.weighings.find(entry_id)
        if weighed is None:
            message = "There is no such weight in this job. Pick one from the list."
            raise BadInput(message, field="entry", given=entry_id, code="choice")
        if weighed.struck:
            message = "This weight is struck out already."
            raise BadInput(message, field="entry", given=entry_id, code="inconsistent")
        if state.released is not None:
            message = "The lot is released: its weights stay as they are."
            raise BadInput(message, field="entry", given=entry_id, code="inconsistent")
        if not reason.strip():
            message = "Say why the weight is struck out: spilled, wrong jar, typed wrong."
            raise BadInput(message, field="reason", given=reason, code="missing")
        fact = StruckOut(entry_id=entry_id, reason=reason.strip())
        anew = _anew(state, weighed)
        return keep(desk, state, [fact, *anew], press)


def undo(desk: Desk, number: str, press: Press) -> JobState:
    """Strike out the weight that was kept last, as long as its own stage lasts.

    Raises
    ------
    BadInput
        If there is no weight to take back, or its stage is over.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        last = next((w for w in reversed(state.weighings) if not w.struck), None)
        if last is None:
            message = "There is no weight to take back."
            raise BadInput(message, field="weight", code="inconsistent")
        if last.fact.purpose == "proof" and state.run is not None:
            message = "The last weight is of the proof. Strike it out by name, with a reason."
            raise BadInput(message, field="weight", given=last.fact.value, code="inconsistent")
        return strike_out(desk, number, last.id, "taken back at the bench", press)


def _look_closer(desk: Desk, kept: JobState, facts: list[Payload], press: Press) -> JobState:
    """Keep what a weight makes visible of the run, once the weight itself is safe.

    It takes longer than all the rest and no weight waits for it; where it cannot be kept now,
    the run is looked at again a few weights later.
    """
    noticed = run.noticed(kept, facts, is_kept=True)
    if noticed:
        with suppress(Conflict, StoreFull):
            return keep(desk, kept, noticed, Press(person=press.person))
    return kept


def _anew(state: JobState, struck: Weighed) -> list[Payload]:
    """Return what has to be worked out anew once a weight does not count any more."""
    is_tare = struck.fact.purpose == "tare" and state.lots.carton_due is None
    if is_tare and state.tare is not None and struck.counts:
        left = [w.fact.net_g for w in state.empties if w is not struck]
        return setup.tare_of_the_rest(state.known, left)
    if struck.fact.purpose == "held" and struck.counts:
        number = struck.fact.container or 0
        one = state.held.at(number)
        if one is None or one.revision != struck.revision + 1:
            return []
        reason = f"the weight that settled {number} is struck out"
        return [SettlingStruck(settling_id=one.id, reason=reason)]
    run_, ended = replayed(state, struck.id), state.run and state.run.finished
    if run_ is None or not ended or struck.fact.purpose != "dose" or not struck.counts:
        return []
    if run_.last_good >= state.filled_to:
        return []
    reason = "the weight that stood for them is struck out"
    return [ContainersHeld(first=run_.last_good + 1, last=state.filled_to, reason=reason)]


def _repeat(desk: Desk, state: JobState, capture: Capture, again: Weighed) -> Kept:
    """Answer a weight that was sent before with what was kept then."""
    fact = again.fact
    if (fact.value, fact.unit) != (str(capture.value), capture.unit):
        message = (
            f"The id {capture.weighing_id} was used for {fact.value} {fact.unit} before; "
            "every weight needs an id of its own."
        )
        raise Conflict(message)
    return Kept(state=state, weighing=fact, act=next_act(desk, state), is_repeat=True)


def _weighing(state: JobState, capture: Capture, purpose: Purpose) -> WeighingTaken:
    """Return the weighing with its tare taken off, exactly."""
    facts = state.known
    if not capture.value.is_finite():
        message = f"{capture.value} is no weight. Type what the scale shows."
        raise BadInput(message, field="weight", given=str(capture.value), code="not-finite")
    if capture.value.adjusted() > _MOST_PLACES or -_exponent(capture.value) > _MOST_PLACES:
        message = f"{capture.value} is no weight that a scale shows. Type it again."
        raise BadInput(message, field="weight", given=str(capture.value), allowed="plain figures")
    shown_g = grams(capture.value, capture.unit)
    basis = capture.basis or ("gross" if facts.tare_way == "mean" else "net")
    tare_g = Decimal(0)
    if purpose == "tare":
        basis = "gross"
    elif basis == "gross":
        meant = container_meant(state, purpose, capture.container)
        tare_g = mean_tare(state, meant) if capture.tare_g is None else capture.tare_g
    return WeighingTaken(
        purpose=purpose,
        value=str(capture.value),
        unit=capture.unit,
        basis=basis,
        tare_g=tare_g,
        net_g=shown_g - tare_g,
        container=capture.container,
        filled_to=capture.filled_to,
        setting_marks=state.setting_marks,
        set_aside=capture.set_aside,
        source=capture.source,
    )


def _exponent(value: Decimal) -> int:
    """Return the power of ten of the last figure of a finite number."""
    return int(value.as_tuple().exponent)


def mean_tare(state: JobState, container: int | None = None) -> Decimal:
    """Return the average empty of a container's carton; of the present one without a number."""
    tare = state.lots.tare_of(container)
    if tare is not None:
        return tare.tare_g
    kept = state.known.container.tare_g
    if kept is None:
        message = (
            "The average empty is not known yet: weigh the empties in Set up first, or zero "
            "an empty away and weigh net."
        )
        raise BadInput(message, field="tare", code="missing")
    return kept


def _refuse_numbers(state: JobState, fact: WeighingTaken) -> None:
    """Refuse numbers that no container of this lot can have."""
    if fact.purpose == "elsewhere":
        return
    facts = state.known
    most = max(facts.lot_size, state.filled_to) + facts.tray_size
    for field, number in (("container", fact.container), ("filled_to", fact.filled_to)):
        if number is not None and not 1 <= number <= most:
            message = f"{number} is no {facts.container.word} of this lot of {facts.lot_size}."
            raise BadInput(message, field=field, given=number, allowed=f"1 to {most}")


def _refuse_slips(desk: Desk, facts: JobFacts, fact: WeighingTaken) -> None:
    """Refuse what cannot be a weight of this job: slips of a key, an unzeroed scale."""
    shown = f"{fact.value} {fact.unit}"
    if fact.set_aside:
        return
    is_here = fact.purpose != "elsewhere"
    if is_here and grams(Decimal(fact.value), fact.unit) > facts.scale.capacity_g:
        message = (
            f"{shown} is more than {facts.scale.name} can weigh "
            f"({facts.scale.capacity_g} g). Type it again."
        )
        raise BadInput(message, field="weight", given=shown, allowed="the scale's capacity")
    if fact.purpose == "tare":
        if fact.net_g <= 0:
            message = f"{shown} cannot be an empty {facts.container.word}. Zero the scale."
            raise BadInput(message, field="weight", given=shown, allowed="above zero")
        return
    if fact.net_g < 0:
        message = (
            f"{shown} is less than an empty {facts.container.word}. Put the filled one on the "
            "pan, or zero the scale."
        )
        raise BadInput(message, field="weight", given=shown, allowed="zero or more, net")
    limits = limits_of(facts, desk.rule_sets)
    if fact.net_g > FAR_TOO_MUCH * limits.brim_g:
        tenth = replace(fact, net_g=fact.net_g / 10).net_g
        hint = f" {tenth:f} g?" if tenth < limits.brim_g and fact.basis == "net" else ""
        message = f"{shown} is more than the {facts.container.word} holds.{hint} Type it again."
        raise BadInput(message, field="weight", given=shown, allowed=f"to {limits.brim_g} g net")


def _judge_elsewhere(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Hold a weight that was weighed elsewhere against the limits; no stage counts it."""
    _ = weighing_id
    limits = limits_of(state.known, desk.rule_sets)
    return [replace(fact, state=judge_weight(limits, fact.net_g))]


def _judge_empty(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Keep an empty: of a new carton in mid-run, else of the job."""
    if state.lots.carton_due is not None:
        return judge_carton_empty(desk, state, fact)
    return setup.judge_empty(desk, state, fact, weighing_id)


_JUDGES: Final[dict[str, Callable[[Desk, JobState, WeighingTaken, str], list[Payload]]]] = {
    "tare": _judge_empty,
    "shot": trim.judge_shot,
    "proof": prove.judge_shot,
    "dose": run.judge_dose,
    "held": settle.judge_held,
    "sample": release.judge_sample,
    "purge": setup.judge_purge,
    "recharge": rechargeedge.judge_shot,
    "elsewhere": _judge_elsewhere,
}
