"""The whole run as one thinned line above the row of containers, and the frame of both.

A line that shrank with every container would be drawn anew with every one: it has room for a
few more, and is cut into stretches, so that a page keeps what stays.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from fillwright.records.charts import DoseChart
from fillwright.report.svg import Board, chamfered, num

__all__ = ["WHOLE_HIGH", "Frame", "draw_whole", "room_for"]

WHOLE_HIGH: Final = 46.0
_COLUMNS: Final = 600
_STRETCH: Final = 100
"""Columns that are one part of the drawing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where things stand in the drawing."""

    left: float
    right: float
    top: float
    floor: float
    low: float
    high: float
    first: int
    last: int

    @property
    def step(self) -> float:
        """Room of one container."""
        return (self.right - self.left) / max(self.last - self.first + 1, 1)

    def x(self, container: float) -> float:
        """Return the middle of a container's place."""
        return self.left + (container - self.first + 0.5) * self.step

    def y(self, weight: float) -> float:
        """Return the height of a weight, kept inside the drawing."""
        share = (weight - self.low) / (self.high - self.low)
        return self.floor - min(max(share, 0.0), 1.0) * (self.floor - self.top)


def room_for(filled: int) -> int:
    """Return how many a run that goes on has room for: it grows by a quarter of it at the most."""
    step = 1 << max(filled.bit_length() - 3, 0)
    return filled + -filled % step


def draw_whole(board: Board, spec: DoseChart, frame: Frame) -> None:
    """Draw the whole run as one line of columns from least to most, and what the row shows."""
    top, high = 1.5 * board.size, WHOLE_HIGH
    wide = frame.right - frame.left
    room = spec.filled if board.for_print else room_for(spec.filled)
    columns = min(_COLUMNS, int(wide), room)

    def y(weight: float) -> float:
        share = (weight - frame.low) / (frame.high - frame.low)
        return top + high - min(max(share, 0.0), 1.0) * high

    def x(container: float) -> float:
        return frame.left + (container - 1) / room * wide

    y_high, y_low = y(float(spec.high_g)), y(float(spec.low_g))
    with board.part("whole-ground"):
        board.path(
            chamfered(frame.left, y_high, wide, y_low - y_high, 0), stroke="none", fill="on_tint"
        )
        for limit in spec.limits:
            if limit.name == "T1":
                line = f"M{num(frame.left)} {num(y(float(limit.limit_g)))}H{num(frame.right)}"
                board.path(line, stroke="stop", width=1.5, dash="14 6")
    lines = _thinned(spec, columns, room, x, y)
    for place in range((columns - 1) // _STRETCH + 1):
        with board.part(f"whole-{place}"):
            board.path(lines.get(place, ""), stroke="ink", width=1.4)
    _now(board, spec, frame, x)


def _now(board: Board, spec: DoseChart, frame: Frame, x: Callable[[float], float]) -> None:
    """Draw which containers are held, and which of them the row shows."""
    top, high = 1.5 * board.size, WHOLE_HIGH
    held = ""
    for span in spec.held:
        begin = x(span.first)
        held += f"M{num(begin)} {num(top + high + 4)}H{num(max(x(span.last + 1), begin + 2))}"
    board.path(held, stroke="warn", width=4, name="whole-held")
    begin, end = x(frame.first), x(spec.filled + 1)
    window = chamfered(begin, top - 3, end - begin, high + 6, 6)
    board.path(window, stroke="ink", width=2, name="whole-window")
    words = f"whole run, {spec.word} 1 to {spec.filled}"
    board.text(frame.left, top - board.size * 0.85, words, tone="ink_2", name="whole-words")
    below = f"below: {frame.first} to {spec.filled}"
    if board.wide(words + below) + 24 < frame.right - frame.left:
        y = top - board.size * 0.85
        board.text(frame.right, y, below, tone="ink_2", anchor="end", name="whole-below")


def _thinned(
    spec: DoseChart,
    columns: int,
    room: int,
    x: Callable[[float], float],
    y: Callable[[float], float],
) -> dict[int, str]:
    """Return the paths of least to most in each column, by stretches of the run."""
    weights: dict[int, list[float]] = {}
    for dose in spec.doses:
        column = (dose.container - 1) * columns // room
        weights.setdefault(column, []).append(float(dose.net_g))
    lines: dict[int, str] = {}
    for column in sorted(weights):
        at = num(x(1 + (column + 0.5) / columns * room))
        top, bottom = y(max(weights[column])), y(min(weights[column]))
        place = column // _STRETCH
        lines[place] = lines.get(place, "") + f"M{at} {num(top - 0.8)}v{num(bottom - top + 1.6)}"
    return lines
