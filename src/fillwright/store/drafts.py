"""Drafts made ready to be stored: checked, and their texts written, before any lock is held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC

from fillwright.errors import BadInput, Conflict
from fillwright.records.codec import payload_to_json, stamp
from fillwright.records.entries import Draft, Entry
from fillwright.store.chain import Row, hash_of_content

__all__ = ["Ready", "ready"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """A draft with its time and payload as they will be stored."""

    draft: Draft
    at: str
    payload: str

    def row_at(self, *, seq: int, revision: int, previous_hash: str) -> Row:
        """Return the draft in its place, as it will be stored.

        Parameters
        ----------
        seq : int
            Place in the journal.
        revision : int
            Place in its stream.
        previous_hash : str
            Hash of the entry before it.

        Returns
        -------
        Row
            In the order of the columns.
        """
        draft = self.draft
        payload = draft.payload
        content: Row = (
            seq,
            revision,
            draft.id,
            draft.stream,
            payload.kind,
            payload.version,
            self.at,
            draft.zone,
            draft.person,
            draft.bench,
            self.payload,
            previous_hash,
        )
        return (*content, hash_of_content(content))

    def entry_in(self, row: Row) -> Entry:
        """Return the draft as the entry that a row of its own holds.

        Parameters
        ----------
        row : Row
            From `row_at`.

        Returns
        -------
        Entry
            What reading the row gives, without reading it.
        """
        draft = self.draft
        return Entry(
            seq=row[0],
            revision=row[1],
            id=draft.id,
            stream=draft.stream,
            at=draft.at.astimezone(UTC),
            zone=draft.zone,
            person=draft.person,
            bench=draft.bench,
            payload=draft.payload,
            previous_hash=row[-2],
            hash=row[-1],
        )

    def check_repeats(self, stored: Entry, payload: str) -> None:
        """Check that what is stored under the same id says the same.

        Parameters
        ----------
        stored : Entry
            The entry with this id.
        payload : str
            Its payload as stored.

        Raises
        ------
        Conflict
            If the id was used for something else.
        """
        draft, kept = self.draft, stored.payload
        mine = (draft.stream, draft.payload.kind, draft.payload.version, self.payload)
        if mine != (stored.stream, kept.kind, kept.version, payload):
            message = (
                f"The id {draft.id} was used before, for {kept.kind!r} in {stored.stream!r} at "
                f"{stamp(stored.at)}: give a new entry an id of its own."
            )
            raise Conflict(message)


def ready(drafts: Sequence[Draft]) -> tuple[Ready, ...]:
    """Return the drafts ready to be stored.

    Parameters
    ----------
    drafts : sequence of Draft
        At least one.

    Returns
    -------
    tuple of Ready
        In the same order.

    Raises
    ------
    BadInput
        If they are for several streams, or one holds what cannot be stored unchanged.
    """
    stream = drafts[0].stream
    for draft in drafts:
        if draft.stream != stream:
            message = f"One append is for one stream, not for {stream!r} and {draft.stream!r}."
            raise BadInput(
                message, field="stream", given=draft.stream, allowed=stream, code="inconsistent"
            )
    return tuple(_ready(draft) for draft in drafts)


def _ready(draft: Draft) -> Ready:
    """Return one draft ready to be stored."""
    if draft.at.tzinfo is None:
        message = f"The time {draft.at} of an entry has no zone: give it in UTC."
        raise BadInput(message, field="at", given=draft.at, allowed="a time with its zone")
    if not draft.id or not draft.stream:
        message = "An entry has an id and a stream: give both."
        raise BadInput(message, field="id, stream", given="", code="missing")
    texts = f"{draft.id}{draft.stream}{draft.zone}{draft.person}{draft.bench}"
    try:
        texts.encode()
        payload = payload_to_json(draft.payload)
    except ValueError as error:
        # Half a character, an endless number, a whole number beyond 2**53.
        message = f"An entry of kind {draft.payload.kind!r} cannot be kept unchanged: {error}."
        raise BadInput(message, field=draft.payload.kind, given=str(error)) from error
    if "\0" in texts:
        message = "A name in an entry holds a zero byte: type it again."
        raise BadInput(message, field="id, stream, zone, person, bench", given=repr(texts))
    return Ready(draft=draft, at=stamp(draft.at), payload=payload)
