"""The files of the pages: nothing from outside, nothing against the content policy."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import fillwright.web

HOME = Path(fillwright.web.__file__).parent
TEMPLATES = sorted((HOME / "templates").glob("*.html"))
SCRIPTS = sorted((HOME / "static" / "js").glob("*.js"))
SHEETS = sorted((HOME / "static").glob("*.css"))


@pytest.mark.parametrize("path", [*TEMPLATES, *SCRIPTS, *SHEETS], ids=lambda path: path.name)
def test_nothing_is_fetched_from_outside(path):
    """No page, script or style sheet names an address of another machine."""
    text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")

    assert re.findall(r"(?:https?:)?//[a-z0-9][\w.-]*\.[a-z]{2,}", text) == []
    assert "@import" not in text


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_templates_keep_to_the_policy(path):
    """No style, script or handler stands inside a page; the policy would block it."""
    text = path.read_text(encoding="utf-8")

    assert re.findall(r"\sstyle=|<style|<script(?![^>]*src=)|\son\w+=|javascript:", text) == []
    assert "| safe" not in text


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_no_letters_below_16_pixels(path):
    """On a page no letter is smaller than 16 pixels; print may go down to 9 points."""
    screen = path.read_text(encoding="utf-8").split("@media print")[0]
    sizes = re.findall(r"font(?:-size)?:[^;]*?([\d.]+)(rem|px)", screen)

    small = [size + unit for size, unit in sizes if float(size) < (1 if unit == "rem" else 16)]

    assert small == []


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_the_layout_can_be_turned_right_to_left(path):
    """Distances and places are logical: none is tied to the left or the right."""
    text = path.read_text(encoding="utf-8")

    assert (
        re.findall(r"(?:margin|padding|border|inset)-(?:left|right)|[^-]\b(?:left|right):", text)
        == []
    )


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_scripts_stay_small(path):
    """Each module has one job and stays under 250 lines."""
    assert path.read_text(encoding="utf-8").count("\n") < 250
