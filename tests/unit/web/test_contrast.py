"""The colours of the three lights, held against the contrast formula of WCAG 2."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import fillwright.web

TOKENS = Path(fillwright.web.__file__).parent / "static" / "tokens.css"
STATES = ("on", "warn", "stop", "wait", "hand")


def _blocks() -> dict[str, dict[str, str]]:
    """Colours of day, night and glare; what a light does not name is as by day."""
    text = TOKENS.read_text(encoding="utf-8")
    found = {}
    for selector, body in re.findall(r"^\s*(:root[^{]*)\{([^}]*)\}", text, re.MULTILINE):
        colours = dict(re.findall(r"--([\w-]+): (#[0-9A-F]{6})", body))
        if colours:
            found[selector.strip()] = colours
    day = found[":root"]
    return {
        "day": day,
        "night": day | found[":root[data-light=night]"],
        "device night": day | found[":root:not([data-light=day], [data-light=glare])"],
        "glare": day | found[":root[data-light=glare]"],
    }


def _luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (from memory, as is the ratio below)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


LIGHTS = _blocks()


def _pairs() -> list[tuple[str, str, float]]:
    """Pairs that stand on each other, with the least ratio: 4.5 for words, 3 for drawings."""
    words = [("ink", ground, 4.5) for ground in ("sheet", "film", "sunk", "steel", "fluid")]
    words += [("ink-2", ground, 4.5) for ground in ("sheet", "film", "sunk")]
    words += [("ink", f"{state}-tint", 4.5) for state in STATES]
    words += [(state, "sheet", 4.5) for state in STATES]
    words += [(state, f"{state}-tint", 4.5) for state in STATES]
    words += [("plate", state, 4.5) for state in ("on", "warn", "stop", "wait")]
    words += [("on-hand", "hand", 4.5), ("plate", "ink-2", 4.5)]
    drawings = [("line", ground, 3.0) for ground in ("sheet", "film", "steel", "sunk")]
    return [*words, *drawings, ("focus", "film", 3.0), ("focus", "focus-halo", 3.0)]


def test_the_formula_gives_the_known_ends():
    """Black on white is 21 to 1, and a colour on itself 1 to 1."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#5A1D85", "#5A1D85") == 1


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize(("front", "ground", "least"), _pairs())
def test_a_pair_can_be_read(light, front, ground, least):
    """Words stand out by 4.5 to 1, edges and drawings by 3 to 1, in every light."""
    colours = LIGHTS[light]

    assert contrast(colours[front], colours[ground]) >= least


def test_night_is_one_night():
    """The night that the device asks for and the one picked by hand are the same."""
    assert LIGHTS["night"] == LIGHTS["device night"]
