"""Answers to single questions, against figures from outside or worked by hand."""

from __future__ import annotations

import pytest

from fillwright.errors import BadInput
from fillwright.questions import answer


def test_a_content_exactly_on_the_limit_is_not_short():
    """20.9 g at a label of 23 g with T = 2.1 is on T1, not below it, as number and as text.

    9 % of 23 is 2.07, up to the next tenth 2.1; 23 - 2.1 = 20.9. In binary floats 20.9 - 23
    is below -2.1, which would count it.
    """
    for last in (20.9, "20.9", "20.90"):
        given = {
            "rules": "EU-76/211",
            "nominal": 23,
            "unit": "g",
            "lot_size": 100,
            "sample": [23] * 29 + [last],
        }
        found = answer("lot-test", given)

        assert (found["T"], found["T1_limit"]) == ("2.1", "20.9")
        assert found["count_below_T1"] == 0


def test_exact_figures_come_as_text_and_computed_ones_as_numbers():
    """T and its limits are text that is exact, the mean is a number."""
    found = answer("shortage", {"rules": "UK-2006/659", "nominal": "1250", "unit": "mL"})

    # 1.5 % of 1250 is 18.75, up to the next tenth 18.8; 1250 - 18.8 and 1250 - 37.6.
    assert (found["T"], found["T1_limit"], found["T2_limit"]) == ("18.8", "1231.2", "1212.4")


def test_out_of_scope_is_a_verdict():
    """A label beyond the rules is answered, not refused."""
    found = answer("shortage", {"rules": "EU-76/211", "nominal": 4.9, "unit": "g"})

    assert found["verdict"] == "out-of-scope"
    assert found["T"] is None


def test_a_volume_label_without_a_table_is_not_evaluated():
    """Under US rules a label in mL needs the user's own figure; a bare number will do."""
    given = {
        "rules": "US-HB133-A",
        "nominal": 250,
        "unit": "mL",
        "lot_size": 200,
        "sample": [251] * 12,
    }

    assert answer("lot-test", given)["verdict"] == "not-evaluated"
    for supplied in (9, "9", {"value": "9", "edition": "2024", "page": "table 2-6"}):
        found = answer("lot-test", {**given, "mav_supplied": supplied})
        assert found["verdict"] == "accepted"
        assert found["mav_limit"] == "241"


def test_the_rejection_of_an_own_plan():
    """A plan typed from a document is used as it is."""
    given = {
        "rules": "OIML-R87-2016",
        "nominal": 100,
        "unit": "g",
        "lot_size": 80,
        "sample": [101] * 11 + [94],
        "own_plan": {"n": 12, "k": "0.8", "acceptance_number": 0, "t2_allowed": 0},
    }

    found = answer("lot-test", given)

    # T is 4.5 g up to 100 g, so 94 is below 95.5 and above 91.
    assert (found["verdict"], found["count_below_T1"]) == ("rejected", 1)


def test_water_by_weight():
    """498.6 g of water at 20 °C are 500.025 mL (net-contents design table, by hand).

    498.6 (1 - 0.0012/8) / (0.9982 - 0.0012) = 498.6 x 0.99985 / 0.9970 = 500.0253.
    """
    given = {"net_g": "498.6", "density_20_g_per_ml": "0.9982", "buoyancy": True}

    assert answer("content-volume", given)["volume_20_ml"] == pytest.approx(500.0253, abs=1e-4)


def test_the_worked_example_of_a_tolerance_factor():
    """NIST/SEMATECH e-Handbook 7.2.6.3 prints 2.217, an approximation, for n = 43, 90 %, 99 %."""
    given = {"n": 43, "content": 0.9, "confidence": 0.99, "sides": 2}

    assert answer("tolerance-factor", given)["k"] == pytest.approx(2.217, rel=0.005)


