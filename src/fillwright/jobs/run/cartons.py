"""The empties of a new carton: its tare, or a reason why the one before goes on."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.held.orders import due_held
from fillwright.jobs.run.turn import due_container
from fillwright.jobs.setup.tare_fit import empties_wanted, tare_warning
from fillwright.jobs.words import plain
from fillwright.records.entries import Payload, TareCarriedOn, TareSet, WeighingTaken
from fillwright.records.fold import JobState

__all__ = [
    "CARTON_EMPTIES",
    "MOST_EMPTIES",
    "carry_tare_on",
    "carton_wants",
    "container_meant",
    "judge_carton_empty",
    "refuse_untared",
]

CARTON_EMPTIES: Final = 5
"""Empties weighed of a new carton; common practice, no source."""
MOST_EMPTIES: Final = 10
"""Most that are asked for where five leave the average too uncertain; our own choice."""
_FAR_EMPTY: Final = Decimal("0.5")
"""An empty so far from the last carton's is no empty of this container; our own choice."""


def carry_tare_on(desk: Desk, number: str, reason: str, press: Press) -> JobState:
    """Take the tare of the carton before for the new one, with a reason.

    Raises
    ------
    BadInput
        If no new carton waits for its empties, or the reason is missing.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if state.lots.carton_due is None:
            message = "No new carton waits for its empties."
            raise BadInput(message, field="reason", code="inconsistent")
        if not reason.strip():
            message = "Say why no empties of the new carton are weighed; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        return keep(desk, state, [TareCarriedOn(reason=reason.strip())], press)


def judge_carton_empty(desk: Desk, state: JobState, fact: WeighingTaken) -> list[Payload]:
    """Keep an empty of a new carton; with the fifth the carton has its tare.

    Where five leave their average too uncertain it goes on, up to ten.

    Raises
    ------
    BadInput
        If the weight is more than half away from the tare so far.
    """
    before = state.lots.tare_of(None)
    old_g = state.known.container.tare_g if before is None else before.tare_g
    if old_g is not None and abs(fact.net_g - old_g) > _FAR_EMPTY * old_g and not fact.set_aside:
        word = state.known.container.word
        message = (
            f"{fact.value} {fact.unit} is far from the {plain(old_g)} g of an empty {word} so "
            "far. Weigh an empty one of the new carton; another container needs other facts."
        )
        raise BadInput(message, field="weight", given=fact.value, code="range")
    have = [w.fact.net_g for w in state.empties]
    if not fact.set_aside:
        have.append(fact.net_g)
    facts: list[Payload] = [fact]
    if len(have) >= CARTON_EMPTIES:
        tare = _tare_of(have, state.known.scale.readability_g)
        if len(have) >= empties_wanted(desk.rule_sets, state.known, tare, MOST_EMPTIES):
            facts.append(tare)
    return facts


def carton_wants(desk: Desk, state: JobState) -> tuple[int, str]:
    """Return how many empties the new carton wants, and why more than five where it is so."""
    have = [w.fact.net_g for w in state.empties]
    if len(have) < CARTON_EMPTIES:
        return CARTON_EMPTIES, ""
    tare = _tare_of(have, state.known.scale.readability_g)
    wants = empties_wanted(desk.rule_sets, state.known, tare, MOST_EMPTIES)
    return wants, tare_warning(desk.rule_sets, state.known, tare)


def refuse_untared(state: JobState, container: int, fact: WeighingTaken) -> None:
    """Refuse a gross weight of a carton whose empties are not weighed yet.

    Raises
    ------
    BadInput
        If the container is of a new carton that has no tare.
    """
    carton = state.lots.carton_due
    is_of_it = carton is not None and container > carton.after_container
    if is_of_it and fact.basis == "gross" and not fact.set_aside:
        message = (
            "The new carton has no tare yet. Weigh its empties first, or take the tare as before "
            "and say why."
        )
        raise BadInput(message, field="run", code="inconsistent")


def container_meant(state: JobState, purpose: str, given: int | None) -> int | None:
    """Return the container that a weight is of, where it says so or the job knows.

    Only its carton hangs on it here; the stage that judges it has the last word.
    """
    if given is not None or purpose not in ("dose", "held", "sample"):
        return given
    if purpose == "dose":
        return due_container(state)
    if purpose == "held":
        return due_held(state)
    weighed = {w.fact.container for w in state.weighings if w.counts}
    drawn = (n for sample in state.samples for n in sample.containers)
    return next((n for n in drawn if n not in weighed), None)


def _tare_of(have: list[Decimal], step: Decimal) -> TareSet:
    """Return the average empty of a carton, kept to a tenth of the scale's step."""
    mean = sum(have, Decimal(0)) / len(have)
    spread = float(sum((w - mean) ** 2 for w in have) / (len(have) - 1)) ** 0.5
    return TareSet(
        tare_g=mean.quantize(step / 10, rounding=ROUND_HALF_EVEN),
        sd_g=spread,
        empties=len(have),
    )
