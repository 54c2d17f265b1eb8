"""Costs, quote, kept proof and tare asked as questions: sums by hand, and bad input."""

from __future__ import annotations

import math

import pytest

from fillwright.errors import BadInput
from fillwright.questions import answer, find


def test_a_lot_costs_its_amounts_times_their_prices():
    """By hand: 120 jars of 250 g at 8 a kilogram, 0.35 a jar, 2 g above, 0.5 kg trim, 45 min."""
    found = answer("lot-cost", find("lot-cost").example)

    sold = 120 * (0.25 * 8 + 0.35)
    on_top = 120 * 0.002 * 8 + 0.5 * 8 + 45 / 60 * 36
    assert found["sold"] == pytest.approx(sold)
    assert found["on_top"] == pytest.approx(on_top)
    assert found["each"] == pytest.approx((sold + on_top) / 120)
    assert found["missing_prices"] == ["cleaner", "air"]
    assert "purge" in found["missing_amounts"]
    assert [part["part"] for part in found["parts"]][2] == "work"


def test_a_quote_is_a_prediction_interval_on_the_logarithm():
    """By hand for two jobs: middle √(T1 T2), half width t(0.9; 1) s √1.5 with t = 3.07768."""
    given = {"fixed": [60, 80], "each": [0.1, 0.1], "sold_each": 0.5, "lot_sizes": [100]}
    found = answer("quote", given)

    first, second = 120.0, 140.0
    spread = abs(math.log(second / first)) / math.sqrt(2)
    half = 3.0776835 * spread * math.sqrt(1.5)
    assert found["middle"] == [pytest.approx(math.sqrt(first * second))]
    assert found["low"] == [pytest.approx(math.exp(math.log(math.sqrt(first * second)) - half))]
    assert found["high_each"] == [pytest.approx(found["high"][0] / 100)]
    alone = answer("quote", {**given, "fixed": [60], "each": [0.1]})
    assert (alone["low"], alone["rests_on"]) == (None, 1)


def test_scatter_is_worth_what_the_aim_comes_down():
    """40 000 times half a gram at 8 a kilogram; nothing where the aim would rise."""
    example = find("scatter-worth").example

    assert answer("scatter-worth", example)["saved"] == pytest.approx(160)
    assert answer("scatter-worth", {**example, "target_with_less_g": 253})["saved"] == 0


def test_a_kept_proof_gives_its_limits_before_the_doses():
    """Without doses the limits alone; a middle far off disagrees; another number is refused."""
    example = find("kept-proof").example
    limits = answer("kept-proof", {k: v for k, v in example.items() if k != "readings_g"})
    judged = answer("kept-proof", example)

    assert limits["verdict"] is None
    assert (limits["mean_low_g"], limits["most_sd_g"]) == (
        judged["mean_low_g"],
        judged["most_sd_g"],
    )
    assert judged["verdict"] == "agrees"
    off = answer("kept-proof", {**example, "readings_g": [253.0, 253.1, 252.9, 253.0, 253.2]})
    assert off["verdict"] == "disagrees"
    with pytest.raises(BadInput, match="5 were planned"):
        answer("kept-proof", {**example, "readings_g": [252.0, 252.1, 252.2]})


@pytest.mark.parametrize(
    ("empties", "verdict", "needed"),
    [
        # T = 9 g: scatter to 2.25 g, average to 0.18 g.
        ([26.3, 26.5, 26.2, 26.6, 26.4], "enough", 2),
        ([26.0, 27.0, 25.5, 26.5, 27.5], "more-empties", 20),  # s = 0.79: (0.79/0.18)² = 19.3
        ([22.0, 30.0, 26.0, 24.0, 28.0], "weigh-each", 309),  # s = 3.16: (3.16/0.18)² = 308.6
    ],
)
def test_five_empties_are_held_against_the_shortage(empties, verdict, needed):
    """Half width by hand: t(0.975; 4) = 2.7764 times s/√5."""
    found = answer("tare", {"empties_g": empties, "shortage_g": 9})
    mean = sum(empties) / 5
    sd = math.sqrt(sum((one - mean) ** 2 for one in empties) / 4)

    assert (found["verdict"], found["empties_needed"]) == (verdict, needed)
    assert found["half_width_g"] == pytest.approx(2.776445 * sd / math.sqrt(5))
    assert found["mean_g"] == pytest.approx(mean)


def test_the_band_counts_where_it_is_narrower():
    """Half band 1 g: scatter to 0.25 g, average to 0.1 g; a coarse step counts as spread."""
    found = answer("tare", {"empties_g": [26.0, 26.6], "shortage_g": 9, "half_band_g": 1})
    coarse = answer("tare", {"empties_g": [26, 26, 26], "half_band_g": 1, "readability_g": 1})

    assert (found["verdict"], found["scatter_limit_g"]) == ("weigh-each", 0.25)
    assert coarse["u_mean_g"] == pytest.approx(1 / math.sqrt(12) / math.sqrt(3))
    with pytest.raises(BadInput, match="nothing limits"):
        answer("tare", {"empties_g": [26, 27]})
