"""Tare and scale against the tolerable shortage."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.errors import BadInput
from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import ScaleVerdict, TareVerdict, scale_fit, tare_check

D = Decimal


@pytest.mark.parametrize(
    ("sd", "empties", "verdict", "needed"),
    [
        # T = 10 g: scatter limit 2.5 g, mean limit 0.2 g; m >= (sd/0.2)²
        ("0.6", 10, TareVerdict.ENOUGH, 10),  # (3)² = 9, at least ten
        ("0.6", 9, TareVerdict.MORE_EMPTIES, 10),
        ("1.0", 25, TareVerdict.ENOUGH, 25),
        ("1.0", 24, TareVerdict.MORE_EMPTIES, 25),
        ("1.01", 25, TareVerdict.MORE_EMPTIES, 26),  # 25.5
        ("2.5", 157, TareVerdict.ENOUGH, 157),  # 156.25
        ("2.51", 500, TareVerdict.WEIGH_EACH, 158),
        ("0", 10, TareVerdict.ENOUGH, 10),
    ],
)
def test_how_many_empties(sd, empties, verdict, needed):
    """Scatter above a quarter of T: weigh each; else enough empties for a fiftieth."""
    answer = tare_check(shortage_g=D(10), tare_sd_g=D(sd), empties=empties)

    assert (answer.verdict, answer.empties_needed) == (verdict, needed)
    assert answer.u_tare_g == pytest.approx(float(sd) / empties**0.5)
    assert (float(answer.u_tare_limit_g), float(answer.scatter_limit_g)) == (0.2, 2.5)


def test_the_two_limits_are_reported_apart():
    """Scatter and mean may fail each for itself."""
    answer = tare_check(shortage_g=D(10), tare_sd_g=D(3), empties=400)

    assert (answer.scatter_ok, answer.mean_ok) == (False, True)
    assert "more than a quarter of 10 g" in answer.because


@pytest.mark.parametrize(
    ("more", "match"),
    [
        ({"shortage_g": D(0)}, "shortage_g: 0 is not above zero"),
        ({"tare_sd_g": D(-1)}, "tare_sd_g: -1 is below zero"),
        ({"empties": 0}, "empties: 0 is too small"),
    ],
)
def test_bad_tares_are_refused(more, match):
    """A tare check needs a shortage, a deviation and empties."""
    given = {"shortage_g": D(10), "tare_sd_g": D(1), "empties": 10, **more}
    with pytest.raises(BadInput, match=match):
        tare_check(**given)


def test_one_fifth_of_the_shortage():
    """T = 15: U = 2 d/√6 <= 3 gives d <= 3.674; of the usual divisions 2 g."""
    answer = scale_fit(rule_set("EU-76/211"), shortage_g=D(15), division_g=D(2))

    assert answer.verdict is ScaleVerdict.ENOUGH
    assert answer.largest_division_g == pytest.approx(3.6742, abs=5e-5)
    assert answer.largest_usual_division_g == D(2)
    assert answer.expanded_uncertainty_g == pytest.approx(2 * 2 / 6**0.5)
    assert answer.allowed_g == 3


def test_a_coarse_scale_is_told_what_would_do():
    """A 5 g scale for T = 15 g."""
    answer = scale_fit(rule_set("UK-2006/659"), shortage_g=D(15), division_g=D(5))

    assert answer.verdict is ScaleVerdict.TOO_COARSE
    assert answer.because == "A division of 5 g is too coarse; 2 g would do."


def test_other_uncertainties_leave_less_for_the_division():
    """T = 15: U/2 = 1.5; 0.8, 0.9 and 500 x 0.0016 = 0.8 leave 1.5² - 2.09 = 0.16: d² = 0.96."""
    answer = scale_fit(
        rule_set("OIML-R87-2016"),
        shortage_g=D(15),
        scale_uncertainty_g=D("0.8"),
        tare_uncertainty_g=D("0.9"),
        nominal_g=D(500),
        density_uncertainty=D("0.0016"),
    )

    assert answer.largest_division_g == pytest.approx(0.96**0.5)
    assert answer.largest_usual_division_g == D("0.5")
    assert answer.expanded_uncertainty_g is None


def test_a_budget_that_is_spent_leaves_no_division():
    """Tare alone at T/10 uses all of the one fifth."""
    answer = scale_fit(
        rule_set("EU-76/211"), shortage_g=D(15), tare_uncertainty_g=D("1.5"), division_g=D(1)
    )

    assert answer.verdict is ScaleVerdict.NO_DIVISION
    assert (answer.largest_division_g, answer.largest_usual_division_g) == (None, None)


@pytest.mark.parametrize(
    ("division", "verdict"), [("1.2", ScaleVerdict.ENOUGH), ("1.3", ScaleVerdict.TOO_COARSE)]
)
def test_the_us_sixth(division, verdict):
    """7.2 g: at most 1.2 g a division, so a 1 g scale (NIST Handbook 133, chapter 2, example)."""
    answer = scale_fit(rule_set("US-HB133-A"), shortage_g=D("7.2"), division_g=D(division))

    assert answer.verdict is verdict
    assert answer.largest_usual_division_g == D(1)
    assert "at least 100 divisions" in answer.rule


def test_the_us_hundred_divisions():
    """A capacity of 50 g allows 0.5 g whatever the variation."""
    answer = scale_fit(
        rule_set("US-HB133-A"), shortage_g=D("7.2"), division_g=D(1), capacity_g=D(50)
    )

    assert answer.verdict is ScaleVerdict.TOO_COARSE
    assert answer.largest_usual_division_g == D("0.5")
