"""Losses in the wet path and properties of liquids against other routes and libraries.

Velocity profiles are integrated here anew; friction and fittings are held against the
``fluids`` library, water against ``chemicals``.
"""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from chemicals.iapws import iapws95_Psat, iapws95_rho
from chemicals.interface import sigma_IAPWS
from chemicals.viscosity import mu_IAPWS
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import jn_zeros, jnp_zeros

from fillwright.errors import BadInput
from fillwright.science.cutoff import drop, holding, jet, yield_holds
from fillwright.science.flow_curve import FlowCurve, nominal_rate, wall_stress
from fillwright.science.friction import bore_change, friction_factor, kinetic_factor
from fillwright.science.product import (
    density_at,
    glycerol_water,
    water,
    water_density,
    water_surface_tension,
    water_vapour_pressure,
    water_viscosity,
)
from fillwright.science.wetpath import Piece, ThreeK, TwoK, pressure_loss, regime, start_pressure

FOUR = {
    "newtonian": FlowCurve(consistency=5.0),
    "power law": FlowCurve(consistency=8.0, index=0.45),
    "bingham": FlowCurve(yield_stress=20.0, consistency=0.4),
    "herschel-bulkley": FlowCurve(yield_stress=15.0, consistency=8.0, index=0.45),
}


@pytest.mark.parametrize("curve", FOUR.values(), ids=FOUR)
@pytest.mark.parametrize("wall", [25.0, 120.0, 3000.0])
def test_the_flow_is_the_profile_integrated(curve, wall):
    """Rabinowitsch and Mooney: 8V/D = 4/wall³ times the integral of stress² · rate."""
    integral, _ = quad(lambda s: s**2 * float(curve.rate(s)), 0.0, wall, epsrel=1e-12, limit=400)

    assert float(nominal_rate(curve, wall)) == pytest.approx(4.0 * integral / wall**3, rel=1e-8)
    assert float(wall_stress(curve, nominal_rate(curve, wall))) == pytest.approx(wall, rel=1e-9)


def test_bingham_is_buckingham_and_reiner():
    """Index 1: the closed form of Buckingham (1921) and Reiner, from memory."""
    wall, start = 80.0, 20.0
    x = start / wall
    flow = wall / 0.4 * (1.0 - 4.0 * x / 3.0 + x**4 / 3.0)

    assert float(nominal_rate(FOUR["bingham"], wall)) == pytest.approx(flow, rel=1e-12)


def test_limits_are_exact():
    """Index 1 and no yield stress: Hagen and Poiseuille, to the last digits."""
    flow, bore, length, viscosity = 2e-4, 0.016, 0.7, 5.0
    lost = pressure_loss(
        (Piece(bore=bore, length=length),), flow, FOUR["newtonian"], 1300.0, leaves=False
    )

    assert float(lost.total) == pytest.approx(
        128.0 * viscosity * length * flow / (np.pi * bore**4), rel=1e-13
    )
    tiny = FlowCurve(yield_stress=1e-12, consistency=5.0, index=1.0)
    assert float(wall_stress(tiny, 100.0)) == pytest.approx(500.0, rel=1e-12)


@pytest.mark.parametrize("rough", [0.0, 1e-4, 1e-2])
def test_newtonian_friction_is_the_library_s(rough):
    """Churchill (1977) over all regimes, against the library's scalar function."""
    numbers = 10.0 ** np.linspace(0.0, 6.0, 60)
    ours = 4.0 * friction_factor(FOUR["newtonian"], numbers, rough)
    theirs = [fluids.friction.Churchill_1977(Re=one, eD=rough) for one in numbers]

    assert ours == pytest.approx(np.asarray(theirs), rel=1e-12)


@pytest.mark.parametrize(("number", "index"), [(5000.0, 0.6), (20_000.0, 0.8), (1e5, 1.0)])
def test_dodge_and_metzner_is_solved(number, index):
    """Above the blend the factor fulfils 1/√f = 4/n^0.75 log(Re f^(1-n/2)) - 0.4/n^1.2."""
    curve = FlowCurve(yield_stress=1e-9, consistency=1.0, index=index)
    f = float(friction_factor(curve, number, 0.0))
    told = 4.0 / index**0.75 * np.log10(number * f ** (1.0 - index / 2.0)) - 0.4 / index**1.2

    assert 1.0 / np.sqrt(f) == pytest.approx(told, rel=1e-10)


@pytest.mark.parametrize("bore", [0.008, 0.016, 0.05])
@pytest.mark.parametrize("number", [10.0, 900.0, 5e4])
def test_fittings_are_the_library_s(bore, number):
    """Three constants (Darby) and two (Hooper), with the true bore in inches."""
    inches = bore / 0.0254
    three = fluids.fittings.Darby3K(NPS=inches, Re=number, K1=500, Ki=0.41, Kd=4.0)
    two = fluids.fittings.Hooper2K(Di=inches, Re=number, K1=800, Kinfty=0.4)

    ours_three = ThreeK(k1=500, ki=0.41, kd=4.0)
    ours_two = TwoK(k1=800, k_inf=0.4)
    assert 500 / number + float(ours_three.fast(bore)) == pytest.approx(three, rel=1e-12)
    assert 800 / number + float(ours_two.fast(bore)) == pytest.approx(two, rel=1e-12)


