"""A search for a fault as one file: what the owner sends and the technician opens.

Plain JSON of our own form. What comes from outside is text and figures within limits; nothing
in it is run, no path in it is opened, and reading it keeps nothing.
"""

from __future__ import annotations

import json
from datetime import datetime
from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from fillwright.errors import BadInput
from fillwright.records.faultcase import FaultCase
from fillwright.records.kinds_fault import (
    FaultAnswered,
    FaultClosed,
    FaultOpened,
    RepairTried,
)

__all__ = ["FORM", "MOST_BYTES", "CaseFile", "case_from_bytes", "case_to_bytes", "in_words"]

FORM: Final = "fillwright fault case 1"
MOST_BYTES: Final = 256_000
_DEEPEST: Final = 8
_LONGEST: Final = 400
_Name = Annotated[str, Field(max_length=60, pattern=r"^[A-Za-z0-9_-]*$")]
# No control character: words from outside are printed on a terminal too.
_Words = Annotated[str, Field(max_length=_LONGEST, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
_Chance = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
_Weight = Annotated[Decimal, Field(ge=-1_000_000, le=1_000_000, max_digits=15)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Fact(_Part):
    """A fact of the machine or the job, in words."""

    name: _Words
    words: _Words


class CaseAnswer(_Part):
    """A check and what it showed."""

    at: datetime
    check: _Name
    present: Annotated[tuple[_Name, ...], Field(max_length=20)] = ()
    absent: Annotated[tuple[_Name, ...], Field(max_length=20)] = ()
    was_possible: bool = True


class CaseRepair(_Part):
    """A repair and whether it cured."""

    at: datetime
    repair: _Name
    outcome: Literal["cured", "not-cured", "not-possible"]


class CaseClosed(_Part):
    """How the search ended."""

    at: datetime
    outcome: Literal["cured", "handed-over", "left"]
    cause: _Name = ""
    repair: _Name = ""
    note: _Words = ""


class CaseFile(_Part):
    """Everything that is sent."""

    form: Literal["fillwright fault case 1"] = FORM
    program: _Words
    job: _Words
    case: Annotated[int, Field(ge=1, le=100_000)]
    opened_at: datetime
    sign: _Name
    findings: Annotated[tuple[_Name, ...], Field(max_length=100)] = ()
    signature: Annotated[dict[_Name, _Chance], Field(max_length=20)] = Field(default_factory=dict)
    machine: Annotated[tuple[Fact, ...], Field(max_length=60)] = ()
    facts: Annotated[tuple[Fact, ...], Field(max_length=60)] = ()
    doses_g: Annotated[tuple[_Weight, ...], Field(max_length=500)] = ()
    answers: Annotated[tuple[CaseAnswer, ...], Field(max_length=300)] = ()
    repairs: Annotated[tuple[CaseRepair, ...], Field(max_length=100)] = ()
    closed: CaseClosed | None = None

    def searched(self) -> FaultCase:
        """Return the search as the pages look at it."""
        return FaultCase(
            number=self.case,
            opened=FaultOpened(
                sign=self.sign, findings=self.findings, signature=dict(self.signature)
            ),
            at=self.opened_at,
            answers=[
                (
                    one.at,
                    FaultAnswered(
                        check=one.check,
                        present=one.present,
                        absent=one.absent,
                        was_possible=one.was_possible,
                    ),
                )
                for one in self.answers
            ],
            repairs=[
                (one.at, RepairTried(repair=one.repair, outcome=one.outcome))
                for one in self.repairs
            ],
            closed=None
            if self.closed is None
            else FaultClosed(
                outcome=self.closed.outcome,
                cause=self.closed.cause,
                repair=self.closed.repair,
                note=self.closed.note,
            ),
            closed_at=None if self.closed is None else self.closed.at,
        )


def in_words(text: str) -> str:
    """Return a text as a case file may hold it: no control characters, not too long."""
    return "".join(letter if letter.isprintable() else " " for letter in text)[:_LONGEST]


def case_to_bytes(case: CaseFile) -> bytes:
    """Return the file, the same bytes for the same case."""
    text = json.dumps(case.model_dump(mode="json"), indent=1, ensure_ascii=False, sort_keys=True)
    return (text + "\n").encode("utf-8")


def case_from_bytes(data: bytes) -> CaseFile:
    """Return the case that a file from outside holds.

    Parameters
    ----------
    data : bytes
        Content of the file.

    Returns
    -------
    CaseFile
        Checked: size, depth, names, lengths, figures.

    Raises
    ------
    BadInput
        If it is too large, too deep, no JSON, or not of this form.
    """
    if len(data) > MOST_BYTES:
        raise _refused(f"it is larger than {MOST_BYTES // 1000} kB", len(data))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _refused("it is not text", "bytes") from error
    if _depth(text) > _DEEPEST:
        raise _refused("it is nested too deep", "depth")
    try:
        plain = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_once)
    except (ValueError, RecursionError) as error:
        raise _refused("it is not readable as JSON", "text") from error
    if not isinstance(plain, dict) or plain.get("form") != FORM:
        raise _refused(f"it does not begin as {FORM!r}", "form")
    try:
        return CaseFile.model_validate_json(text)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])[:80]
        raise _refused(f"{where}: {first['msg'][:120]}", where) from error


def _refused(why: str, given: object) -> BadInput:
    """Say why a file is not opened, and what to do."""
    return BadInput(
        f"This is no case file that can be opened: {why}. Ask for it to be sent again.",
        field="file",
        given=given,
        allowed=FORM,
        code="type",
    )


def _depth(text: str) -> int:
    """Return how deep brackets are nested, those inside texts left out."""
    deepest = depth = 0
    inside = escaped = False
    for letter in text:
        if inside:
            if escaped:
                escaped = False
            elif letter == "\\":
                escaped = True
            elif letter == '"':
                inside = False
        elif letter == '"':
            inside = True
        elif letter in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif letter in "]}":
            depth -= 1
    return deepest


def _no_constant(name: str) -> float:
    """Refuse figures that are none."""
    raise ValueError(name)


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """Refuse a name that comes twice."""
    found = dict(pairs)
    if len(found) != len(pairs):
        message = "a name comes twice"
        raise ValueError(message)
    return found
