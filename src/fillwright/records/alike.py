"""Weights out of one file that differ by place and moment alone, written by what they share.

A long file holds few different weights: what is the same in each is written once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeAlias

from fillwright.records.codec import payload_to_json
from fillwright.records.entries import Draft, Entry, WeighingFromFile
from fillwright.records.filecells import FileWeight

__all__ = ["Alike", "AlikeKept", "AlikeRow", "Shared"]

_NO_PLACE = '"container":0,"file_id":'
_NO_ROW = ',"file_row":0,'
_NO_MOMENT = '"weighed_at":""}'


class Shared:
    """What weights of one file have in common, as a fact and as the text around their places.

    Parameters
    ----------
    fact : WeighingFromFile
        One of them.

    Raises
    ------
    ValueError
        If a text of it cannot be written.

    Notes
    -----
    Cut out of what `payload_to_json` writes of the fact at place 0 without its moment. No text
    inside can look like a cut, for a quotation mark inside a text is written with a backslash.
    """

    __slots__ = ("_after", "_before", "_between", "fact")

    def __init__(self, fact: WeighingFromFile) -> None:
        self.fact = fact
        text = payload_to_json(replace(fact, container=0, file_row=0, weighed_at=""))
        before, _, rest = text.partition(_NO_PLACE)
        file_id, _, after = rest.partition(_NO_ROW)
        self._before = f'{before}"container":'
        self._between = f',"file_id":{file_id},"file_row":'
        self._after = f",{after.removesuffix(_NO_MOMENT)}" + '"weighed_at":"'

    def text_of(self, one: FileWeight) -> str:
        """Return the payload of a row as `payload_to_json` gives it."""
        _, _, _, _, container, at = one
        place = "null" if container is None else container
        return f'{self._before}{place}{self._between}{one[0]}{self._after}{at}"}}'

    def fact_of(self, one: FileWeight) -> WeighingFromFile:
        """Return the payload of a row."""
        return replace(self.fact, container=one.container, file_row=one.row, weighed_at=one.at)


AlikeRow: TypeAlias = tuple[str, str, Shared, FileWeight]
"""Id, payload as text, what it shares with others, and the row itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """Weights of one file before they are stored, all in one transaction.

    Parameters
    ----------
    stream, zone, person, bench : str
        Where and by whom.
    at : datetime
        When.
    head : Draft or None
        The entry of the file, where it is not stored yet; it comes before them.
    rows : list of AlikeRow
        At least one, in the order of the file.
    """

    stream: str
    at: datetime
    zone: str
    person: str
    bench: str
    head: Draft | None
    rows: list[AlikeRow]

    def drafts_of(self, rows: Sequence[AlikeRow]) -> list[Draft]:
        """Return some of them as drafts of their own."""
        return [
            Draft(
                id=entry_id,
                stream=self.stream,
                at=self.at,
                zone=self.zone,
                person=self.person,
                bench=self.bench,
                payload=shared.fact_of(one),
            )
            for entry_id, _, shared, one in rows
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class AlikeKept:
    """Where weights of one file were stored.

    Parameters
    ----------
    head : Entry or None
        The entry of the file, where it came with them.
    first_revision, last_revision : int
        Places of the weights in their stream.
    last_hash : str
        Hash of the last.
    """

    head: Entry | None
    first_revision: int
    last_revision: int
    last_hash: str
