"""What holds for every question alike: schemas, names, units, exactness, refusals."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest

from fillwright import __version__, ask
from fillwright.errors import CODES, BadInput
from fillwright.questions import QUESTIONS, answer, answer_json, find, names, schema
from fillwright.questions.reference import page

ALL = tuple(QUESTIONS)
COMMON = {"because", "assumptions", "sources", "version"}

# The names that people script against; fixed once and for all.
OUTPUTS = {
    "shortage": "T T1_limit T2_limit row basis verdict",
    "lot-test": "verdict compliant T T1_limit T2_limit required_n mean_n missing mean mean_error"
    " s k limit margin mean_ok count_below_T1 count_below_T2 acceptance_number rejection_number"
    " individual_test t2_ok count_below_T1_total acceptance_number_2 rejection_number_2 mav_limit"
    " count_beyond_mav sample_error_limit",
    "target-fill": "target giveaway binding components",
    "acceptance-chance": "p_accept standard_error p_mean p_individual p_below_T1",
    "content-volume": "volume_20_ml",
    "target-weight": "target_g reading_g stroke_ml_at_product_temp",
    "air-density": "density_kg_m3",
    "buoyancy": "mass_g volume_ml",
    "conformance": "probability",
    "acceptance-limit": "acceptance_limit_g guard_band_g",
    "rounded-sd": "mean sd sd_upper_95 method neg_log_likelihood",
    "scale-check": "verdict repeats u_single_g u_mean_g residual_rounding_g",
    "repeatability-study": "components ms_between ms_within f",
    "tolerance-factor": "k",
    "distribution-free-n": "n",
    "prove": "verdict mean sd k half_width_g half_width_percent sd_interval_g content_provable"
    " order_tests",
    "prove-plan": "n impossible content_true",
    "prove-chance": "probability",
    "capability": "Pp Ppk Pp_interval Ppk_lower share_outside",
    "chart-constants": "c4 d2 d3 A2 A3 B3 B4 D3 D4",
    "arl": "arl",
    "chart-design": "h L",
    "chart-run": "centre upper lower mean_moving_range sd_from_mr ewma upper_limit z first_signal"
    " last_good",
    "trim-next": "done feasible setting_ml via_ml direction p_within p_over mean_g sd_g set_aside",
    "suspect": "first last",
    "adjust": "setting_change_ml weight",
    "check-delay": "containers",
    "check-plan": "checked_each_time containers_between_checks containers_to_alarm",
    "signature": "usable likelihood posterior best runner_up change_at change_interval size_g",
    "pipe-loss": "loss_pa start_pa reynolds regime wall_shear_rate_1_s",
    "fitting-loss": "k loss_pa",
    "bore-change": "k_on_smaller",
    "nozzle": "exit_velocity_m_s wall_shear_rate_1_s wall_stress_pa reynolds weber",
    "nozzle-hold": "critical_bore_m pinned_bore_m capillary_length_m",
    "drop": "mass_kg volume_m3",
    "liquid": "density_kg_m3 viscosity_pa_s vapour_pressure_pa surface_tension_n_m",
    "viscosity-fit": "viscosity_pa_s low_pa_s high_pa_s model t0_k extrapolated",
    "flow-curve-fit": "model k_pa_sn n yield_pa fit_error",
    "z-factor": "z_ul_per_mg",
    "air-flow": "q_m3_s_anr mass_flow_kg_s choked",
    "free-air": "l_anr_per_cycle l_anr_per_min",
    "blow-down": "time_s",
    "annular-leak": "leak_m3_s",
    "dose-model": "dose_kg sensitivity",
    "dose-budget": "total total_percent ranked",
    "thermal-dose": "change_kg",
    "trapped-air": "withheld_m3",
    "multi-shot": "shots shot_m3 u_relative_total",
    "rate": "cycle_s units_per_min binds pause_s",
    "match": "verdict cylinder shots share_of_cylinder valve nozzle seals hopper reasons nearest"
    " matters_most not_judged expected cautions",
    "recharge-limit": "flow_max_m3_s fastest_full_recharge_s fill_fraction limiting worst_element",
    "discharge": "fill_s stalls steady_speed_m_s pressure_pa held_by reserve exit_velocity_m_s"
    " reynolds weber",
    "fault-next": "causes next pair hand_over reason",
    "repair-order": "order expected_cost",
    "check-value": "expected_cost_without expected_cost_with worth_it break_even_cost",
    "oring": "matches sure",
    "gland": "depth_mm squeeze stretch fill worst_case",
    "material": "rating verdict notes confirm_with_maker",
    "gasket": "matches closes_but_wrong_bore",
    "kept-proof": "verdict mean_low_g mean_high_g most_sd_g mean_g sd_g overlooked_spread "
    "overlooked_shift",
    "tare": "verdict mean_g sd_g u_mean_g half_width_g scatter_limit_g mean_limit_g "
    "empties_needed",
    "lot-cost": "each sold on_top parts missing_prices missing_amounts",
    "quote": "lot_sizes middle low high middle_each low_each high_each rests_on",
    "scatter-worth": "saved",
    "seal-life": "shape scale mean shape_interval scale_interval reason",
    "age-replacement": "age cost_rate run_to_failure_rate",
    "failure-within": "probability",
    "spares": "stock achieved",
    "day-order": "order changeover_min lateness_min cost exact",
}


@pytest.mark.parametrize("name", ALL)
def test_the_example_is_answered_and_fits_both_schemas(name, misfits):
    """Each question's own example fits its input schema, and the answer its output schema."""
    both = schema(name)
    given = find(name).example

    found = answer(name, given)

    assert misfits(both["input"], given) == []
    assert misfits(both["output"], json.loads(json.dumps(found, allow_nan=False))) == []
    assert found["because"]
    assert found["because"][-1] in ".?"
    assert found["version"] == __version__
    assert isinstance(found["assumptions"], list)
    assert isinstance(found["sources"], list)


