"""What a run remembers while it runs: the watch, what is pending, the posts in the chart.

Folded from the journal like everything else; `science.watch` owns the arithmetic.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final, Literal

from fillwright.records.charts import Post, PostKind
from fillwright.records.entries import (
    AdjustmentMade,
    CheckTaken,
    HopperRead,
    LotTaken,
    PersonChanged,
    RunFinished,
    RunPaused,
    RunStarted,
    SignalRaised,
    WatchChosen,
    WeighingTaken,
)
from fillwright.records.units import kg_from_g
from fillwright.science.watch import (
    Signal,
    WatchState,
    watch_clear,
    watch_restart,
    watch_start,
)
from fillwright.science.watch_many import watch_take_many

__all__ = ["LOT_WORDS", "Pending", "RunBook"]

_GOOD = "on"
_NEEDED = 2
_MOST_LEVELS = 200
LOT_WORDS: Final = {"container": "new carton", "lid": "new lids", "drum": "new drum"}


@dataclass(slots=True)
class Pending:
    """A signal that waits for two more weights before anybody turns the wheel."""

    signal: str
    side: Literal["low", "high"]
    container: int
    weighing_id: str
    seen: list[str] = field(default_factory=list)
    deviations_g: list[float] = field(default_factory=list)
    containers: list[int] = field(default_factory=list)

    def outcome(self) -> Literal["waiting", "odd-one", "moved", "jumps"]:
        """Return what the two more weights said, or that they are still owed."""
        if self.signal in ("cusum", "ewma"):
            return "moved"
        if len(self.seen) < _NEEDED:
            return "waiting"
        if all(state == _GOOD for state in self.seen):
            return "odd-one"
        sides = {_side_of(state) for state in self.seen} - {"on"}
        return "moved" if sides == {self.side} else "jumps"


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
    positions, deviations_g : array
        Containers and deviations since the last turn, for the drift line.
    check_containers : array
        Container of every reading that the watch has taken, proving shots first.
    all_containers, all_nets_g : array
        Every weight that counts, for the line of the whole run.
    pending : Pending or None
        The signal that waits.
    last_good : int
        Last container of a weight that was good.
    block_from : int
        First container that speaks of the present level; the drift is drawn from there.
    check_next : bool
        True when the very next container must be weighed.
    posts : list of Post
        Marks in the chart.
    levels : list of HopperRead
        How high the product stood in the hopper since the last refill.
    is_scale_off : bool
        True from a failed check of the weighing scale to the next good one.
    """

    aim_g: float
    way: WatchChosen | None = None
    started: RunStarted | None = None
    finished: RunFinished | None = None
    paused: RunPaused | None = None
    positions: array[float] = field(default_factory=lambda: array("d"))
    deviations_g: array[float] = field(default_factory=lambda: array("d"))
    pending: Pending | None = None
    last_good: int = 0
    last_weighed: int = 0
    block_from: int = 1
    check_next: bool = True
    weighed_since_start: int = 0
    posts: list[Post] = field(default_factory=list)
    levels: list[HopperRead] = field(default_factory=list)
    is_scale_off: bool = False
    check_containers: array[int] = field(default_factory=lambda: array("l"))
    all_containers: array[float] = field(default_factory=lambda: array("d"))
    all_nets_g: array[float] = field(default_factory=lambda: array("d"))
    _watch: WatchState | None = None
    _last_signal: Signal | None = None
    _good_before: int = 0
    _untaken: int = 0

    def start(self, entry: RunStarted, proved: Iterable[WeighingTaken]) -> None:
        """Begin the run; the proving shots are its first readings, so the watch knows them."""
        self.started = entry
        self.last_good = entry.first_container - 1
        self.last_weighed = entry.first_container - 1
        self.block_from = entry.first_container
        self._watch, self._untaken = _watch_of(self.way), 0
        for place, shot in enumerate(proved, start=1):
            container = place if shot.container is None else shot.container
            self.block_from = min(self.block_from, container)
            self._give_watch(container, float(shot.net_g) - self.aim_g)
            self.all_containers.append(float(container))
            self.all_nets_g.append(float(shot.net_g))
        if self.watch is not None and self.watch.alarmed:
            self._watch = watch_clear(self.watch)
        del self.positions[:]
        del self.deviations_g[:]

    @property
    def watch(self) -> WatchState | None:
        """Return limits and sums of the live watch; what was folded since is taken at once."""
        if self._untaken and self._watch is not None:
            taken = watch_take_many(
                self._watch,
                [kg_from_g(deviation) for deviation in self.deviations_g[-self._untaken :]],
                positions=self.positions[-self._untaken :],
            )
            self._watch, self._last_signal, self._untaken = taken.state, taken.signal, 0
        return self._watch

    @property
    def last_signal(self) -> Signal | None:
        """Return what the last weight that the watch took meant."""
        return self._last_signal if self.watch is not None else None

    def take(self, weighing: WeighingTaken) -> None:
        """Fold one good weight of the run."""
        if self._watch is None or weighing.container is None:
            return
        deviation_g = float(weighing.net_g) - self.aim_g
        self.paused = None
        self.check_next = False
        self.last_weighed = max(self.last_weighed, weighing.container)
        self.weighed_since_start += 1
        self.all_containers.append(float(weighing.container))
        self.all_nets_g.append(float(weighing.net_g))
        if self.pending is not None and self.pending.outcome() == "waiting":
            self.pending.seen.append(weighing.state)
            self.pending.deviations_g.append(deviation_g)
            self.pending.containers.append(weighing.container)
            if self.pending.outcome() == "odd-one":
                self._take_back(self.pending)
                self.last_good = weighing.container
            return
        self._give_watch(weighing.container, deviation_g)
        self._good_before = self.last_good
        if weighing.state == _GOOD:
            self.last_good = weighing.container

    def container_of_check(self, check: int) -> int:
        """Return the container of the watch's reading `check`, counted from 1; 0 before."""
        if check <= 0 or not self.check_containers:
            return 0
        return self.check_containers[min(check, len(self.check_containers)) - 1]

    def signal(self, entry: SignalRaised) -> None:
        """Wait for two more weights, or for a turn; the weight that raised it is not good."""
        if self.last_good == entry.container:
            self.last_good = self._good_before
        deviation_g = self.all_nets_g[-1] - self.aim_g if self.all_nets_g else 0.0
        self.pending = Pending(
            entry.signal, entry.side, entry.container, entry.weighing_id, [], [deviation_g]
        )

    def adjust(self, entry: AdjustmentMade) -> None:
        """Start a new block with its own middle."""
        if self.watch is not None:
            self._watch = watch_restart(self.watch)
        del self.positions[:]
        del self.deviations_g[:]
        self.pending = None
        self.check_next = True
        self.block_from = entry.after_container + 1
        self.posts.append(
            Post(
                after_container=entry.after_container,
                kind="turn",
                words=f"turn {entry.from_marks} to {entry.to_marks}",
            )
        )

    def aim_at(self, aim_g: float) -> None:
        """Start a new block about another aim."""
        if self.watch is not None:
            self._watch = watch_restart(self.watch)
        self.aim_g = aim_g
        self.block_from = self.last_weighed + 1
        del self.positions[:]
        del self.deviations_g[:]
        self.pending = None
        self.check_next = True

    def pause(self, entry: RunPaused) -> None:
        """Put a post and ask for the next container."""
        self.paused = entry
        self.check_next = True
        if entry.reason == "refill":
            self.levels = []
        if entry.reason == "fault" and self.pending is not None:
            self.pending = None
            if self.watch is not None:
                self._watch = watch_restart(self.watch)
            del self.positions[:]
            del self.deviations_g[:]
            self.block_from = entry.after_container + 1
        self.posts.append(
            Post(
                after_container=entry.after_container,
                kind=entry.reason,
                words=entry.note or entry.reason,
            )
        )

    def change(self, entry: LotTaken | PersonChanged) -> None:
        """Put a post for another carton, drum or person, and ask for the next container."""
        self.check_next = True
        if isinstance(entry, LotTaken):
            kind: PostKind = entry.what
            code = f" {entry.code}" if entry.code else ""
            words = f"{LOT_WORDS[entry.what]}{code}"
        else:
            kind, words = "person", f"{entry.now} takes over"
        self.posts.append(Post(after_container=entry.after_container, kind=kind, words=words))

    def look(self) -> None:
        """Ask for the next container: the first one was looked at and not right."""
        self.check_next = True

    def scale_checked(self, entry: CheckTaken) -> None:
        """Take a check of the weighing scale in the run."""
        self.is_scale_off = not entry.passed

    def hopper(self, entry: HopperRead) -> None:
        """Take how high the product stands in the hopper."""
        self.levels = [*self.levels[-_MOST_LEVELS:], entry]

    def _take_back(self, pending: Pending) -> None:
        """Take a signal back: the odd one says nothing of the level, the two more do."""
        if self.watch is not None:
            self._watch = watch_clear(self.watch)
        if self.positions and self.positions[-1] == pending.container:
            self.positions.pop()
            self.deviations_g.pop()
        self.positions.extend(float(number) for number in pending.containers)
        self.deviations_g.extend(pending.deviations_g[1:])
        self.pending = None

    def _give_watch(self, container: int, deviation_g: float) -> None:
        """Hand a reading to the watch, which takes it when it is next asked."""
        self.positions.append(float(container))
        self.deviations_g.append(deviation_g)
        self.check_containers.append(container)
        self._untaken += 1


def _watch_of(way: WatchChosen | None) -> WatchState:
    """Return the watch that was chosen, before its first reading; the usual one otherwise."""
    if way is None:
        return watch_start()
    return watch_start(
        k=way.k or 0.0,
        h=way.sums_limit_z,
        average_weight=way.share_of_newest or 0.0,
        average_limit=way.average_limit_z or 0.0,
    )
