"""The promises of the page on the accuracy of strokes: as printed, and held again.

Truth is the full model as the page prints it; two of its cycles are computed anew here.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from stroke_accuracy import CASES, PROMISES, WAYS, Cycle, in_full

PAGE = Path(__file__).parents[3] / "docs" / "reference" / "stroke-accuracy.md"
PROMISED = re.compile(r"^\| (.+) \| at most (\S+) \| (\S+) \| (yes|no) \|$", re.MULTILINE)


def printed(name):
    """The truth of every case in one of the tables."""
    text = PAGE.read_text(encoding="utf-8")
    body = text.split(f"<!-- {name} -->")[1].split("<!-- end -->")[0]
    rows = [line.strip("| ").split(" | ") for line in body.strip().splitlines()[2:]]
    return {row[0]: float(row[1]) for row in rows}


@pytest.fixture(scope="module")
def truth():
    """Each case with its cycle by the full model, as printed."""
    back, filled, fill = printed("recharge"), printed("filled"), printed("fill")
    assert list(back) == list(filled) == list(fill) == [case.name for case in CASES]
    return [
        (
            case,
            Cycle(back=back[case.name], full=filled[case.name] / 100.0, fill=fill[case.name]),
        )
        for case in CASES
    ]


@pytest.fixture(scope="module")
def found(truth):
    """The cycles of every way, computed once."""
    return {way: [(act(case), true) for case, true in truth] for way, act in WAYS.items()}


def test_the_page_holds_every_promise():
    """Each promise has its row with its bound, and is kept there."""
    rows = PROMISED.findall(PAGE.read_text(encoding="utf-8"))

    assert [(what, bound) for what, bound, _, _ in rows] == [
        (promise.what, f"{promise.bound:g}") for promise in PROMISES
    ]
    assert all(float(value) <= float(bound) for _, bound, value, _ in rows)
    assert {kept for *_, kept in rows} == {"yes"}


@pytest.mark.parametrize("promise", PROMISES, ids=lambda promise: promise.what)
def test_a_promise_is_kept_when_computed_again(promise, found):
    """The largest error over all cases is within its bound."""
    assert max(promise.error(each, true) for each, true in found[promise.way]) <= promise.bound


@pytest.mark.parametrize("name", ["syrup, recharge too fast", "shampoo"])
def test_the_full_model_is_as_printed(name, truth):
    """A cycle with a void and one without, to a tenth of a per cent."""
    case, true = next((case, true) for case, true in truth if case.name == name)
    again = in_full(case)

    assert again.back == pytest.approx(true.back, rel=1e-3)
    assert again.full == pytest.approx(true.full, abs=1e-3)
    assert again.fill == pytest.approx(true.fill, rel=1e-3)
