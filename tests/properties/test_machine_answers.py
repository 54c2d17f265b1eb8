"""Whatever is typed into a question gives a machine, or an error that names a field of it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.machines.questions import questions_of
from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.jobs.machines.wizard import answered
from fillwright.records.codec import payload_from_json, payload_to_json
from fillwright.records.entities import Machine
from fillwright.records.entries import MachineKept

FIGURES = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["NaN", "sNaN", "-Infinity", "1e400", "1e-400", "0", "-0", "5,5", "٣", "½"]),
    st.decimals(allow_nan=True, allow_infinity=True).map(str),
    st.floats(min_value=0.01, max_value=2000).map(lambda value: f"{value:.3g}"),
)


@pytest.fixture(scope="module")
def desk():
    """A desk that knows no machine."""
    return Workshop().desk


@settings(max_examples=150)
@given(data=st.data())
def test_an_answer_is_a_machine_or_names_its_field(desk, data):
    """No answer ends in another kind of error, and what is taken survives the journal."""
    draft = shipped_machine(data.draw(st.sampled_from(["small", "medium", "large"])))
    question = data.draw(st.sampled_from(questions_of(draft)))
    typed = {
        ask.field: data.draw(
            st.one_of(st.just(ask.value), st.sampled_from(["", *(k for k, _ in ask.choices)]))
            if ask.choices
            else st.one_of(st.just(ask.value), FIGURES)
        )
        for ask in question.asks
    }

    try:
        changed = answered(desk, draft, question.key, typed)
    except BadInput as error:
        assert error.field in typed  # noqa: PT017  either way is right
        return

    assert isinstance(changed, Machine)
    assert changed.is_described
    kept = MachineKept(machine=changed)
    assert payload_from_json("machine kept", 1, payload_to_json(kept)) == kept
