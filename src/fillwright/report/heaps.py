"""Charts in which weights lie heaped along a ruled line: the proof and the lot test.

Each weight is a dot of its own, none is smoothed or hidden; the line is ruled like a scale.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fillwright.records.charts import LotChart, ProofChart
from fillwright.report.svg import Board, Tone, chamfered, num, plain

__all__ = ["draw_lot", "draw_proof"]

_HEAP_HIGH: Final = 120.0
_BIGGEST_DOT: Final = 12.0
_SMALLEST_DOT: Final = 2.5
_WIDEST: Final = 3.0
_STEPS: Final = (1.0, 2.0, 5.0)
_TICKS: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class _Label:
    """A word under the line at a value."""

    value: float
    words: str
    tone: Tone


def draw_proof(spec: ProofChart, *, for_print: bool, width: float, size: float, name: str) -> str:
    """Return the shots of a proving run against the claim."""
    board = Board(width, 0, for_print, size)
    low, high = float(spec.claim_low_g), float(spec.claim_high_g)
    half = (high - low) / 2 or 1.0
    weights = [float(shot.net_g) for shot in spec.shots]
    within = [w for w in (spec.within_low_g, spec.within_high_g) if w is not None]
    reach = _WIDEST * half
    far = [max(min(w, high + reach), low - reach) for w in [*weights, *within]]
    start, end = min([low, *far]) - 0.2 * half, max([high, *far]) + 0.2 * half
    line = _Line(board, start, end, top=size * 1.6)
    if spec.within_low_g is not None and spec.within_high_g is not None:
        x0, x1 = line.x(spec.within_low_g), line.x(spec.within_high_g)
        box = chamfered(x0, line.top, x1 - x0, line.floor - line.top, 8)
        board.path(box, stroke="on", fill="on_tint", width=2.5, dash="7 4")
    for edge in (low, high):
        board.path(
            f"M{num(line.x(edge))} {num(line.top - 6)}V{num(line.floor)}", stroke="stop", width=3
        )
    claim = plain(spec.claim_pct.normalize(), _decimals_of(spec.claim_pct))
    board.text(
        line.x(low), size * 0.6, f"\u2212{claim} %", tone="stop", anchor="middle", is_bold=True
    )
    board.text(line.x(high), size * 0.6, f"+{claim} %", tone="stop", anchor="middle", is_bold=True)
    line.rule()
    used = [float(s.net_g) for s in spec.shots if not s.is_set_aside]
    aside = [float(s.net_g) for s in spec.shots if s.is_set_aside]
    line.heap(used, open_values=aside)
    labels = [
        _Label(value=float(spec.aim_g), words=f"{plain(spec.aim_g, spec.decimals)} g", tone="ink"),
        _Label(value=low, words=plain(low, spec.decimals), tone="stop"),
        _Label(value=high, words=plain(high, spec.decimals), tone="stop"),
    ]
    board.height = line.labels(labels)
    return board.finish(name, "proof-chart")


def draw_lot(spec: LotChart, *, for_print: bool, width: float, size: float, name: str) -> str:
    """Return the weights of a lot test against label, T1 and T2."""
    board = Board(width, 0, for_print, size)
    values = [float(v) for v in spec.values_label_unit]
    limits = [float(v) for v in (spec.t1_label_unit, spec.t2_label_unit) if v is not None]
    nominal = float(spec.nominal)
    span = (max([*values, nominal]) - min([*limits, nominal])) or max(abs(nominal), 1.0) * 0.05
    low = max(min([*values, *limits, nominal]), min([*limits, nominal]) - span)
    high = min(max([*values, *limits, nominal]), nominal + 2 * span)
    line = _Line(board, low - 0.05 * span, high + 0.05 * span, top=4)
    labels: list[_Label] = []
    for value, word, dash in (
        (spec.t2_label_unit, "T2", ""),
        (spec.t1_label_unit, "T1", "9 5"),
    ):
        if value is not None:
            at = num(line.x(float(value)))
            stroke = 4.0 if not dash else 3.0
            board.path(f"M{at} 20V{num(line.floor)}", stroke="stop", width=stroke, dash=dash)
            words = f"{word} {plain(value, spec.decimals)}"
            labels.append(_Label(value=float(value), words=words, tone="stop"))
    at = num(line.x(nominal))
    board.path(f"M{at} 4V{num(line.floor)}", stroke="ink", width=3, dash="3 4")
    line.rule()
    line.heap(values)
    if spec.mean is not None:
        x = line.x(spec.mean)
        board.path(f"M{num(x)} {num(line.floor + 2)}l9 14h-18Z", stroke="none", fill="ink")
        words = f"average {plain(spec.mean, spec.decimals)}"
        labels.append(_Label(value=spec.mean, words=words, tone="ink"))
    words = f"label {plain(nominal, spec.decimals)} {spec.unit}"
    labels.append(_Label(value=nominal, words=words, tone="ink_2"))
    board.height = line.labels(labels)
    return board.finish(name, "lot-chart")


class _Line:
    """A ruled line with room for a heap above it and labels below."""

    def __init__(self, board: Board, low: float, high: float, *, top: float) -> None:
        self.board = board
        self.low = low
        self.high = high
        self.top = top
        self.floor = top + _HEAP_HIGH
        self.left = 8.0
        self.right = board.width - 8.0

    def x(self, value: float) -> float:
        """Return the place of a value, kept on the line."""
        share = (value - self.low) / (self.high - self.low)
        return self.left + min(max(share, 0.0), 1.0) * (self.right - self.left)

    def rule(self) -> None:
        """Rule the line with ticks, long at each fifth."""
        step = _round_step((self.high - self.low) / _TICKS)
        short, long = "", ""
        for i in range(math.ceil(self.low / step), math.floor(self.high / step) + 1):
            place = f"M{num(self.x(i * step))} {num(self.floor)}v"
            if i % 5 == 0:
                long += place + "12"
            else:
                short += place + "6"
        self.board.path(short, stroke="line", width=1.2)
        self.board.path(long, stroke="ink", width=2)
        self.board.path(
            f"M{num(self.left)} {num(self.floor)}H{num(self.right)}", stroke="ink", width=2
        )

    def heap(self, values: Sequence[float], *, open_values: Sequence[float] = ()) -> None:
        """Heap the values up, each a dot; the dots shrink until the heap fits."""
        size = _BIGGEST_DOT
        while size > _SMALLEST_DOT and self._highest([*values, *open_values], size) > 1:
            size *= 0.85
        pitch = size * 1.12
        heights: dict[int, int] = {}
        solid: list[tuple[float, float]] = []
        hollow: list[tuple[float, float]] = []
        room = max(int((self.floor - self.top - size) / pitch), 1)
        for value, target in [(v, solid) for v in values] + [(v, hollow) for v in open_values]:
            column = round(self.x(value) / pitch)
            level = heights.get(column, 0)
            heights[column] = level + 1
            y = self.floor - size * 0.75 - min(level, room) * pitch
            target.append((column * pitch, y))
        self.board.dots(solid, size=size, tone="ink")
        self.board.dots(hollow, size=size, tone="ink")
        self.board.dots(hollow, size=size * 0.6, tone="sheet")

    def _highest(self, values: Sequence[float], size: float) -> float:
        """Return the highest heap as a share of the room."""
        pitch = size * 1.12
        counts: dict[int, int] = {}
        for value in values:
            column = round(self.x(value) / pitch)
            counts[column] = counts.get(column, 0) + 1
        return max(counts.values(), default=0) * pitch / (self.floor - self.top - size)

    def labels(self, labels: Sequence[_Label]) -> float:
        """Write the labels below, on as many lines as they need; return the height."""
        size = self.board.size
        ends: list[float] = []
        for label in sorted(labels, key=lambda label: label.value):
            room = self.board.wide(label.words) + 10
            start = min(max(self.x(label.value) - room / 2, 0.0), self.board.width - room)
            row = next((i for i, end in enumerate(ends) if end <= start), len(ends))
            if row == len(ends):
                ends.append(0.0)
            ends[row] = start + room
            y = self.floor + 18 + size * (0.6 + 1.2 * row)
            self.board.text(
                start + room / 2,
                y,
                label.words,
                tone=label.tone,
                anchor="middle",
                is_bold=label.tone == "stop",
            )
        return self.floor + 22 + size * 1.2 * max(len(ends), 1)


def _round_step(raw: float) -> float:
    """Return the next 1, 2 or 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(raw))
    return next((s * power for s in _STEPS if s * power >= raw), 10 * power)


def _decimals_of(value: object) -> int:
    """Return how many digits after the point a share needs, three at most."""
    return len(f"{float(str(value)):.3f}".rstrip("0").partition(".")[2])
