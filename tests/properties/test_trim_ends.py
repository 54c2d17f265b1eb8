"""Property: whatever the machine does, a trim comes to something else than one more weight.

The machines are invented: gain, offset, play, wheel, scatter and creep are drawn, and the wheel
may have been come to from above before the first shot, which nobody tells the trim.
"""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from workshop import Workshop, job

from fillwright.jobs.trim import stage as trim
from fillwright.jobs.trim.unsettled import BEGUN_ANEW, MOST_SHOTS
from fillwright.records.entries import FactsChanged, SettingMoved

ENDS = ("next", "take-as-is", "fault")
# Setting and net weight of a trim whose wheel was come to from above: up to 50.4 marks the turns
# only take up the play of half a mark, and the doses stay.
STUCK = (
    ("49.9", "293.0"), ("50.1", "292.5"), ("50.15", "292.8"), ("50.15", "292.6"),
    ("50.35", "291.6"), ("50.4", "291.9"), ("50.35", "292.0"), ("50.45", "293.1"),
    ("50.5", "292.5"), ("50.55", "293.3"), ("50.6", "293.2"), ("50.65", "293.9"),
    ("50.7", "294.0"), ("50.75", "294.8"), ("50.8", "295.4"),
)  # fmt: skip
CORDIAL = {
    "product": {"density_g_per_ml": Decimal("1.182")},
    "container": {"brim_ml": Decimal(268)},
    "nominal": Decimal(250),
    "unit": "mL",
    "aim_g": Decimal("296.2"),
}


class Filler:
    """A machine that is turned and fills, with a wheel that has play."""

    def __init__(self, rng, *, gain, offset_g, sd_g, wheel_g, play, creep_g, is_above):
        self.rng, self.sd_g, self.wheel_g, self.play = rng, sd_g, wheel_g, play
        self.gain, self.offset_g, self.creep_g = gain, offset_g, creep_g
        self.stop, self.is_above = -math.inf, is_above
        self.error_g, self.crept_g = 0.0, 0.0

    def turn(self, marks, via):
        """Turn the wheel; from above its stop stays behind by the play."""
        low = marks if via is None else via
        self.stop = max(min(self.stop, low + self.play), marks)
        if self.is_above:
            self.stop, self.is_above = marks + self.play, False
        self.error_g = self.wheel_g * self.rng.standard_normal()

    def dose_g(self):
        """Fill one."""
        self.crept_g += self.creep_g
        mean_g = self.offset_g + self.gain * self.stop + self.error_g + self.crept_g
        return max(mean_g + self.sd_g * self.rng.standard_normal(), 1.0)


def follow(shop, filler):
    """Do what the page orders until it orders an end; return that act and the shots it took."""
    shots = 0
    while True:
        seen = trim.look(shop.desk, shop.state)
        if seen.act.what in ENDS:
            return seen.act, shots
        if seen.act.what == "moved":
            marks = Decimal(seen.act.value)
            filler.turn(float(marks), None if seen.via_marks is None else float(seen.via_marks))
            trim.moved(shop.desk, shop.number, marks, shop.press, is_locked=True)
        else:
            shots += 1
            assert shots <= 2 * MOST_SHOTS
            shop.weigh(f"{filler.dose_g():.1f}", purpose="shot")


@settings(max_examples=12)
@given(
    seed=st.integers(0, 2**32 - 1),
    gain=st.floats(0.96, 1.04),
    offset_g=st.floats(-6, 6),
    sd_pct=st.sampled_from([0.1, 0.2, 0.4, 1.0, 3.0]),
    wheel_g=st.sampled_from([0.0, 0.3, 1.5]),
    play=st.sampled_from([0.0, 0.5, 1.5]),
    creep_g=st.sampled_from([0.0, 0.0, 0.3, -0.3]),
    is_above=st.booleans(),
)
@example(
    seed=1, gain=1.0, offset_g=0.0, sd_pct=0.2, wheel_g=0.3, play=1.5, creep_g=0.0, is_above=True
)
def test_a_trim_ends(seed, gain, offset_g, sd_pct, wheel_g, play, creep_g, is_above):
    """Trimmed, taken as it is or sent to the fault, after thirty shots at the most."""
    shop = Workshop(job()).to_trim()
    filler = Filler(
        np.random.default_rng(seed), gain=5.05 * gain, offset_g=offset_g,
        sd_g=2.52 * sd_pct, wheel_g=wheel_g, play=play, creep_g=creep_g, is_above=is_above,
    )  # fmt: skip
    filler.turn(float(shop.state.setting_marks), None)

    act, shots = follow(shop, filler)

    assert act.what in ENDS
    assert shots >= 1


@pytest.mark.parametrize("seed", range(4))
def test_a_trim_that_began_from_above_comes_right(seed):
    """After the fifteen shots that do not fit, it goes down, comes up, and is trimmed in a few."""
    shop = Workshop(job(**CORDIAL)).to_trim()
    for marks, net in STUCK:
        if Decimal(marks) != shop.state.setting_marks:
            move = SettingMoved(stage="trim", from_marks=None, to_marks=Decimal(marks))
            shop.tell(move)
        assert shop.state.trim is None
        shop.weigh(net, purpose="shot")
    # 5.925 g a mark; 294.6 g with the wheel at 50.8 for 296.2 g.
    filler = Filler(
        np.random.default_rng(seed), gain=5.925, offset_g=294.6 - 5.925 * 50.8,
        sd_g=0.6, wheel_g=0.27, play=0.5, creep_g=0.0, is_above=False,
    )  # fmt: skip
    filler.turn(50.8, None)
    assert trim.look(shop.desk, shop.state).act.what == "moved"

    act, shots = follow(shop, filler)

    changed = [e.payload for e in shop.entries() if isinstance(e.payload, FactsChanged)]
    assert [fact.reason for fact in changed] == [BEGUN_ANEW]
    assert act.what == "next"
    assert shots <= MOST_SHOTS
    assert abs(filler.offset_g + filler.gain * filler.stop + filler.error_g - 296.2) < 1.5