@pytest.mark.parametrize("name", ALL)
def test_the_fixed_names_of_the_answer_stay(name):
    """Each answer has the fields that people script against, and says why."""
    found = answer(name, find(name).example)

    assert set(OUTPUTS[name].split()) | COMMON <= set(found)


@pytest.mark.parametrize("name", ALL)
def test_three_ways_of_asking_say_the_same(name):
    """Python, JSON text and the function of the package give one answer."""
    given = find(name).example

    reply = answer_json(name, json.dumps(given))

    assert reply.status == 200
    assert json.loads(reply.body) == ask(name, given) == answer(name, given)


@pytest.mark.parametrize("name", ALL)
def test_an_unknown_field_is_refused_by_name(name):
    """A field that the question does not have is named, whatever else is wrong."""
    with pytest.raises(BadInput, match="colour_of_the_jar is not a field") as refused:
        answer(name, {**find(name).example, "colour_of_the_jar": None})

    assert refused.value.code == "unknown-field"
    assert refused.value.field == "colour_of_the_jar"


@pytest.mark.parametrize("name", ALL)
def test_a_missing_field_is_named(name):
    """Each required field, left out or null, is refused as missing by its name."""
    example = find(name).example
    for field in schema(name)["input"].get("required", []):
        for given in (
            {k: v for k, v in example.items() if k != field},
            {**example, field: None},
        ):
            with pytest.raises(BadInput, match=f"{field} is missing") as refused:
                answer(name, given)

            assert (refused.value.code, refused.value.field) == ("missing", field)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_what_is_not_finite_is_refused_by_the_name_of_its_field(name, word):
    """NaN and infinity, as JSON words or as text, are refused where a number belongs."""
    example = find(name).example
    numeric = [field for field, value in example.items() if isinstance(value, (int, float, str))]
    for field in numeric:
        if isinstance(example[field], bool) or not _is_number(example[field]):
            continue
        bare = json.dumps({**example, field: "@"}).replace('"@"', word)
        for text in (bare, json.dumps({**example, field: word})):
            reply = answer_json(name, text)

            error = json.loads(reply.body)["error"]
            assert (reply.status, error["code"], error["field"]) == (422, "not-finite", field)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("wrong", [True, [], {}, "twelve", "1_000", "٣", "0x10", "1e999", 1e300])
