"""Match: parts are chosen by their rules, every figure has its range, what would do does."""

from __future__ import annotations

import copy
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.errors import BadInput
from fillwright.questions import answer, find

EXAMPLE = find("match").example


def case(**changes):
    """The example of the question with changes; a path with dots names what is inside."""
    found = copy.deepcopy(EXAMPLE)
    for path, value in changes.items():
        inner = found
        *way, last = path.split("__")
        for step in way:
            inner = inner[step]
        if value is None:
            inner.pop(last, None)
        else:
            inner[last] = value
    return found


def reason(found, rule):
    """One rule of an answer."""
    return next(one for one in found["reasons"] if one["rule"] == rule)


def near(found, rule, change):
    """What would do for a rule."""
    return next(n["to"] for n in found["nearest"] if (n["rule"], n["change"]) == (rule, change))


def figure(found, name):
    """One figure to expect."""
    return next(one for one in found["expected"] if one["name"] == name)


def test_every_reason_has_a_range_about_its_value():
    """Value, low and high of every rule stand in order, and the input that moves it is named."""
    found = answer("match", EXAMPLE)

    for one in (*found["reasons"], *found["expected"]):
        assert one["low"] <= one["value"] <= one["high"], one
    assert reason(found, "recharge")["matters_most"] == "viscosity"
    assert figure(found, "rate")["matters_most"] == "handling"
    assert found["matters_most"] == "viscosity"


def test_the_figures_are_those_of_the_single_questions():
    """Recharge and fill agree with the questions that answer them alone."""
    given = case(product__temperature_c=None, product__surface_tension_n_m=None)
    found = answer("match", given)
    cylinder = {"bore_m": 0.05, "stroke_m": 0.00025 / (math.pi / 4.0 * 0.05**2)}
    machine = given["machine"]

    alone = answer(
        "recharge-limit",
        {"product": given["product"], "path": machine["suction_path"], "cylinder": cylinder,
         "head_m": 0},
    )  # fmt: skip
    filled = answer(
        "discharge",
        {"product": given["product"], "path": machine["discharge_path"], "cylinder": cylinder,
         "drive": machine["drive"]},
    )  # fmt: skip

    fastest = figure(found, "recharge")["value"]
    assert fastest == pytest.approx(alone["fastest_full_recharge_s"], rel=0.005)
    assert figure(found, "fill")["value"] == pytest.approx(filled["fill_s"], rel=0.02)


@pytest.mark.parametrize(
    ("dose", "cylinder", "shots"),
    [
        (0.00003, "100 mL", 1),
        (0.000095, "100 mL", 1),
        (0.00012, "500 mL", 1),
        (0.0004, "500 mL", 1),
        (0.0009, "500 mL", 2),
    ],
)
def test_the_cylinder_is_the_smallest_of_the_fewest_shots(dose, cylinder, shots):
    """Fewest shots first, then the smallest at 30 to 90 % of its stroke, else the smallest."""
    found = answer("match", case(dose_m3=dose, container__volume_m3=None))

    assert (found["cylinder"], found["shots"]) == (cylinder, shots)
    volume = 0.0001 if cylinder == "100 mL" else 0.0005
    assert found["share_of_cylinder"] == pytest.approx(dose / shots / volume)


def test_a_dose_too_small_for_every_cylinder_is_no():
    """Under a tenth of the smallest: no cylinder, and the volumes that would do are told."""
    found = answer("match", case(dose_m3=0.000005, container__volume_m3=None))

    assert (found["verdict"], found["cylinder"]) == ("does-not-suit", None)
    assert near(found, "cylinder", "cylinder volume") == "5 to 50 mL"


@pytest.mark.parametrize(
    ("neck", "nozzle", "outcome"), [(0.02, "14 mm", "ok"), (0.013, "10 mm", "ok"),
                                    (0.01201, "10 mm", "with-care"), (0.0115, None, "no")],
)  # fmt: skip
def test_the_nozzle_fits_the_neck(neck, nozzle, outcome):
    """Two millimetres of room; within a tenth of them the neck is to be measured."""
    found = answer("match", case(container__neck_bore_m=neck))

    assert found["nozzle"] == nozzle
    assert reason(found, "nozzle-fits")["outcome"] == outcome