def test_the_content_of_a_proof_is_a_share_and_its_figures_grams():
    """Four readings of 498, 502, 500, 500 g have mean 500 and sd 1.633 g (8/3 under the root)."""
    given = {
        "readings_g": [498, 502, 500, 500],
        "target_g": 500,
        "tolerance_percent": 1,
        "content": 0.99,
        "confidence": 0.95,
    }

    found = answer("prove", given)

    assert found["verdict"] == "not-proved"
    assert found["mean"] == 500
    assert found["sd"] == pytest.approx((8 / 3) ** 0.5)
    assert found["half_width_percent"] == pytest.approx(found["half_width_g"] / 5)


def test_a_run_of_sums_alarms_where_the_hand_says():
    """Sums with k 0.5, h 5 by hand: 1.5, 3, 4.5, 6, so the fourth reading of 2 alarms."""
    found = answer("chart-run", {"chart": "cusum", "standardised": [2, 2, 2, 2, 2]})

    assert found["up"][:4] == pytest.approx([1.5, 3, 4.5, 6])
    assert (found["first_signal"], found["upper_limit"]) == (4, 5)


def test_the_charts_ask_for_what_they_need():
    """A chart of single readings takes readings, a chart of sums standardised ones."""
    with pytest.raises(BadInput, match="readings is missing; the chart individuals needs it"):
        answer("chart-run", {"chart": "individuals"})
    with pytest.raises(BadInput, match="standardised does not belong"):
        answer("chart-run", {"chart": "self-starting", "standardised": [1, 2, 3]})
    with pytest.raises(BadInput, match="h is missing; the chart cusum needs it"):
        answer("arl", {"chart": "cusum", "k": 0.5, "shift_sd": 0})


def test_weighted_averages_by_hand():
    """Weight 0.5 on 2, 0 gives 1 and 0.5; limits 3 √(1/3 (1 - 1/4)) = 1.5, 3 √(1/3 · 15/16)."""
    given = {"chart": "ewma", "standardised": [2, 0], "lam": 0.5, "L": 3}

    found = answer("chart-run", given)

    assert found["ewma"] == pytest.approx([1, 0.5])
    assert found["upper_limit"] == pytest.approx([1.5, 3 * (5 / 16) ** 0.5])
    assert found["first_signal"] is None


def test_individuals_by_hand():
    """10, 12, 11, 13: moving ranges 2, 1, 2, mean 5/3, over 1.128 an sd of 1.477."""
    found = answer("chart-run", {"chart": "individuals", "readings": [10, 12, 11, 13]})

    assert found["mean_moving_range"] == pytest.approx(5 / 3)
    assert found["sd_from_mr"] == pytest.approx(5 / 3 / 1.12838, rel=1e-5)
    assert found["centre"] == pytest.approx(11.5)


def test_the_first_values_of_a_self_starting_chart_are_null():
    """Two readings say nothing yet."""
    found = answer("chart-run", {"chart": "self-starting", "readings": [1.0, 2.0, 1.5, 1.2]})

    assert found["z"][:2] == [None, None]
    assert found["z"][2] is not None


def test_all_after_the_last_good_check_is_suspect():
    """Good at 40, bad at 80, stopped at 85: 41 to 85 are suspect."""
    given = {"checks": [{"at": 40, "ok": True}, {"at": [79, 80], "ok": False}]}

    found = answer("suspect", {**given, "stopped_after": 85})

    assert (found["first"], found["last"]) == (41, 85)


def test_nothing_is_suspect_after_good_checks():
    """Where every check is good the range is null."""
    found = answer("suspect", {"checks": [{"at": 5, "ok": True}], "stopped_after": 5})

    assert (found["first"], found["last"]) == (None, None)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"stopped_after": 70}, "container 80 was filled before"),
        ({"alarm_zero_at_check": 3}, "there are 2 checks"),
        ({"checks": [{"at": 9, "ok": True}, {"at": 9, "ok": True}]}, "give checks in order"),
        ({"checks": [{"at": 9, "ok": "yes"}]}, "'yes' is not known"),
        ({"checks": [{"at": [1, 2, 3], "ok": True}]}, "3 numbers"),
    ],
)
def test_checks_that_contradict_each_other_are_refused(change, message):
    """Containers that were not filled yet, checks out of order and unknown words are refused."""
    given = {"checks": [{"at": 40, "ok": True}, {"at": 80, "ok": False}], "stopped_after": 85}

    with pytest.raises(BadInput, match=message):
        answer("suspect", {**given, **change})


