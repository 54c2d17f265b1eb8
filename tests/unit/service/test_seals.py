"""O-rings by number and measure, glands, materials, gaskets."""

from __future__ import annotations

from fractions import Fraction

import pytest

import fillwright
from fillwright.errors import BadInput, KnowledgeError
from fillwright.knowledge.seal_tables import materials, orings, parse_materials

MM = 25.4


def ask(question, **given):
    """Ask a question with its input as words."""
    return fillwright.ask(question, given)


def _steps(*stretches):
    """Nominal inside diameters by size number, stretch by stretch of one step each."""
    sizes = {}
    for first, start, step, last in stretches:
        for place, number in enumerate(range(first, last + 1)):
            sizes[number] = Fraction(start) + place * Fraction(step)
    return sizes


# The rule that makes the inside diameters of the series, in inches.
SERIES = [
    ("0.011", _steps((10, "1/4", "1/16", 28), (29, "3/2", "1/8", 41), (42, "13/4", "1/4", 50))),
    ("0.013", _steps((108, "1/4", "1/16", 134), (152, "13/4", "1/4", 178))),
    ("0.016", _steps((201, "3/16", "1/16", 222), (223, "13/8", "1/8", 258))),
    ("0.025", _steps((309, "7/16", "1/16", 324), (325, "3/2", "1/8", 361))),
    ("0.025", _steps((425, "9/2", "1/8", 437), (438, "25/4", "1/4", 445))),
]


@pytest.mark.parametrize(("offset", "nominal"), SERIES)
def test_sizes_follow_the_rule_of_their_series(offset, nominal):
    """Nominal fraction less the offset of the series, to 0.006 mm, is the table."""
    table = {int(size.dash): size for size in orings()}

    for number, fraction in nominal.items():
        assert table[number].id_mm == pytest.approx(
            float((fraction - Fraction(offset)) * 254 / 10), abs=0.02
        ), number


def test_a_number_and_a_measure_name_the_same_ring():
    """Each size of the table, measured exactly, is named first among all."""
    for size in orings():
        if size.id_mm < 3:
            continue  # the irregular first sizes lie closer than a calliper tells apart
        found = ask("oring", id_mm=size.id_mm, cs_mm=size.cs_mm)["matches"][0]

        assert found["dash"] == size.dash


def test_a_ring_of_no_size_is_not_sure():
    """A metric section between the inch ones names near sizes, and says that it is not sure."""
    found = ask("oring", id_mm=60, cs_mm=3.0)

    assert not found["sure"]
    assert len(found["matches"]) == 3
    assert "not sure" in found["because"]
    assert found["confirm_with_maker"] is True


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"dash": "999"}, "dash"),
        ({"id_mm": 10}, "cs_mm"),
        ({}, "id_mm"),
        ({"dash": "229", "id_mm": 59, "cs_mm": 3}, "dash"),
    ],
)
def test_half_a_measure_is_refused(given, field):
    """A size that is none, or half of a measure, is refused with the field."""
    with pytest.raises(BadInput, match=field) as error:
        ask("oring", **given)

    assert error.value.field == field


# Gland depths that a seal maker's guide prints, and squeezes worked out from the section.
@pytest.mark.parametrize(
    ("kind", "depth_in", "width_in", "squeeze", "verdict"),
    [
        ("moving", 0.119, 0.185, 0.144, "green"),
        ("moving", 0.123, 0.185, 0.115, "green"),
        ("fixed", 0.110, 0.195, 0.209, "green"),
        ("fixed", 0.116, 0.195, 0.165, "green"),
    ],
)
def test_printed_glands_come_out_as_printed(kind, depth_in, width_in, squeeze, verdict):
    """Squeeze of the 0.139 in section in glands of a printed table, and they are green."""
    groove = 60.0
    found = ask(
        "gland",
        bore_mm=groove + 2 * depth_in * MM,
        groove_mm=groove,
        width_mm=width_in * MM,
        id_mm=59.0,
        cs_mm=0.139 * MM,
        kind=kind,
    )

    assert found["squeeze"]["value"] == pytest.approx(squeeze, abs=0.001)
    assert found["squeeze"]["verdict"] == verdict
    assert found["worst_case"]["squeeze"]["low"] < found["squeeze"]["value"]
    assert found["worst_case"]["squeeze"]["high"] > found["squeeze"]["value"]


