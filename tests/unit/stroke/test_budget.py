"""The budget of a dose by hand, by drawing, and what a narrower claim takes."""

from __future__ import annotations

import math

import filler
import numpy as np
import pytest

from fillwright.errors import BadInput, OutsideModel
from fillwright.science.budget import Contributor, Kind, dose_budget, what_it_takes
from fillwright.science.dose import dose_model, sampled_spread, thermal_change, withheld_by_air
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.leak import annular_leak
from fillwright.science.rate import Mode, hopper_time, rate, shots_for
from fillwright.science.recharge_knee import KneeShot, recharge_knee
from fillwright.science.stroke_times import recharge_times
from fillwright.science.wet_tables import path_table

LOTION = {
    "density": 990.0,
    "bore": 0.05,
    "stroke": 0.0637,
    "gas_fraction": 0.004,
    "leak_fraction": 0.002,
}
UNSURE = {"density": 0.792, "gas_fraction": 6e-4, "leak_fraction": 4e-4, "stroke": 20e-6}


def sources():
    """The sources of the worked lotion, and a drop of 20 mg."""
    model = dose_model(**LOTION)
    found = [
        Contributor(
            name=name,
            sensitivity=getattr(model, name),
            standard_uncertainty=size,
            kind=Kind.DRIFT if name == "density" else Kind.WITHIN,
        )
        for name, size in UNSURE.items()
    ]
    return [*found, Contributor(name="drop", sensitivity=1.0, standard_uncertainty=2e-5)]


def test_the_budget_is_the_root_of_the_sum_of_squares():
    """By hand: dose 990 x pi/4 x 0.05^2 x 0.0637 x 0.996 x 0.998 = 123.08 g; total 0.1397 g."""
    found = dose_budget(sources())

    assert dose_model(**LOTION).dose == pytest.approx(0.12308, rel=1e-4)
    assert found.total == pytest.approx(1.397e-4, rel=2e-3)
    names = [row.name for row in found.rows]
    assert names == ["density", "gas_fraction", "leak_fraction", "stroke", "drop"]
    assert sum(row.share for row in found.rows) == pytest.approx(1.0)


def test_drawing_the_sources_gives_the_same_spread():
    """Without the drop: sqrt(0.1397^2 - 0.02^2) = 0.1383 g, within four standard errors."""
    found = sampled_spread(LOTION, UNSURE, np.random.default_rng(4))

    expected = math.sqrt(dose_budget(sources()).total ** 2 - 2e-5**2)
    assert found.sd == pytest.approx(expected, abs=4.0 * found.standard_error)


def test_partial_derivatives_agree_with_differences():
    """Each derivative is the slope of the dose itself."""
    base = dose_model(**LOTION)
    for name in ("density", "bore", "stroke", "gas_fraction", "leak_fraction"):
        step = 1e-6 * LOTION[name]
        up = dose_model(**{**LOTION, name: LOTION[name] + step}).dose
        assert (up - base.dose) / step == pytest.approx(getattr(base, name), rel=1e-4)


def test_what_a_narrower_claim_takes_is_told_by_name():
    """+-0.2 % of 123 g wants sd 0.123 g: the density alone may come down; +-0.05 % takes three."""
    budget = dose_budget(sources())

    some = what_it_takes(budget, 0.002 * 0.12308)
    much = what_it_takes(budget, 0.0005 * 0.12308)

    assert not some.holds
    assert some.because.startswith("density alone")
    others = budget.total**2 - budget.rows[0].contribution ** 2
    assert some.alone == pytest.approx(math.sqrt(some.wanted**2 - others))
    assert much.alone is None
    assert much.sources[:3] == ("density", "gas_fraction", "leak_fraction")
    assert what_it_takes(budget, 0.005 * 0.12308).holds


def test_what_a_machine_shows_beyond_its_sources_is_other():
    """A measured sd of 0.2 g leaves sqrt(0.2^2 - within^2) for a row of its own."""
    found = dose_budget(sources(), measured_sd=2e-4)
    within = sum(r.contribution**2 for r in dose_budget(sources()).rows if r.name != "density")

    other = next(row for row in found.rows if row.name == "other")
    assert other.contribution == pytest.approx(math.sqrt(4e-8 - within))