def test_a_plain_nozzle_drips_beyond_the_bore_that_holds():
    """The widest that holds is taken; one too wide drips, and a narrower one would not."""
    wide = [{"name": "20 mm", "bore_m": 0.018, "outside_m": 0.02}]
    both = [*wide, {"name": "6 mm", "bore_m": 0.004, "outside_m": 0.006}]
    drips = answer("match", case(machine__nozzles=wide, container__neck_bore_m=0.03))
    holds = answer("match", case(machine__nozzles=both, container__neck_bore_m=0.03))

    assert reason(drips, "nozzle-holds")["outcome"] == "no"
    bore = near(drips, "nozzle-holds", "nozzle bore")
    hold = answer("nozzle-hold", {"surface_tension_n_m": 0.077, "density_kg_m3": 1400})
    assert bore == pytest.approx(hold["critical_bore_m"], rel=1e-9)
    assert holds["nozzle"] == "6 mm"
    assert reason(holds, "nozzle-holds")["outcome"] == "ok"


@pytest.mark.parametrize(
    ("celsius", "valves", "valve", "outcome"),
    [
        (20, ["rotary", "spool"], "rotary", "ok"),
        (72, ["rotary", "spool"], "spool", "ok"),
        (62.5, ["rotary"], "rotary", "with-care"),
        (59, ["rotary"], "rotary", "with-care"),
        (72, ["rotary"], "rotary", "no"),
    ],
)
def test_the_valve_goes_by_the_temperature(celsius, valves, valve, outcome):
    """Spool above 60 °C; two kelvin about the limit are to be measured."""
    found = answer("match", case(product__temperature_c=celsius, machine__valves=valves))

    assert found["valve"] == valve
    assert reason(found, "valve")["outcome"] == outcome


def test_seals_go_by_the_table_of_materials():
    """The worst material decides, what would do is named, and what stands is listed."""
    oil = {"media": ["mineral_oil"], "machine__seals": ["EPDM", "FKM"]}
    found = answer("match", case(**oil))

    assert reason(found, "seals")["outcome"] == "no"
    assert found["seals"] == ["FKM"]
    assert "FKM" in near(found, "seals", "material")
    with pytest.raises(BadInput, match=r"machine\.seals"):
        answer("match", case(machine__seals=["cork"]))


def test_particles_need_three_times_their_size():
    """The narrowest bore of the whole way counts."""
    fine = answer("match", case(particle_m=0.003))
    coarse = answer("match", case(particle_m=0.0045))

    assert reason(fine, "particles")["outcome"] == "ok"
    assert reason(coarse, "particles")["outcome"] == "no"
    assert near(coarse, "particles", "bore") == pytest.approx(0.0135)


def test_what_lacks_input_is_null_and_listed():
    """Without path, drive, media and temperature these rules are not judged, and say so."""
    bare = {
        "product": {"model": "newtonian", "density_kg_m3": 1000, "viscosity_pa_s": 0.001},
        "dose_m3": 0.00025,
        "container": {"neck_bore_m": 0.02},
        "machine": {
            "cylinders": [{"name": "a", "volume_m3": 0.0005}],
            "nozzles": [{"name": "b", "bore_m": 0.008, "outside_m": 0.01}],
            "valves": ["rotary"],
        },
    }
    found = answer("match", bare)

    assert found["verdict"] == "suits"
    assert (found["valve"], found["seals"], found["hopper"]) == (None, None, None)
    assert set(found["not_judged"]) == {
        "container", "nozzle-holds", "clean-fill", "particles", "valve", "seals", "hopper",
        "recharge", "drive", "rating", "claim",
    }  # fmt: skip


def test_a_yield_above_the_atmosphere_does_not_feed():
    """A product that stands up to more than an atmosphere never comes, warm or wide helps."""
    stiff = {
        "model": "herschel-bulkley", "density_kg_m3": 1000, "yield_pa": 4000, "k_pa_sn": 100,
        "n": 0.3,
    }  # fmt: skip
    found = answer("match", case(product=stiff, media=None))

    assert (found["verdict"], reason(found, "recharge")["outcome"]) == ("does-not-suit", "no")
    assert "will not feed" in found["because"]
    assert reason(found, "recharge")["value"] is None


@pytest.mark.parametrize("thick", [12.0, 40.0, 90.0])
def test_what_would_do_does(thick):
    """Putting the nearest bore or viscosity in gives a rule that is no longer worse than ok."""
    bad = answer("match", case(product__viscosity_pa_s=thick))
    assert reason(bad, "recharge")["outcome"] != "ok" or thick < 20
    thin = near(bad, "drive", "viscosity")

    better = answer("match", case(product__viscosity_pa_s=thin * 0.99))

    assert reason(better, "drive")["outcome"] in {"ok", "with-care"}
    assert reason(better, "drive")["value"] >= 1.5
    assert reason(better, "recharge")["outcome"] == "ok"


