"""What a reading is worth: buoyancy, conformance, rounding, the choice of scale."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fillwright.errors import BadInput, OutsideModel
from fillwright.science.scale_check import ScaleVerdict, reading_uncertainty, scale_check
from fillwright.science.weighing import (
    acceptance_limit,
    air_density,
    conformance_probability,
    mass_from_reading,
    rounded_sd,
    rounding_bias,
)


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("temperature", {"temperature": 400.0}),
        ("pressure", {"pressure": 1013.25}),
        ("humidity", {"humidity": 50.0}),
    ],
)
def test_air_outside_the_equation_is_refused(field, change):
    """Hot air, a pressure in hPa or a humidity in percent is refused by name."""
    asked = {"temperature": 293.15, "pressure": 101325.0, "humidity": 0.5} | change
    temperature = asked.pop("temperature")

    with pytest.raises(OutsideModel, match=f"{field} is .* air equation"):
        air_density(temperature, **asked)


def test_a_row_of_readings_is_corrected_at_once():
    """Arrays come back as arrays, scalars as one number."""
    row = mass_from_reading(np.array([0.1, 0.2]), liquid_density=1000.0, air_density=1.2)
    one = mass_from_reading(0.1, liquid_density=1000.0, air_density=1.2)

    assert isinstance(one, float)
    assert row.tolist() == [one, 2 * one]


def test_air_heavier_than_the_liquid_is_refused():
    """Buoyancy with the densities mixed up is refused."""
    with pytest.raises(OutsideModel, match="lighter than liquid"):
        mass_from_reading(0.1, liquid_density=1.2, air_density=1000.0)


def test_a_reading_at_the_edge_conforms_with_one_half():
    """At the limit the chance is one half, by symmetry, and in the middle erf(t/(u√2))."""
    edge = conformance_probability(0.005, tolerance=0.005, standard_uncertainty=0.0005)
    middle = conformance_probability([0.0, 0.0], tolerance=0.001, standard_uncertainty=0.0005)

    assert edge == pytest.approx(0.5, abs=1e-12)
    assert middle == pytest.approx([math.erf(math.sqrt(2.0))] * 2)


def test_the_guard_band_is_the_normal_quantile():
    """With a wide band the guard band is 1.6449 u at 95 % (normal tables)."""
    found = acceptance_limit(0.010, standard_uncertainty=0.001, probability=0.95)

    assert found.guard_band == pytest.approx(1.644854e-3, rel=1e-5)


def test_no_limit_where_the_scale_is_too_coarse():
    """An uncertainty as wide as the band reaches 68 % at best, so 95 % has no limit."""
    found = acceptance_limit(0.001, standard_uncertainty=0.001, probability=0.95)

    assert found.limit is None
    assert found.guard_band is None
    assert "too large" in found.because


def test_four_readings_to_two_grams():
    """Cells 498, 500, 500, 502 of 2 g: a grid over mean and sd has its best sd at 1.28 g."""
    # By hand: the likelihood on a fine grid, in grams, cells of ±1 g.
    sds = np.arange(0.8, 2.0, 0.002)
    erf = np.vectorize(math.erf)

    def cell(centre):
        return 0.5 * (
            erf((centre + 1) / sds / math.sqrt(2)) - erf((centre - 1) / sds / math.sqrt(2))
        )

    best = sds[np.argmax(cell(-2.0) * cell(2.0) * cell(0.0) ** 2)]

    found = rounded_sd([0.498, 0.502, 0.500, 0.500], readability=0.002)

    assert found.sd == pytest.approx(1e-3 * best, abs=2e-6)
    assert found.sd_raw == pytest.approx(1e-3 * math.sqrt(8 / 3))
    assert found.sd_sheppard == pytest.approx(1e-3 * math.sqrt(8 / 3 - 4 / 12))
    assert found.sd_upper > found.sd_raw


def test_equal_readings_give_a_bound_only():
    """Ten in one cell: [2Φ(d/2σ) - 1]¹⁰ = 0.05 at the bound, and no figure."""
    found = rounded_sd([0.5] * 10, readability=0.001)

    inside = math.erf(0.001 / (2 * found.sd_upper) / math.sqrt(2))
    assert found.sd is None
    assert inside**10 == pytest.approx(0.05, rel=1e-9)
    assert found.neg_log_likelihood == 0.0


def test_two_cells_give_a_bound_only():
    """Two neighbouring cells are most likely without any spread: ln 2 a reading, no figure."""
    found = rounded_sd([0.500, 0.501] * 5, readability=0.001)

    assert found.sd is None
    assert found.neg_log_likelihood == pytest.approx(10 * math.log(2.0))
    assert found.sd_upper > 0.0005


def test_a_fine_scale_gives_the_plain_sd():
    """Without rounding: divisor n for the likelihood, n - 1 for the sample sd."""
    row = np.array([0.2500, 0.2506, 0.2497, 0.2503])
    found = rounded_sd(row, readability=0.0)
    fine = rounded_sd(row, readability=1e-7)

    assert found.sd == pytest.approx(np.std(row))
    assert found.sd_sheppard == pytest.approx(np.std(row, ddof=1))
    assert fine.sd == pytest.approx(found.sd, rel=1e-5)
    assert fine.sd_upper == pytest.approx(found.sd_upper, rel=1e-4)


def test_equal_readings_of_a_perfect_scale_have_no_spread():
    """Nothing is rounded and nothing differs: zero, and no likelihood to print."""
    found = rounded_sd([0.25, 0.25], readability=0.0)

    assert (found.sd, found.sd_upper, found.neg_log_likelihood) == (0.0, 0.0, None)


def test_one_reading_has_no_spread():
    """A single reading is refused."""
    with pytest.raises(BadInput, match="readings holds 1; give at least 2"):
        rounded_sd([0.25], readability=0.001)


@pytest.mark.parametrize("sd", [0.0, 0.1, 0.25, 0.5])
def test_left_over_rounding_equals_direct_summation(sd):
    """The series equals the rms over the place in a cell of the mean rounding error."""
    places = (np.arange(400) + 0.5) / 400 - 0.5
    draws = np.array([0.0]) if sd == 0 else sd * np.sqrt(2) * _erfinv_grid()
    values = places[:, None] + draws[None, :]
    bias = np.mean(np.round(values) - values, axis=1)

    assert rounding_bias(1.0, sd=sd) == pytest.approx(np.sqrt(np.mean(bias**2)), abs=2e-4)


def _erfinv_grid() -> np.ndarray:
    """Inverse error function on an even grid of chances: a fixed normal sample."""
    from scipy.special import erfinv  # noqa: PLC0415  one test needs it

    return erfinv((np.arange(20001) + 0.5) / 20001 * 2 - 1)


def test_rounding_bias_takes_arrays():
    """A row of steps against a row of sds, element by element."""
    row = rounding_bias(np.array([1.0, 2.0]), sd=np.array([0.25, 0.5]))

    assert row[1] == pytest.approx(2 * row[0])


def test_repeats_do_not_divide_rounding_where_scatter_is_small():
    """A perfect load on a 1 g scale keeps d/√12 however often it is read."""
    found = reading_uncertainty(readability=0.001, repeatability_sd=0.0, repeats=100)

    assert found.total == pytest.approx(0.001 / math.sqrt(12), rel=1e-4)


def test_a_mean_tare_is_shared_by_all_readings():
    """σ_T²/n_T stays, σ_T²/m averages: 3-4-5 by hand."""
    found = reading_uncertainty(
        readability=0.0, repeatability_sd=0.0, tare_sd=0.0004, tare_readings=4, repeats=16
    )

    assert found.shared == pytest.approx(0.0002)
    assert found.averaging == pytest.approx(0.0001)
    assert found.tare_share == 1.0


@pytest.mark.parametrize(
    ("asked", "verdict"),
    [
        ({"readability": 0.0001, "repeatability_sd": 0.0001}, ScaleVerdict.GOOD_ENOUGH),
        ({"readability": 0.0001, "repeatability_sd": 0.0015}, ScaleVerdict.REPEATS),
        (
            {"readability": 0.005, "repeatability_sd": 0.0001, "dose_sd": 0.0005},
            ScaleVerdict.RUNNING_TOTAL,
        ),
        ({"readability": 0.0001, "repeatability_sd": 0.1}, ScaleVerdict.NO),
        (
            {"readability": 0.0001, "repeatability_sd": 0.0001, "tare_sd": 0.003},
            ScaleVerdict.NO,
        ),
    ],
)
def test_each_verdict_of_the_scale_check(asked, verdict):
    """Fine, noisy, coarse, hopeless, and a mean tare that differs too much; band ±5 g."""
    found = scale_check(0.005, **asked)

    assert found.verdict == verdict
    assert found.allowed == pytest.approx(0.005 / 8)
    if verdict is not ScaleVerdict.NO:
        assert found.u_mean <= found.allowed


def test_repeats_are_the_fewest_that_will_do():
    """One fewer would not do: 1.5 g of noise over √6 is 0.61 g, over √5 it is 0.67 g."""
    found = scale_check(0.005, readability=0.0, repeatability_sd=0.0015)

    assert found.repeats == 6