def test_a_gap_leaks_with_its_cube_and_a_power_law_meets_the_newtonian():
    """30 um against 10 um is 27 times; n = 1 is pi D h^3 dp/(12 mu L)."""
    thin, wide = (
        float(annular_leak(0.05, gap=gap, land=0.008, pressure=2e5, consistency=1e-3))
        for gap in (10e-6, 30e-6)
    )

    assert thin == pytest.approx(math.pi * 0.05 * 1e-15 * 2e5 / (12 * 1e-3 * 0.008))
    assert wide == pytest.approx(27.0 * thin)


def test_warmth_and_trapped_air_by_hand():
    """10 K on 0.25 kg of oil: -0.25 x (7e-4 - 4.8e-5) x 10 = -1.63 g; 1 mL at 4 bar: 0.747 mL."""
    change = thermal_change(0.25, expansion=7e-4, cylinder_expansion=1.6e-5, change=10.0)
    kept = withheld_by_air(1e-6, end=4e5, after=101_325.0)

    assert float(change) == pytest.approx(-1.63e-3)
    assert float(kept) == pytest.approx(1e-6 * (1.0 - 101_325.0 / 4e5))
    with pytest.raises(OutsideModel, match="after is 500000 Pa, above end"):
        withheld_by_air(1e-6, end=4e5, after=5e5)


@pytest.mark.parametrize(
    ("mode", "cycle", "binds"),
    [
        # forward 0.2 + 1 + 0.1 = 1.3 s, back 0.2 + 2 + 0.3 = 2.5 s, hands 3 s, two shots
        (Mode.FOOT_SWITCH, 2 * 1.3 + 2.5 + 3.0, "hands"),
        (Mode.RECHARGE_ON_PRESS, 2 * (1.3 + 2.5) + 3.0, "hands"),
        (Mode.CONTINUOUS, 2 * 1.3 + 2.5 + 3.0, "hands"),
    ],
)
def test_a_cycle_by_hand(mode, cycle, binds):
    """Sums of the times, whatever overlaps."""
    found = rate(
        fill=1.0, recharge=2.0, handling=3.0, mode=mode, dwell=0.3, valve=0.2, cutoff=0.1, shots=2
    )

    assert found.cycle == pytest.approx(cycle)
    assert found.binds == binds
    assert found.pause == (pytest.approx(0.5) if mode is Mode.CONTINUOUS else None)


def test_shots_and_hopper_by_hand():
    """1.2 L on 0.5 L: three of 0.4 L; 9 L at 0.25 L and 12 a minute last three minutes."""
    found = shots_for(1.2e-3, cylinder=5e-4, random_spread=0.003, systematic_spread=0.001)

    assert (found.count, found.shot) == (3, pytest.approx(4e-4))
    assert found.relative_spread == pytest.approx(math.hypot(0.003 / math.sqrt(3), 0.001))
    assert shots_for(4e-5, cylinder=5e-4).count is None
    assert shots_for(1e-3, cylinder=5e-4).count == 2
    assert hopper_time(9e-3, dose=2.5e-4, per_second=0.2) == pytest.approx(180.0)
    with pytest.raises(BadInput, match="strokes of this cylinder; check the units"):
        shots_for(10.0, cylinder=1e-6)


@pytest.mark.parametrize("truth", [12_000.0, 20_000.0, 35_000.0])
def test_the_recharge_knee_finds_the_release_pressure(truth):
    """Five shots at each of four recharge times, 0.1 % scatter: within its own interval."""
    curve, needles = FlowCurve(consistency=5.0), np.array([1.5, 2.5, 3.5, 4.5]) * 1e-9
    table, rng = path_table(filler.SUCTION, curve, 1400.0), np.random.default_rng(7)
    drawn = recharge_times(
        filler.drive(needles),
        piston_area=filler.AREA,
        stroke=filler.STROKE,
        table=table,
        head=3432.0,
        cavity_pressure=truth,
    )
    shots = [
        KneeShot(time=float(t), doses=0.35 * float(f) * (1.0 + 1e-3 * rng.standard_normal(5)))
        for t, f in zip(drawn.time, drawn.fill_fraction, strict=True)
    ]

    found = recharge_knee(
        shots,
        drive=filler.drive(),
        piston_area=filler.AREA,
        stroke=filler.STROKE,
        table=table,
        head_pressure=3432.0,
    )

    assert found.low <= truth <= found.high
    assert found.release_pressure == pytest.approx(truth, abs=1500.0)
    assert not found.is_bound
    # Volume over the watch time at the fastest knee is far from the true flow.
    assert found.flow_max > 1.1 * 250e-6 / float(drawn.time[1])
