"""What a job has from files: weights that were weighed elsewhere, told together, not one by one.

They are on record like any other and stand in the tables; no proof and no lot test counts them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from decimal import Decimal
from math import sqrt

from fillwright.records.entities import JobFacts
from fillwright.records.entries import (
    Entry,
    FileTaken,
    JobBrought,
    StruckOut,
    WeighingFromFile,
)

__all__ = ["FileBook", "FileTally", "own_facts"]


@dataclass(slots=True)
class FileTally:
    """The weights of one file, counted.

    Parameters
    ----------
    fact : FileTaken
        The file.
    at : datetime
        When it was taken in.
    person : str
        Who did it.
    count : int
        Weights that were kept.
    total_g : Decimal
        Their sum, exactly.
    squares_g : float
        Sum of the squares of their distances from the first; times one gram.
    first_g, least_g, most_g : Decimal or None
        The first, the lightest, the heaviest.
    states : dict of str to int
        How many were in band, low, high, short.
    struck : str
        Why the file does not count any more.
    """

    fact: FileTaken
    at: datetime
    person: str
    count: int = 0
    total_g: Decimal = Decimal(0)
    squares_g: float = 0.0
    first_g: Decimal | None = None
    least_g: Decimal | None = None
    most_g: Decimal | None = None
    states: dict[str, int] = field(default_factory=dict)
    struck: str = ""

    @property
    def mean_g(self) -> Decimal | None:
        """Return the mean, or None where nothing was kept."""
        return self.total_g / self.count if self.count else None

    @property
    def sd_g(self) -> float | None:
        """Return the standard deviation, or None below two weights."""
        if self.first_g is None or self.count <= 1:
            return None
        apart_g = float(self.total_g - self.first_g * self.count)
        return sqrt(max(self.squares_g - apart_g**2 / self.count, 0.0) / (self.count - 1))

    def take(self, facts: Iterable[WeighingFromFile]) -> None:
        """Count more of them, in their order."""
        first_g, least_g, most_g = self.first_g, self.least_g, self.most_g
        count, total_g, squares_g, states = self.count, self.total_g, self.squares_g, self.states
        for fact in facts:
            net_g = fact.net_g
            if first_g is None or least_g is None or most_g is None:
                first_g = least_g = most_g = net_g
            elif net_g < least_g:
                least_g = net_g
            elif net_g > most_g:
                most_g = net_g
            count += 1
            total_g += net_g
            squares_g += float(net_g - first_g) ** 2
            states[fact.state] = states.get(fact.state, 0) + 1
        self.first_g, self.least_g, self.most_g = first_g, least_g, most_g
        self.count, self.total_g, self.squares_g = count, total_g, squares_g


@dataclass(slots=True)
class FileBook:
    """What a job has from outside: files by the ids of their entries, or the whole of it."""

    files: dict[str, FileTally] = field(default_factory=dict)
    brought: JobBrought | None = None

    def take(self, facts: Sequence[WeighingFromFile]) -> None:
        """Count weights of one file that were weighed elsewhere."""
        if facts and (tally := self.files.get(facts[0].file_id)) is not None:
            tally.take(facts)

    def apply(self, entry: Entry) -> None:
        """Take one entry, if it is of a file, of a weight out of one, or of a strike-out."""
        match entry.payload:
            case WeighingFromFile(purpose="elsewhere", file_id=file_id) as fact:
                if (tally := self.files.get(file_id)) is not None:
                    tally.take((fact,))
            case FileTaken() as fact:
                self.files[entry.id] = FileTally(fact=fact, at=entry.at, person=entry.person)
            case StruckOut(entry_id=file_id, reason=reason) if file_id in self.files:
                self.files[file_id].struck = reason
            case JobBrought() as fact:
                self.brought = fact
            case _:
                pass


def own_facts(number: str, facts: JobFacts) -> JobFacts:
    """Return facts under the number of their job here; one that was brought may have another."""
    return facts if facts.number == number else replace(facts, number=number)
