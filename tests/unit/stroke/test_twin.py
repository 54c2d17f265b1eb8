"""The simulated machine shows what a fault does to the doses of its own product."""

from __future__ import annotations

import filler
import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.twin import Twin, run
from fillwright.science.twin_faults import Fault, FaultKind, effect_of, findable

DOSE = {"water": 998.0 * 250e-6, "syrup": 1400.0 * 250e-6}


@pytest.fixture(scope="module")
def benches():
    """Water and a syrup of 5 Pa s on the invented filler."""
    return {
        "water": filler.bench(FlowCurve(consistency=1e-3), 998.0, recharge=4e-9),
        "syrup": filler.bench(FlowCurve(consistency=5.0), 1400.0, thinning=8000.0),
    }


def doses(benches, name, *faults, cycles=200, seed=3):
    """Doses less the sound one, as shares of it, and the label."""
    trace = run(
        [benches[name]], cycles=cycles, rngs=[np.random.default_rng(seed)], faults=[faults]
    )
    return trace.doses[0] / DOSE[name] - 1.0, trace.labels[0]


@pytest.mark.parametrize("name", ["water", "syrup"])
def test_a_sound_machine_scatters_as_said(benches, name):
    """0.08 % about its own dose, without trend."""
    found, label = doses(benches, name)

    # 0.0008 / sqrt(2 x 200) = 0.00004 and 0.0008 / sqrt(200) = 0.00006; four of each.
    assert label == "sound"
    assert found.std() == pytest.approx(8e-4, abs=1.6e-4)
    assert abs(found.mean()) < 2.4e-4


def test_a_worn_ring_shows_in_water_and_not_in_syrup(benches):
    """The same ring: a steepening decline in water, nothing in a thick product."""
    ring = Fault(kind=FaultKind.RING_WORN, severity=0.8)

    thin, thin_label = doses(benches, "water", ring)
    thick, thick_label = doses(benches, "syrup", ring)

    assert thin_label == "ring-worn"
    assert thick_label == "ring-worn: present, no effect"
    early, middle, late = thin[:20].mean(), thin[90:110].mean(), thin[-20:].mean()
    assert 0 > early > middle > late
    assert middle - late > early - middle
    assert abs(thick.mean()) < 1.5e-3


def test_a_recharge_too_fast_is_measured_from_the_edge(benches):
    """Severity 0.5 leaves 15 % empty in syrup, and cannot be had with water."""
    fast = Fault(kind=FaultKind.RECHARGE_TOO_FAST, severity=0.5)

    thick, _ = doses(benches, "syrup", fast, cycles=30)
    _, label = doses(benches, "water", fast, cycles=30)

    assert thick.mean() == pytest.approx(-0.15, abs=0.02)
    assert label == "recharge-too-fast: present, no effect"


def test_a_piston_jumps_before_it_pushes(benches):
    """With a void the stroke begins with a jump; a sound one has none."""
    fast = Fault(kind=FaultKind.RECHARGE_TOO_FAST, severity=0.5)

    hollow = Twin(benches["syrup"], np.random.default_rng(1), [fast]).cycle()
    sound = Twin(benches["syrup"], np.random.default_rng(1)).cycle()

    assert hollow.jumps
    assert hollow.void > 3e-5
    assert not sound.jumps
    assert hollow.fill_time < sound.fill_time


def test_low_pressure_slows_the_stroke_and_leaves_the_dose(benches):
    """Below stall nothing comes; above it the dose is the same."""
    low = Fault(kind=FaultKind.LOW_PRESSURE, severity=0.6)
    gone = Fault(kind=FaultKind.LOW_PRESSURE, severity=1.0)

    found, label = doses(benches, "syrup", low, cycles=20)
    slow = Twin(benches["syrup"], np.random.default_rng(1), [low]).cycle()

    assert label == "low-pressure: present, no effect"
    assert abs(found.mean()) < 1e-3
    assert slow.fill_time > 1.5 * benches["syrup"].sound["fill_time"]
    assert doses(benches, "syrup", gone, cycles=3)[0].max() < -0.99


