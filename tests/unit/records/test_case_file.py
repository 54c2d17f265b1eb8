"""A case file from outside: read back as sent, and refused where it is not of our form."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from fillwright.errors import BadInput
from fillwright.records.case_file import (
    FORM,
    MOST_BYTES,
    MOST_WITH_PHOTOS,
    CaseAnswer,
    CaseFile,
    Fact,
    case_from_bytes,
    case_to_bytes,
    in_words,
)
from fillwright.records.sent_photos import text_of_photo

AT = datetime(2031, 3, 5, 8, 0, tzinfo=UTC)
CASE = CaseFile(
    program="Fillwright tests",
    job="0417",
    case=1,
    opened_at=AT,
    sign="creeps-up",
    signature={"drift_up": 1.0},
    machine=(Fact(name="machine", words="East filler"),),
    doses_g=("250.1", "250.4"),
    answers=(CaseAnswer(at=AT, check="wheel_lock", present=("k_lock_loose",)),),
)
PHOTO = text_of_photo(b"\x89PNG\r\n\x1a\n" + bytes(20))
PLAIN = json.loads(case_to_bytes(CASE))


def sent(**changes):
    """The case with something changed, as bytes."""
    return json.dumps({**PLAIN, **changes}).encode()


def test_a_case_is_read_back_as_it_was_sent():
    """Figures, answers and times come back, and the same case gives the same bytes."""
    assert case_from_bytes(case_to_bytes(CASE)) == CASE
    assert case_to_bytes(case_from_bytes(case_to_bytes(CASE))) == case_to_bytes(CASE)
    assert CASE.searched().present == {"k_lock_loose"}


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"x" * (MOST_WITH_PHOTOS + 1), "larger than 16256 kB"),
        (sent() + b" " * MOST_BYTES, "larger than 256 kB and its photos"),
        (sent(photos=[{"sha256": "../x", "of": "", "data": ""}]), "photos.0.sha256"),
        (sent(photos=[{"sha256": "0" * 64, "of": "", "data": "AAAA"}]), "photo"),
        (sent(photos=[{"sha256": "0" * 64, "of": "<b>", "data": PHOTO}]), "not the one of its"),
        (sent(photos=[{"sha256": "0" * 64, "of": ""}] * 7), "photos"),
        (sent(names=[{"name": "a", "words": "b"}] * 201), "names"),
        (b"\xff\xfe\x00", "not text"),
        (b"[" * 100_000, "nested too deep"),
        (b"{", "not readable as JSON"),
        (b'{"form": "a", "form": "b"}', "not readable as JSON"),
        (b'{"form": NaN}', "not readable as JSON"),
        (b"[]", "does not begin as"),
        (sent(form="fillwright fault case 99"), "does not begin as"),
        (sent(extra="x"), "extra"),
        (sent(sign="../../etc/passwd"), "sign"),
        (sent(job="\u001b[2J"), "job"),
        (sent(job="04\u202e71"), "job"),
        (sent(opened_at="2031-03-05T08:00:00"), "opened_at"),
        (sent(case=0), "case"),
        (sent(doses_g=["1e999"]), "doses_g"),
        (sent(doses_g=["1"] * 501), "doses_g"),
        (sent(signature={"drift_up": 7}), "signature"),
        (sent(opened_at="yesterday"), "opened_at"),
        (sent(machine=[{"name": "n", "words": "w" * 401}]), "machine"),
    ],
)
def test_what_is_no_case_is_refused_in_words(data, told):
    """Too large, too deep, no JSON, another form, a path, a control character, odd figures."""
    with pytest.raises(BadInput, match=told) as e:
        case_from_bytes(data)

    assert e.value.message.startswith("This is no case file that can be opened")
    assert e.value.allowed == FORM


def test_words_that_people_typed_fit_the_form():
    """Control characters become spaces, and what is too long is cut."""
    assert in_words("a\tb\x1b[2J") == "a b [2J"
    assert len(in_words("x" * 1000)) == 400
