"""The picture of a product's flow: drawn, told and laid out as rows, over speed and warmth."""

from __future__ import annotations

import pytest

from fillwright.records.flowplot import FlowPlot
from fillwright.report.charts import NARROW, WIDE, describe, draw, table
from fillwright.report.flowplot import thick_words

OVER_SPEED = FlowPlot(
    rates_per_s=(1.0, 10.0, 100.0, 1000.0),
    curve_mpa_s=(23_000.0, 3750.0, 785.0, 200.0),
    low_mpa_s=(20_000.0, 3300.0, 700.0, 170.0),
    high_mpa_s=(26_000.0, 4200.0, 880.0, 230.0),
    point_rates_per_s=(1.0, 100.0),
    points_mpa_s=(23_500.0, 770.0),
    title="Night cream at 20 °C",
)
OVER_WARMTH = FlowPlot(
    temps_c=(15.0, 25.0, 35.0),
    curve_mpa_s=(500.0, 300.0, 180.0),
    low_mpa_s=(450.0, 280.0, 160.0),
    high_mpa_s=(550.0, 320.0, 200.0),
    point_temps_c=(20.0,),
    points_mpa_s=(390.0,),
    now_c=24.0,
    title="Massage <oil>",
)


@pytest.mark.parametrize("spec", [OVER_SPEED, OVER_WARMTH])
@pytest.mark.parametrize("width", [NARROW, WIDE])
@pytest.mark.parametrize("for_print", [True, False])
def test_it_is_drawn_with_its_name(spec, width, for_print):
    """One drawing with an accessible name, and nothing of a title gets out as markup."""
    drawn = draw(spec, for_print=for_print, width_px=width)

    assert drawn.startswith("<svg ")
    assert "flow-plot" in drawn
    assert "<oil>" not in drawn
    assert "nan" not in drawn


def test_it_is_told_in_a_sentence():
    """Both ends, and how many points were measured."""
    assert describe(OVER_SPEED) == (
        "Night cream at 20 °C: 23 Pa s at 1 1/s, 200 mPa s at 1e+03 1/s; 2 measured."
    ).replace("1e+03", "1000")
    assert describe(OVER_WARMTH).endswith("180 mPa s at 35 °C; 1 measured.")


def test_it_is_laid_out_as_rows():
    """Where, how thick, and the two ends, in the unit that people read."""
    grid = table(OVER_WARMTH)

    assert grid.head == ("At", "Thickness", "From", "To")
    assert grid.rows[0] == ("15 °C", "500 mPa s", "450 mPa s", "550 mPa s")


@pytest.mark.parametrize(
    ("thick", "words"),
    [(1.5, "1.5 mPa s"), (999.0, "999 mPa s"), (1000.0, "1 Pa s"), (23_456.0, "23.5 Pa s")],
)
def test_a_viscosity_has_the_unit_that_people_read(thick, words):
    """Below a pascal second in mPa s, above in Pa s."""
    assert thick_words(thick) == words
