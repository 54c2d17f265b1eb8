"""A machine that was repaired, changed, moved or copied: what was learnt before is a guess."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.records.entries import MachineChanged
from fillwright.records.kinds_again import MACHINE_CHANGES

__all__ = ["Change", "keep_change", "last_change", "last_seal"]

_LONGEST = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """The last thing that happened to a machine, in words."""

    at: datetime
    words: str


def keep_change(desk: Desk, machine: str, change: str, note: str, press: Press) -> None:
    """Keep that a machine was changed; its kept settings and proofs are a guess from now on.

    Raises
    ------
    BadInput
        If no machine of this name is kept, or the change is none of those that are known.
    """
    if machine not in desk.book.site().machines:
        message = f"There is no machine {machine[:60]!r}. Pick one from the list."
        raise BadInput(message, field="machine", given=machine[:60], code="choice")
    known = next((key for key in MACHINE_CHANGES if key == change), None)
    if known is None:
        allowed = ", ".join(MACHINE_CHANGES)
        message = "Say what happened to the machine: pick one from the list."
        raise BadInput(message, field="change", given=change[:40], allowed=allowed, code="choice")
    fact = MachineChanged(machine=machine, change=known, note=note.strip()[:_LONGEST])
    keep_on_site(desk, [fact], press)


def last_change(desk: Desk, machine: str) -> Change | None:
    """Return what last happened to a machine, or None where nothing was kept."""
    for at, person, fact in reversed(desk.book.site().machine_changes):
        if fact.machine == machine:
            note = f" ({fact.note})" if fact.note else ""
            by = f", kept by {person}" if person else ""
            words = f"{machine} {MACHINE_CHANGES[fact.change]} on {at:%Y-%m-%d}{note}{by}."
            return Change(at=at, words=words)
    return None


def last_seal(desk: Desk, machine: str) -> Change | None:
    """Return the last seal that was replaced on a machine, or None."""
    for at, _, fact in reversed(desk.book.site().seals):
        if fact.machine == machine and fact.action == "replaced":
            return Change(at=at, words=f"The seal at {fact.position} was replaced, {at:%Y-%m-%d}.")
    return None
