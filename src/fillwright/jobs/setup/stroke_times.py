"""Timed strokes: what was read by the watch, and what it changes of machine and product.

One reading cannot tell everything apart: the least change that explains it is taken, and what
the strokes say nothing of stays as it was.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.match.flowing import curve_of, thickness_at
from fillwright.jobs.setup.rig import (
    Rig,
    air_read_bar_g,
    cavity_pa,
    conductance_at,
    drive_of,
    outward_of,
    product_read_c,
    rig_of,
    suction_of,
    swept_at,
)
from fillwright.jobs.setup.settings import start_marks
from fillwright.jobs.setup.stroke_plan import STROKES, plan_of
from fillwright.jobs.words import plain
from fillwright.records.entries import StrokesTimed
from fillwright.records.fold import JobState
from fillwright.science.stroke_fit import NEEDLE_SD, StrokeFit, fit_strokes
from fillwright.science.wet_tables import thickness_tables

__all__ = ["StrokeReading", "strokes_timed"]

_WATCH_SD_S: Final = 0.15
"""A hand on a watch, once for a single stroke (judgement)."""
_AGED: Final = 0.1
"""What is not known any more of a control that was timed before (judgement)."""
_WORTH_SAYING: Final = 0.06
_ASSUMPTIONS: Final = (
    "A flow control may be a quarter off its table, the product as far as its spread says.",
    "Strokes were timed at the pressure and temperature that were read.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeReading:
    """What was read of the strokes besides the time of ten; None where it was not.

    Parameters
    ----------
    fill_s, recharge_s : Decimal or None
        One fill and one recharge by the watch.
    fill_turns, recharge_turns : Decimal or None
        How far the flow controls stood open; None where they stood as was said.
    """

    fill_s: Decimal | None = None
    recharge_s: Decimal | None = None
    fill_turns: Decimal | None = None
    recharge_turns: Decimal | None = None


def strokes_timed(
    desk: Desk, state: JobState, ten_s: Decimal | None, reading: StrokeReading
) -> StrokesTimed | None:
    """Return what timed strokes teach; None where the machine is not described.

    Parameters
    ----------
    desk : Desk
        Knows the machine and what was learnt before.
    state : JobState
        The job.
    ten_s : Decimal or None
        Ten whole strokes.
    reading : StrokeReading
        Single strokes, and where the flow controls stood.

    Raises
    ------
    BadInput
        If a time is not above zero, or ten strokes took less than the valve alone.
    """
    rig = rig_of(desk, state)
    if rig is None:
        return None
    plan = plan_of(rig)
    fill_turns = reading.fill_turns or plan.fill_turns
    back_turns = reading.recharge_turns or plan.recharge_turns
    before = desk.book.site().strokes.get((state.known.product.name, state.known.machine.name))
    marks = state.setting_marks or start_marks(desk, state.known)
    swept = swept_at(rig, state.known.cylinder, marks)
    found = _fitted(swept, state, ten_s, reading, fill_turns, back_turns)
    return StrokesTimed(
        job=state.number,
        machine=state.known.machine.name,
        product=state.known.product.name,
        product_c=product_read_c(state),
        air_bar_g=air_read_bar_g(state),
        fill_turns=fill_turns,
        recharge_turns=back_turns,
        fill_s=reading.fill_s,
        recharge_s=reading.recharge_s,
        ten_s=ten_s,
        expected_fill_s=found.fill_before,
        expected_recharge_s=found.recharge_before,
        fitted_fill_s=found.fill_after,
        fitted_recharge_s=found.recharge_after,
        fill_needle_factor=rig.fill_needle_factor * found.fill_needle,
        recharge_needle_factor=rig.recharge_needle_factor * found.recharge_needle,
        thickness_factor=(1.0 if before is None else before.thickness_factor) * found.thickness,
        fill_needle_spread=found.sd_fill_needle,
        recharge_needle_spread=found.sd_recharge_needle,
        thickness_spread=found.sd_thickness,
        because=_words(rig, found, ten_s, reading),
        assumptions=_ASSUMPTIONS,
    )


def _fitted(
    rig: Rig,
    state: JobState,
    ten_s: Decimal | None,
    reading: StrokeReading,
    fill_turns: Decimal,
    back_turns: Decimal,
) -> StrokeFit:
    """Fit the model to what was read."""
    read_c = product_read_c(state)
    times = 1.0 if read_c is None else thickness_at(rig.flow, float(read_c))
    curve = curve_of(rig.flow, times=times)
    fill_needle = conductance_at(rig.air.fill, float(fill_turns)) * rig.fill_needle_factor
    back_needle = conductance_at(rig.air.recharge, float(back_turns)) * rig.recharge_needle_factor
    is_known = rig.fill_needle_factor != 1.0 or rig.recharge_needle_factor != 1.0
    try:
        return fit_strokes(
            fill_drive=drive_of(rig, fill_needle, rig.air.fill),
            recharge_drive=drive_of(rig, back_needle, rig.air.recharge),
            piston_area=rig.piston_area,
            stroke=rig.stroke,
            outward=thickness_tables(outward_of(rig), curve, rig.density),
            suction=thickness_tables(suction_of(rig), curve, rig.density),
            rise_pressure=rig.rise_pressure,
            head_pressure=rig.full_head_pressure,
            cavity_pressure=cavity_pa(rig),
            fill=_seconds(reading.fill_s),
            recharge=_seconds(reading.recharge_s),
            cycle=None if ten_s is None else float(ten_s) / STROKES,
            idle=2.0 * float(rig.air.valve_s),
            watch_sd=_WATCH_SD_S,
            needle_sd=math.hypot(_AGED, 0.5 * NEEDLE_SD) if is_known else NEEDLE_SD,
            thickness_sd=max(rig.flow.thickness_spread, _AGED),
        )
    except BadInput as error:
        field = {"cycle": "reading", "fill": "fill_s", "recharge": "recharge_s"}.get(error.field)
        message = error.message
        if error.field == "cycle" and ten_s is not None:
            message = (
                f"{plain(ten_s)} s for ten strokes is less than the valve alone takes. Time ten "
                "whole strokes again."
            )
        raise BadInput(message, field=field or "reading", given=str(ten_s)) from error


def _seconds(value: Decimal | None) -> float | None:
    """Return a time as the science takes it."""
    return None if value is None else float(value)


def _words(rig: Rig, found: StrokeFit, ten_s: Decimal | None, reading: StrokeReading) -> str:
    """Return what was read against what was expected, and what it changes."""
    idle = 2.0 * float(rig.air.valve_s)
    said = []
    if ten_s is not None:
        expected = STROKES * (found.fill_before + found.recharge_before + idle)
        said.append(f"Ten strokes took {plain(ten_s)} s, {expected:.0f} s were expected.")
    for name, read, expected in (
        ("fill", reading.fill_s, found.fill_before),
        ("recharge", reading.recharge_s, found.recharge_before),
    ):
        if read is not None:
            said.append(f"One {name} took {plain(read)} s, {expected:.1f} s were expected.")
    changes = [
        f"{name} {factor:.2g} times {than}"
        for name, factor, than in (
            ("the fill control passes", found.fill_needle, "what was taken"),
            ("the recharge control passes", found.recharge_needle, "what was taken"),
            ("the product is", found.thickness, "as thick as was taken"),
        )
        if abs(math.log(factor)) > _WORTH_SAYING
    ]
    if not changes:
        return " ".join([*said, "Near enough: nothing is changed."])
    return " ".join([*said, f"So {', '.join(changes)}."])
