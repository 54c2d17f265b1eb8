"""The hash that chains one entry to the one before it, from the columns as they are stored.

The same figure as ``records.codec.hash_of`` (RFC 8785 and SHA-256), without reading the
payload: its stored text is canonical already, so any changed byte of it changes the hash.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from json.encoder import encode_basestring as _quote
from typing import Any, TypeAlias

from fillwright.records.codec import payload_from_json
from fillwright.records.entries import Entry

__all__ = [
    "Row",
    "Sealed",
    "around_alike",
    "entry_of",
    "hash_of_content",
    "hash_of_row",
    "sealed",
]

Row: TypeAlias = tuple[Any, ...]
"""A row of `entries`, in the order of its columns."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sealed:
    """The hashed bytes of an entry, cut where its place in the journal is written."""

    before: bytes
    after: bytes

    def hash_at(self, seq: int) -> str:
        """Return the hash that the entry has at place `seq`."""
        return sha256(b"%b%d%b" % (self.before, seq, self.after)).hexdigest()


def sealed(row: Row) -> Sealed:
    """Return the bytes that are hashed for a stored row.

    Parameters
    ----------
    row : tuple
        As stored; its place and its own hash are left out.

    Returns
    -------
    Sealed
        Canonical JSON of the entry in two parts.

    Raises
    ------
    UnicodeEncodeError
        If a text holds half a surrogate pair.

    Notes
    -----
    Names in the order of RFC 8785, section 3.2.3 [1]_.

    References
    ----------
    .. [1] RFC 8785, JSON Canonicalization Scheme, 2020; from memory, and checked against an
       independent implementation in the tests.
    """
    before, after = _around_seq(row[:-1])
    return Sealed(before=before.encode(), after=after.encode())


def hash_of_row(row: Row) -> str:
    """Return the hash that a row should have where it stands."""
    return hash_of_content(row[:-1])


def hash_of_content(content: Row) -> str:
    """Return the hash that a row gets which has none yet.

    Parameters
    ----------
    content : tuple
        The columns of a row up to its own hash.

    Returns
    -------
    str
        The same as `hash_of_row` says of the whole row.
    """
    before, after = _around_seq(content)
    return sha256(f"{before}{content[0]}{after}".encode()).hexdigest()


def _around_seq(content: Row) -> tuple[str, str]:
    """Return the canonical JSON of what is hashed, before the entry's place and after it.

    The standard library's own writer of strings gives what RFC 8785, section 3.2.2.2, asks.
    """
    _, revision, entry_id, stream, kind, version, at, zone, person, bench, payload, previous = (
        content
    )
    before = (
        f'{{"at":{_quote(at)},"bench":{_quote(bench)},"id":{_quote(entry_id)},'
        f'"kind":{_quote(kind)},"payload":{payload},"person":{_quote(person)},'
        f'"previous_hash":{_quote(previous)},"revision":{revision},"seq":'
    )
    return before, f',"stream":{_quote(stream)},"version":{version},"zone":{_quote(zone)}}}'


def around_alike(content: Row) -> tuple[str, str, str, str]:
    """Return the canonical JSON around what differs in entries that have the rest in common.

    Parameters
    ----------
    content : tuple
        The columns of any of them up to its own hash.

    Returns
    -------
    tuple of str
        What stands before the id, between it and the payload, between that and the previous
        hash, and behind the place in the journal.
    """
    _, _, _, stream, kind, version, at, zone, person, bench, _, _ = content
    return (
        f'{{"at":{_quote(at)},"bench":{_quote(bench)},"id":"',
        f'","kind":{_quote(kind)},"payload":',
        f',"person":{_quote(person)},"previous_hash":"',
        f',"stream":{_quote(stream)},"version":{version},"zone":{_quote(zone)}}}',
    )


def entry_of(row: Row) -> Entry:
    """Return a stored row as an entry.

    Parameters
    ----------
    row : tuple
        As stored.

    Returns
    -------
    Entry
        With its payload typed.

    Raises
    ------
    BrokenChain
        If the payload is of no kind known here, or does not fit its kind.
    """
    seq, revision, entry_id, stream, kind, version, at, zone, person, bench, payload, prev, own = (
        row
    )
    return Entry(
        seq=seq,
        revision=revision,
        id=entry_id,
        stream=stream,
        at=datetime.fromisoformat(at),
        zone=zone,
        person=person,
        bench=bench,
        payload=payload_from_json(kind, version, payload),
        previous_hash=prev,
        hash=own,
    )
