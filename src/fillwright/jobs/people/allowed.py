"""Who may turn the wheel, settle held containers and release a lot, by name.

What is allowed to nobody by name is free to everybody, so no bench locks itself out. It is a
rule of the house on names that people pick themselves; the journal keeps who did what.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.entities import Person
from fillwright.records.entries import (
    AdjustmentMade,
    ContainersEmptied,
    ContainersRelabelled,
    ContainersSettled,
    ContainersToppedUp,
    Payload,
    PersonAllowed,
    Released,
    SettingMoved,
    SettlingStruck,
)
from fillwright.records.sitefold import SiteState

__all__ = ["RIGHTS", "Row", "may", "refuse_strangers", "rows", "stranger"]

RIGHTS: Final = {
    "turns": "turn the wheel",
    "settles": "settle held ones",
    "releases": "release a lot",
}
"""What can be allowed by name, in words."""
_NEEDS: Final[tuple[tuple[str, tuple[type[Payload], ...]], ...]] = (
    ("turns", (SettingMoved, AdjustmentMade)),
    (
        "settles",
        (
            ContainersSettled,
            ContainersToppedUp,
            ContainersEmptied,
            ContainersRelabelled,
            SettlingStruck,
        ),
    ),
    ("releases", (Released,)),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A person with what they are allowed by name."""

    person: Person
    allowed: PersonAllowed


def rows(site: SiteState) -> tuple[Row, ...]:
    """Return every person with what they are allowed by name."""
    none = {"turns": False, "settles": False, "releases": False}
    return tuple(
        Row(
            person=person,
            allowed=site.allowed.get(initials) or PersonAllowed(initials=initials, **none),
        )
        for initials, person in site.people.items()
    )


def may(site: SiteState, initials: str, right: str) -> bool:
    """Return True where a person may do something: it is theirs, or it is nobody's."""
    holders = _holders(site, right)
    return not holders or initials in holders


def refuse_strangers(
    site: Callable[[], SiteState], initials: str, facts: Sequence[Payload]
) -> None:
    """Refuse what a person is about to keep and may not.

    Parameters
    ----------
    site : callable
        Gives what the site keeps; asked only where something needs to be allowed.
    initials : str
        Who is about to keep it.
    facts : sequence of Payload
        What.

    Raises
    ------
    BadInput
        If others are named for it, and this person is not.
    """
    for right, kinds in _NEEDS:
        if any(isinstance(fact, kinds) for fact in facts) and not may(site(), initials, right):
            raise stranger(site(), initials, right)


def stranger(site: SiteState, initials: str, right: str) -> BadInput:
    """Return the refusal: who may not, who may, and what to do."""
    people = site.people
    names = ", ".join(
        f"{one} ({people[one].name})" if one in people else one for one in _holders(site, right)
    )
    message = (
        f"{initials or 'Nobody picked'} may not {RIGHTS[right]} at this bench: fetch {names}, "
        "who presses under their own initials."
    )
    return BadInput(message, field="person", given=initials, allowed=names, code="not-available")


def _holders(site: SiteState, right: str) -> tuple[str, ...]:
    """Return the initials of those who are named for something."""
    return tuple(one for one, kept in site.allowed.items() if getattr(kept, right))
