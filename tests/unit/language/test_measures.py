"""English texts in US customary units: which figures turn, how they are rounded, what stays."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

import pytest

from fillwright.language import Way, said
from fillwright.language.kept import keep_of
from fillwright.language.live import shown_reading
from fillwright.language.measures import US, Keep, in_us
from fillwright.language.usfigures import shown
from fillwright.records.entities import Container
from fillwright.wiring import maker


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("250.0 g", "8.820 oz"),
        ("250 g", "8.820 oz"),
        ("3000 g", "6.614 lb"),
        ("0.08 kg in this lot", "2.8 oz in this lot"),
        ("12 mL/min", "0.41 fl oz/min"),
        ("25 L", "6.6 gal"),
        ("24 L a minute", "0.85 scfm"),
        ("0 to 20 mm", "0 to 0.79 in"),
        ("4.5 to 6 bar", "66 to 87 psi"),
        ("6 bar; 5 at least, 7 at most", "87 psi; 73 at least, 101 at most"),
        ("-0.01 g (-1.40 to +1.38)", "\u22120.0005 oz (\u22120.0495 to +0.0485)"),
        ("\u00b10.5 g", "\u00b10.020 oz"),
        ("1.246 g/mL at 58 °C", "10.40 lb/gal at 136 °F"),
        ("5 °C warmer", "9 °F warmer"),
        ("8 degrees colder", "14 degrees colder"),
        ("within 1 K", "within 2 °F"),
        ("Hot water 80 C", "Hot water 176 °F"),
        ("Weight, g", "Weight, oz"),
        ("Numbers are bores in mm.", "Numbers are bores in inches."),
        ("A kilogram of product", "A pound of product"),
    ],
)
def test_a_figure_turns_with_its_unit(metric, us):
    """Weights, volumes, rates, lengths, pressures, temperatures, differences, headings."""
    assert in_us(metric) == us


@pytest.mark.parametrize(
    "text",
    [
        "8 fl oz",
        "0.32 oz",
        "45 to 73 mN/m",
        "300 mPa s",
        "10 Pa s at rest",
        "one in 223 weights",
        "1 to 120 C-0101",
        "ISO 2431, 4 mm",
        "New label, in mL",
        "Column 'net (g)' read as net weights",
        "limit = label \u2212 k \u00d7 s = 250 \u2212 0.5 \u00d7 0.6 = 249.7 mL",
        "tray 4, place 11",
        "a n/m + f/(370.4 m), least over n and m",
    ],
)
def test_what_is_no_figure_of_ours_stays(text):
    """US units, units that both share, names, quoted headings, calculations."""
    assert in_us(text) == text


@pytest.mark.parametrize(
    ("text", "us"),
    [
        ("T1 is 237.4 g", "T1 is 8.375 oz"),
        ("The label is 295.3 g", "The label is 10.420 oz"),
        ("aim 296.2 g", "aim 10.450 oz"),
        ("5 bar or more", "73 psi or more"),
        ("more than 10 kg or above shoulder height", "more than 22 lb or above shoulder height"),
        ("at most 7 bar", "at most 101 psi"),
        ("The bottle brims at 316.3 g", "The bottle brims at 11.155 oz"),
        ("It is 296.2 g", "It is 10.450 oz"),
        ("It is 295.3 g", "It is 10.415 oz"),
    ],
)
def test_a_limit_is_rounded_to_its_safe_side(text, us):
    """Legal weights and least values up, what must not be passed down, others to the nearest."""
    assert in_us(text) == us


def test_a_legal_weight_is_rounded_up_wherever_it_stands():
    """Also where no word beside it says what it is."""
    assert in_us("295.3 g", keep=Keep(legal=frozenset({"295.3"}))) == "10.420 oz"
    assert in_us("295.3 g") == "10.415 oz"


def test_what_people_typed_stays():
    """A name with a figure in it, and a label as it was declared."""
    facts = maker.JOBS[0]
    bottle = Container(name="Oil 100 mL", brim_ml=Decimal(110), mouth_mm=Decimal(20))
    keep = keep_of([facts, {"x": [bottle]}])

    assert in_us("Oil 100 mL holds 110 mL", keep=keep) == "Oil 100 mL holds 3.720 fl oz"
    assert in_us(f"{facts.nominal} {facts.unit} at 20 °C", keep=keep) == "250 mL at 68 °F"


@dataclass
class Fitted:
    """What a card says of a product on a machine."""

    container: str


def test_a_container_said_by_its_label_stays():
    """On a card too, where the job that declared the label is not at hand."""
    keep = keep_of([Fitted("250 mL, 250 mL bottle")])

    assert in_us("Oil; 250 mL, 250 mL bottle", keep=keep) == "Oil; 250 mL, 250 mL bottle"


def test_a_standard_size_keeps_its_name():
    """The mass engraved on a weight, the size of a ring: the US figure stands behind it."""
    assert in_us("Put the 500 g weight on it") == "Put the 500 g (17.635 oz) weight on it"
    assert in_us("O-ring 60 x 5 mm") == "O-ring 60 x 5 mm (2.36 × 0.20 in)"


def test_what_was_typed_comes_back_as_it_was_typed():
    """Exact grams of a typed figure are shown as that figure, not with a tail."""
    assert shown("250.0427939625", "g") == "8.82"
    assert shown("21.1111", "°C") == "70"


def test_the_terminal_goes_the_same_way():
    """One step of the edge, for texts that are no pages."""
    assert said("Aim 250.0 g", Way(measures=US)) == "Aim 8.820 oz"
    assert said("Aim 250.0 g", Way()) == "Aim 250.0 g"


def test_a_reading_in_ounces_is_shown_as_the_scale_shows_it():
    """One in grams gets the ounces beside it; the reading itself stays."""
    grams = shown_reading({"event": "settled", "value": "250.0", "unit": "g"})
    ounces = shown_reading({"event": "settled", "value": "8.815", "unit": "oz"})

    assert (grams["value"], grams["shown"], grams["shown_unit"]) == ("250.0", "8.820", "oz")
    assert "shown" not in ounces


def test_a_label_in_fluid_ounces_is_said_as_declared():
    """It is kept in millilitres, to the last digit, and no unit shown changes what it says."""
    facts = replace(maker.JOBS[0], nominal=Decimal("236.5882365"), label_unit="fl oz")

    assert facts.label_words == "8 fl oz"
    assert maker.JOBS[0].label_words == "250 mL"
    assert replace(maker.JOBS[0], nominal=Decimal(2000), label_unit="L").label_words == "2 L"
    keep = keep_of([replace(maker.JOBS[0], nominal=Decimal(2000), label_unit="L")])
    assert in_us("2 L bottle", keep=keep) == "2 L bottle"
