"""Proof, lot test, volume scale, cylinders, wheel."""

from __future__ import annotations

import re
from decimal import Decimal
from xml.etree import ElementTree as ET

import pytest

from fillwright.errors import BadInput
from fillwright.records.charts import (
    CylinderLane,
    CylinderLanes,
    LotChart,
    ProbabilityPlot,
    ProofChart,
    ProofShot,
    RankedBar,
    RankedBars,
    VolumeScale,
    Wheel,
)
from fillwright.records.turns import turn_words
from fillwright.report.charts import describe, draw, table

SVG = "{http://www.w3.org/2000/svg}"
PROOF = ProofChart(
    shots=(
        *(ProofShot(net_g=Decimal(2470 + i) / 10) for i in range(9)),
        ProofShot(net_g=Decimal("246.0"), is_set_aside=True),
    ),
    planned=25,
    aim_g=Decimal("247.5"),
    claim_low_g=Decimal("245.025"),
    claim_high_g=Decimal("249.975"),
    claim_pct=Decimal(1),
)
LOT = LotChart(
    values_label_unit=tuple(Decimal(2500 + i % 9) / 10 for i in range(50)),
    nominal=Decimal(250),
    mean=250.39,
    limit=249.9,
    t1_label_unit=Decimal(241),
    t2_label_unit=Decimal(232),
    unit="mL",
)
SCALE = VolumeScale(
    now_marks=Decimal("50.4"),
    set_marks=Decimal("50.8"),
    likely_low_marks=50.6,
    likely_high_marks=51.0,
)
LANES = CylinderLanes(
    dose_ml=Decimal(250),
    lanes=(
        CylinderLane(capacity_ml=Decimal(110), words="too small"),
        CylinderLane(capacity_ml=Decimal(550), words="half stroke, take this", is_taken=True),
    ),
)
PLOT = ProbabilityPlot(
    values_g=(247.0, 247.4, 247.6, 249.9),
    scores_z=(-0.99, -0.29, 0.29, 0.99),
    low_g=(245.9, 246.6, 247.2, 247.4),
    high_g=(247.5, 248.1, 248.7, 249.4),
    mean_g=247.9,
    sd_g=1.2,
    outside=(3,),
    runs=999,
    seed=5,
    words="1 reading lies where steady doses hardly ever put it.",
)
BARS = RankedBars(
    title="Where the error comes from",
    bars=(
        RankedBar(name="1. The dose scatters", size_share=0.4, words="0.40 g"),
        RankedBar(name="2. The scale", size_share=0.1, words="0.10 g"),
    ),
)
EVERY = [PROOF, LOT, SCALE, LANES, PLOT, BARS, Wheel(size_turns=0.2, is_clockwise=True)]


def _tree(svg: str) -> ET.Element:
    """A drawing, parsed."""
    return ET.fromstring(svg)  # noqa: S314  our own drawing


def _places(svg: str) -> dict[str, tuple[float, float]]:
    """Where each text stands."""
    return {
        node.text or "": (float(node.get("x", "0")), float(node.get("y", "0")))
        for node in _tree(svg).iter(f"{SVG}text")
    }


def _dots(svg: str) -> int:
    """How many dots a drawing has."""
    return svg.count("h.01")


@pytest.mark.parametrize("spec", EVERY, ids=lambda spec: type(spec).__name__)
def test_each_chart_says_what_it_shows(spec):
    """Every chart is well-formed for page and paper and carries its sentence as its name."""
    for for_print in (False, True):
        root = _tree(draw(spec, for_print=for_print))

        assert root.get("role") == "img"
        assert root.get("aria-label") == describe(spec)
    assert table(spec).rows


def test_every_shot_is_a_dot():
    """Nine shots are nine dots; the one set aside is a ring, drawn of two."""
    assert _dots(draw(PROOF, for_print=False)) == 9 + 2
    assert describe(PROOF) == (
        "9 of 25 shots weighed, from 247.0 to 247.8 g. Claim of plus or minus 1 percent:"
        " 245.0 to 250.0 g. 1 set aside."
    )


def test_no_shot_is_lost_in_a_high_heap():
    """Two hundred equal shots are two hundred dots inside the drawing."""
    shots = tuple(ProofShot(net_g=Decimal("247.5")) for _ in range(200))
    svg = draw(
        ProofChart(
            shots=shots,
            planned=200,
            aim_g=Decimal("247.5"),
            claim_low_g=Decimal(245),
            claim_high_g=Decimal(250),
            claim_pct=Decimal(1),
        ),
        for_print=False,
    )
    heights = [float(y) for y in re.findall(r"M[\d.]+ (-?[\d.]+)h\.01", svg)]

    assert len(heights) == 200
    assert min(heights) > 0


def test_the_range_of_doses_is_drawn_only_when_known():
    """Before the last shot there is no dashed box that could tempt to stop early."""
    known = ProofChart(
        **{name: getattr(PROOF, name) for name in PROOF.__slots__}
        | {"within_low_g": 246.1, "within_high_g": 248.9}
    )

    assert 'stroke-dasharray="7 4"' not in draw(PROOF, for_print=False)
    assert 'stroke-dasharray="7 4"' in draw(known, for_print=False)


def test_the_lot_lies_between_its_limits():
    """T2, T1 and the label stand in their order along the line, the average is written."""
    places = _places(draw(LOT, for_print=False))

    assert places["T2 232.0"][0] < places["T1 241.0"][0] < places["label 250.0 mL"][0]
    assert "average 250.4" in places
    assert "None below T1, 241.0 mL" in describe(LOT)


