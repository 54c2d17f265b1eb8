"""What a run remembers while it runs: the watch, what is pending, the posts in the chart.

Folded from the journal like everything else; `science.hold` owns the arithmetic.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass, field
from typing import Literal

from fillwright.records.entries import (
    AdjustmentMade,
    RunFinished,
    RunPaused,
    RunStarted,
    SignalRaised,
    WeighingTaken,
)
from fillwright.records.units import kg_from_g
from fillwright.science.hold import WatchState, watch_restart, watch_start, watch_take

__all__ = ["Pending", "Post", "RunBook"]

_GOOD = "on"
_NEEDED = 2


@dataclass(slots=True)
class Pending:
    """A signal that waits for two more weights before anybody turns the wheel."""

    signal: str
    side: Literal["low", "high"]
    container: int
    weighing_id: str
    seen: list[str] = field(default_factory=list)
    deviations_g: list[float] = field(default_factory=list)

    def outcome(self) -> Literal["waiting", "odd-one", "moved", "jumps"]:
        """Return what the two more weights said, or that they are still owed."""
        if self.signal == "cusum":
            return "moved"
        if len(self.seen) < _NEEDED:
            return "waiting"
        if all(state == _GOOD for state in self.seen):
            return "odd-one"
        sides = {_side_of(state) for state in self.seen} - {"on"}
        return "moved" if sides == {self.side} else "jumps"


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A mark in the dose chart after a container: a turn, a refill, a pause."""

    after_container: int
    kind: Literal["turn", "refill", "pause", "fault"]
    words: str


def _side_of(state: str) -> str:
    """Return low, high or on for a judged state."""
    return {"short": "low", "far-short": "low", "overfull": "high"}.get(state, state)


@dataclass(slots=True)
class RunBook:
    """The run so far; `aim_g` is the middle that deviations are taken from.

    Parameters
    ----------
    aim_g : float
        Aim of the job.
    started : RunStarted or None
        The start entry.
    finished : RunFinished or None
        The end entry.
    paused : RunPaused or None
        The pause that no weight has ended yet.
    watch : WatchState or None
        Limits and sums of the live watch.
    positions, deviations_g : array
        Containers and deviations since the last turn, for the drift line.
    pending : Pending or None
        The signal that waits.
    last_good : int
        Last container of a weight that was good.
    check_next : bool
        True when the very next container must be weighed.
    posts : list of Post
        Marks in the chart.
    odd_ones : int
        Signals that two more weights took back.
    """

    aim_g: float
    started: RunStarted | None = None
    finished: RunFinished | None = None
    paused: RunPaused | None = None
    watch: WatchState | None = None
    positions: array[float] = field(default_factory=lambda: array("d"))
    deviations_g: array[float] = field(default_factory=lambda: array("d"))
    pending: Pending | None = None
    last_good: int = 0
    last_weighed: int = 0
    check_next: bool = True
    weighed_since_start: int = 0
    weighed_since_turn: int = 0
    posts: list[Post] = field(default_factory=list)
    odd_ones: int = 0

    def start(self, entry: RunStarted) -> None:
        """Begin the run with what the proof knows of the scatter."""
        self.started = entry
        self.last_good = entry.first_container - 1
        self.last_weighed = entry.first_container - 1
        sd = None if entry.sd_g is None else kg_from_g(entry.sd_g)
        self.watch = watch_start(sd=sd, sd_readings=entry.sd_readings)

    def take(self, weighing: WeighingTaken) -> None:
        """Fold one good weight of the run."""
        if self.watch is None or weighing.container is None:
            return
        deviation_g = float(weighing.net_g) - self.aim_g
        self.paused = None
        self.check_next = False
        self.last_weighed = max(self.last_weighed, weighing.container)
        self.weighed_since_start += 1
        self.weighed_since_turn += 1
        if self.pending is not None and self.pending.outcome() == "waiting":
            self.pending.seen.append(weighing.state)
            self.pending.deviations_g.append(deviation_g)
            if self.pending.outcome() == "odd-one":
                self.pending = None
                self.odd_ones += 1
                self.last_good = weighing.container
            return
        self.watch = watch_take(
            self.watch, kg_from_g(deviation_g), position=float(weighing.container)
        )
        self.positions.append(float(weighing.container))
        self.deviations_g.append(deviation_g)
        if weighing.state == _GOOD and self.watch.signal is None:
            self.last_good = weighing.container

    def signal(self, entry: SignalRaised) -> None:
        """Wait for two more weights, or for a turn."""
        deviation_g = self.deviations_g[-1] if self.deviations_g else 0.0
        self.pending = Pending(
            entry.signal, entry.side, entry.container, entry.weighing_id, [], [deviation_g]
        )

    def adjust(self, entry: AdjustmentMade) -> None:
        """Start a new block with its own middle."""
        if self.watch is not None:
            self.watch = watch_restart(self.watch)
        del self.positions[:]
        del self.deviations_g[:]
        self.pending = None
        self.check_next = True
        self.weighed_since_turn = 0
        self.posts.append(
            Post(
                after_container=entry.after_container,
                kind="turn",
                words=f"turn {entry.from_marks} to {entry.to_marks}",
            )
        )

    def pause(self, entry: RunPaused) -> None:
        """Put a post and ask for the next container."""
        self.paused = entry
        self.check_next = True
        if entry.reason == "fault" and self.pending is not None:
            self.pending = None
            if self.watch is not None:
                self.watch = watch_restart(self.watch)
        self.posts.append(
            Post(
                after_container=entry.after_container,
                kind=entry.reason,
                words=entry.note or entry.reason,
            )
        )
