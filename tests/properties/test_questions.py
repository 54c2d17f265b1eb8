"""Whatever comes in, a question answers or refuses with one sentence; the fault is never ours."""

from __future__ import annotations

import json
import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.errors import CODES
from fillwright.questions import QUESTIONS, answer, answer_json, find

# A figure in range may ask for a long search (how many readings of an unlikely claim), so the
# fields that set the size of a search are only changed to what is refused.
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-3, 60),
    st.floats(allow_nan=True, allow_infinity=True, width=32),
    st.floats(0, 1),
    st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-9, max_value=9999).map(
        str
    ),
    st.sampled_from(
        ["g", "mL", "single", "cusum", "ewma", "own", "void", "", "é", "\ud800", "NaN"]
    ),
    st.text(max_size=8),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(
            st.sampled_from(["at", "ok", "g", "n", "k", "value", "x"]), inner, max_size=4
        ),
    ),
    max_leaves=6,
)
SLOW = {
    "acceptance-chance",
    "chart-design",
    "check-delay",
    "check-plan",
    "prove-plan",
    "target-fill",
}
QUICK = sorted(set(QUESTIONS) - SLOW)


@st.composite
def mangled(draw, name: str):
    """An example with a field or two changed, left out or added."""
    found = dict(find(name).example)
    fields = [*find(name).takes.model_fields, "extra"]
    for field in draw(st.lists(st.sampled_from(fields), min_size=1, max_size=2, unique=True)):
        if draw(st.booleans()):
            found[field] = draw(VALUES)
        else:
            found.pop(field, None)
    return found


def check(reply) -> None:
    """A reply is an answer or a refusal, and JSON that holds finite numbers only."""
    document = json.loads(reply.body, parse_constant=pytest.fail)
    assert reply.status in {200, 422}, document
    if reply.status == 422:
        assert document["error"]["code"] in CODES
        assert document["error"]["message"].endswith((".", "?"))
    else:
        assert document["because"]


@pytest.mark.parametrize("name", QUICK)
@settings(max_examples=25)
@given(data=st.data())
def test_a_mangled_input_never_fails_in_itself(name, data):
    """Every question takes any JSON object and answers or refuses."""
    check(answer_json(name, json.dumps(data.draw(mangled(name)))))


@pytest.mark.parametrize("name", sorted(SLOW))
@settings(max_examples=6)
@given(data=st.data())
def test_a_mangled_input_of_a_search_never_fails_in_itself(name, data):
    """The questions that search take any JSON object too."""
    check(answer_json(name, json.dumps(data.draw(mangled(name)))))


@settings(max_examples=80)
@given(
    text=st.one_of(st.text(max_size=40), st.binary(max_size=40).map(lambda b: b.decode("latin-1")))
)
def test_any_text_is_answered_with_json(text):
    """A text that is no JSON, or JSON of another shape, is refused."""
    check(answer_json("shortage", text))


@settings(max_examples=60)
@given(
    cents=st.lists(st.integers(23_000, 26_000), min_size=30, max_size=30),
    nominal=st.integers(240, 255),
)
def test_numbers_and_texts_give_one_verdict(cents, nominal):
    """A sample as JSON numbers and as texts of the same decimals is judged alike."""
    texts = [str(Decimal(cent) / 100) for cent in cents]
    common = {"rules": "EU-76/211", "nominal": nominal, "unit": "g", "lot_size": 300}

    as_text = answer("lot-test", {**common, "sample": texts})
    as_numbers = answer("lot-test", {**common, "sample": [float(text) for text in texts]})

    assert as_text == as_numbers


@settings(max_examples=60)
@given(
    offset=st.integers(-300, 100),
    nominal=st.sampled_from([20, 23, 55, 130, 250, 310, 750, 1250]),
)
def test_the_limit_itself_is_never_counted(offset, nominal):
    """A package is counted below T1 exactly when it is below it, to the last digit."""
    common = {"rules": "EU-76/211", "nominal": nominal, "unit": "g"}
    limit = Decimal(answer("shortage", common)["T1_limit"])
    one = limit + Decimal(offset) / 1000

    found = answer(
        "lot-test", {**common, "lot_size": 100, "sample": [nominal] * 29 + [f"{one:f}"]}
    )

    assert found["count_below_T1"] == (1 if offset < 0 else 0)


@settings(max_examples=40)
@given(
    t=st.floats(0, 50),
    p=st.floats(500, 1100),
    h=st.floats(0, 100),
)
def test_damp_air_is_lighter(t, p, h):
    """More humidity at the same temperature and pressure never makes the air denser."""
    dry = answer("air-density", {"temp_c": t, "pressure_hpa": p, "relative_humidity_percent": 0})[
        "density_kg_m3"
    ]
    damp = answer("air-density", {"temp_c": t, "pressure_hpa": p, "relative_humidity_percent": h})[
        "density_kg_m3"
    ]

    assert damp <= dry
    assert math.isfinite(damp)