def test_a_number_of_the_wrong_kind_or_size_is_refused(name, wrong):
    """Truth, lists, words, other digits and monstrous sizes are no numbers."""
    example = find(name).example
    for field, value in example.items():
        if isinstance(value, bool) or not _is_number(value):
            continue
        with pytest.raises(BadInput, match=field) as refused:
            answer(name, {**example, field: wrong})

        assert refused.value.code in {"type", "range", "outside-model"}


@pytest.mark.parametrize("name", ALL)
def test_text_number_and_decimal_mean_the_same(name):
    """A figure as JSON number, as text and as a Decimal gives the same answer."""
    example = find(name).example
    as_text = {
        field: str(value) if _is_number(value) and not isinstance(value, bool) else value
        for field, value in example.items()
    }
    as_decimal = {
        field: Decimal(str(value)) if _is_number(value) and not isinstance(value, bool) else value
        for field, value in example.items()
    }

    assert answer(name, as_text) == answer(name, as_decimal) == answer(name, example)


@pytest.mark.parametrize("name", ALL)
def test_null_for_an_optional_field_is_the_same_as_left_out(name):
    """Null in each field that may be left out changes nothing."""
    example = find(name).example
    both = schema(name)["input"]
    optional = set(both["properties"]) - set(both.get("required", [])) - set(example)

    assert answer(name, {**example, **dict.fromkeys(optional)}) == answer(name, example)


@pytest.mark.parametrize("name", ALL)
def test_a_schema_says_what_each_field_means(name):
    """Every field of an input has a description, a default or a place among the required."""
    both = schema(name)

    assert both["input"]["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert both["input"]["additionalProperties"] is False
    for field, form in both["input"]["properties"].items():
        assert form.get("description"), field


def test_an_unknown_question_is_named():
    """A name that is none gets 404, and the nearest one as a hint."""
    reply = answer_json("lot-tset", "{}")

    error = json.loads(reply.body)["error"]
    assert reply.status == 404
    assert error["code"] == "choice"
    assert "did you mean lot-test?" in error["message"]


def test_the_names_are_those_of_the_table():
    """The list of names holds every question once, in the order of the page."""
    assert names() == ALL
    assert set(OUTPUTS) == set(ALL)


def test_the_reference_page_is_made_from_the_table():
    """The page of questions is what the table says now."""
    committed = Path(__file__).parents[3] / "docs" / "reference" / "questions.md"

    assert committed.read_text("utf-8") == page()


def test_every_code_is_one_of_the_list():
    """No refusal of any kind has a code that is not on the list."""
    given = find("lot-test").example
    wrong = [
        {},
        {**given, "rules": "none"},
        {**given, "unit": "ml"},
        {**given, "plan": "triple"},
        {**given, "lot_size": 3},
        {**given, "sample": "250"},
        {**given, "own_plan": {"n": 50}},
        {**given, "mav_supplied": 7},
        {**given, "nominal": 1e300},
    ]
    codes = set()
    for case in wrong:
        with pytest.raises(BadInput, match=r".") as refused:
            answer("lot-test", case)
        codes.add(refused.value.code)

    assert codes <= set(CODES)
    assert {"missing", "choice", "unit", "inconsistent", "type", "range"} <= codes


def _is_number(value) -> bool:
    """Tell a figure from a word."""
    try:
        Decimal(str(value))
    except ArithmeticError:
        return False
    return True
