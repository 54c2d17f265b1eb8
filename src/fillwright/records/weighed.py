"""The weighings of a job: the latest at hand, the early ones read again when somebody asks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from datetime import datetime
from typing import Final, Protocol, overload

from fillwright.records.entries import WeighingTaken

__all__ = ["Past", "Weighed", "Weighings"]

_AT_HAND: Final = 1000
"""Weighings that a kept state carries with it: more than any page shows one by one."""


@dataclass(slots=True)
class Weighed:
    """A weighing with what became of it; `struck` is the reason of its strike-out."""

    id: str
    at: datetime
    person: str
    revision: int
    fact: WeighingTaken
    struck: str = ""

    @property
    def counts(self) -> bool:
        """Return True when the weight is used: neither struck out nor set aside."""
        return not self.struck and not self.fact.set_aside


class Past(Protocol):
    """What is asked for weighings that a kept state left in the journal."""

    def recall(self, count: int) -> list[Weighed]:
        """Return the first `count` weighings of the job."""
        ...

    def holds(self, entry_id: str) -> bool:
        """Return True when the job has an entry with this id."""
        ...


class Weighings(Sequence[Weighed]):
    """All weighings of a job in journal order.

    A state that was kept holds only the latest; the early ones are recalled, once, by the
    first that asks for one of them. Counting, and looking at the latest, recalls nothing.
    """

    def __init__(self) -> None:
        self._early = 0
        self._past: Past | None = None
        self._late: list[Weighed] = []
        self._by_id: dict[str, Weighed] = {}

    def append(self, weighed: Weighed) -> None:
        """Take one more weighing."""
        self._late.append(weighed)
        self._by_id[weighed.id] = weighed

    def find(self, entry_id: str) -> Weighed | None:
        """Return the weighing with an id, or None."""
        found = self._by_id.get(entry_id)
        if found is None and self._early and self._past is not None:
            if not self._past.holds(entry_id):
                return None
            self._recall()
            found = self._by_id.get(entry_id)
        return found

    def ids_at_hand(self) -> AbstractSet[str]:
        """Return the ids of the weighings that need no recall."""
        return self._by_id.keys()

    def leave_early_to(self, past: Past) -> None:
        """Name who is asked for the weighings that a kept state does not hold."""
        self._past = past

    @overload
    def __getitem__(self, index: int) -> Weighed: ...
    @overload
    def __getitem__(self, index: slice) -> list[Weighed]: ...
    def __getitem__(self, index: int | slice) -> Weighed | list[Weighed]:
        if isinstance(index, slice):
            return self._whole()[index]
        if self._early and -len(self._late) <= index < 0:
            return self._late[index]
        return self._whole()[index]

    def __len__(self) -> int:
        return self._early + len(self._late)

    def __iter__(self) -> Iterator[Weighed]:
        return iter(self._whole())

    def __reversed__(self) -> Iterator[Weighed]:
        late = len(self._late)
        yield from reversed(self._late)
        if self._early:
            yield from reversed(self._whole()[:-late] if late else self._whole())

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Weighings | list):
            return list(self) == list(other)
        return NotImplemented

    __hash__ = None  # type: ignore[assignment]  # it changes

    def __repr__(self) -> str:
        return f"<{len(self)} weighings>"

    def __getstate__(self) -> dict[str, object]:
        late = self._late[-_AT_HAND:]
        return {"early": len(self) - len(late), "late": late}

    def __setstate__(self, kept: dict[str, object]) -> None:
        self.__init__()  # type: ignore[misc]
        self._early = kept["early"]  # type: ignore[assignment]
        for weighed in kept["late"]:  # type: ignore[attr-defined]
            self.append(weighed)

    def _whole(self) -> list[Weighed]:
        """Return all of them, recalled if need be."""
        if self._early:
            self._recall()
        return self._late

    def _recall(self) -> None:
        """Read the early ones again and hold everything from now on."""
        if self._past is None:
            message = "a kept state was not told where its early weighings are"
            raise LookupError(message)
        early = self._past.recall(self._early)
        self._late = early + self._late
        self._by_id = {weighed.id: weighed for weighed in self._late}
        self._early, self._past = 0, None
