"""Bad figures in every question of weighing and dosing: a verdict or one clear sentence.

Each number and each row of numbers of each example is replaced in turn by what people and
spreadsheets send: too few, all alike, text, blanks, not a number, nothing, the wrong sign.
"""

from __future__ import annotations

import copy
import json
import math

import pytest

from fillwright.errors import BadInput
from fillwright.questions import QUESTIONS, answer, answer_json

GROUP = QUESTIONS["prove"].group
DOSES = [250.1, 249.9, 250.0, 250.2, 249.8, 249.5, 249.4, 249.1, 249.0, 248.8]
PROVE = {"target_g": 250, "tolerance_percent": 1, "content": 0.99, "confidence": 0.95}
MORE = [
    ("prove", PROVE | {"readings_g": DOSES, "readability_g": 0.1}),
    ("capability", {"readings": DOSES, "lower": 247.5, "upper": 252.5}),
    ("chart-run", {"chart": "individuals", "readings": DOSES}),
    ("chart-run", {"chart": "self-starting", "readings": DOSES}),
    ("chart-run", {"chart": "ewma", "standardised": [0.2, -0.4, 1.1, 0.9], "lam": 0.1, "L": 2.8}),
    ("arl", {"chart": "ewma", "lam": 0.1, "L": 2.814, "shift_sd": 0.5}),
    ("chart-design", {"chart": "ewma", "lam": 0.1, "arl0": 370.4}),
    (
        "check-delay",
        {
            "checked_each_time": 1,
            "containers_between_checks": 20,
            "shift_in_dose_sd": 1.5,
            "chart": "cusum",
        },
    ),
    (
        "signature",
        {
            "doses_g": DOSES,
            "target_g": 250,
            "readability_g": 0.01,
            "hopper_level": [9, 8, 7, 6, 5, 9, 8, 7, 6, 5],
            "sd_guess_g": 0.5,
        },
    ),
    (
        "suspect",
        {
            "checks": [{"at": 10, "ok": True}, {"at": 20, "ok": "alarm"}],
            "stopped_after": 25,
            "alarm_zero_at_check": 1,
            "deviations_in_sd": [0.3, 3.2],
        },
    ),
]
CASES = [(name, q.example) for name, q in QUESTIONS.items() if q.group == GROUP] + MORE
NO_NUMBER = [math.nan, math.inf, -math.inf, "NaN", "inf", "12,5", "abc", "", None, True, [], {}]
SCALARS = [0, -1, -0.0, 1e-300, 1e300, -1e300, 10**40, "0", "-3", 0.5, 3, *NO_NUMBER]
# How large an answer would have to be; a figure that sets a search is only changed to what
# is refused or small.
LONG = {("prove-plan", "true_sd_percent"), ("prove-plan", "offset_percent")}


def _rows(row):
    """What may come in place of a row of numbers."""
    one = row[0]
    yield from ([], [one], [one, one], [one] * 30, [one] * 5000)
    yield from ([0.0] * 12, [-value for value in row], [1e-300] * 12, [1e300, -1e300] * 6)
    # All in one cell of a scale that shows 2 g.
    yield [2.0 * round(value / 2.0) for value in row] * 3
    for bad in NO_NUMBER:
        yield [*row[:2], bad, *row[2:]]
    yield "250.1 249.9"
    yield None


def _leaves(value, path=()):
    """Every number and every row of numbers in an example, by its path."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _leaves(inner, (*path, key))
    elif isinstance(value, list):
        if value and all(isinstance(v, (int, float)) and v is not True for v in value):
            yield path, list(_rows(value))
        else:
            for place, inner in enumerate(value):
                yield from _leaves(inner, (*path, place))
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path, SCALARS


def _with(example, path, value):
    """The example with one value at a path."""
    found = copy.deepcopy(example)
    inner = found
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    return found


def _told(name, given, what):
    """Ask once by Python and once by JSON; return the answer, or None where it was refused."""
    found, error = None, None
    try:
        found = answer(name, given)
    except BadInput as refused:
        error = refused
    if error is not None:
        sentence = str(error)
        assert sentence.strip().endswith((".", "?")), what
        assert len(sentence) < 400, what
        assert error.as_dict()["error"]["code"], what
    try:
        text = json.dumps(given, allow_nan=False)
    except ValueError:
        assert found is None, what
        return None
    reply = answer_json(name, text)
    document = json.loads(reply.body, parse_constant=pytest.fail)
    assert reply.status == (422 if found is None else 200), what
    if found is not None:
        assert document["because"], what
    return found


def _not_a_number(value):
    """Whether what was put in is no finite number at all."""
    return isinstance(value, (str, list, dict, bool)) or (
        isinstance(value, float) and not math.isfinite(value)
    )


@pytest.mark.parametrize(
    ("name", "example"), CASES, ids=[f"{n} {place}" for place, (n, _) in enumerate(CASES)]
)
def test_a_bad_figure_gives_a_verdict_or_one_sentence(name, example):
    """No traceback, no warning (they are errors here), no number that is not finite."""
    assert _told(name, example, "the example") is not None
    for path, values in _leaves(example):
        for value in values:
            if (name, path[-1]) in LONG and isinstance(value, (int, float)) and value > 0:
                continue
            what = f"{name}: {'.'.join(map(str, path))} = {str(value)[:60]}"
            found = _told(name, _with(example, path, value), what)
            if isinstance(value, list) and any(_not_a_number(v) for v in value):
                texts = [v for v in value if isinstance(v, str)]
                assert found is None or texts, what
            elif isinstance(value, (dict, bool)) or value in ("NaN", "abc", ""):
                assert found is None, what


@pytest.mark.parametrize("field", ["readings_g", "doses_g", "readings"])
@pytest.mark.parametrize("bad", ["abc", "NaN", math.nan, math.inf, None, "250,1"])
def test_a_text_among_the_readings_is_named_by_its_place(field, bad):
    """The third reading is no number: the sentence says which one it is."""
    row = [*DOSES[:2], bad, *DOSES[2:]]
    name, given = {
        "readings_g": ("prove", PROVE | {"readings_g": row}),
        "doses_g": ("signature", {"doses_g": row, "target_g": 250, "readability_g": 0.1}),
        "readings": ("rounded-sd", {"readings": row, "readability": 0.1}),
    }[field]

    with pytest.raises(BadInput, match=rf"{field}\[2\]"):
        answer(name, given)


def test_what_cannot_be_proved_has_a_verdict():
    """One reading, all equal, all in one cell, thousands alike, a tolerance beyond the dose."""

    def verdict(readings, **more):
        return answer("prove", PROVE | {"readings_g": readings} | more)["verdict"]

    with pytest.raises(BadInput, match="readings_g"):
        verdict([250.0])
    assert verdict([250.0] * 10, readability_g=5) == "scale-too-coarse"
    assert verdict([250.0] * 5000, readability_g=0.1) in {"proved", "scale-too-coarse"}
    with pytest.raises(BadInput, match="target_g"):
        verdict(DOSES, target_g=0)
    with pytest.raises(BadInput, match="target_g"):
        verdict(DOSES, target_g=-250)
    # A tolerance wider than the dose itself claims nothing.
    with pytest.raises(BadInput, match="tolerance_percent"):
        verdict(DOSES, tolerance_percent=150)