@pytest.mark.parametrize("number", [100.0, 2000.0, 8000.0])
def test_changes_of_bore_are_the_library_s(number):
    """Hooper (1988): the library counts heads of the smaller bore as we do."""
    friction = 0.03
    narrow = fluids.fittings.contraction_sharp(
        Di1=0.02, Di2=0.012, fd=friction, Re=number, method="Hooper"
    )
    wide = fluids.fittings.diffuser_sharp(
        Di1=0.012, Di2=0.02, Re=number, fd=friction, method="Hooper"
    )

    assert float(bore_change(0.02, 0.012, number, darcy=friction)) == pytest.approx(narrow)
    assert float(bore_change(0.012, 0.02, number, darcy=friction)) == pytest.approx(wide)
    assert float(bore_change(0.02, 0.02, number)) == 0.0


@pytest.mark.parametrize("index", [0.3, 0.6, 1.0, 1.4])
def test_kinetic_energy_is_the_profile_s(index):
    """The cube of the velocity profile of a power law, integrated over the pipe."""
    power = 1.0 / index + 1.0
    cube, _ = quad(lambda r: 2.0 * r * (1.0 - r**power) ** 3, 0.0, 1.0, epsrel=1e-12)
    mean, _ = quad(lambda r: 2.0 * r * (1.0 - r**power), 0.0, 1.0, epsrel=1e-12)

    found = kinetic_factor(FlowCurve(consistency=1.0, index=index), 100.0)
    assert float(found) == pytest.approx(cube / mean**3, rel=1e-9)


@given(
    start=st.one_of(st.just(0.0), st.floats(1e-2, 300.0)),
    consistency=st.floats(1e-3, 30.0),
    index=st.floats(0.2, 1.2),
    bore=st.floats(0.003, 0.05),
    length=st.floats(0.001, 2.0),
)
def test_more_flow_always_loses_more(start, consistency, index, bore, length):
    """Each pressure has one flow: no dip where laminar flow turns turbulent."""
    curve = FlowCurve(yield_stress=start, consistency=consistency, index=index)
    path = (Piece(bore=bore, length=length, fittings=(ThreeK(k1=800, ki=0.14, kd=4.0),)),)
    lost = pressure_loss(path, 10.0 ** np.linspace(-9.0, -1.5, 300), curve, 1000.0).total

    assert np.all(np.diff(lost) > 0.0)


@given(
    flow=st.floats(1e-7, 1e-3),
    factor=st.floats(1.01, 5.0),
    index=st.floats(0.3, 1.0),
    start=st.floats(0.0, 100.0),
)
def test_thicker_loses_more_and_wider_loses_less(flow, factor, index, start):
    """More viscosity never helps, a wider bore never hurts."""
    thin = FlowCurve(yield_stress=start, consistency=2.0, index=index)
    thick = FlowCurve(yield_stress=start * factor, consistency=2.0 * factor, index=index)
    narrow, wide = (Piece(bore=0.01, length=0.4),), (Piece(bore=0.01 * factor, length=0.4),)

    base = float(pressure_loss(narrow, flow, thin, 1000.0).total)
    assert float(pressure_loss(narrow, flow, thick, 1000.0).total) >= base
    assert float(pressure_loss(wide, flow, thin, 1000.0).total) <= base


def test_losses_scale_as_their_dimensions_say():
    """The same Reynolds number in a path twice as large: pressure falls to a quarter."""
    curve = FlowCurve(consistency=1e-3)
    small = pressure_loss((Piece(bore=0.01, length=1.0, roughness=1e-6),), 1e-4, curve, 1000.0)
    large = pressure_loss((Piece(bore=0.02, length=2.0, roughness=2e-6),), 2e-4, curve, 1000.0)

    assert float(large.reynolds[0]) == pytest.approx(float(small.reynolds[0]), rel=1e-12)
    assert float(large.total) == pytest.approx(float(small.total) / 4.0, rel=1e-12)


def test_at_rest_the_yield_stress_must_be_passed():
    """4·L·yield/D, and K1/16 of the yield stress for each fitting; nothing without one."""
    path = (Piece(bore=0.01, length=0.5, fittings=(TwoK(k1=800, k_inf=0.4),)),)

    found = float(start_pressure(path, FOUR["herschel-bulkley"]))
    assert found == pytest.approx(4 * 0.5 * 15.0 / 0.01 + 800 / 16 * 15.0)
    assert float(start_pressure(path, FOUR["newtonian"])) == 0.0
    assert list(regime([10.0, 3000.0, 9000.0])) == ["laminar", "transition", "turbulent"]


