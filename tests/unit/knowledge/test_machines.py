"""Invented machines: read whole, or refused with file, line and mend."""

from __future__ import annotations

from importlib.resources import files

import pytest

from fillwright.errors import KnowledgeError
from fillwright.knowledge.machines_load import machine_profiles, parse_machines


@pytest.fixture(scope="module")
def text() -> str:
    """The shipped file."""
    return (files("fillwright.knowledge") / "data" / "machines.toml").read_text("utf-8")


def test_three_invented_machines_are_shipped():
    """Small, medium and large come with the program, each with a whole wet path."""
    found = machine_profiles()

    assert list(found) == ["small", "medium", "large"]
    for profile in found.values():
        assert profile.suction
        assert profile.outward
        assert profile.air.rod_mm < profile.air.bore_mm
        assert max(profile.fill.c_by_turns.values()) > min(profile.fill.c_by_turns.values())


def test_the_file_says_that_they_are_invented(text):
    """Nobody takes them for machines of a maker."""
    assert 'status = "invented"' in text


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("rod_mm = 15", "rod_mm = 55", "rod_mm is 55, no thinner than bore_mm of 42"),
        ("stroke_mm = 100", "stroke_mm = 0", "stroke_mm is 0; give a number above zero"),
        ("  { bore_mm = 37 },", '  { bore_mm = "x" },', "bore_mm is 'x'; give a number"),
        ('kind = "rotary", port_mm = 16', 'kind = "ball", port_mm = 16', "kind is 'ball'"),
        ('"3" = 0.24', '"3" = 0.01', "3 turns passes 0.01, no more than fewer turns do"),
        ("outside_mm = 7, bore_mm = 5", "outside_mm = 7, bore_mm = 8", "no narrower than"),
        ("dead_ml = 18", "dead_volume = 18", "dead_volume is not known here"),
        ("usual_bar = 5.5\n", "", "usual_bar is None; give a number"),
    ],
)
def test_a_machine_that_cannot_be_is_refused_at_its_line(text, before, after, told):
    """The message names the file, the very line and what would do."""
    broken = text.replace(before, after, 1)
    line = text[: text.index(before)].count("\n") + 1

    with pytest.raises(KnowledgeError, match=r"^mine\.toml, line \d+: ") as error:
        parse_machines(broken, file="mine.toml")

    assert told in str(error.value)
    if after and "dead_volume" not in after:
        assert f"line {line}:" in str(error.value)


def test_no_machine_is_no_file():
    """A file without a machine, or that is no TOML, is refused."""
    with pytest.raises(KnowledgeError, match="no machine in it"):
        parse_machines("[meta]\nschema = 1\n", file="mine.toml")
    with pytest.raises(KnowledgeError, match="not readable as TOML"):
        parse_machines("[small", file="mine.toml")
