"""Air through valves against the standard's formula worked by hand, and against quadrature."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad

from fillwright.errors import BadInput
from fillwright.science.air import AirPassage, air_flow, blow_down, mass_flow
from fillwright.science.air_use import compressor, free_air

VALVE = AirPassage(conductance=1e-8, critical_ratio=0.3)


def test_choked_flow_is_conductance_times_density_times_pressure():
    """ISO 6358-1 (from memory), by hand: 1e-8 x 1.185 x 7e5 = 8.295e-3 kg/s, 7e-3 m3/s ANR."""
    found = air_flow(VALVE, upstream=7e5, downstream=2.1e5)

    assert float(found.mass_flow) == pytest.approx(8.295e-3, rel=1e-12)
    assert float(found.volume_flow) == pytest.approx(7e-3, rel=1e-12)
    assert bool(found.is_choked)


def test_subsonic_flow_follows_the_ellipse():
    """By hand at p2/p1 = 0.65: sqrt(1 - (0.35/0.7)^2) = 0.8660254 of the choked flow."""
    found = air_flow(VALVE, upstream=4e5, downstream=2.6e5)

    assert float(found.mass_flow) == pytest.approx(4.74e-3 * 0.8660254037844386, rel=1e-12)
    assert not bool(found.is_choked)


def test_warm_air_is_thinner():
    """By hand at 373.15 K: the root of 293.15/373.15 = 0.8863486."""
    warm = air_flow(VALVE, upstream=7e5, downstream=1e5, temperature=373.15)

    assert float(warm.mass_flow) == pytest.approx(8.295e-3 * math.sqrt(293.15 / 373.15))


@pytest.mark.parametrize("b", [0.0, 0.1, 0.3, 0.5, 0.9])
@pytest.mark.parametrize(("start", "end"), [(7e5, 1.2e5), (7e5, 3e5), (1.5e5, 101_325.0)])
def test_emptying_agrees_with_quadrature(b, start, end):
    """The time of emptying is the integral of V/(R T q) over the pressure."""
    needle = AirPassage(conductance=4e-9, critical_ratio=b)
    volume = 3.6e-4

    def slowness(angle):
        """1/q in an angle that is smooth where the flow dies at the ambient pressure."""
        p = 101_325.0 / (1.0 - angle**2)
        return 2.0 * angle * p**2 / 101_325.0 / float(mass_flow(needle, p, 101_325.0))

    low, high = (math.sqrt(1.0 - 101_325.0 / p) for p in (end, start))
    edge = math.sqrt(1.0 - b)
    points = [edge] if low < edge < high else None
    whole, _ = quad(slowness, low, high, points=points, epsabs=0.0, epsrel=1e-10, limit=200)

    found = float(blow_down(volume, needle, start=start, end=end))
    assert found == pytest.approx(volume / (287.05 * 293.15) * whole, rel=1e-7)


def test_free_air_by_hand():
    """63 mm bore, 20 mm rod, 100 mm, 6 bar gauge: 701325 x 5.92029e-4 m3 / 1e5 Pa = 4.152 L."""
    area = math.pi / 4.0 * (2.0 * 0.063**2 - 0.02**2)

    found = float(free_air(0.063, 0.020, 0.100, supply=701_325.0))

    assert found == pytest.approx(701_325.0 * area * 0.1 / 1e5, rel=1e-12)
    assert found == pytest.approx(4.152e-3, rel=1e-3)


def test_a_compressor_has_some_to_spare_and_the_tank_carries_the_peak():
    """1.3 x 1 L/s; the peak of 3 L/s lacks 1.7 L/s for 2 s: 3.4 L x 1 bar / 2 bar = 1.7 L."""
    found = compressor(
        mean_demand=1e-3, peak_demand=3e-3, peak_time=2.0, tank_high=9e5, tank_low=7e5
    )

    assert found.delivery == pytest.approx(1.3e-3)
    assert found.tank == pytest.approx(1.7e-3)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: AirPassage(conductance=0.0), "conductance is 0; give a number above zero"),
        (lambda: AirPassage(conductance=1e-8, critical_ratio=1.0), "critical_ratio is 1"),
        (lambda: air_flow(VALVE, upstream=1e5, downstream=2e5), "p2 is 200000 Pa, above p1"),
        (lambda: blow_down(1e-3, VALVE, start=2e5, end=9e4), "below the air around"),
        (lambda: blow_down(1e-3, VALVE, start=2e5, end=3e5), "above from"),
        (lambda: free_air(0.02, 0.02, 0.1, supply=7e5), "rod is 20 mm, no thinner"),
        (lambda: free_air(0.06, 0.02, 0.0, supply=7e5), "stroke is 0; give a number above zero"),
        (lambda: free_air(0.06, 0.02, np.nan, supply=7e5), "stroke is nan; give a finite"),
    ],
)
def test_what_cannot_be_names_its_field(call, told):
    """An impossible machine or state is refused with the field in one sentence."""
    with pytest.raises(BadInput, match=told):
        call()
