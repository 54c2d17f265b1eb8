"""A whole job as one file: JSON Lines of our own form, written here and opened elsewhere.

A first line says what it is, then each entry as it stands in the journal with its hash, then the
photos that the entries name, and a last line seals all above it. What comes from outside is
checked line by line before it is used.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, fields, is_dataclass
from datetime import datetime
from decimal import Decimal
from hashlib import sha256
from typing import IO, Any, Final

import rfc8785

from fillwright.errors import BadInput, BrokenChain
from fillwright.records.book import stream_of
from fillwright.records.codec import entry_json, hash_of, payload_from_json, payload_to_json
from fillwright.records.entries import (
    KINDS,
    ColumnsChosen,
    ContainerKept,
    Entry,
    FaultCaseCounted,
    FaultLearningSet,
    JobOpened,
    MachineKept,
    PersonListed,
    ProductKept,
    ScaleKept,
    ScaleLineKept,
    SealsShelved,
    SiteSettingsChanged,
    WeighingTaken,
)
from fillwright.records.outside_json import document_of
from fillwright.records.sent_photos import (
    LONGEST_PHOTO_LINE,
    MOST_PHOTO_BYTES,
    MOST_PHOTOS,
    PhotoPlace,
    line_of_photo,
    named_photos,
    photo_in_line,
)

__all__ = [
    "FORM",
    "FORM_WITH_PHOTOS",
    "JobFile",
    "JobHeader",
    "is_job_file",
    "job_from_file",
    "job_to_lines",
]

FORM: Final = "fillwright-job 1"
FORM_WITH_PHOTOS: Final = "fillwright-job 2"
"""As the first, with photos between the entries and the seal; written only where there are any."""
MOST_BYTES: Final = 200_000_000
MOST_ENTRIES: Final = 200_000
_LONGEST_LINE: Final = 2_000_000
_MOST_DIGITS: Final = 40
_MOST_PLACES: Final = 20
_LARGEST_COUNT: Final = 2_000_000
_FREE: Final = re.compile(r"(?:\w+_)?seed|container")
"""Whole numbers that nothing is counted by."""
_BEGINS: Final = b'{"form":"fillwright-job '
_PHOTO: Final = b'{"photo":'
_NUMBER: Final = re.compile(r"[A-Za-z0-9-]{1,40}")
_HASH: Final = re.compile(r"[0-9a-f]{64}")
_ID: Final = re.compile(r"[0-9A-Za-z-]{1,64}")
_OF_THE_SITE: Final = (
    ColumnsChosen,
    ContainerKept,
    FaultCaseCounted,
    FaultLearningSet,
    MachineKept,
    PersonListed,
    ProductKept,
    ScaleKept,
    ScaleLineKept,
    SealsShelved,
    SiteSettingsChanged,
)
_FIELDS: Final = frozenset(
    {
        "seq", "revision", "id", "stream", "kind", "version", "at", "zone", "person", "bench",
        "payload", "previous_hash", "hash",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class JobHeader:
    """The first line of a job file.

    Parameters
    ----------
    form : str
        Name and version of the form.
    job : str
        Number of the job where it was written.
    entries : int
        How many follow.
    program : str
        Version of the program that wrote it.
    bench, maker : str
        Where it comes from.
    signatures : int
        Signatures that are asked for there.
    """

    form: str
    job: str
    entries: int
    program: str
    bench: str
    maker: str
    signatures: int


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFile:
    """A job from outside whose every line was checked.

    `seal` is the hash over the file; `photos` says where its photos stand in it, `photos_named`
    how many the entries name.
    """

    header: JobHeader
    entries: tuple[Entry, ...]
    seal: str
    photos: tuple[PhotoPlace, ...] = ()
    photos_named: int = 0


def is_job_file(begin: bytes) -> bool:
    """Say whether a file begins like a job file."""
    return begin.startswith(_BEGINS)


def job_to_lines(
    header: JobHeader,
    entries: Iterable[Entry],
    photos: Iterable[tuple[str, bytes]] = (),
) -> Iterator[bytes]:
    """Yield the lines of a job file.

    Parameters
    ----------
    header : JobHeader
        The first line.
    entries : iterable of Entry
        All entries of the job, in order; as many as the header says.
    photos : iterable of tuple
        Hash and bytes of photos that the entries name, for a header of `FORM_WITH_PHOTOS`.

    Yields
    ------
    bytes
        One line, with its end.
    """
    digest = sha256()
    for document in _documents(header, entries):
        line = _line(document)
        digest.update(line)
        yield line
    for told_hash, data in photos:
        line = line_of_photo(told_hash, data)
        digest.update(line)
        yield line
    yield _line({"seal": digest.hexdigest()})


def job_from_file(file: IO[bytes]) -> JobFile:
    """Return the job that a file from outside holds.

    Parameters
    ----------
    file : binary file
        Open at its begin.

    Returns
    -------
    JobFile
        Form, lengths, depth, types, hashes, order and seal are checked.

    Raises
    ------
    BadInput
        If anything of it does not fit; the message names the line.
    """
    digest = sha256()
    taken = place = 0
    header: JobHeader | None = None
    entries: list[Entry] = []
    while header is None or len(entries) < header.entries:
        place += 1
        line = _next_line(file, place, taken, _LONGEST_LINE)
        taken += len(line)
        found = _found(line, place)
        if header is None:
            header = _header(found)
        else:
            entries.append(_entry(found, header, entries, place))
        digest.update(line)
    named = named_photos(entries)
    photos: dict[str, PhotoPlace] = {}
    while True:
        place += 1
        line = _next_line(file, place, taken, LONGEST_PHOTO_LINE)
        if not line.startswith(_PHOTO) or header.form == FORM:
            break
        photo = _photo(line, place, taken, named, photos)
        photos[photo.told.sha256] = photo
        taken += len(line)
        digest.update(line)
    seal = _found(line, place)
    _check_end(seal, digest.hexdigest(), file, place)
    return JobFile(
        header=header,
        entries=tuple(entries),
        seal=str(seal["seal"]),
        photos=tuple(photos.values()),
        photos_named=len(named),
    )


def _next_line(file: IO[bytes], place: int, taken: int, longest: int) -> bytes:
    """Return the next line of a file that is not too long."""
    line = file.readline(longest + 1)
    if not line:
        raise _refused(place, "the file is cut off before its seal")
    if len(line) > longest or taken + len(line) > MOST_BYTES:
        raise _refused(place, "it is too long")
    if not line.endswith(b"\n"):
        raise _refused(place, "the line is cut off")
    return line


def _found(line: bytes, place: int) -> dict[str, Any]:
    """Return the JSON object of a line."""
    try:
        return document_of(line)
    except ValueError as error:
        raise _refused(place, str(error)) from error


def _photo(
    line: bytes, place: int, at_byte: int, named: dict[str, int], before: dict[str, PhotoPlace]
) -> PhotoPlace:
    """Return where a photo stands; one that no entry names does not come in."""
    try:
        told, _ = photo_in_line(line)
    except ValueError as error:
        raise _refused(place, str(error)) from error
    size_bytes = sum(photo.told.size_bytes for photo in before.values()) + told.size_bytes
    if named.get(told.sha256) != told.size_bytes or told.sha256 in before:
        raise _refused(place, "no entry names this photo, or it comes twice")
    if len(before) >= MOST_PHOTOS or size_bytes > MOST_PHOTO_BYTES:
        raise _refused(place, "it holds more photos than are taken in")
    return PhotoPlace(told=told, at_byte=at_byte, size_bytes=len(line))


def _documents(header: JobHeader, entries: Iterable[Entry]) -> Iterator[dict[str, Any]]:
    """Yield header and entries as JSON objects."""
    yield asdict(header)
    for entry in entries:
        yield entry_json(entry)


def _line(document: dict[str, Any]) -> bytes:
    """Return a JSON object as one line."""
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _header(found: dict[str, Any]) -> JobHeader:
    """Return the first line, checked."""
    if found.get("form") not in (FORM, FORM_WITH_PHOTOS):
        raise _refused(1, f"it does not begin as {FORM!r}; a newer program may have written it")
    kinds = {"entries": int, "signatures": int}
    names = JobHeader.__dataclass_fields__
    if set(found) != set(names) or not all(
        type(found[name]) is kinds.get(name, str) for name in names
    ):
        raise _refused(1, "its first line has other names than the form")
    header = JobHeader(**found)
    if _NUMBER.fullmatch(header.job) is None or not 1 <= header.entries <= MOST_ENTRIES:
        raise _refused(1, f"its number or its count cannot be (up to {MOST_ENTRIES:,} entries)")
    return header


def _entry(found: dict[str, Any], header: JobHeader, before: list[Entry], place: int) -> Entry:
    """Return one line as the entry that it holds, checked."""
    if set(found) != _FIELDS:
        raise _refused(place, "it has other names than an entry")
    counts, texts = ("seq", "revision", "version"), _FIELDS - {"seq", "revision", "version"}
    if not all(type(found[name]) is int for name in counts) or not all(
        isinstance(found[name], str) for name in texts - {"payload"}
    ):
        raise _refused(place, "a field of it has another type")
    kind = KINDS.get((found["kind"], found["version"]))
    if kind is None:
        raise _refused(place, f"{found['kind'][:60]!r} is no kind of entry known here")
    is_next = found["revision"] == len(before) + 1
    if found["stream"] != stream_of(header.job) or issubclass(kind, _OF_THE_SITE):
        raise _refused(place, "it belongs to no job, or to another")
    if not is_next or (before and found["seq"] <= before[-1].seq):
        raise _refused(place, "an entry is missing, or stands in another order")
    if (kind is JobOpened) != (not before):
        raise _refused(place, "a job is opened once, by its first entry")
    hashes = (found["hash"], found["previous_hash"])
    if not all(_HASH.fullmatch(one) for one in hashes) or _ID.fullmatch(found["id"]) is None:
        raise _refused(place, "its id or its hash has another form")
    return _made(found, place)


def _made(found: dict[str, Any], place: int) -> Entry:
    """Return an entry whose payload fits its kind and whose hash is right."""
    try:
        given = rfc8785.dumps(found["payload"])
        payload = payload_from_json(found["kind"], found["version"], given)
        at = datetime.fromisoformat(found["at"])
        own = hash_of(
            entry_id=found["id"],
            **{name: found[name] for name in _FIELDS - {"id", "hash"}},
        )
    except (BrokenChain, ValueError, ArithmeticError) as error:
        raise _refused(place, "its facts do not fit their kind") from error
    if not _are_sane(payload):
        raise _refused(place, "a figure in it has no end")
    if payload_to_json(payload).encode() != given or at.tzinfo is None:
        raise _refused(place, "its facts have other names or types than their kind")
    if own != found["hash"]:
        raise _refused(place, "its hash is not that of its facts: it was changed")
    return Entry(
        seq=found["seq"],
        revision=found["revision"],
        id=found["id"],
        stream=found["stream"],
        at=at,
        zone=found["zone"],
        person=found["person"],
        bench=found["bench"],
        payload=payload,
        previous_hash=found["previous_hash"],
        hash=found["hash"],
    )


def _are_sane(part: object) -> bool:
    """Say whether all exact figures of a payload are of a length that a page can write out."""
    if isinstance(part, Decimal):
        places = part.as_tuple().exponent
        is_short = len(part.as_tuple().digits) <= _MOST_DIGITS
        return isinstance(places, int) and is_short and abs(places) <= _MOST_PLACES
    if isinstance(part, WeighingTaken):
        try:
            return _are_sane(Decimal(part.value)) and _are_sane((part.tare_g, part.net_g))
        except ArithmeticError:
            return False
    if isinstance(part, int):
        return abs(part) <= _LARGEST_COUNT
    if isinstance(part, tuple | list):
        return all(map(_are_sane, part))
    if is_dataclass(part):
        told = (one.name for one in fields(part) if not _FREE.fullmatch(one.name))
        return all(_are_sane(getattr(part, name)) for name in told)
    return True


def _check_end(found: dict[str, Any], digest: str, file: IO[bytes], place: int) -> None:
    """Refuse a last line that does not seal what stands above it, or that is not the last."""
    if set(found) != {"seal"} or found["seal"] != digest:
        raise _refused(place, "the seal does not fit what stands above it: it was changed")
    if file.read(1):
        raise _refused(place + 1, "something stands below the seal")


def _refused(line: int, why: str) -> BadInput:
    """Say why a file is not opened, and what to do."""
    return BadInput(
        f"This job file cannot be opened, line {line}: {why}. Ask for it to be sent again.",
        field="file",
        given=f"line {line}",
        allowed=FORM,
        code="type",
    )
