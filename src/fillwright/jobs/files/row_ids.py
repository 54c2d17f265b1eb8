"""Ids of the rows of a file: the same row gets the same id, however often it is taken in.

UUIDs version 8 (RFC 9562, section 5.8): what they are made of is our own.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from hashlib import sha256
from typing import Final

from fillwright.records.filecells import FileWeight
from fillwright.records.filespool import FileSpool, said_of

__all__ = ["FILE_MARK", "ids_of", "named"]

FILE_MARK: Final = (1 << 36) - 1
"""Place of the entry of the file itself; no row has it."""
_MINUTE: Final = len("2031-03-05T08:00")


def named(identity: str, place: int) -> str:
    """Return the id of a row by its place in a file whose identity is a digest.

    Ids of one file stand in the order of its rows, so that a long file is kept quickly.
    """
    at = f"{place:09x}"
    return f"{identity[:8]}-{identity[8:12]}-8{at[:3]}-8{at[3:6]}-{at[6:]}{identity[12:21]}"


def ids_of(spool: FileSpool, identity: str) -> Iterator[tuple[str, FileWeight]]:
    """Yield each row of a file with its id.

    Where every row has its own moment, and they stand in order, a row is known by what it says:
    the same rows in a longer file are the same weights. Elsewhere the whole file is what makes
    a row the same one.

    Parameters
    ----------
    spool : FileSpool
        The rows.
    identity : str
        Digest of all of them.

    Yields
    ------
    tuple of str and FileWeight
        In the order of the file.
    """
    if not (spool.is_in_order and spool.tells_moments):
        place = 0
        for piece in spool.pieces():
            for one in piece:
                yield named(identity, place), one
                place += 1
        return
    latest = began = ""
    same: dict[str, int] = {}
    milliseconds = _Milliseconds()
    for piece in spool.pieces():
        for one in piece:
            at = one[5]
            if at != latest:
                latest = at
                same.clear()
                began = f"{milliseconds.of(at):012x}"
            said = f"{spool.seed} {at} {said_of(one)}"
            nth = same[said] = same.get(said, 0) + 1
            digest = sha256(f"{said} {nth}".encode()).hexdigest()
            yield (
                f"{began[:8]}-{began[8:12]}-8{digest[:3]}-8{digest[3:6]}-{digest[6:18]}",
                one,
            )


class _Milliseconds:
    """Whole milliseconds since 1970 of moments as they are stamped, minute by minute."""

    __slots__ = ("_began", "_minute")

    def __init__(self) -> None:
        self._minute = ""
        self._began = 0

    def of(self, at: str) -> int:
        """Return those of one moment; 0 before 1970.

        Worked out by the same steps as ``int(datetime.timestamp() * 1000)``, rounding included,
        since the ids of weights that are on record were made so.
        """
        minute = at[:_MINUTE]
        if minute != self._minute:
            self._minute = minute
            self._began = round(datetime.fromisoformat(f"{minute}:00+00:00").timestamp())
        micro = (self._began + int(at[17:19])) * 1_000_000 + int(at[20:26])
        return max(int(micro / 1_000_000 * 1000), 0)
