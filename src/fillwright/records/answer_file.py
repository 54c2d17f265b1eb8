"""A technician's answer to a case as one small file: what to do next, in words, for its owner.

Plain JSON of our own form, checked like the case itself. It is shown and nothing more: no
answer does anything by itself.
"""

from __future__ import annotations

import json
from typing import Annotated, Final, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from fillwright.records.case_file import Name, Words, json_text, refused

__all__ = ["ANSWER_FORM", "AnswerFile", "answer_from_bytes", "answer_to_bytes"]

ANSWER_FORM: Final = "fillwright case answer 1"


class AnswerFile(BaseModel):
    """What is sent back.

    `job`, `case` and `opened_at` say which search it belongs to; `check` or `repair` is the
    key of what to do, `words` the answer in words.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    form: Literal["fillwright case answer 1"] = ANSWER_FORM
    program: Words
    job: Words
    case: Annotated[int, Field(ge=1, le=100_000)]
    opened_at: AwareDatetime
    answered_at: AwareDatetime
    answered_by: Words
    check: Name = ""
    repair: Name = ""
    words: Words = ""


def answer_to_bytes(answer: AnswerFile) -> bytes:
    """Return the file, the same bytes for the same answer."""
    plain = answer.model_dump(mode="json")
    text = json.dumps(plain, indent=1, ensure_ascii=False, sort_keys=True)
    return (text + "\n").encode("utf-8")


def answer_from_bytes(data: bytes) -> AnswerFile:
    """Return the answer that a file from outside holds.

    Raises
    ------
    BadInput
        If it is too large, too deep, no JSON, or not of this form.
    """
    text = json_text(data, ANSWER_FORM)
    try:
        return AnswerFile.model_validate_json(text)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])[:80]
        raise refused(f"{where}: {first['msg'][:120]}", where) from error
