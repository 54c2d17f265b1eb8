"""JSON text before any field is looked at: size, depth, repeats, what is not JSON."""

from __future__ import annotations

import json

import pytest

from fillwright.errors import BadInput
from fillwright.questions import answer, answer_json
from fillwright.questions.reading import MOST_CHARACTERS


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "type"),
        ("{", "type"),
        ("[1, 2]", "type"),
        ("null", "type"),
        ('"text"', "type"),
        ("NaN", "type"),
        ("{'rules': 1}", "type"),
        ("[" * 100_000, "range"),
        ('{"a":' * 50 + "1" + "}" * 50, "range"),
        ('{"nominal": 1' + "0" * 5000 + "}", "range"),
        ('{"nominal": 1, "nominal": 2}', "inconsistent"),
        ("{}" + " " * MOST_CHARACTERS, "range"),
        ("\ufeff{}", "type"),
        ("\x00", "type"),
        ('{"\\ud800": 1}', "type"),
        ('{"rules": "\\udfff"}', "type"),
    ],
    ids=lambda value: repr(value)[:24],
)
def test_a_text_that_cannot_be_looked_into(text, code):
    """Whatever the text is, the reply is 422 with one sentence and a code."""
    reply = answer_json("shortage", text)

    error = json.loads(reply.body)["error"]
    assert reply.status == 422
    assert error["code"] == code
    assert error["message"].endswith((".", "?"))
    assert len(error["message"]) < 300


def test_a_dict_that_contains_itself_is_refused():
    """A Python dict without end is refused for its depth."""
    endless: dict = {}
    endless["sample"] = [endless]

    with pytest.raises(BadInput, match="nested too deep"):
        answer("lot-test", endless)


def test_too_many_values_are_refused():
    """A list beyond every use is refused before it is looked at."""
    with pytest.raises(BadInput, match="too many values"):
        answer("lot-test", {"sample": [1] * 600_000})


def test_a_field_name_must_be_text():
    """A Python dict with another kind of key is refused."""
    with pytest.raises(BadInput, match="field name that is not text"):
        answer("lot-test", {1: 2})


@pytest.mark.parametrize("given", [None, 3, "x", [], (1,), object()])
def test_what_is_no_object_is_refused(given):
    """Only an object with named fields is an input."""
    with pytest.raises(BadInput, match="not an object with named fields"):
        answer("shortage", given)


def test_the_place_inside_a_list_is_named():
    """A wrong value deep inside is named by its path, counted from 0."""
    given = {"checks": [{"at": 1, "ok": True}, {"at": [4, 2], "ok": True}], "stopped_after": 9}

    with pytest.raises(BadInput, match="the first is above the last") as refused:
        answer("suspect", given)

    assert refused.value.field == "checks[1].at"


def test_an_unknown_field_deep_inside_gets_a_hint():
    """A misspelt field inside a list is named with its path and the likely name."""
    given = {"checks": [{"at": 1, "okay": True}], "stopped_after": 9}

    with pytest.raises(BadInput, match=r"checks\[0\].okay is not a field.*did you mean ok\?"):
        answer("suspect", given)


def test_a_long_value_is_shown_short():
    """What was given is shown, but never page after page of it."""
    with pytest.raises(BadInput, match=r"\.\.\.") as refused:
        answer("shortage", {"rules": "EU-76/211", "nominal": 1, "unit": "g" * 5000})

    assert len(refused.value.message) < 200


def test_a_very_large_integer_is_shown_in_words():
    """A Python integer without end neither crashes the message nor fills it."""
    with pytest.raises(BadInput, match="nominal") as refused:
        answer("shortage", {"rules": "EU-76/211", "nominal": 10**6000, "unit": "g"})

    assert refused.value.code == "range"