def test_a_turn_of_the_wheel_by_hand():
    """-1.2 g believed to 0.8 is -0.96 g; over 0.98 g/mL that is 0.9796 mL up, unless banded."""
    given = {"mean_deviation_g": -1.2, "slope_g_per_ml": 0.98, "dead_band_g": 0.5, "shrink": 0.8}

    found = answer("adjust", given)
    inside = answer("adjust", {**given, "dead_band_g": 1.0})

    assert found["setting_change_ml"] == pytest.approx(0.96 / 0.98)
    assert found["weight"] == 0.8
    assert inside["setting_change_ml"] == 0


@pytest.mark.parametrize(
    ("change", "code"),
    [({"shrink": None}, "missing"), ({"readings": 3}, "inconsistent")],
)
def test_a_turn_needs_one_way_to_its_weight(change, code):
    """The share believed is given, or what it is computed from, not both and not neither."""
    given = {"mean_deviation_g": -1.2, "slope_g_per_ml": 0.98, "dead_band_g": 0.5, "shrink": 0.8}

    with pytest.raises(BadInput, match="shrink") as refused:
        answer("adjust", {**given, **change})

    assert refused.value.code == code


def test_the_weight_of_a_turn_from_its_parts():
    """Kalman weight by hand: 1 / (1 + 0.5²/4) = 1 / 1.0625 for sd of level 1, dose 0.5, n 4."""
    given = {
        "mean_deviation_g": 2,
        "slope_g_per_ml": 1,
        "dead_band_g": 0,
        "prior_sd_of_level_g": 1,
        "dose_sd_g": 0.5,
        "readings": 4,
    }

    assert answer("adjust", given)["weight"] == pytest.approx(1 / 1.0625)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"upper_limit_g": 250}, "give one above target_g"),
        ({"cylinder_ml": 200}, "take a larger cylinder"),
        ({"shots": [{"setting_ml": 600, "g": [1]}]}, r"shots\[0\].setting_ml is 600"),
        ({"shots": [{"setting_ml": 60, "g": []}]}, r"shots\[0\].g: 0 values"),
        ({"prior": {"slope_between": [2, 1]}}, "larger end first"),
        ({"prior": {"slope_between": [2]}}, "prior.slope_between: 1 values"),
        ({"prior": {"shot_sd_g": 1, "shot_sd_percent": 1}}, "give one of them"),
        ({"shots": [{"setting_ml": 9, "g": [1] * 150}] * 2}, "300 readings"),
    ],
)
def test_trimming_refuses_what_does_not_fit_together(change, message):
    """Each refusal speaks in grams and millilitres and names the field."""
    given = {
        "target_g": 250,
        "upper_limit_g": 252.5,
        "within_percent": 0.5,
        "probability": 0.9,
        "alpha": 0.05,
        "cylinder_ml": 500,
        "density_g_per_ml": 1,
        "readability_g": 0.1,
        "shots": [],
    }

    with pytest.raises(BadInput, match=message):
        answer("trim-next", {**given, **change})


def test_trimming_starts_from_below_without_a_shot():
    """Before the first shot the setting is below the nominal 250 mL, and nothing is done."""
    given = {
        "target_g": 250,
        "upper_limit_g": 252.5,
        "within_percent": 0.5,
        "probability": 0.9,
        "alpha": 0.05,
        "cylinder_ml": 500,
        "density_g_per_ml": 1,
        "readability_g": 0.1,
        "shots": [],
        "prior": {"slope_between": [0.98, 1.02], "shot_sd_percent": 0.2},
    }

    found = answer("trim-next", given)

    assert not found["done"]
    assert 200 < found["setting_ml"] < 250
    assert found["via_ml"] is None


