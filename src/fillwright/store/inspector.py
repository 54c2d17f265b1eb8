"""Follows the chain row by row and names what does not fit.

A hash is made over an entry's place too, so a row whose hash fits another place was moved;
one that fits no place near was changed. Nothing is kept but the last row and the findings.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal, Protocol, TypeAlias

from fillwright.records.codec import GENESIS
from fillwright.store.chain import Row, Sealed, sealed

__all__ = ["Finding", "Inspector", "Lookup", "What"]

What: TypeAlias = Literal["changed", "removed", "reordered", "inserted", "head", "damaged"]

MOST_LISTED: Final = 200
"""Findings named one by one; the rest are counted."""
_REACH: Final = 1000
"""How far from where it stands an entry's own place is looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One place where the journal is not as it was written.

    Parameters
    ----------
    what : str
        What was done to it.
    seq : int
        Place in the journal; 0 where it is about none.
    id, stream, kind, at : str
        Of the entry as it stands now; empty where it is gone and nothing tells.
    sentence : str
        For people.
    """

    what: What
    seq: int
    id: str = ""
    stream: str = ""
    kind: str = ""
    at: str = ""
    sentence: str


class Lookup(Protocol):
    """What is asked of the whole journal once something does not fit."""

    def place_of(self, own_hash: str) -> int | None:
        """Return the place of the entry with a hash."""
        ...

    def between(self, first: int, last: int) -> list[Row]:
        """Return the rows of some places, ends included."""
        ...


class Inspector:
    """Sees every row once, in order of place, then the head.

    Parameters
    ----------
    lookup : Lookup
        Asked only where something does not fit.
    known : mapping
        Hashes noted elsewhere, by place.
    """

    def __init__(self, lookup: Lookup, *, known: Mapping[int, str]) -> None:
        self.findings: list[Finding] = []
        self.unlisted = 0
        self.checked = 0
        self._lookup = lookup
        self._known = known
        self._last: Row | None = None
        self._flagged: set[int] = set()
        self._shift = 0
        self._revisions: dict[str, int] = {}
        self._unnamed: list[int] = []

    def see(self, row: Row) -> None:
        """Check one row against itself and the one before it.

        Parameters
        ----------
        row : Row
            The next in order of place.
        """
        self.checked += 1
        seq = row[0]
        if not isinstance(seq, int):
            sentence = f"Entry {_named(row)} was slipped in: it stands at no place."
            self._note(Finding(what="inserted", seq=0, id=_printable(row[2]), sentence=sentence))
            return
        before = self._last
        expected = 1 if before is None else before[0] + 1
        if seq > expected:
            self._removed(expected, seq - 1)
        content = _content(row)
        if seq < 1:
            self._flag(row, "inserted", "stands before the first place")
        elif content is None or content.hash_at(seq) != row[-1]:
            self._misplaced(row, content)
        else:
            self._shift = 0
            if seq == expected:
                self._check_link(row, before)
        noted = self._known.get(seq)
        if noted is not None and noted != row[-1]:
            self._flag(row, "changed", "does not have the hash that was noted for its place")
        self._name_removed(row)
        self._last = row

    def end(self, head: Row | None) -> None:
        """Check the last row against the head.

        Parameters
        ----------
        head : Row or None
            Place and hash that the head holds.
        """
        last = self._last
        place = 0 if last is None else last[0] - self._shift
        if head is None:
            self._note(Finding(what="head", seq=0, sentence="The head of the journal is missing."))
        elif head[0] > place:
            self._removed(place + 1, head[0])
        elif head[0] < place:
            for row in self._lookup.between(head[0] + self._shift + 1, place + self._shift):
                self._flag(row, "inserted", "stands after the head of the journal")
        elif last is not None and last[-1] != head[1]:
            self._flag(last, "changed", "or the head of the journal was changed")
        elif last is None and head[1] != GENESIS:
            self._note(
                Finding(what="head", seq=0, sentence="The head of the journal was changed.")
            )
        for seq in self._known:
            if seq > place and (head is None or seq > head[0]):
                self._removed(seq, seq)

    def damaged(self, reason: str) -> None:
        """Note that the store could not be read to its end.

        Parameters
        ----------
        reason : str
            What the database said.
        """
        seq = 0 if self._last is None else self._last[0]
        sentence = f"The store cannot be read after entry {seq} ({reason}): restore a backup."
        self._note(Finding(what="damaged", seq=seq, sentence=sentence))

    def _check_link(self, row: Row, before: Row | None) -> None:
        """Check that a row that fits its place is chained to the one before it."""
        if row[-2] == (GENESIS if before is None else before[-1]):
            return
        if before is None:
            self._flag(row, "changed", "does not begin the chain")
        elif before[0] not in self._flagged:
            reason = f"was changed and its hash made again: entry {row[0]} knew another"
            self._flag(before, "changed", reason)

    def _misplaced(self, row: Row, content: Sealed | None) -> None:
        """Say whether a row was changed or moved, and what moved it."""
        seq = row[0]
        if content is not None and self._shift and content.hash_at(seq - self._shift) == row[-1]:
            return
        home = None if content is None or self._is_full() else self._home(row, content)
        if home is None:
            self._flag(row, "changed", "was changed after it was written")
            return
        shift_before, self._shift = self._shift, seq - home
        by = self._shift - shift_before
        if by > 0 and self._slipped_in(row, by):
            return
        if by < 0 and self._lookup.place_of(row[-2]) is None and home - 1 != 0:
            self._removed(seq - shift_before, home - 1, renumbered=True)
            return
        self._flag(row, "reordered", f"was moved here from place {home}")

    def _home(self, row: Row, content: Sealed) -> int | None:
        """Return the place for which a row's hash was made, or None."""
        seq, own = row[0], row[-1]
        for distance in range(1, _REACH + 1):
            for candidate in (seq - distance, seq + distance):
                if candidate > 0 and content.hash_at(candidate) == own:
                    return int(candidate)
        before = self._lookup.place_of(row[-2])
        if before is not None and content.hash_at(before + 1) == own:
            return before + 1
        return None

    def _slipped_in(self, row: Row, count: int) -> bool:
        """Flag the rows before this one if the chain passes them by; say whether it does."""
        first = row[0] - count
        rows = self._lookup.between(first - 1, row[0] - 1)
        earlier = rows.pop(0)[-1] if rows and rows[0][0] == first - 1 else GENESIS
        whole = [one for one in rows if _fits(one)]
        if earlier != row[-2] or len(whole) != count:
            return False
        for one in whole:
            self._flag(one, "inserted", "was slipped in: the chain passes it by")
        return True

    def _removed(self, first: int, last: int, *, renumbered: bool = False) -> None:
        """Note entries that are gone."""
        before = self._last
        behind = "at the beginning" if before is None else f"after entry {_named(before)}"
        more = ", and those after it were renumbered" if renumbered else ""
        for seq in range(first, last + 1):
            if self._is_full():
                self.unlisted += last + 1 - seq
                break
            self._unnamed.append(len(self.findings))
            sentence = f"Entry {seq} was removed, {behind}{more}."
            self._note(Finding(what="removed", seq=seq, sentence=sentence))

    def _name_removed(self, row: Row) -> None:
        """Say of which stream the missing entries were, when its revisions tell."""
        revision, stream = row[1], row[3]
        missing = revision - self._revisions.get(stream, 0) - 1
        self._revisions[stream] = revision
        if missing > 0 and missing == len(self._unnamed):
            for index in self._unnamed:
                found = self.findings[index]
                sentence = f"{found.sentence[:-1]}; it belonged to {stream}."
                self.findings[index] = replace(found, stream=stream, sentence=sentence)
            self._unnamed.clear()

    def _flag(self, row: Row, what: What, reason: str) -> None:
        """Note a finding about a row that is there, once."""
        if row[0] in self._flagged:
            return
        sentence = f"Entry {_named(row)} {reason}."
        found = Finding(
            what=what,
            seq=row[0],
            id=_printable(row[2]),
            stream=_printable(row[3]),
            kind=_printable(row[4]),
            at=_printable(row[6]),
            sentence=sentence,
        )
        if not self._is_full():
            self._flagged.add(row[0])
        self._note(found)

    def _note(self, finding: Finding) -> None:
        """Keep a finding, or count it."""
        if self._is_full():
            self.unlisted += 1
        else:
            self.findings.append(finding)

    def _is_full(self) -> bool:
        """Return whether as many findings are listed as anybody will read."""
        return len(self.findings) >= MOST_LISTED


def _content(row: Row) -> Sealed | None:
    """Return what is hashed of a row, or None where it is not even text."""
    try:
        return sealed(row)
    except (TypeError, UnicodeEncodeError):
        return None


def _fits(row: Row) -> bool:
    """Return whether a row's hash fits the row where it stands."""
    content = _content(row)
    return content is not None and content.hash_at(row[0]) == row[-1]


def _named(row: Row) -> str:
    """Return a row as people can find it: place, kind, stream, time, id."""
    seq, entry_id, stream, kind, at = row[0], row[2], row[3], row[4], row[6]
    return _printable(f"{seq} ({kind}, {stream}, {at}, id {entry_id})")


def _printable(text: object) -> str:
    """Return text that any screen takes, whatever was written over it."""
    return str(text).encode("utf-8", "replace").decode("utf-8")
