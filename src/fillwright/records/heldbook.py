"""What became of held containers: settled how, by whom, and struck out again where it was wrong.

Of everything that was said of a container the last word stands; nothing is deleted.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

from fillwright.records.entries import (
    ContainersEmptied,
    ContainersHeld,
    ContainersRelabelled,
    ContainersSettled,
    ContainersToppedUp,
    Entry,
    SettlingStruck,
)
from fillwright.records.spans import Span, join, minus, overlap

if TYPE_CHECKING:
    from fillwright.records.fold import JobState

__all__ = ["BY_HAND", "GONE", "OUT_OF_LOT", "TO_WEIGH", "HeldBook", "Outcome", "Settling"]

Outcome: TypeAlias = Literal[
    "weighed-good",
    "topped-up",
    "released-with-reason",
    "relabelled",
    "emptied-back",
    "scrapped",
    "waits-for-weight",
]
GONE: Final[tuple[Outcome, ...]] = ("scrapped", "emptied-back")
"""What leaves no filled container behind: it is never held again."""
OUT_OF_LOT: Final[tuple[Outcome, ...]] = (*GONE, "relabelled")
"""What the lot test of the job does not count."""
BY_HAND: Final = "in doubt, held by hand"
"""How the reason of a hold by hand begins that no weight can settle: a crack, a smell."""
TO_WEIGH: Final = "to be weighed, held by hand"
"""How the reason of a hold by hand begins that a good weight settles."""
_SETTLES: Final = (ContainersSettled, ContainersEmptied, ContainersRelabelled)


@dataclass(slots=True)
class Settling:
    """One entry about held containers, and its strike-out where there is one.

    Parameters
    ----------
    id, at, person, revision
        Of the entry.
    fact : payload
        What was said.
    outcome : str
        What it made of them; ``"waits-for-weight"`` for a topping up.
    struck, struck_by : str
        Why and by whom it was struck out; empty while it stands.
    struck_at : datetime or None
        When.
    waited : tuple of Span
        Those of its containers that waited for a new weight before it; they do so again when
        it is struck out.
    """

    id: str
    at: datetime
    person: str
    revision: int
    fact: ContainersSettled | ContainersEmptied | ContainersRelabelled | ContainersToppedUp
    outcome: Outcome
    struck: str = ""
    struck_by: str = ""
    struck_at: datetime | None = None
    waited: tuple[Span, ...] = ()

    @property
    def spans(self) -> tuple[Span, ...]:
        """Return the containers that it was said of."""
        fact = self.fact
        if isinstance(fact, ContainersSettled):
            return (Span(fact.first, fact.last),)
        return fact.spans

    @property
    def reason(self) -> str:
        """Return why."""
        return self.fact.reason


@dataclass(slots=True)
class HeldBook:
    """Everything said of held containers, and the settling that stands for each.

    Parameters
    ----------
    settlings : list of Settling
        In journal order, struck-out ones included.
    standing : list of tuple
        Disjoint spans in order, each with the place of its settling in `settlings`.
    topped : tuple of Span
        Topped up, and waiting for a new weight; all of them are held.
    hold_revisions : list of int
        Of the holds of the job, in their order.
    """

    settlings: list[Settling] = field(default_factory=list)
    standing: list[tuple[int, int, int]] = field(default_factory=list)
    topped: tuple[Span, ...] = ()
    hold_revisions: list[int] = field(default_factory=list)

    def apply(self, entry: Entry, state: JobState) -> None:
        """Take one entry, if it is of held containers."""
        match entry.payload:
            case ContainersHeld() as fact:
                state.holds.append(fact)
                self.hold_revisions.append(entry.revision)
                self._hold([Span(fact.first, fact.last)], state)
            case ContainersSettled() | ContainersEmptied() | ContainersRelabelled():
                self._settle(entry, state)
            case ContainersToppedUp(spans=spans):
                self._note(entry, "waits-for-weight")
                self.topped = join([*self.topped, *overlap(spans, state.open_spans)])
                state.lot, state.signatures = None, []
            case SettlingStruck() as fact:
                self._strike(entry, fact, state)
            case _:
                pass

    def find(self, settling_id: str) -> Settling | None:
        """Return the settling with an id, or None."""
        return next((one for one in self.settlings if one.id == settling_id), None)

    def of(self, *outcomes: Outcome) -> tuple[Span, ...]:
        """Return the containers that some outcomes stand for."""
        return join(
            Span(first, last)
            for first, last, place in self.standing
            if self.settlings[place].outcome in outcomes
        )

    def spans_of(self, settling: Settling) -> tuple[Span, ...]:
        """Return the containers that a settling stands for still."""
        return join(
            Span(first, last)
            for first, last, place in self.standing
            if self.settlings[place] is settling
        )

    def at(self, container: int) -> Settling | None:
        """Return the settling that stands for one container, or None."""
        place = bisect_right(self.standing, container, key=_first) - 1
        if place < 0 or self.standing[place][1] < container:
            return None
        return self.settlings[self.standing[place][2]]

    def relabelled(self) -> tuple[tuple[ContainersRelabelled, tuple[Span, ...]], ...]:
        """Return the lots that came of new labels, with the containers in them still."""
        return tuple(
            (one.fact, spans)
            for one in self.settlings
            if isinstance(one.fact, ContainersRelabelled) and (spans := self.spans_of(one))
        )

    def emptied(self) -> tuple[ContainersEmptied, ...]:
        """Return what was emptied back and not struck out."""
        return tuple(
            one.fact
            for one in self.settlings
            if isinstance(one.fact, ContainersEmptied) and not one.struck
        )

    def standing_holds(
        self, holds: Iterable[ContainersHeld]
    ) -> tuple[tuple[ContainersHeld, tuple[Span, ...]], ...]:
        """Return the holds of the job, each with the containers that were not settled since."""
        found = []
        for hold, revision in zip(holds, self.hold_revisions, strict=True):
            settled = [
                span
                for one in self.settlings
                if one.revision > revision and not one.struck and one.outcome != "waits-for-weight"
                for span in one.spans
            ]
            found.append((hold, minus([Span(hold.first, hold.last)], settled)))
        return tuple(found)

    def _note(self, entry: Entry, outcome: Outcome) -> int:
        """Put an entry on the list; return its place."""
        fact = entry.payload
        if not isinstance(fact, (*_SETTLES, ContainersToppedUp)):
            message = f"{fact.kind} says nothing of held containers"
            raise TypeError(message)
        one = Settling(entry.id, entry.at, entry.person, entry.revision, fact, outcome)
        one.waited = overlap(one.spans, self.topped)
        self.settlings.append(one)
        return len(self.settlings) - 1

    def _hold(self, spans: Iterable[Span], state: JobState) -> None:
        """Hold containers; those that are gone stay gone."""
        held = minus(spans, self.of(*GONE))
        self._cut(held)
        state.open_spans = join([*state.open_spans, *held])
        state.lot, state.signatures = None, []

    def _settle(self, entry: Entry, state: JobState) -> None:
        """Settle containers; a sample that holds one that leaves the lot is drawn anew."""
        place = self._note(entry, _outcome_of(entry))
        one = self.settlings[place]
        if one.outcome == "weighed-good" and one.waited:
            one.outcome = "topped-up"
        self._cut(one.spans)
        self.standing += [(span.first, span.last, place) for span in one.spans]
        self.standing.sort()
        self.topped = minus(self.topped, one.spans)
        state.open_spans = minus(state.open_spans, one.spans)
        state.lot, state.signatures = None, []
        if one.outcome in OUT_OF_LOT and _drawn_of(state) & _numbers(one.spans):
            state.samples = []

    def _strike(self, entry: Entry, fact: SettlingStruck, state: JobState) -> None:
        """Strike a settling out: what it stood for is held again."""
        one = self.find(fact.settling_id)
        if one is None or one.struck:
            return
        mine = self.spans_of(one)
        one.struck, one.struck_by, one.struck_at = fact.reason, entry.person, entry.at
        state.lot, state.signatures = None, []
        if one.outcome == "waits-for-weight":
            self.topped = join([*minus(self.topped, one.spans), *one.waited])
            return
        self._cut(mine)
        state.open_spans = join([*state.open_spans, *mine])
        self.topped = join([*self.topped, *overlap(mine, one.waited)])
        if one.outcome in OUT_OF_LOT and mine:
            # They may be in the lot again, and had no chance of being drawn.
            state.samples = []

    def _cut(self, spans: Iterable[Span]) -> None:
        """Take containers out of what stands."""
        for span in spans:
            low = max(bisect_right(self.standing, span.first, key=_first) - 1, 0)
            high = bisect_right(self.standing, span.last, key=_first)
            kept = []
            for first, last, place in self.standing[low:high]:
                if last < span.first:
                    kept.append((first, last, place))
                    continue
                if first < span.first:
                    kept.append((first, span.first - 1, place))
                if last > span.last:
                    kept.append((max(first, span.last + 1), last, place))
            self.standing[low:high] = kept


def _outcome_of(entry: Entry) -> Outcome:
    """Return what an entry makes of its containers."""
    match entry.payload:
        case ContainersEmptied():
            return "emptied-back"
        case ContainersRelabelled():
            return "relabelled"
        case ContainersSettled(outcome=outcome):
            return outcome
        case other:
            message = f"{other.kind} settles nothing"
            raise TypeError(message)


def _drawn_of(state: JobState) -> set[int]:
    """Return the containers that were drawn for the lot test."""
    return {number for sample in state.samples for number in sample.containers}


def _numbers(spans: Iterable[Span]) -> set[int]:
    """Return the containers of spans, one by one."""
    return {n for span in spans for n in range(span.first, span.last + 1)}


def _first(standing: tuple[int, int, int]) -> int:
    """Return where a standing span begins."""
    return standing[0]
