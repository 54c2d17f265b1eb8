"""When a container is due, and whether the wheel is to be turned."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np

from fillwright.jobs.limits import density_at
from fillwright.jobs.setup.settings import marks_near, slope_g_per_mark, turn_between
from fillwright.records.fold import JobState
from fillwright.records.runbook import RunBook
from fillwright.records.units import (
    g_from_kg,
    kg_from_g,
    kg_per_m3_from_g_per_ml,
    m3_from_ml,
)
from fillwright.science.hold import adjustment

__all__ = ["Turn", "advised_turn", "due_container"]

_FIRST_ONES: Final = 5
_WEIGHT_OF_NEW: Final = 0.2
_BAND_SHARE: Final = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A turn of the wheel that the run advises; no turn where `is_due` is False."""

    is_due: bool
    to_marks: Decimal
    words: str
    mean_deviation_g: float
    believed_share: float
    dead_band_g: float


def due_container(state: JobState) -> int | None:
    """Return the number of the container that is to be weighed next; None when all are."""
    book = state.run
    facts = state.known
    if book is None or book.started is None or book.finished is not None:
        return None
    at = state.filled_to
    waits = book.pending is not None and book.pending.outcome() == "waiting"
    if at >= facts.lot_size and not waits:
        return None
    unproved = bool(book.started.without_proof) or book.started.sd_readings == 0
    early = unproved and book.weighed_since_start < _FIRST_ONES
    if waits or book.check_next or early:
        return at + 1
    every = max(facts.weigh_every, 1)
    return min((at // every + 1) * every, facts.lot_size)


def advised_turn(state: JobState, book: RunBook) -> Turn:
    """Return the turn that the weights since the last turn ask for."""
    facts = state.known
    now = state.setting_marks or Decimal(0)
    sd_g = _spread_g(state, book)
    tolerance_g = float(facts.aim_g * facts.band_pct / 100)
    wheel_g = (
        float(facts.machine.wheel_sd_pct_of_cylinder * facts.cylinder.capacity_ml / 100)
        * slope_g_per_mark(facts)
        / float(facts.cylinder.ml_per_mark)
    )
    band_g = max(sd_g, wheel_g, _BAND_SHARE * tolerance_g)
    slope = kg_per_m3_from_g_per_ml(density_at(facts.product, facts.product.product_c))
    pending = book.pending
    if pending is not None and pending.outcome() == "moved":
        values = _recent(book, pending.deviations_g)
        advice = adjustment(
            kg_from_g(float(np.mean(values))),
            slope=slope,
            dead_band=0.0,
            prior_sd_of_level=kg_from_g(max(2 * sd_g, tolerance_g / 2)),
            dose_sd=kg_from_g(max(sd_g, 1e-9)),
            readings=len(values),
        )
    else:
        advice = adjustment(
            kg_from_g(_level_g(book)),
            slope=slope,
            dead_band=kg_from_g(band_g),
            shrink=1.0,
            readings=max(len(book.deviations_g), 1),
        )
    place = m3_from_ml(now * facts.cylinder.ml_per_mark) + advice.setting_change
    least = m3_from_ml(facts.machine.step_marks * facts.cylinder.ml_per_mark)
    # Nobody can be told how far to turn where nobody knows where the wheel stands.
    stays = advice.setting_change == 0 or state.setting_marks is None
    to_marks = now if stays else marks_near(facts, max(place, least))
    return Turn(
        is_due=to_marks != now,
        to_marks=to_marks,
        words=turn_between(facts.machine, now, to_marks),
        mean_deviation_g=g_from_kg(advice.level) / advice.weight if advice.weight else 0.0,
        believed_share=advice.weight,
        dead_band_g=band_g,
    )


def _spread_g(state: JobState, book: RunBook) -> float:
    """Return the sd of a dose in grams: from the proof, else from the run so far."""
    if state.proof is not None and state.proof.dose_sd_g > 0:
        return state.proof.dose_sd_g
    watch = book.watch
    least = 5
    if watch is not None and watch.count >= least:
        return g_from_kg((watch.m2 / (watch.count - 1)) ** 0.5)
    return state.trim.sd_g if state.trim is not None else 0.0


def _level_g(book: RunBook) -> float:
    """Return where the dose level stands against the aim: an EWMA since the last turn."""
    level = 0.0
    for deviation in book.deviations_g[-60:]:
        level += _WEIGHT_OF_NEW * (deviation - level)
    return level


def _recent(book: RunBook, confirmed: list[float]) -> list[float]:
    """Return the deviations that say where the level is now."""
    if len(confirmed) > 1:
        return confirmed
    return list(book.deviations_g[-3:]) or [0.0]