def test_a_lot_without_limits_can_be_drawn():
    """A rule set without T1 and T2, and a sample not yet weighed, still give a drawing."""
    bare = LotChart(
        values_label_unit=(),
        nominal=Decimal(250),
        mean=None,
        limit=None,
        t1_label_unit=None,
        t2_label_unit=None,
        unit="g",
    )

    assert "label 250.0 g" in _places(draw(bare, for_print=False))
    assert describe(bare) == "No sample weighed yet."


def test_exactly_on_t1_is_not_below():
    """A content exactly on the limit is not counted, in decimals (20.9 against 23 less 2.1)."""
    lot = LotChart(
        values_label_unit=(Decimal("20.9"), Decimal("20.8")),
        nominal=Decimal(23),
        mean=20.85,
        limit=None,
        t1_label_unit=Decimal(23) - Decimal("2.1"),
        t2_label_unit=None,
        unit="g",
    )

    assert "1 below T1, 20.9 g" in describe(lot)


@pytest.mark.parametrize("rises_upwards", [True, False])
def test_the_volume_scale_runs_as_on_the_machine(rises_upwards):
    """The bigger number stands above where the machine has it so, else below."""
    scale = VolumeScale(now_marks=Decimal("50.4"), rises_upwards=rises_upwards)
    places = _places(draw(scale, for_print=False))

    assert (places["51"][1] < places["50"][1]) is rises_upwards


def test_set_and_now_are_two_pointers():
    """Both words are there, "set" above "now" for a higher setting, with about three numbers."""
    places = _places(draw(SCALE, for_print=False))

    assert places["set"][1] < places["now"][1]
    assert {"49", "50", "51", "52"} <= set(places)
    assert 'stroke-dasharray="6 3"' in draw(SCALE, for_print=False)


def test_a_pointer_beyond_the_drawing_has_its_number():
    """When the present setting is far away its number is written beside the pointer."""
    scale = VolumeScale(now_marks=Decimal("43.0"), set_marks=Decimal("98.8"))

    assert "43.0" in _places(draw(scale, for_print=False))


def test_the_scale_ends_where_the_metal_ends():
    """No number is drawn past the last mark or below nought."""
    top = _places(draw(VolumeScale(now_marks=Decimal("99.8")), for_print=False))
    bottom = _places(draw(VolumeScale(now_marks=Decimal("0.4")), for_print=False))

    assert "101" not in top
    assert "100" in top
    assert "\u22121" not in bottom


def test_the_dose_stands_in_its_lane():
    """The bar of the taken cylinder reaches to both sides of the dose; its words are bold."""
    svg = draw(LANES, for_print=False)
    dose = float(re.search(r'M([\d.]+) [\d.]+V[\d.]+" fill="none" stroke="var\(--ink\)"', svg)[1])
    boxes = re.findall(r"M([\d.]+) [\d.]+H([\d.]+)L([\d.]+)", svg)

    assert len(boxes) >= 2
    start, _, end = map(float, boxes[1])
    assert start < dose < end
    assert "half stroke, take this" in _places(svg)


@pytest.mark.parametrize(
    ("turns", "words"),
    [
        (0.0, "a touch"),
        (0.06, "a touch"),
        (0.0625, "one eighth of a turn"),
        (0.12, "one eighth of a turn"),
        (0.2, "one fifth of a turn"),
        (-0.2, "one fifth of a turn"),
        (0.26, "one quarter of a turn"),
        (0.33, "one third of a turn"),
        (0.5, "half a turn"),
        (0.74, "three quarters of a turn"),
        (0.97, "one turn"),
        (1.0, "one turn"),
        (1.5, "one turn and a half"),
        (2.21, "two turns and one fifth"),
        (2.99, "three turns"),
        (15.25, "15 turns and one quarter"),
    ],
)
def test_turns_are_told_as_plain_fractions(turns, words):
    """A turn of the wheel is told as the nearest fraction a hand can judge."""
    assert turn_words(turns) == words


@pytest.mark.parametrize("turns", [float("nan"), float("inf")])
def test_a_turn_must_be_a_number(turns):
    """A turn that is no number is refused."""
    with pytest.raises(BadInput, match="finite number of turns"):
        turn_words(turns)


def test_the_arrow_turns_the_way_of_the_hand():
    """Clockwise and anticlockwise arrows are each other's mirror, and are told."""
    right, left = (Wheel(size_turns=0.2, is_clockwise=way) for way in (True, False))

    assert "A57 57 0 0 1" in draw(right, for_print=False)
    assert "A57 57 0 0 0" in draw(left, for_print=False)
    assert describe(left) == "Turn the wheel one fifth of a turn, anticlockwise."


def test_a_reading_outside_the_envelope_has_a_shape_of_its_own():
    """Three dots and one open diamond; the table names the one outside."""
    drawing = draw(PLOT, for_print=False)

    assert drawing.count("l9 9l-9 9l-9 -9Z") == 1
    assert drawing.count("h.01") == 3
    assert [row[-1] for row in table(PLOT).rows] == ["", "", "", "outside"]
    assert "1 outside the envelope that 999 drawn runs give" in describe(PLOT)


def test_the_biggest_part_stands_first_and_is_hatched():
    """Order and number at the end; the hatch tells the first without colour."""
    wide = _tree(draw(BARS, for_print=True))

    assert describe(BARS) == (
        "Where the error comes from: 1. The dose scatters, 0.40 g; 2. The scale, 0.10 g."
    )
    assert len(list(wide.iter(f"{SVG}path"))) == 3
