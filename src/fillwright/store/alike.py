"""Weights of one file as rows of the store, each chained to the one before it.

The same rows and the same hashes as `Ready.row_at` gives one by one; what they have in common
is written once for all of them.
"""

from __future__ import annotations

from hashlib import sha256

from fillwright.records.alike import Alike
from fillwright.records.codec import stamp
from fillwright.records.entries import Entry, WeighingFromFile
from fillwright.store.chain import Row, around_alike, entry_of
from fillwright.store.drafts import Ready, ready

__all__ = ["entries_in", "head_ready", "rows_alike"]


def head_ready(alike: Alike) -> Ready | None:
    """Return the entry of the file ready to be stored, None where it is stored already.

    What all weights have in common is checked like any draft.

    Parameters
    ----------
    alike : Alike
        Weights of one file.

    Returns
    -------
    Ready or None
        Its texts and those of the weights can be stored.

    Raises
    ------
    BadInput
        If something cannot be stored unchanged.
    """
    first = alike.drafts_of(alike.rows[:1])
    if alike.head is None:
        ready(first)
        return None
    return ready([alike.head, *first])[0]


def rows_alike(alike: Alike, *, seq: int, revision: int, previous_hash: str) -> list[Row]:
    """Return weights of one file in their places, as they will be stored.

    Parameters
    ----------
    alike : Alike
        The weights.
    seq, revision : int
        Last place of the journal, and of the stream.
    previous_hash : str
        Hash of the last entry of the journal.

    Returns
    -------
    list of Row
        In order.
    """
    kind, version = WeighingFromFile.kind, WeighingFromFile.version
    stream, zone, person, bench = alike.stream, alike.zone, alike.person, alike.bench
    at = stamp(alike.at)
    before, to_payload, to_previous, behind = around_alike(
        (0, 0, "", stream, kind, version, at, zone, person, bench, "", "")
    )
    rows: list[Row] = []
    for seq_now, (entry_id, payload, _, _) in enumerate(alike.rows, start=seq + 1):
        revision += 1
        text = (
            f"{before}{entry_id}{to_payload}{payload}{to_previous}{previous_hash}"
            f'","revision":{revision},"seq":{seq_now}{behind}'
        )
        own = sha256(text.encode()).hexdigest()
        rows.append(
            (
                seq_now, revision, entry_id, stream, kind, version, at, zone, person, bench,
                payload, previous_hash, own,
            )
        )  # fmt: skip
        previous_hash = own
    return rows


def entries_in(rows: list[Row]) -> tuple[Entry, ...]:
    """Return stored rows as entries, for those who listen."""
    return tuple(entry_of(row) for row in rows)
