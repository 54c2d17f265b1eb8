"""An answer from outside: read back as sent, and refused where it is not of our form."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from fillwright.errors import BadInput
from fillwright.records.answer_file import AnswerFile, answer_from_bytes, answer_to_bytes

AT = datetime(2031, 3, 5, 8, 0, tzinfo=UTC)
ANSWER = AnswerFile(
    program="Fillwright tests",
    job="0417",
    case=1,
    opened_at=AT,
    answered_at=AT,
    answered_by="CD",
    check="wheel_lock",
    words="Tighten it.",
)
PLAIN = json.loads(answer_to_bytes(ANSWER))


def test_an_answer_is_read_back_as_it_was_sent():
    """The same answer, and the same bytes of it."""
    assert answer_from_bytes(answer_to_bytes(ANSWER)) == ANSWER
    assert answer_to_bytes(answer_from_bytes(answer_to_bytes(ANSWER))) == answer_to_bytes(ANSWER)


@pytest.mark.parametrize(
    "data",
    [
        b"x" * 256_001,
        b"[" * 1000,
        json.dumps({**PLAIN, "form": "fillwright fault case 1"}).encode(),
        json.dumps({**PLAIN, "run": "me"}).encode(),
        json.dumps({**PLAIN, "check": "../../x"}).encode(),
        json.dumps({**PLAIN, "words": "\u001b[2J"}).encode(),
        json.dumps({**PLAIN, "words": "w" * 401}).encode(),
        json.dumps({**PLAIN, "words": "\ud800"}).encode(),
        json.dumps({**PLAIN, "opened_at": "2031-03-05T08:00:00"}).encode(),
    ],
)
def test_what_is_no_answer_is_refused_in_words(data):
    """Too large, too deep, another form, more than it holds, a path, control, half a letter."""
    with pytest.raises(BadInput, match="that can be opened"):
        answer_from_bytes(data)
