"""Charts that say why: the probability plot, and the parts of an error, biggest first.

In the plot the weight goes across, and up the share of doses below it, on the scale that makes
a normal distribution a straight line.
"""

from __future__ import annotations

from typing import Final

from fillwright.records.charts import ProbabilityPlot, RankedBars
from fillwright.report.svg import Board, chamfered, num, plain

__all__ = ["SHARES", "draw_bars", "draw_probability"]

SHARES: Final = (
    (-2.3263478740408408, "1"),
    (-1.2815515655446004, "10"),
    (0.0, "50"),
    (1.2815515655446004, "90"),
    (2.3263478740408408, "99"),
)
"""Normal quantiles with the share below them, in a hundred."""
_HIGH: Final = 260.0
_DOT: Final = 9.0
_ROOM: Final = 0.04
_BAR: Final = 18.0


def draw_probability(
    spec: ProbabilityPlot, *, for_print: bool, width: float, size: float, name: str
) -> str:
    """Return the probability plot as SVG."""
    board = Board(width, 0, for_print, size)
    left, right = board.wide("99") + 14, width - 10
    top, floor = size * 1.8, size * 1.8 + _HIGH
    ends = (*spec.values_g, *spec.low_g, *spec.high_g)
    low, high = min(ends), max(ends)
    reach = (high - low) or 1.0
    low, high = low - _ROOM * reach, high + _ROOM * reach
    most = max(abs(spec.scores_z[0]), abs(spec.scores_z[-1]), 1.4) * 1.08

    def x(value: float) -> float:
        return left + (value - low) / (high - low) * (right - left)

    def y(score: float) -> float:
        return floor - (score + most) / (2 * most) * (floor - top)

    board.text(left, size * 0.7, "doses below, in 100", tone="ink_2")
    for score, words in SHARES:
        if abs(score) <= most:
            board.path(f"M{num(left)} {num(y(score))}H{num(right)}", stroke="hair", width=1)
            board.text(left - 8, y(score), words, tone="ink_2", anchor="end")
    board.path(f"M{num(left)} {num(top)}V{num(floor)}H{num(right)}", stroke="ink", width=2)
    line = [(spec.mean_g + spec.sd_g * s, s) for s in (spec.scores_z[0], spec.scores_z[-1])]
    board.path(_path([(x(v), y(s)) for v, s in line]), stroke="ink_2", width=1.5)
    for values in (spec.low_g, spec.high_g):
        points = [(x(v), y(s)) for v, s in zip(values, spec.scores_z, strict=True)]
        board.path(_path(points), stroke="line", width=2, dash="7 5")
    dots = [(x(v), y(s)) for v, s in zip(spec.values_g, spec.scores_z, strict=True)]
    inside = [dot for place, dot in enumerate(dots) if place not in spec.outside]
    board.dots(inside, size=_DOT, tone="ink")
    for place in spec.outside:
        # A shape of its own, so that it is seen without its colour.
        across, up = dots[place]
        board.path(
            f"M{num(across)} {num(up - 9)}l9 9l-9 9l-9 -9Z", stroke="stop", fill="sheet", width=3
        )
    for value, anchor in ((min(spec.values_g), "start"), (max(spec.values_g), "end")):
        at = min(max(x(value), left), right)
        words = f"{plain(value, spec.decimals)} g"
        board.text(at, floor + size, words, anchor="start" if anchor == "start" else "end")
    board.height = floor + size * 1.8
    return board.finish(name, "probability-plot")


def draw_bars(spec: RankedBars, *, for_print: bool, width: float, size: float, name: str) -> str:
    """Return parts as bars, the biggest first and hatched, each with its number at the end."""
    board = Board(width, 0, for_print, size)
    most = max((bar.size_share for bar in spec.bars), default=1.0) or 1.0
    room = max((board.wide(bar.words) for bar in spec.bars), default=0.0) + 12
    row = size * 1.3 + _BAR + 12
    for place, bar in enumerate(spec.bars):
        y = place * row
        board.text(0, y + size * 0.7, bar.name, is_bold=place == 0)
        long = max((width - room) * bar.size_share / most, 3.0)
        box = chamfered(1, y + size * 1.4, long, _BAR, 0)
        board.path(box, stroke="ink", fill="none" if place == 0 else "steel", width=2)
        if place == 0:
            board.path(_hatch(1, y + size * 1.4, long), stroke="ink", width=1.5)
        board.text(long + 10, y + size * 1.4 + _BAR / 2, bar.words, is_bold=place == 0)
    board.height = len(spec.bars) * row
    return board.finish(name, "ranked-bars")


def _hatch(x: float, y: float, long: float) -> str:
    """Return slanted strokes inside a bar."""
    strokes = ""
    at = 0.0
    while at < long - _BAR:
        strokes += f"M{num(x + at)} {num(y + _BAR)}l{num(_BAR)} {num(-_BAR)}"
        at += 9.0
    return strokes


def _path(points: list[tuple[float, float]]) -> str:
    """Return a line through points."""
    return "M" + "L".join(f"{num(across)} {num(up)}" for across, up in points)
