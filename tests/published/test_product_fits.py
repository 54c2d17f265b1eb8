"""Viscosity, flow curve and volume of water from measurements, against other routes.

Water's viscosity and density come from the ``chemicals`` library (IAPWS), glycerol from
Cheng's formula; the factors of ISO 8655-6 are from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from chemicals.iapws import iapws95_rho
from chemicals.viscosity import mu_IAPWS
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from fillwright.errors import BadInput, OutsideModel
from fillwright.questions import answer
from fillwright.science.flow_fit import fit_flow_curve
from fillwright.science.product import glycerol_water
from fillwright.science.viscosity_fit import ViscosityModel, fit_viscosity
from fillwright.science.weighed_volume import density_by_weighing, z_factor

RATES = np.geomspace(0.5, 500.0, 9)


def water_at(celsius: float) -> float:
    """Viscosity of water by the library."""
    kelvin = celsius + 273.15
    return mu_IAPWS(kelvin, iapws95_rho(kelvin, 101_325.0))


def test_two_points_of_water_are_andrade():
    """Between 20 and 30 °C Andrade's curve is within half a per cent of water."""
    found = fit_viscosity([20.0, 30.0], [water_at(20.0), water_at(30.0)])

    assert found.model is ViscosityModel.ANDRADE
    assert float(found.at(25.0)) == pytest.approx(water_at(25.0), rel=5e-3)


def test_three_points_of_water_are_vogel():
    """Vogel's curve through 5, 25 and 60 °C is within a third of a per cent in between."""
    found = fit_viscosity([5.0, 25.0, 60.0], [water_at(t) for t in (5.0, 25.0, 60.0)])

    assert found.model is ViscosityModel.VOGEL
    for celsius in (10.0, 20.0, 35.0, 50.0):
        assert float(found.at(celsius)) == pytest.approx(water_at(celsius), rel=3.5e-3)


def test_many_points_of_glycerol_are_vogel():
    """Least squares over five temperatures keeps within 3 % of 90 % glycerol in between."""
    measured = [0.0, 15.0, 30.0, 45.0, 60.0]
    found = fit_viscosity(measured, [glycerol_water(t, 0.9).viscosity for t in measured])

    assert found.model is ViscosityModel.VOGEL
    for celsius in (5.0, 20.0, 40.0, 55.0):
        expected = glycerol_water(celsius, 0.9).viscosity
        assert float(found.at(celsius)) == pytest.approx(expected, rel=0.03)


@given(
    far=st.floats(-14.0, -4.0),
    slope=st.floats(300.0, 3000.0),
    pole=st.floats(50.0, 240.0),
    count=st.integers(3, 7),
)
def test_vogel_is_recovered(far, slope, pole, count):
    """Points that lie on a Vogel curve give its constants back, exactly met or by squares."""
    celsius = np.linspace(5.0, 75.0, count)
    found = fit_viscosity(celsius, np.exp(far + slope / (celsius + 273.15 - pole)))

    assert found.pole == pytest.approx(pole, abs=1e-3)
    assert found.slope == pytest.approx(slope, rel=1e-4)
    assert found.residual < 1e-8


def test_a_general_solver_finds_the_same_vogel():
    """Noisy points: the least squares of a general curve fitter agree to six digits."""
    celsius = np.array([10.0, 20.0, 30.0, 40.0, 55.0, 70.0])
    thick = np.exp(-8.0 + 900.0 / (celsius + 273.15 - 170.0))
    thick *= np.array([1.02, 0.98, 1.01, 0.99, 1.015, 0.985])
    found = fit_viscosity(celsius, thick)

    other, _ = curve_fit(
        lambda t, a, b, t0: a + b / (t + 273.15 - t0), celsius, np.log(thick), (-8.0, 900.0, 170.0)
    )

    assert float(found.at(25.0)) == pytest.approx(
        math.exp(other[0] + other[1] / (298.15 - other[2])), rel=1e-6
    )


def test_a_pole_too_near_falls_back_to_andrade():
    """A curve that would end within 10 K of the coldest point is refused, and it is told."""
    found = fit_viscosity([20.0, 30.0, 40.0], [100.0, 2.0, 1.0])

    assert found.model is ViscosityModel.ANDRADE
    assert "Andrade" in found.told[0]


def test_what_a_fit_refuses():
    """Too few temperatures for a curve, none to warm to, and no end of the curve."""
    with pytest.raises(BadInput, match="vogel needs 3 different temperatures, 2 given"):
        fit_viscosity([20.0, 30.0, 30.0], [2.0, 1.0, 1.1], model=ViscosityModel.VOGEL)
    with pytest.raises(OutsideModel, match="nowhere on this curve"):
        fit_viscosity([20.0], [2.0]).celsius_for(1.0)
    vogel = fit_viscosity([20.0, 30.0, 40.0], [10.0, 2.5, 0.85])
    with pytest.raises(OutsideModel, match="the curve has no end"):
        vogel.at(-60.0)


def test_the_way_back_is_the_way_there():
    """The temperature for a viscosity has that viscosity."""
    found = fit_viscosity([20.0, 30.0, 40.0], [10.0, 2.5, 0.85])

    assert float(found.at(found.celsius_for(1.7))) == pytest.approx(1.7, rel=1e-12)


