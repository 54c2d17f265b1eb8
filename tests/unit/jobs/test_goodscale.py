"""Whether the weighing scale is good enough, said before a jar is filled."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.jobs.prove import stage as prove
from fillwright.jobs.setup import stage as setup


def scale(readability, repeats, **changes):
    """Return what Set up says of a weighing scale."""
    given = {"readability_g": Decimal(readability), "repeatability_sd_g": Decimal(repeats)}
    shop = Workshop(job(scale={**given, **changes.pop("scale", {})}, **changes)).to_setup()
    return setup.look(shop.desk, shop.state).scale


@pytest.mark.parametrize(
    ("readability", "repeats", "verdict", "words"),
    [
        ("0.1", "0.05", "good-enough", "one reading of each jar will do"),
        ("1", "0.5", "repeats", "Lift each jar off and on again"),
        ("2", "0.1", "running-total", "that shows the middle, never the spread"),
        ("5", "0.1", "running-total", "reads to 0.2 g or finer"),
    ],
)
def test_what_it_says_for_one_per_cent_of_252_g(readability, repeats, verdict, words):
    """±2.52 g: good to about 0.3 g; then repeats; then only a running total."""
    found = scale(readability, repeats)

    assert found.verdict == verdict
    assert words in found.advice
    assert found.serves_g == Decimal("0.2")


def test_a_total_that_the_pan_cannot_hold_is_no_way_out():
    """No number of repeats will do where the jars do not fit on the pan."""
    found = scale("5", "0.1", scale={"capacity_g": Decimal(500)})

    assert (found.verdict, found.headline) == ("no", "No number of repeats will do")
    assert "reads to 0.2 g or finer" in found.advice


def test_unlike_empties_ask_for_their_own_tare():
    """Weighing one jar again does not average what its empty differs by."""
    found = scale("0.1", "0.05", tare_way="mean", container={"tare_sd_g": Decimal("0.6")})

    assert (found.verdict, found.headline) == ("no", "Not with an average empty")
    assert "Zero each empty jar away" in found.advice


def test_a_hidden_spread_is_said():
    """Expected 0.4 g; a step of 1 g is above one and a half times that."""
    assert "only a bound can be shown" in scale("1", "0.5").spread_words
    assert scale("0.5", "0.1").spread_words == ""


def test_the_numbers_stand_behind_the_why():
    """Step, repeatability, what is allowed, what would serve, and on what it rests."""
    why = scale("1", "0.5").why
    rows = {fact.name: fact.words for fact in why.facts}

    assert rows["Claim"] == "±2.52 g of 252 g"
    assert rows["Would serve"] == "0.2 g or finer"
    assert rows["Smallest spread it shows (1 s)"] == "0.67 g"
    assert why.assumptions
    assert why.source


def test_prove_says_the_same():
    """Set up and Prove judge one scale alike."""
    shop = Workshop().to_prove()

    assert prove.look(shop.desk, shop.state).scale == setup.look(shop.desk, shop.state).scale
