"""Questions about the wet path through the question interface."""

from __future__ import annotations

import math

import pytest

from fillwright import ask
from fillwright.errors import BadInput

PIPE = {"flow_m3_s": 2e-4, "bore_m": 0.016, "length_m": 0.25, "density_kg_m3": 1400}


def test_a_pipe_takes_what_hagen_and_poiseuille_say():
    """128·viscosity·length·flow over pi·bore⁴."""
    found = ask("pipe-loss", {**PIPE, "model": "newtonian", "viscosity_pa_s": 5})

    assert found["loss_pa"] == pytest.approx(128 * 5 * 0.25 * 2e-4 / (math.pi * 0.016**4))
    assert (found["regime"], found["start_pa"]) == ("laminar", 0.0)
    assert found["wall_shear_rate_1_s"] == pytest.approx(32 * 2e-4 / (math.pi * 0.016**3))


def test_at_rest_a_pipe_answers_the_start_pressure():
    """4·length·yield over bore."""
    given = {**PIPE, "flow_m3_s": 0, "model": "bingham", "yield_pa": 20, "viscosity_pa_s": 1}
    found = ask("pipe-loss", given)

    assert found["loss_pa"] == found["start_pa"] == pytest.approx(4 * 0.25 * 20 / 0.016)
    assert found["wall_shear_rate_1_s"] == 0.0


@pytest.mark.parametrize(
    ("method", "constants", "k"),
    [
        ("3k", {"ki": 0.41, "kd": 4}, 500 / 15_915.494 + 0.41 * (1 + 4 / (0.016 / 0.0254) ** 0.3)),
        ("2k", {"k_inf": 0.41}, 500 / 15_915.494 + 0.41 * (1 + 0.0254 / 0.016)),
    ],
)
def test_a_fitting_takes_its_heads(method, constants, k):
    """By hand, at Reynolds number 15 915."""
    rest = {"bore_m": 0.016, "flow_m3_s": 2e-4, "density_kg_m3": 1000, "viscosity_pa_s": 1e-3}

    assert ask("fitting-loss", {"method": method, "k1": 500, **constants, **rest})[
        "k"
    ] == pytest.approx(k, rel=1e-6)


def test_glycerol_needs_its_share_and_water_has_none():
    """Half a formula is refused."""
    half = {"preset": "glycerol-water", "temperature_c": 25, "glycerol_mass_fraction": 0.5}

    assert ask("liquid", half)["vapour_pressure_pa"] is None
    with pytest.raises(BadInput, match="glycerol_mass_fraction is missing"):
        ask("liquid", {"preset": "glycerol-water", "temperature_c": 25})
    with pytest.raises(BadInput, match="does not belong to water"):
        ask("liquid", {"preset": "water", "temperature_c": 25, "glycerol_mass_fraction": 0.5})


@pytest.mark.parametrize(
    ("question", "given", "told"),
    [
        ("pipe-loss", {**PIPE, "model": "newtonian"}, "viscosity_pa_s is missing"),
        ("pipe-loss", {**PIPE, "model": "power-law", "k_pa_sn": 1, "n": 1, "yield_pa": 1},
         "yield_pa does not belong"),
        ("nozzle", {"flow_m3_s": 1, "bore_m": 0.01, "density_kg_m3": 1000, "model": "bingham",
                    "viscosity_pa_s": 1}, "yield_pa is missing"),
        ("fitting-loss", {"method": "2k", "k1": 1, "ki": 1, "bore_m": 0.01, "flow_m3_s": 1e-4,
                          "density_kg_m3": 1000, "viscosity_pa_s": 1}, "k_inf is missing"),
        ("drop", {"surface_tension_n_m": 0.03, "density_kg_m3": 1000, "tip_diameter_m": 1},
         "too wide for one drop"),
        ("liquid", {"preset": "water", "temperature_c": 90}, "covers 0 to 40"),
    ],
)  # fmt: skip
def test_what_cannot_be_answered_is_one_sentence(question, given, told):
    """The field, and what would do."""
    with pytest.raises(BadInput, match=told):
        ask(question, given)


def test_a_viscosity_that_looks_like_another_unit_is_asked_about():
    """10,000 "Pa·s" is most likely mPa·s: the figure is told, and the question comes first."""
    pipe = {"flow_m3_s": 1e-4, "bore_m": 0.01, "length_m": 1.0, "density_kg_m3": 1400.0}
    told = ask("pipe-loss", {**pipe, "model": "newtonian", "viscosity_pa_s": 1e4})
    usual = ask("pipe-loss", {**pipe, "model": "newtonian", "viscosity_pa_s": 10.0})

    assert told["because"].startswith("Did you mean 10 Pa·s (10000 mPa·s)? ")
    assert "Did you mean" not in usual["because"]


def test_a_fill_without_an_end_says_so():
    """No figure where there is none, in the answer or in its sentence."""
    air = {"c_m3_s_pa": 4e-8, "b": 0.3}
    told = ask(
        "discharge",
        {
            "product": {"model": "newtonian", "density_kg_m3": 1000.0, "viscosity_pa_s": 1e6},
            "path": [{"bore_m": 0.01, "length_m": 0.1}],
            "cylinder": {"bore_m": 0.05, "stroke_m": 0.1},
            "drive": {
                "air_bore_m": 0.05,
                "rod_m": 0.02,
                "gauge_pa": 6e5,
                "supply": air,
                "meter_out": {"c_m3_s_pa": 4e-9, "b": 0.3},
            },
        },
    )

    assert told["fill_s"] is None
    assert told["because"] == (
        "Did you mean 1000 Pa·s (1e+06 mPa·s)? The fill is not done within 60 min; product "
        "holds it."
    )