@pytest.mark.parametrize("celsius", [0.0, 4.0, 20.0, 25.0, 40.0])
def test_water_is_the_library_s(celsius):
    """IAPWS-95, viscosity of 2008 and surface tension of 1994 in an independent library."""
    kelvin = max(celsius, 0.01) + 273.15
    density = iapws95_rho(T=kelvin, P=101_325.0)

    assert float(water_density(celsius)) == pytest.approx(density, abs=0.003)
    assert float(water_viscosity(celsius)) == pytest.approx(mu_IAPWS(kelvin, density), rel=5e-4)
    assert float(water_vapour_pressure(celsius)) == pytest.approx(iapws95_Psat(kelvin), rel=1e-3)
    assert float(water_surface_tension(celsius)) == pytest.approx(sigma_IAPWS(kelvin), rel=1e-4)
    assert water(celsius).viscosity == float(water_viscosity(celsius))


@pytest.mark.parametrize(
    ("celsius", "fraction", "viscosity", "density"),
    [(20.0, 1.0, 1.41, 1261.0), (25.0, 0.5, 5.04e-3, 1123.8), (20.0, 0.0, 1.005e-3, 998.2)],
)
def test_glycerol_in_water_is_the_handbook_s(celsius, fraction, viscosity, density):
    """Handbook values, from memory."""
    found = glycerol_water(celsius, fraction)

    assert found.viscosity == pytest.approx(viscosity, rel=0.01)
    assert found.density == pytest.approx(density, rel=5e-4)


def test_what_a_nozzle_holds_are_zeros_of_bessel_functions():
    """Twice the first zeros of J1' and of J1, in capillary lengths; water: 10.0 and 20.9 mm."""
    found = holding(0.07274, 998.2)

    assert float(found.slides / found.capillary_length) == pytest.approx(
        2 * jnp_zeros(1, 1)[0], rel=1e-7
    )
    assert float(found.pinned / found.capillary_length) == pytest.approx(
        2 * jn_zeros(1, 1)[0], rel=1e-7
    )
    assert 1e3 * float(found.slides) == pytest.approx(10.0, abs=0.05)
    assert bool(yield_holds(FOUR["herschel-bulkley"], 1000.0, 0.005))
    assert not bool(yield_holds(FOUR["newtonian"], 1000.0, 0.005))


@pytest.mark.parametrize(
    ("x", "factor"),
    [(0.3, 0.7256), (0.4, 0.6828), (0.5, 0.6515), (0.6, 0.6250), (0.7, 0.6093), (1.0, 0.6098)],
)
def test_a_drop_weighs_what_harkins_and_brown_measured(x, factor):
    """Their table of 1919, from memory; the polynomial keeps within 1.2 % of it."""
    tension, density = 0.07274, 998.2
    # The radius at which r/V^(1/3) is x, from m·g = 2·pi·r·tension·factor.
    radius = np.sqrt(2 * np.pi * tension * factor * x**3 / (density * 9.80665))

    found = drop(tension, density, 2 * radius)
    assert float(found.mass) * 9.80665 == pytest.approx(
        2 * np.pi * radius * tension * factor, rel=0.02
    )


def test_a_jet_has_its_velocity_and_wall():
    """Laminar water in a fine bore: 8V/D at the wall, Weber and Reynolds by hand."""
    found = jet(1e-6, 0.002, FlowCurve(consistency=1e-3), 1000.0, surface_tension=0.072)
    velocity = 4e-6 / (np.pi * 0.002**2)

    assert float(found.velocity) == pytest.approx(velocity)
    assert float(found.wall_rate) == pytest.approx(8 * velocity / 0.002)
    assert float(found.reynolds) == pytest.approx(1000 * velocity * 0.002 / 1e-3)
    assert float(found.weber) == pytest.approx(1000 * velocity**2 * 0.002 / 0.072)


@pytest.mark.parametrize(
    ("work", "told"),
    [
        (lambda: FlowCurve(consistency=0.0), "k_pa_sn is 0"),
        (lambda: FlowCurve(consistency=1.0, index=3.0), "n is 3"),
        (lambda: FlowCurve(consistency=1.0, yield_stress=-1.0), "yield_pa is -1"),
        (lambda: Piece(bore=0.0, length=1.0), "bore_m is 0"),
        (lambda: Piece(bore=0.01, length=1.0, roughness=1.5), "roughness_m is 1.5"),
        (lambda: pressure_loss((), 1.0, FOUR["newtonian"], 1000.0), "path is empty"),
        (lambda: drop(0.03, 1000.0, 0.2), "too wide for one drop"),
        (lambda: water_density(60.0), "covers 0 to 40"),
        (lambda: glycerol_water(20.0, 1.2), "share from 0 to 1"),
        (
            lambda: density_at(900.0, known=900.0, at_celsius=20.0, expansion=2e-3),
            "straight line",
        ),
    ],
)
def test_what_cannot_be_computed_is_one_sentence(work, told):
    """The field, what was given, and what would do."""
    with pytest.raises(BadInput, match=told):
        work()
