"""How a product flows from what was told: measured first, the rest assumed and said."""

from __future__ import annotations

import math
from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput
from fillwright.jobs.match.product_figures import ask_about_units, weighed_density
from fillwright.jobs.match.product_flow import preset_of, told_flow
from fillwright.records.entities import Product, RunsLike
from fillwright.records.product_parts import CupTime, FlowReading, ProductFlow, ViscosityPoint
from fillwright.science.flow_cup import cup_viscosity


def product(flow=None, *, celsius="20", like=RunsLike.OIL):
    """A product of 0.9 g/mL that runs like oil."""
    return Product(
        name="Oil",
        density_g_per_ml=Decimal("0.9"),
        product_c=Decimal(celsius),
        runs_like=like,
        flow=flow,
    )


def points(*pairs, preset="oil"):
    """Viscosities at temperatures."""
    return ProductFlow(
        way="points",
        preset=preset,
        points=tuple(
            ViscosityPoint(at_c=Decimal(c), viscosity_mpa_s=Decimal(v)) for c, v in pairs
        ),
    )


def readings(*pairs, preset="cream", at="20"):
    """Viscometer readings."""
    return ProductFlow(
        way="readings",
        preset=preset,
        readings_c=Decimal(at),
        readings=tuple(
            FlowReading(rate_per_s=Decimal(r), viscosity_mpa_s=Decimal(v)) for r, v in pairs
        ),
    )


def test_an_old_product_is_taken_by_its_word():
    """A product of an older record has what its word runs like, wide and said."""
    found = told_flow(product())

    assert found.consistency_pa_s == pytest.approx(0.07)
    assert found.thickness_spread == pytest.approx(0.5 * math.log(1.6 / 0.7))
    assert [one.name for one in found.assumed] == ["Thickness", "Surface tension"]
    assert "light oil" in found.words


def test_a_preset_goes_before_the_word():
    """A finer preset stands for the product; one that is no longer held falls back."""
    honey = product(ProductFlow(preset="honey"), like=RunsLike.PASTE)
    gone = product(ProductFlow(preset="tar"), like=RunsLike.PASTE)

    assert (preset_of(honey).key, preset_of(gone).key) == ("honey", "paste")


def test_honey_thins_as_it_warms():
    """From 20 to 30 °C what runs like honey is about a quarter as thick (from memory)."""
    cold, warm = (
        told_flow(product(ProductFlow(preset="honey"), celsius=c)).consistency_pa_s
        for c in ("20", "30")
    )

    assert 0.2 < warm / cold < 0.3


def test_points_of_a_data_sheet_are_met():
    """At a measured temperature the viscosity is the measured one, and its spread is narrow."""
    found = told_flow(product(points(("20", "350"), ("40", "120")), celsius="40"))

    assert found.consistency_pa_s == pytest.approx(0.12)
    assert found.thickness_spread < 0.06
    assert [one.name for one in found.assumed] == ["Surface tension"]


def test_the_slope_between_points_is_theirs():
    """Thinning is that of the points, not that of what it runs like."""
    told = points(("20", "10000"), ("30", "2500"), ("40", "850"))
    at_25, at_26 = (told_flow(product(told, celsius=c)) for c in ("25", "26"))
    away = 1.0 / 299.15 - 1.0 / 298.15

    expected = math.log(at_26.consistency_pa_s / at_25.consistency_pa_s) / away
    assert at_25.thinning_k == pytest.approx(expected, rel=0.02)


def test_one_point_elsewhere_is_carried_over_and_said():
    """One viscosity at another temperature thins like its preset, with a wider spread."""
    here = told_flow(product(points(("20", "350"))))
    warm = told_flow(product(points(("20", "350")), celsius="30"))

    assert warm.consistency_pa_s < here.consistency_pa_s
    assert warm.thickness_spread > here.thickness_spread
    assert {"Thinning", "Temperature"} <= {one.name for one in warm.assumed}


def test_viscometer_readings_become_a_flow_curve():
    """Readings on a curve give it back, and the one who measured knows the spread."""
    rates = np.geomspace(1.0, 300.0, 6)
    thick = (18.0 + 9.0 * rates**0.4) / rates * 1000.0
    pairs = [(f"{r:.6g}", f"{v:.6g}") for r, v in zip(rates, thick, strict=True)]
    found = told_flow(product(readings(*pairs), like=RunsLike.CREAM))

    assert (found.yield_pa, found.flow_index) == pytest.approx((18.0, 0.4), rel=1e-3)
    assert found.thickness_spread < 0.1


def test_one_reading_is_no_flow_curve():
    """One speed is taken as an upper end and widens everything."""
    found = told_flow(product(readings(("10", "40000")), like=RunsLike.CREAM))

    assert found.thickness_spread > 0.8
    assert "Shear" in {one.name for one in found.assumed}


def test_a_cup_is_converted_where_a_conversion_is_published():
    """ISO 2431, 4 mm: ν = 1.37 t - 200/t (from memory), times the density."""
    cup = CupTime(orifice="4 mm", time_s=Decimal(60), at_c=Decimal(20))
    found = told_flow(product(ProductFlow(way="cup", preset="oil", cup=cup)))

    assert found.consistency_pa_s == pytest.approx(0.9 * (1.37 * 60 - 200 / 60) / 1000.0)


def test_another_cup_is_refused_with_what_to_measure():
    """No conversion, or a time outside of it: what to do instead."""
    with pytest.raises(BadInput, match=r"no published conversion .* two speeds or more"):
        cup_viscosity("ladle", 60.0, density=900.0)
    with pytest.raises(BadInput, match=r"Take a larger orifice"):
        cup_viscosity("3 mm", 140.0, density=900.0)


@pytest.mark.parametrize(
    ("value", "asked"),
    [
        ("0.05", "Did you mean 50 mPa s (0.05 Pa s)?"),
        ("350000", "Did you mean 350 mPa s?"),
        ("350", ""),
    ],
)
def test_a_viscosity_in_the_wrong_unit_is_asked_about(value, asked):
    """Pa·s typed for mPa·s and the other way round; an ordinary one is let be."""
    question = ask_about_units(points(("20", value)))

    assert question.endswith(asked)
    assert bool(question) == bool(asked)


def test_a_density_is_weighed_with_its_range():
    """98.5 g in 100 mL is 0.986 g/mL with the air put back; the volume decides the range."""
    found = weighed_density(Decimal(100), Decimal("98.5"))

    assert found.density_g_per_ml == pytest.approx(Decimal("0.98605"), abs=Decimal("0.00001"))
    assert found.low_g_per_ml < found.density_g_per_ml < found.high_g_per_ml
    assert "the volume decides" in found.words
    with pytest.raises(BadInput, match=r"would be 0\.0985 g/mL"):
        weighed_density(Decimal(1000), Decimal("98.5"))