def test_capability_from_readings_and_from_their_summary():
    """1, 2, 3, 4 has mean 2.5 and sd 1.29099; 0 to 5 gives 5 / (6 x 1.29099) = 0.6455."""
    direct = answer("capability", {"readings": [1, 2, 3, 4], "lower": 0, "upper": 5})
    told = {"n": 4, "mean": 2.5, "sd_overall": 1.2909944487358056, "lower": 0, "upper": 5}

    assert direct["Pp"] == pytest.approx(0.6455, abs=5e-5)
    assert direct["Ppk"] == pytest.approx(answer("capability", told)["Ppk"])


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"n": 4, "mean": 1, "lower": 0, "upper": 5}, "sd_overall is missing"),
        ({"readings": [1, 2], "n": 2, "lower": 0, "upper": 5}, "give one of the two"),
        ({"readings": [1, 1], "lower": 0, "upper": 5}, "no spread"),
        ({"readings": [1, 2], "lower": 5, "upper": 5}, "give one above lower"),
    ],
)
def test_capability_refuses_half_a_summary(given, message):
    """The readings or their whole summary, with the limits the right way round."""
    with pytest.raises(BadInput, match=message):
        answer("capability", given)


def test_a_study_names_operators_in_all_rows_or_in_none():
    """A row without its operator among rows with one is named."""
    rows = [
        {"container": 1, "operator": "A", "reading": 1},
        {"container": 1, "reading": 2},
        {"container": 2, "operator": "A", "reading": 2},
    ]

    with pytest.raises(BadInput, match=r"rows\[1\].operator is missing"):
        answer("repeatability-study", {"rows": rows})


@pytest.mark.parametrize(("name", "code"), [(True, "type"), ("", "range"), (10**13, "range")])
def test_a_container_has_a_name(name, code):
    """Truth, nothing and a monstrous number are no names."""
    rows = [{"container": name, "reading": 1}] * 3

    with pytest.raises(BadInput, match=r"rows\[0\].container") as refused:
        answer("repeatability-study", {"rows": rows})

    assert refused.value.code == code


def test_a_study_by_hand():
    """Two containers twice: 1, 3 and 5, 7. Within 2; between: 2 x (2² + 2²) / 1 = 16, F 8."""
    rows = [{"container": c, "reading": r} for c, r in (("a", 1), ("a", 3), ("b", 5), ("b", 7))]

    found = answer("repeatability-study", {"rows": rows})

    assert found["components"]["within"] == pytest.approx(2)
    assert (found["ms_between"], found["ms_within"]) == pytest.approx((16, 2))
    assert found["components"]["between"] == pytest.approx((16 - 2) / 2)
    assert found["f"] == pytest.approx(8)


def test_the_same_draws_give_the_same_chance():
    """A chance found by drawing is the same when it is asked again, and says its seed."""
    given = {
        "rules": "EU-76/211",
        "nominal": 100,
        "lot_size": 300,
        "process_mean": 100,
        "sd_within": 2.5,
        "sd_between_lots": 0,
    }

    found = answer("acceptance-chance", given)

    assert found == answer("acceptance-chance", given)
    assert found["seed"] == 1
    # Design table: 0.88641 with standard error 0.00022, by two million drawn samples.
    assert found["p_accept"] == pytest.approx(0.88641, abs=0.001)


def test_a_lot_without_a_plan_has_no_chance():
    """Where the rules have no plan the chance is not available, and the sentence says why."""
    given = {
        "rules": "EU-76/211",
        "nominal": 100,
        "lot_size": 30,
        "process_mean": 100,
        "sd_within": 2.5,
        "sd_between_lots": 0,
    }

    with pytest.raises(BadInput, match=r".") as refused:
        answer("acceptance-chance", given)

    assert refused.value.code == "not-available"


def test_a_run_length_of_rules_is_the_reciprocal_of_its_chance():
    """One reading beyond 3 sd: 1 / 0.0027 = 370.4 (any table of the normal distribution)."""
    rules = [{"r_of": 1, "last": 1, "beyond_sd_same_side": 3}]

    found = answer("arl", {"chart": "run-rules", "rules": rules, "shift_sd": 0})

    assert found["arl"] == pytest.approx(370.4, abs=0.05)