def test_a_wider_suction_path_does():
    """All bores so many times wider recharge in the time that was promised."""
    bad = answer("match", case(product__viscosity_pa_s=60.0))
    bore = near(bad, "recharge", "suction bore")
    times = bore / 0.018
    wide = [
        {**piece, "bore_m": piece["bore_m"] * times}
        for piece in EXAMPLE["machine"]["suction_path"]
    ]
    hoppers = [{"name": "wide", "volume_m3": 0.03, "outlet_bore_m": 0.025 * times}]

    good = answer(
        "match",
        case(product__viscosity_pa_s=60.0, machine__suction_path=wide, machine__hoppers=hoppers),
    )

    assert reason(good, "recharge")["outcome"] == "ok"


@settings(max_examples=15, deadline=None)
@given(st.floats(0.05, 50.0), st.floats(1.1, 3.0))
def test_thicker_is_never_quicker(thick, times):
    """A thicker product recharges and fills no faster and leaves the drive no more to spare."""
    first = answer("match", case(product__viscosity_pa_s=thick))
    second = answer("match", case(product__viscosity_pa_s=thick * times))

    for name in ("recharge", "fill"):
        assert figure(second, name)["value"] >= figure(first, name)["value"] * 0.999
    assert reason(second, "drive")["value"] <= reason(first, "drive")["value"] * 1.001


@settings(max_examples=10, deadline=None)
@given(st.floats(1.02, 2.5))
def test_a_wider_range_is_wider(factor):
    """The less is known of the viscosity, the wider the range of the recharge."""
    thick = {"product__viscosity_pa_s": 50.0}
    known = {"viscosity_factor": 1.01, "release_factor": 1.0, "dose_percent": 0}
    narrow = answer("match", case(ranges=known, **thick))
    wide = answer("match", case(ranges={**known, "viscosity_factor": factor}, **thick))

    def span(found):
        one = reason(found, "recharge")
        return one["high"] / one["low"]

    assert span(wide) >= span(narrow)
    assert span(wide) == pytest.approx(factor**2, rel=0.03)


@settings(max_examples=12, deadline=None)
@given(
    thick=st.floats(1e-4, 1e3),
    start=st.sampled_from([0.0, 5.0, 300.0, 4000.0]),
    index=st.floats(0.2, 1.2),
    dose=st.floats(2e-6, 2e-3),
    neck=st.floats(0.004, 0.08),
    foams=st.booleans(),
)
def test_any_product_gets_an_answer(thick, start, index, dose, neck, foams):
    """Whatever is filled: values inside their ranges, sentences without odd figures."""
    stuff = {
        "model": "herschel-bulkley", "density_kg_m3": 1000, "yield_pa": start, "k_pa_sn": thick,
        "n": index, "surface_tension_n_m": 0.03, "temperature_c": 20,
    }  # fmt: skip
    found = answer(
        "match", case(product=stuff, dose_m3=dose, container__neck_bore_m=neck, foaming=foams)
    )

    for one in (*found["reasons"], *found["expected"]):
        ends = one["low"], one["value"], one["high"]
        known = [end for end in ends if end is not None]
        assert known == sorted(known)
        assert not any(word in one["because"] for word in (" nan", " inf", "e+", "e-"))


def test_a_viscosity_in_mpa_s_is_asked_about():
    """350 typed for 350 mPa·s leads the answer with the question."""
    found = answer("match", case(product__viscosity_pa_s=350))

    assert found["because"].startswith("Did you mean 0.35 Pa·s (350 mPa·s)?")


@pytest.mark.parametrize(
    ("path", "value", "asked"),
    [
        ("product__density_kg_m3", 1.4, r"Did you mean 1400 kg/m³ \(1.4 g/mL\)"),
        ("dose_m3", 250, r"Did you mean 0.00025 m³ \(250 mL\)"),
        ("container__neck_bore_m", 20, r"Did you mean 0.02 m \(20 mm\)"),
        ("product__surface_tension_n_m", 7.7, "outside 0.005 to 0.6 N/m"),
    ],
)
def test_a_figure_in_another_unit_is_asked_about(path, value, asked):
    """A figure that no filler meets is refused with the unit that was likely meant."""
    with pytest.raises(BadInput, match=asked) as refused:
        answer("match", case(**{path: value}))

    assert refused.value.code in {"unit", "range"}


def test_flammable_gives_a_caution_and_no_verdict():
    """Flammable changes nothing but the cautions."""
    plain, burns = answer("match", EXAMPLE), answer("match", case(flammable=True))

    assert burns["verdict"] == plain["verdict"]
    assert any("Flammable" in words for words in burns["cautions"])
