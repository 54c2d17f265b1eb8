"""Stroke times and fill against a full model: piston mass, liquid inertia, squeeze and gas."""

from __future__ import annotations

import filler
import numpy as np
import pytest
from full_stroke import discharge, recharge

from fillwright.science.drive import steady_speed
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.stroke import recharge_limit
from fillwright.science.stroke_times import discharge_times, recharge_times
from fillwright.science.wet_tables import path_table

WATER = (FlowCurve(consistency=1.0e-3), 998.0)
SYRUP = (FlowCurve(consistency=5.0), 1400.0)
LOTION = (FlowCurve(yield_stress=15.0, consistency=8.0, index=0.45), 990.0)


@pytest.mark.parametrize(
    ("product", "void"),
    [
        pytest.param(WATER, 0.0, id="water"),
        pytest.param(SYRUP, 0.0, id="syrup"),
        pytest.param(SYRUP, 32e-6, id="syrup behind a void"),
        pytest.param(LOTION, 0.0, id="lotion with a yield stress"),
    ],
)
def test_fill_times_agree_with_the_full_model(product, void):
    """Within half a per cent, a jump through a void included."""
    whole = discharge(filler.full(filler.OUTWARD, *product), void=void)

    found = discharge_times(
        filler.drive(),
        piston_area=filler.AREA,
        stroke=filler.STROKE,
        table=path_table(filler.OUTWARD, *product),
        void=void,
    )

    assert float(found.time[0]) == pytest.approx(whole.time, rel=5e-3)


def test_a_recharge_that_is_too_fast_agrees_with_the_full_model():
    """Time within half a per cent, fill within three thousandths of the cylinder."""
    curve, density = SYRUP
    head = density * 9.80665 * 0.25
    whole = recharge(filler.full(filler.SUCTION, *SYRUP, head=head), dwell=0.2)

    found = recharge_times(
        filler.drive(),
        piston_area=filler.AREA,
        stroke=filler.STROKE,
        table=path_table(filler.SUCTION, curve, density),
        head=head,
        cavity_pressure=20_000.0,
        dwell=0.2,
    )

    assert float(found.time[0]) == pytest.approx(whole.time, rel=5e-3)
    assert float(found.fill_fraction[0]) == pytest.approx(1.0 - whole.void / 250e-6, abs=3e-3)
    assert 0.8 < float(found.fill_fraction[0]) < 0.95


def test_steady_speed_alone_gives_a_wrong_time_for_syrup():
    """The exhaust side must empty first: a third longer than stroke over speed."""
    table = path_table(filler.OUTWARD, *SYRUP)
    steady = steady_speed(filler.drive(), filler.AREA, table.loss)

    found = discharge_times(
        filler.drive(), piston_area=filler.AREA, stroke=filler.STROKE, table=table
    )

    assert steady.held_by[0] == "product"
    assert float(found.time[0]) > 1.3 * filler.STROKE / float(steady.speed[0])


def test_the_greatest_flow_is_where_the_loss_meets_what_is_available():
    """For a Newtonian product in slow flow: proportional to one over the viscosity."""
    curve = FlowCurve(consistency=np.array([[20.0], [40.0]]))

    found = recharge_limit(path_table(filler.SUCTION, curve, 1400.0), swept=250e-6)

    assert found.available[0] == pytest.approx(81_325.0)
    assert found.flow_max[0] == pytest.approx(2.0 * found.flow_max[1], rel=5e-3)
    assert found.limiting.tolist() == ["air-release", "air-release"]


def test_a_product_that_will_not_feed_says_so():
    """A yield stress that needs more than an atmosphere never moves."""
    stiff = FlowCurve(yield_stress=5000.0, consistency=5.0)

    found = recharge_limit(path_table(filler.SUCTION, stiff, 1400.0), swept=250e-6)

    assert found.limiting[0] == "yield"
    assert np.isinf(found.fastest[0])


def test_a_drive_that_is_too_weak_stalls():
    """At a tenth of a bar nothing comes out, and the time is without end."""
    stiff = FlowCurve(yield_stress=300.0, consistency=5.0)
    table = path_table(filler.OUTWARD, stiff, 1400.0)
    weak = filler.drive(gauge=3e4)

    assert steady_speed(weak, filler.AREA, table.loss).held_by[0] == "stalled"
    found = discharge_times(weak, piston_area=filler.AREA, stroke=filler.STROKE, table=table)
    assert np.isinf(found.time[0])
    assert found.swept[0] < 0.01
