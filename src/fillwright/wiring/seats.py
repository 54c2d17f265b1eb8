"""Who weighs: one device a job at a time; another one asks before it takes over.

A program that sends weights by itself is another one too: while a page weighs, a person there
lets it in by its name, or does not.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

__all__ = ["Asking", "Seat", "Seats", "Ticket"]

_MOST_REMEMBERED: Final = 1000
_MOST_ASKING: Final = 8
_GRACE_S: Final = 2.0
_GRACE_OF_A_WATCHER_S: Final = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """The device that weighs for a job, and the initials it had."""

    device: str
    who: str


@dataclass(slots=True)
class Asking:
    """Programs that sent a weight while a page weighed: not answered yet, let in, sent off."""

    open: list[str] = field(default_factory=list)
    let: set[str] = field(default_factory=set)
    sent_off: set[str] = field(default_factory=set)


class Ticket:
    """One open page of a device on a job.

    Parameters
    ----------
    seats : Seats
        Where it was made.
    job, device, who : str
        Which job, which browser, whose initials.
    may_sit : bool
        True for a page that weighs.
    """

    def __init__(self, seats: Seats, job: str, device: str, who: str, *, may_sit: bool) -> None:
        self._seats = seats
        self.job = job
        self.device = device
        self.who = who
        self.may_sit = may_sit
        self.waits = False

    def look(self) -> Seat | None:
        """Return who weighs now; a page that was first in line sits down once it may."""
        return self._seats.look(self)

    def asks(self) -> str | None:
        """Return the program that asks the person at this page, or None; it may have no name."""
        return self._seats.asks(self)

    def close(self) -> None:
        """Say that the page is gone."""
        self._seats.gone(self)


class Seats:
    """The seats of all jobs, for as long as the program runs.

    Parameters
    ----------
    monotonic : callable
        Seconds of a count that only goes forward.

    Notes
    -----
    A page that opens while nobody weighs sits down. One that opens while the other device is
    there, or was there a moment ago, watches until a person takes over.
    """

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._monotonic = monotonic
        self._began_s = monotonic()
        self._lock = threading.Lock()
        self._held: dict[str, Seat] = {}
        self._pages: dict[tuple[str, str], int] = {}
        self._left_s: dict[tuple[str, str], float] = {}
        self._asking: dict[str, Asking] = {}
        self._listeners: list[Callable[[str], None]] = []

    def open(
        self, job: str, device: str, who: str, *, may_sit: bool, watched: bool = False
    ) -> Ticket:
        """Take a page that opened.

        Parameters
        ----------
        job, device, who : str
            Which job, which browser, whose initials.
        may_sit : bool
            True for a page that weighs.
        watched : bool
            True for a page that comes back and was watching another device before.

        Returns
        -------
        Ticket
            To be closed with the page.
        """
        ticket = Ticket(self, job, device, who, may_sit=may_sit)
        with self._lock:
            self._pages[job, device] = self._pages.get((job, device), 0) + 1
            seat = self._held.get(job)
            if seat is not None and seat.device != device:
                is_there = bool(self._pages.get((job, seat.device)))
                ticket.waits = may_sit and not is_there and not watched
            elif seat is None and watched:
                ticket.waits = may_sit
        self.look(ticket)
        return ticket

    def take(self, job: str, device: str, who: str) -> None:
        """Let a device weigh from now on, because a person said so; programs ask it anew."""
        with self._lock:
            seat = self._held.get(job)
            self._held[job] = Seat(device=device, who=who)
            if seat is not None and seat.device != device:
                self._asking.pop(job, None)
        self._tell(job)

    def admit(self, job: str, sender: str) -> Seat | None:
        """Return None where a program may weigh, or else who weighs; a person there is asked.

        Parameters
        ----------
        job : str
            Which job.
        sender : str
            What the program calls itself; may be empty.

        Returns
        -------
        Seat or None
            The device whose page is there, or was a moment ago.
        """
        with self._lock:
            seat = self._held.get(job)
            if seat is None or self._is_away(job, seat):
                return None
            asking = self._asking.setdefault(job, Asking())
            if sender in asking.let:
                return None
            is_known = sender in asking.open or sender in asking.sent_off
            is_news = not is_known and len(asking.open) < _MOST_ASKING
            if is_news:
                asking.open.append(sender)
        if is_news:
            self._tell(job)
        return seat

    def answer(self, job: str, device: str, sender: str, *, lets: bool) -> None:
        """Let a program weigh beside a page, or send it off; only the device that weighs says.

        Parameters
        ----------
        job, device : str
            Which job, which browser.
        sender : str
            What the program calls itself.
        lets : bool
            Whether it may.
        """
        with self._lock:
            seat, asking = self._held.get(job), self._asking.get(job)
            if seat is None or seat.device != device or asking is None:
                return
            if sender in asking.open:
                asking.open.remove(sender)
                (asking.let if lets else asking.sent_off).add(sender)
        self._tell(job)

    def asks(self, ticket: Ticket) -> str | None:
        """Return the program that asks the person at a page; see `Ticket.asks`."""
        with self._lock:
            seat, asking = self._held.get(ticket.job), self._asking.get(ticket.job)
            if seat is None or seat.device != ticket.device or asking is None:
                return None
            return asking.open[0] if asking.open else None

    def look(self, ticket: Ticket) -> Seat | None:
        """Return who weighs; see `Ticket.look`."""
        with self._lock:
            seat = self._held.get(ticket.job)
            if not ticket.may_sit or (seat is not None and seat.device == ticket.device):
                return seat
            if seat is None:
                is_free = not ticket.waits or self._since(self._began_s, _GRACE_OF_A_WATCHER_S)
            else:
                is_free = ticket.waits and self._is_away(ticket.job, seat)
            if not is_free:
                return seat
            ticket.waits = False
            seat = self._held[ticket.job] = Seat(device=ticket.device, who=ticket.who)
        self._tell(ticket.job)
        return seat

    def gone(self, ticket: Ticket) -> None:
        """Take it that a page was closed."""
        key = (ticket.job, ticket.device)
        with self._lock:
            left = self._pages.get(key, 0) - 1
            if left > 0:
                self._pages[key] = left
            else:
                self._pages.pop(key, None)
                self._left_s.pop(key, None)
                self._left_s[key] = self._monotonic()
                while len(self._left_s) > _MOST_REMEMBERED:
                    del self._left_s[next(iter(self._left_s))]

    def subscribe(self, listener: Callable[[str], None]) -> Callable[[], None]:
        """Call `listener` with the job whose seat changed; return a function that stops it."""
        with self._lock:
            self._listeners.append(listener)

        def stop() -> None:
            with self._lock:
                if listener in self._listeners:
                    self._listeners.remove(listener)

        return stop

    def _is_away(self, job: str, seat: Seat) -> bool:
        """Return whether no page of the device that weighs is there any more."""
        left_s = self._left_s.get((job, seat.device), self._began_s)
        return not self._pages.get((job, seat.device)) and self._since(left_s, _GRACE_S)

    def _since(self, then_s: float, grace_s: float) -> bool:
        """Return whether so much time has passed."""
        return self._monotonic() - then_s >= grace_s

    def _tell(self, job: str) -> None:
        """Tell those who listen."""
        with self._lock:
            listeners = tuple(self._listeners)
        for listener in listeners:
            listener(job)