def test_the_limit_of_a_chart_gives_back_its_run_length():
    """The limit found for a run length has that run length, for sums and for averages."""
    h = answer("chart-design", {"chart": "cusum", "k": 0.5, "arl0": 400})["h"]
    width = answer("chart-design", {"chart": "ewma", "lam": 0.2, "arl0": 400})["L"]

    sums = answer("arl", {"chart": "cusum", "k": 0.5, "h": h, "shift_sd": 0})
    averages = answer("arl", {"chart": "ewma", "lam": 0.2, "L": width, "shift_sd": 0})

    assert sums["arl"] == pytest.approx(400, rel=1e-4)
    assert averages["arl"] == pytest.approx(400, rel=1e-4)


@pytest.mark.parametrize(
    ("name", "given", "field"),
    [
        ("chart-design", {"chart": "cusum", "k": 5, "arl0": 2}, "arl0"),
        ("chart-design", {"chart": "cusum", "k": 0.1, "arl0": 1e6}, "arl0"),
        ("arl", {"chart": "cusum", "k": 5, "h": 20, "shift_sd": 0}, "chart"),
    ],
)
def test_a_run_length_beyond_reach_is_refused(name, given, field):
    """A run length that no limit gives, or none can compute, is outside the model."""
    with pytest.raises(BadInput, match=r"give") as refused:
        answer(name, given)

    assert (refused.value.code, refused.value.field) == ("outside-model", field)


def test_more_cannot_be_checked_than_is_filled():
    """Five checked out of every three containers is a contradiction."""
    given = {
        "checked_each_time": 5,
        "containers_between_checks": 3,
        "shift_in_dose_sd": 1,
        "chart": "mean",
    }

    with pytest.raises(BadInput, match="there are only 3 from check to check"):
        answer("check-delay", given)


def test_no_limit_reaches_a_probability_that_is_too_high():
    """With an uncertainty as large as the tolerance no reading is sure enough: null."""
    given = {"tolerance_g": 1, "standard_uncertainty_g": 1, "conformance_probability": 0.95}

    found = answer("acceptance-limit", given)

    assert (found["acceptance_limit_g"], found["guard_band_g"]) == (None, None)


def test_readings_in_another_unit_than_their_step_are_refused():
    """Grams beside a step in tonnes is an error of units, not a long calculation."""
    with pytest.raises(BadInput, match="check the units"):
        answer("rounded-sd", {"readings": [1, 5e9], "readability": 1})


def test_a_limit_itself_is_inside():
    """0.1 is not below a limit of 0.1, though the binary number 0.1 is above the decimal one."""
    found = answer("chart-design", {"chart": "cusum", "k": 0.1, "arl0": 370})

    assert found["h"] > 0


def test_air_outside_its_equation_is_refused_as_such():
    """60 °C is outside the air equation; the code says that it is the model's limit."""
    given = {"temp_c": 60, "pressure_hpa": 1013, "relative_humidity_percent": 50}

    with pytest.raises(BadInput, match="temp_c: 60 is outside") as refused:
        answer("air-density", given)

    assert refused.value.code == "outside-model"


def test_the_signature_names_a_creep_and_asks_for_the_hopper():
    """A straight fall may be creep or a falling hopper: both are said, the level asked for."""
    doses = [str(250 - 0.15 * i + (0.05 if i % 3 else -0.1)) for i in range(20)]

    found = answer("signature", {"doses_g": doses, "target_g": 250, "readability_g": 0.1})

    assert found["usable"] is True
    assert set(found["together"]) == {"creep", "level"}
    assert found["ask_level"] is True
    assert found["size_g"] < 0
    assert sum(found["posterior"].values()) == pytest.approx(1.0)


def test_the_signature_wants_a_level_for_every_dose():
    """Fewer levels than doses are refused, with both numbers."""
    given = {"doses_g": [250] * 10, "target_g": 250, "readability_g": 0.1, "hopper_level": [1, 2]}

    with pytest.raises(BadInput, match="2 figures for 10 doses"):
        answer("signature", given)