@pytest.mark.parametrize(
    ("model", "start", "consistency", "index"),
    [
        ("newtonian", 0.0, 5.0, 1.0),
        ("power-law", 0.0, 8.0, 0.45),
        ("bingham", 20.0, 0.4, 1.0),
        ("herschel-bulkley", 15.0, 8.0, 0.45),
    ],
)
def test_each_flow_curve_is_recovered(model, start, consistency, index):
    """Readings on a curve give its kind and its constants back."""
    found = fit_flow_curve(RATES, start + consistency * RATES**index)

    assert found.model == model
    assert [float(one) for one in found.curve.figures] == pytest.approx(
        [start, consistency, index], rel=1e-6, abs=1e-9
    )
    assert found.error < 1e-9


@given(start=st.floats(5.0, 200.0), consistency=st.floats(1.0, 60.0), index=st.floats(0.25, 0.8))
def test_herschel_bulkley_is_recovered(start, consistency, index):
    """Any yield stress that shows in the readings is found with the two other constants."""
    found = fit_flow_curve(RATES, start + consistency * RATES**index)

    assert [float(one) for one in found.curve.figures] == pytest.approx(
        [start, consistency, index], rel=1e-4
    )


def test_noise_does_not_invent_constants():
    """Newtonian readings with 3 % of noise are called Newtonian 85 times in 100 or more."""
    rng = np.random.default_rng(11)
    models = [
        fit_flow_curve(RATES, 5.0 * RATES * (1.0 + 0.03 * rng.standard_normal(9))).model
        for _ in range(100)
    ]

    assert models.count("newtonian") >= 85


def test_few_readings_take_few_constants():
    """One rate is Newtonian and says so; three never give three constants."""
    one = fit_flow_curve([10.0], [400.0])
    three = fit_flow_curve([1.0, 10.0, 100.0], [23.0, 37.5, 78.5])

    assert one.model == "newtonian"
    assert float(one.curve.figures[1]) == pytest.approx(40.0)
    assert any("no flow curve" in words for words in one.told)
    assert three.model in {"power-law", "bingham"}


def test_the_reach_of_the_readings():
    """Beyond three times the measured rates a curve is not to be trusted."""
    found = fit_flow_curve(RATES, 5.0 * RATES)

    assert found.is_beyond([0.1, 1.0, 1400.0, 1600.0]).tolist() == [True, False, False, True]


@pytest.mark.parametrize(
    ("celsius", "factor"),
    [(15.0, 1.0020), (20.0, 1.0029), (22.0, 1.0033), (25.0, 1.0040), (30.0, 1.0054)],
)
def test_z_is_that_of_the_table(celsius, factor):
    """ISO 8655-6, table of Z at 1013 hPa, from memory, to its four decimals."""
    assert 1e3 * z_factor(celsius, pressure=101_300.0) == pytest.approx(factor, abs=5.1e-5)


@pytest.mark.parametrize("celsius", [5.0, 15.0, 20.0, 30.0, 38.0])
def test_z_from_another_density_of_water(celsius):
    """The factor put together anew from IAPWS-95 agrees to two parts in a million."""
    rho = iapws95_rho(celsius + 273.15, 101_325.0)
    air = (0.34848 * 1013.25 - 0.009 * 50.0 * math.exp(0.061 * celsius)) / (273.15 + celsius)
    anew = (1.0 - air / 8000.0) / (rho - air)

    assert z_factor(celsius) == pytest.approx(anew, rel=2e-6)


def test_a_density_is_weighed():
    """98.5 g in 100 mL: buoyancy put back, and the volume is what widens the range."""
    found = density_by_weighing(0.0985, volume=1e-4, reading_spread=5e-5, volume_spread=5e-7)

    assert found.density == pytest.approx(985.0 + 1.2 * (1.0 - 985.0 / 8000.0), rel=1e-12)
    assert (found.apparent, found.matters_most) == (pytest.approx(985.0), "volume")
    assert found.high - found.low == pytest.approx(4.0 * 985.0 * math.hypot(5e-4, 5e-3), rel=0.01)


def test_a_viscosity_in_the_wrong_unit_is_asked_about():
    """350 typed for 350 mPa·s is answered with the question whether that was meant."""
    found = answer("viscosity-fit", {"points": [[20, 350]], "at_c": 20})

    assert "Did you mean 0.35 Pa·s (350 mPa·s)?" in found["because"]


def test_readings_and_kelvins_in_the_wrong_unit_are_asked_about():
    """Readings in mPa·s, and a temperature in kelvin, are answered with a question."""
    readings = answer("flow-curve-fit", {"points": [[1, 20000], [10, 4000], [100, 900]]})
    kelvin = answer("viscosity-fit", {"points": [[20, 0.35], [40, 0.1]], "at_c": 293.15})

    assert "Did you mean 0.9 Pa·s (900 mPa·s)?" in readings["because"]
    assert "Did you mean 20 °C (293.15 K)?" in kelvin["because"]


@pytest.mark.parametrize("name", ["viscosity-fit", "flow-curve-fit"])
def test_no_viscosity_is_no_product(name):
    """A reading of zero is refused by its place."""
    given = {"points": [[20, 1], [30, 0]], **({"at_c": 25} if name == "viscosity-fit" else {})}
    with pytest.raises(BadInput, match=r"points\[1\]\[1\] is 0") as refused:
        answer(name, given)

    assert refused.value.field == "points[1][1]"
