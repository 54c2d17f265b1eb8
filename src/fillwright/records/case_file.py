"""A search for a fault as one file: what the owner sends and the technician opens.

Plain JSON of our own form. What comes from outside is text and figures within limits; nothing
in it is run, no path in it is opened, and reading it keeps nothing.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from typing import Annotated, Final, Literal

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)

from fillwright.errors import BadInput
from fillwright.records.faultcase import FaultCase
from fillwright.records.kinds_fault import (
    FaultAnswered,
    FaultClosed,
    FaultOpened,
    RepairTried,
)
from fillwright.records.sent_photos import LONGEST_PHOTO_LINE, photo_in_text

__all__ = [
    "FORM",
    "MOST_BYTES",
    "MOST_CASE_PHOTOS",
    "MOST_CASE_PHOTO_BYTES",
    "MOST_WITH_PHOTOS",
    "CaseFile",
    "CasePhoto",
    "Name",
    "Words",
    "case_from_bytes",
    "case_to_bytes",
    "in_words",
    "json_text",
    "refused",
]

FORM: Final = "fillwright fault case 1"
MOST_BYTES: Final = 256_000
"""Bytes of a case without its photos; our own choice, as are the other limits."""
MOST_CASE_PHOTOS: Final = 6
MOST_CASE_PHOTO_BYTES: Final = 12_000_000
MOST_WITH_PHOTOS: Final = MOST_BYTES + 4 * (MOST_CASE_PHOTO_BYTES // 3 + MOST_CASE_PHOTOS)
_DEEPEST: Final = 8
_TEXT: Final = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"?', re.DOTALL)
_BRACKET: Final = re.compile(r"[\[{\]}]")
_LONGEST: Final = 400
Name = Annotated[str, Field(max_length=60, pattern=r"^[A-Za-z0-9_-]*$")]


def _printable(words: str) -> str:
    """Refuse letters that a page or a terminal would not show as they are."""
    if not words.isprintable():
        message = "a letter in it cannot be printed"
        raise ValueError(message)
    return words


# Neither control characters nor marks that turn the order of letters about.
Words = Annotated[str, Field(max_length=_LONGEST), AfterValidator(_printable)]
_Chance = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
_Weight = Annotated[Decimal, Field(ge=-1_000_000, le=1_000_000, max_digits=15)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Fact(_Part):
    """A fact of the machine or the job, in words."""

    name: Words
    words: Words


class CaseAnswer(_Part):
    """A check and what it showed."""

    at: AwareDatetime
    check: Name
    present: Annotated[tuple[Name, ...], Field(max_length=20)] = ()
    absent: Annotated[tuple[Name, ...], Field(max_length=20)] = ()
    was_possible: bool = True


class CaseRepair(_Part):
    """A repair and whether it cured."""

    at: AwareDatetime
    repair: Name
    outcome: Literal["cured", "not-cured", "not-possible"]


class CaseClosed(_Part):
    """How the search ended."""

    at: AwareDatetime
    outcome: Literal["cured", "handed-over", "left"]
    cause: Name = ""
    repair: Name = ""
    note: Words = ""


class CasePhoto(_Part):
    """A photo that goes with the case; `data` is empty where its bytes are kept elsewhere."""

    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    of: Words
    data: Annotated[str, Field(max_length=LONGEST_PHOTO_LINE)] = ""

    @model_validator(mode="after")
    def _is_whole(self) -> CasePhoto:
        """Refuse bytes that are no photo, or not the one of the hash."""
        if self.data:
            photo_in_text(self.data, self.sha256)
        return self

    @property
    def photo_bytes(self) -> bytes:
        """Return the photo itself; empty where it is kept elsewhere."""
        return photo_in_text(self.data, self.sha256)[1] if self.data else b""


class CaseFile(_Part):
    """Everything that is sent.

    `names` says in words what the fault data of the sender call what those of the program do
    not have, or call otherwise.
    """

    form: Literal["fillwright fault case 1"] = FORM
    program: Words
    job: Words
    case: Annotated[int, Field(ge=1, le=100_000)]
    opened_at: AwareDatetime
    sign: Name
    findings: Annotated[tuple[Name, ...], Field(max_length=100)] = ()
    signature: Annotated[dict[Name, _Chance], Field(max_length=20)] = Field(default_factory=dict)
    machine: Annotated[tuple[Fact, ...], Field(max_length=60)] = ()
    facts: Annotated[tuple[Fact, ...], Field(max_length=60)] = ()
    doses_g: Annotated[tuple[_Weight, ...], Field(max_length=500)] = ()
    answers: Annotated[tuple[CaseAnswer, ...], Field(max_length=300)] = ()
    repairs: Annotated[tuple[CaseRepair, ...], Field(max_length=100)] = ()
    closed: CaseClosed | None = None
    names: Annotated[tuple[Fact, ...], Field(max_length=200)] = ()
    photos: Annotated[tuple[CasePhoto, ...], Field(max_length=MOST_CASE_PHOTOS)] = ()

    def named(self) -> dict[str, str]:
        """Return the words that came with the case, by key."""
        return {one.name: one.words for one in self.names}

    def without_photo_bytes(self) -> CaseFile:
        """Return the case with its photos named by their hashes only."""
        bare = tuple(photo.model_copy(update={"data": ""}) for photo in self.photos)
        return self.model_copy(update={"photos": bare})

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
    """Return the file, the same bytes for the same case.

    What a case does not have is left out where an earlier version of the program does not know
    it, so that it opens the case all the same.
    """
    document = case.model_dump(mode="json")
    for name in ("names", "photos"):
        if not document[name]:
            del document[name]
    text = json.dumps(document, indent=1, ensure_ascii=False, sort_keys=True)
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
    text = json_text(data, FORM, most=MOST_WITH_PHOTOS)
    try:
        case = CaseFile.model_validate_json(text)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])[:80]
        raise refused(f"{where}: {first['msg'][:120]}", where) from error
    if len(data) > MOST_BYTES:
        # Photos may be long; all else keeps to the limit of a case without any.
        photo_bytes = sum(len(photo.data) for photo in case.photos)
        if photo_bytes > MOST_WITH_PHOTOS - MOST_BYTES or len(data) - photo_bytes > MOST_BYTES:
            raise refused(f"it is larger than {MOST_BYTES // 1000} kB and its photos", len(data))
    return case


def json_text(data: bytes, *forms: str, most: int = MOST_BYTES) -> str:
    """Return the text of a file from outside that is JSON of one of our forms.

    Raises
    ------
    BadInput
        If it is too large, too deep, no JSON, or of another form.
    """
    if len(data) > most:
        raise refused(f"it is larger than {most // 1000} kB", len(data))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise refused("it is not text", "bytes") from error
    if _depth(text) > _DEEPEST:
        raise refused("it is nested too deep", "depth")
    try:
        plain = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_once)
    except (ValueError, RecursionError) as error:
        raise refused("it is not readable as JSON", "text") from error
    if not isinstance(plain, dict) or plain.get("form") not in forms:
        raise refused(f"it does not begin as {' or '.join(map(repr, forms))}", "form")
    return text


def refused(why: str, given: object) -> BadInput:
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
    for bracket in _BRACKET.findall(_TEXT.sub("", text)):
        depth += 1 if bracket in "[{" else -1
        deepest = max(deepest, depth)
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