def test_a_bore_inside_its_groove_is_refused():
    """Bore and groove taken for each other are refused in one sentence."""
    with pytest.raises(BadInput, match="larger than groove"):
        ask("gland", bore_mm=50, groove_mm=60, width_mm=4, id_mm=50, cs_mm=3.53, kind="fixed")


def test_stretching_thins_the_section():
    """At 1.5 % stretch the squeeze drops by about 0.6 points, volume kept."""
    found = ask(
        "gland", bore_mm=66.8, groove_mm=60.82, width_mm=4.7, id_mm=59.92, cs_mm=3.53, kind="fixed"
    )

    lost = found["squeeze"]["value"] - found["squeeze_stretched"]
    assert lost == pytest.approx(0.006, abs=0.001)


@pytest.mark.parametrize(
    ("material", "media", "temperature", "moving", "overall", "verdict"),
    [
        ("FKM", ["vegetable_oil"], 40, True, 1, "use"),
        ("EPDM", ["mineral_oil", "water"], 40, False, 4, "do-not-use"),
        ("EPDM", ["vegetable_oil"], 40, False, 3, "soak-test"),
        ("FKM", ["vegetable_oil"], 70, False, 2, "use"),
        ("FKM", ["vegetable_oil"], 70, True, 2, "soak-test"),
        ("FKM", ["vegetable_oil"], 210, False, 4, "do-not-use"),
    ],
)
def test_the_worst_medium_and_the_heat_decide(
    material, media, temperature, moving, overall, verdict
):
    """Worst medium, a step worse above its temperature, and 4 beyond the limit."""
    found = ask(
        "material", material=material, media=media, temperature_c=temperature, moving=moving
    )

    assert found["rating"]["overall"] == overall
    assert found["verdict"] == verdict
    assert found["confirm_with_maker"] is True


def test_a_gasket_that_closes_with_another_bore_is_named():
    """A ferrule that several bores share names the ones that would step into the flow."""
    found = ask("gasket", bore_mm=26, ferrule_od_mm=50.5)

    assert [match["nominal"] for match in found["matches"]] == ["DN25"]
    assert {"DN32", "DN40"} <= {wrong["nominal"] for wrong in found["closes_but_wrong_bore"]}


def test_an_unknown_medium_lists_what_there_is():
    """Nothing that is not listed is taken for safe."""
    with pytest.raises(BadInput, match="vegetable_oil"):
        ask("material", material="FKM", media=["lava"], temperature_c=20, moving=False)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[medium.steam]\nname", "[medium.steam]\nnamed", "steam has no name"),
        ("rating = [1, 3, 4, 3", "rating = [1, 3, 5, 3", "steam has the rating 5"),
        ("rating = [1, 3, 4, 3, 3, 1", "rating = [1, 3", "steam needs 13 ratings"),
        ('order = ["EPDM", ', "order = [", "EPDM"),
    ],
)
def test_a_broken_table_of_materials_names_file_and_line(old, new, said):
    """A rating that is none, a gap, a missing name: file, line and mend."""
    from importlib.resources import files  # noqa: PLC0415

    text = (files("fillwright.knowledge") / "data" / "materials.toml").read_text("utf-8")
    assert old in text

    with pytest.raises(KnowledgeError, match=rf"mine\.toml, line \d+: .*{said}"):
        parse_materials(text.replace(old, new, 1), file="mine.toml")


def test_every_rubber_has_a_shelf_life():
    """Rubbers have years from the date of cure; food rules are names, not verdicts."""
    held = materials()

    assert all(held.materials[key].shelf_years > 0 for key in ("EPDM", "FKM", "NBR", "VMQ"))
    assert any("177.2600" in line for line in held.food_references)
