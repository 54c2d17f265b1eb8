"""Whatever a file from outside holds: a case or an answer, or a refusal in words."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from fillwright.errors import BadInput
from fillwright.jobs.fault.case import done_lines
from fillwright.jobs.field.case_sent import answer_text
from fillwright.knowledge.faults_load import fault_book
from fillwright.records.answer_file import ANSWER_FORM, answer_from_bytes
from fillwright.records.case_file import FORM, CaseFile, case_from_bytes, case_to_bytes

AT = datetime(2031, 3, 5, 8, 0, tzinfo=UTC).isoformat()
CASE = json.loads(
    case_to_bytes(
        CaseFile(program="p", job="0417", case=1, opened_at=AT, sign="drips", doses_g=("250.1",))
    )
)
ANSWER = {
    "form": ANSWER_FORM, "program": "p", "job": "0417", "case": 1, "opened_at": AT,
    "answered_at": AT, "answered_by": "CD", "check": "wheel_lock", "repair": "", "words": "",
}  # fmt: skip
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12) | st.just(AT),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=8,
)


def refused_or(read, data):
    """What a reader makes of bytes: its file, or None where it refused in words."""
    told = ""
    try:
        return read(data)
    except BadInput as error:
        told = error.message
    assert told.startswith("This is no case file that can be opened")
    assert len(told) < 400
    return None


@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda t: t.encode("utf-8", "ignore")))
def test_any_bytes_are_a_file_or_refused(data):
    """No bytes raise anything but the refusal."""
    refused_or(case_from_bytes, data)
    refused_or(answer_from_bytes, data)


@given(st.sampled_from(sorted(CASE)), VALUES)
def test_a_case_with_one_field_of_anything(field, value):
    """What passes can be shown and sent on, the same; what does not is refused."""
    data = json.dumps({**CASE, field: value}).encode("utf-8", "surrogatepass")
    found = refused_or(case_from_bytes, data)
    if found is not None:
        done_lines(fault_book(), found.searched())
        assert case_from_bytes(case_to_bytes(found)) == found
        assert found.form == FORM


@given(st.sampled_from(sorted(ANSWER)), VALUES)
def test_an_answer_with_one_field_of_anything(field, value):
    """What passes is text that can be printed; what does not is refused."""
    data = json.dumps({**ANSWER, field: value}).encode("utf-8", "surrogatepass")
    found = refused_or(answer_from_bytes, data)
    if found is not None:
        assert answer_text(found).replace("\n", "").isprintable()