@pytest.mark.parametrize(
    ("kind", "sign"),
    [
        (FaultKind.VALVE_LEAK, lambda x: -x.mean()),
        (FaultKind.SCALE_MOVED, lambda x: -x.mean()),
        (FaultKind.SUCTION_AIR, lambda x: x.std()),
        (FaultKind.START_AIR, lambda x: -x[0]),
        (FaultKind.WHEEL_CREEP, lambda x: x[:20].mean() - x[-20:].mean()),
        (FaultKind.STICKY_VALVE, lambda x: -x.min()),
        (FaultKind.BACK_FLOW, lambda x: -x[::12].mean()),
        (FaultKind.TIGHT_SEAL, lambda x: x.std()),
        (FaultKind.HOPPER_LOW, lambda x: -x.mean()),
        (FaultKind.TEMPERATURE_DRIFT, lambda x: abs(x[-20:].mean())),
    ],
)
def test_each_fault_leaves_its_sign(benches, kind, sign):
    """At severity 0.9 each sign stands well out of that of the sound machine."""
    sound, _ = doses(benches, "water")

    bad, _ = doses(benches, "water", Fault(kind=kind, severity=0.9))

    assert sign(bad) > sign(sound) + 1e-3


def test_a_drip_alternates_where_the_dose_is_small(benches):
    """A hanging drop is taken from one dose and given to the next: lag-1 below zero."""
    small = filler.bench(FlowCurve(consistency=1e-3), 998.0, drop_mass=5e-3)
    drip = Fault(kind=FaultKind.DRIP, severity=1.0)

    trace = run([small], cycles=200, rngs=[np.random.default_rng(2)], faults=[[drip]])
    off = trace.doses[0] - trace.doses[0].mean()

    assert float(off[1:] @ off[:-1]) / float(off @ off) < -0.3
    assert doses(benches, "water", drip)[1] == "drip: present, no effect"


def test_severity_0_3_is_just_findable(benches):
    """The leak's effect is 3.5 standard errors of ten doses against ten."""
    bench = benches["water"]
    effect = effect_of(bench, Fault(kind=FaultKind.VALVE_LEAK, severity=0.3))

    assert effect.share == pytest.approx(3.5 * bench.reading_noise * np.sqrt(0.2))
    assert effect.share == pytest.approx(findable(FaultKind.VALVE_LEAK, bench.reading_noise))


def test_a_fault_changes_nothing_else_and_a_run_can_be_had_again(benches):
    """The same seed gives the same doses; a leak only scales them."""
    sound, _ = doses(benches, "water", cycles=30)
    again, _ = doses(benches, "water", cycles=30)
    leaks, _ = doses(benches, "water", Fault(kind=FaultKind.SCALE_MOVED, severity=0.7), cycles=30)

    assert sound.tolist() == again.tolist()
    ratio = (1.0 + leaks) / (1.0 + sound)
    assert ratio == pytest.approx(np.full(30, ratio[0]), rel=1e-9)


def test_machines_run_side_by_side_as_alone(benches):
    """Lock step changes no machine."""
    pair = run(
        [benches["water"], benches["syrup"]],
        cycles=20,
        rngs=[np.random.default_rng(5), np.random.default_rng(6)],
    )
    alone = run([benches["syrup"]], cycles=20, rngs=[np.random.default_rng(6)])

    assert pair.doses[1] == pytest.approx(alone.doses[0], rel=1e-9)


def test_what_cannot_be_is_refused(benches):
    """Severity beyond 1, a kind twice, and lists of different length are told."""
    fault = Fault(kind=FaultKind.DRIP, severity=0.1)
    with pytest.raises(BadInput, match=r"severity is 1\.5; give 0 for nothing to 1"):
        Fault(kind=FaultKind.DRIP, severity=1.5)
    with pytest.raises(BadInput, match="names a kind twice"):
        Twin(benches["water"], np.random.default_rng(1), [fault, fault])
    with pytest.raises(BadInput, match="there are 1 machines, 0 generators"):
        run([benches["water"]], cycles=3, rngs=[])
