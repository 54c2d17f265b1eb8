"""What a job's guided strip has come to, folded from its entries."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from fillwright.records.kinds_service import MachinePhotoKept, SealSeen, StripBegan, StripTicked

__all__ = ["PAUSE", "StripBook", "Tick"]

PAUSE: Final = timedelta(minutes=20)
"""So long without a tick and the air is looked at anew; judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A step as it was ticked."""

    at: datetime
    person: str
    fact: StripTicked


@dataclass(slots=True)
class StripBook:
    """A guided strip: its profile, what was ticked, and whose look at the air still holds.

    `photos` are those of the strip, in the order in which they were taken; `fault_photos` those
    that were taken while a fault was looked for. `seals` is what was seen of the seals in
    practice; those of real jobs stand on the site.
    """

    profile: str = ""
    ticks: dict[str, Tick] = field(default_factory=dict)
    tests: list[Tick] = field(default_factory=list)
    isolated: dict[str, datetime] = field(default_factory=dict)
    seals: list[tuple[datetime, str, SealSeen]] = field(default_factory=list)
    photos: list[MachinePhotoKept] = field(default_factory=list)
    fault_photos: list[MachinePhotoKept] = field(default_factory=list)

    def apply(self, at: datetime, person: str, fact: object) -> None:
        """Take one entry, if it is of a strip."""
        if isinstance(fact, StripBegan):
            self.begin(fact)
        elif isinstance(fact, StripTicked):
            self.tick(at, person, fact)
        elif isinstance(fact, SealSeen):
            self.seals.append((at, person, fact))
        elif isinstance(fact, MachinePhotoKept):
            (self.photos if fact.place == "strip" else self.fault_photos).append(fact)

    def photos_of(self, step: str) -> tuple[MachinePhotoKept, ...]:
        """Return the photos of a step."""
        return tuple(photo for photo in self.photos if photo.of == step)

    def begin(self, fact: StripBegan) -> None:
        """Begin; what was ticked in an earlier one is not done in this one."""
        self.profile = fact.profile
        self.ticks, self.tests, self.isolated = {}, [], {}
        self.seals, self.photos = [], []

    def tick(self, at: datetime, person: str, fact: StripTicked) -> None:
        """Take one step."""
        one = Tick(at=at, person=person, fact=fact)
        if fact.outcome == "done":
            self.ticks[fact.step] = one
        else:
            self.tests.append(one)
        if fact.isolated or self.is_isolated(person, at):
            self.isolated[person] = at
        if fact.air_on:
            self.isolated.clear()

    def is_isolated(self, person: str, at: datetime) -> bool:
        """Say whether this person's own look at the air still holds."""
        since = self.isolated.get(person)
        return since is not None and at - since <= PAUSE
