"""What the shipped letters can print, and what stands for the rest."""

from __future__ import annotations

import pytest

from fillwright.report.letters import fonts_folder, missing_characters, printable


@pytest.mark.parametrize(
    "text",
    ["Crème brûlée 12,5 %", "Łódź", "Ωμέγα", "Крем", "קרם ידיים", "كريم", "T1 ≥ 240 − 2·T, ±1 °C"],
)
def test_common_scripts_have_letters(text):
    """European, Hebrew and Arabic names and the signs of a record can be printed as they are."""
    assert missing_characters(text) == ()


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        ("手霜 hand", ("手", "霜")),
        ("a\U0001f9f4", ("\U0001f9f4",)),
        ("safe\u202egnirts", ("\u202e",)),
        ("bell\x07", ("\x07",)),
        ("half \ud800", ("\ud800",)),
        ("霜手霜", ("手", "霜")),
    ],
)
def test_what_cannot_be_printed_is_told(text, missing):
    """Unknown scripts, direction overrides, controls and lone surrogates are reported, once."""
    assert missing_characters(text) == missing


def test_codes_stand_for_missing_characters():
    """A character without a letter becomes its code in brackets, never a box."""
    assert printable("手 cream \U0001f9f4") == "[U+624B] cream [U+1F9F4]"


def test_line_ends_become_spaces():
    """A typed line end cannot break out of its line."""
    assert printable("a\nb\r\tc\u2028d") == "a b  c d"


def test_words_from_right_to_left_end_with_a_mark():
    """After a Hebrew name a left-to-right mark keeps the number beside it in its place."""
    assert printable("קרם") == "קרם\u200e"
    assert printable("cream") == "cream"
    assert printable("קרם 250; 250 g") == "קרם 250\u200e; 250 g\u200e"
    assert printable("cream; 250 g") == "cream; 250 g"


def test_long_words_may_break():
    """A word longer than 24 letters gets places where a line may end, a shorter one none.

    In a column of a table there is less room: there the longest is 14 letters.
    """
    assert printable("x" * 24) == "x" * 24
    assert printable("x" * 30).count("\u200b") == 2
    assert printable("x" * 14, is_narrow=True) == "x" * 14
    assert printable("x" * 30, is_narrow=True).count("\u200b") == 4
    assert printable("x" * 30, may_break=False) == "x" * 30


def test_the_licence_lies_beside_the_fonts():
    """Each shipped font comes with the text of its licence, as the licence asks."""
    names = {path.name for path in fonts_folder().iterdir()}

    assert names == {"DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "LICENSE-DejaVu.txt"}
    licence = (fonts_folder() / "LICENSE-DejaVu.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted, free of charge" in licence
