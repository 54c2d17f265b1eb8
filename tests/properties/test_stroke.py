"""Strokes obey common sense: thicker is never faster, wider never harder, dimensions hold."""

from __future__ import annotations

from dataclasses import replace

import filler
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.science.air import AirPassage
from fillwright.science.drive import steady_speed
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.stroke import recharge_limit
from fillwright.science.stroke_times import ROUGH, discharge_times
from fillwright.science.wet_tables import path_table
from fillwright.science.wetpath import pressure_loss

PRODUCTS = st.builds(
    FlowCurve,
    yield_stress=st.one_of(st.just(0.0), st.floats(0.1, 200.0)),
    consistency=st.floats(1e-3, 30.0),
    index=st.floats(0.3, 1.0),
)


def filled(curve, needle=4e-9):
    """The fill time of a product on the invented filler."""
    return float(
        discharge_times(
            filler.drive(needle),
            piston_area=filler.AREA,
            stroke=filler.STROKE,
            table=path_table(filler.OUTWARD, curve, 1100.0),
            tolerance=ROUGH,
        ).time[0]
    )


@settings(max_examples=25, deadline=None)
@given(curve=PRODUCTS, factor=st.floats(1.2, 5.0))
def test_a_thicker_product_never_fills_faster(curve, factor):
    """More of the same consistency: the recharge limit falls and the fill takes no less."""
    start, consistency, index = (float(figure) for figure in curve.figures)
    thicker = FlowCurve(yield_stress=start, consistency=factor * consistency, index=index)
    limits = [
        float(recharge_limit(path_table(filler.SUCTION, one, 1100.0), swept=250e-6).flow_max[0])
        for one in (curve, thicker)
    ]

    assert limits[1] <= limits[0] * (1.0 + 1e-9)
    # Steps of a rough run differ by up to two hundredths.
    assert filled(thicker) >= 0.98 * filled(curve)


@settings(max_examples=40, deadline=None)
@given(curve=PRODUCTS, flow=st.floats(1e-7, 1e-3), wider=st.floats(1.0, 3.0))
def test_a_wider_nozzle_never_needs_more_pressure(curve, flow, wider):
    """The loss at one flow falls as the nozzle grows."""
    nozzle = filler.OUTWARD[-1]
    grown = replace(nozzle, bore=float(np.asarray(nozzle.bore)) * wider)

    losses = [
        float(pressure_loss((*filler.OUTWARD[:-1], last), flow, curve, 1100.0).total)
        for last in (nozzle, grown)
    ]

    assert losses[1] <= losses[0] * (1.0 + 1e-9)


@settings(max_examples=25, deadline=None)
@given(consistency=st.floats(1.0, 20.0), scale=st.floats(0.5, 2.0))
def test_a_slow_stroke_scales_as_its_dimensions_say(consistency, scale):
    """All conductances by s and viscosity by 1/s: the same stroke in 1/s of the time.

    Density is made next to nothing, so that no inertia of the flow brings a scale of its own.
    """
    times = []
    for by in (1.0, scale):
        drive = replace(
            filler.drive(),
            supply=AirPassage(conductance=4e-8 * by, critical_ratio=0.3),
            meter_out=AirPassage(conductance=4e-9 * by, critical_ratio=0.3),
        )
        curve = FlowCurve(consistency=consistency / by)
        table = path_table(filler.OUTWARD, curve, 1e-3)
        run = discharge_times(
            drive, piston_area=filler.AREA, stroke=filler.STROKE, table=table, tolerance=0.01
        )
        times.append(float(run.time[0]) * by)

    assert abs(times[1] / times[0] - 1.0) < 0.01


@settings(max_examples=25, deadline=None)
@given(curve=PRODUCTS, less=st.floats(0.2, 0.95))
def test_a_closer_needle_never_speeds_the_piston(curve, less):
    """Steady speed grows with the needle's opening, and never passes the needle's own."""
    table = path_table(filler.OUTWARD, curve, 1100.0)
    wide = steady_speed(filler.drive(4e-9), filler.AREA, table.loss)
    close = steady_speed(filler.drive(4e-9 * less), filler.AREA, table.loss)

    assert close.speed[0] <= wide.speed[0] * (1.0 + 1e-9)
