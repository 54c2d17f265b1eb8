"""Draws how thick a product is, over the shear rate or the temperature, with what was measured."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from fillwright.records.flowplot import FlowPlot
from fillwright.report.svg import Board, chamfered, num

__all__ = ["HEADS", "draw_flow", "flow_rows", "flow_words", "thick_words"]

HEADS: Final = (("Speed (1/s)", "Thickness", "From", "To"), ("At", "Thickness", "From", "To"))
"""Heads of the table over the shear rate, and over the temperature."""
_HIGH: Final = 250.0
_PASCAL: Final = 1000.0
_MOST_ROWS: Final = 9
_ROOM: Final = 1.35


def draw_flow(spec: FlowPlot, *, for_print: bool, width: float, size: float, name: str) -> str:
    """Return the curve with its range, the points, and where the product is filled."""
    left, right = size * 6.2, width - size * 1.2
    top, floor = size * 0.8, _HIGH
    board = Board(width, _HIGH + 3.6 * size, for_print, size)
    heights = (*spec.low_mpa_s, *spec.high_mpa_s, *spec.points_mpa_s)
    low, high = math.log(min(heights) / _ROOM), math.log(max(heights) * _ROOM)
    along = spec.rates_per_s or spec.temps_c
    begin, end = _across(spec, along[0]), _across(spec, along[-1])

    def x(value: float) -> float:
        return left + (_across(spec, value) - begin) / (end - begin) * (right - left)

    def y(thick: float) -> float:
        return floor - (math.log(thick) - low) / (high - low) * (floor - top)

    board.path(chamfered(left, top, right - left, floor - top, 0), stroke="none", fill="sunk")
    back = list(zip(along, spec.low_mpa_s, strict=True))[::-1]
    edge = [*zip(along, spec.high_mpa_s, strict=True), *back]
    data = "M" + "L".join(f"{num(x(at))} {num(y(thick))}" for at, thick in edge) + "Z"
    board.path(data, stroke="none", fill="hand_tint")
    for decade in range(math.ceil(low / math.log(10)), math.floor(high / math.log(10)) + 1):
        thick = 10.0**decade
        board.path(f"M{num(left)} {num(y(thick))}H{num(right)}", stroke="hair", width=1)
        board.text(left - 6, y(thick), thick_words(thick), tone="ink_2", anchor="end")
    _marks(board, spec, x, floor)
    curve = zip(along, spec.curve_mpa_s, strict=True)
    line = "M" + "L".join(f"{num(x(at))} {num(y(thick))}" for at, thick in curve)
    board.path(line, stroke="ink", width=3)
    board.path(chamfered(left, top, right - left, floor - top, 0), stroke="line")
    if spec.now_c is not None:
        board.path(f"M{num(x(spec.now_c))} {num(top)}V{num(floor)}", stroke="hand", dash="6 5")
        board.text(
            x(spec.now_c), top + size, "fill", tone="hand", anchor="middle", has_ground=True
        )
    told = spec.point_rates_per_s or spec.point_temps_c
    places = [(x(at), y(thick)) for at, thick in zip(told, spec.points_mpa_s, strict=True)]
    board.dots(places, size=11, tone="ink")
    board.dots(places, size=5, tone="sheet")
    words = "speed of shear, 1/s" if spec.is_over_rate else "temperature, °C"
    board.text((left + right) / 2, floor + 2.7 * size, words, tone="ink_2", anchor="middle")
    return board.finish(name, "flow-plot")


def flow_words(spec: FlowPlot) -> str:
    """Return what the picture shows."""
    along = spec.rates_per_s or spec.temps_c
    unit = "1/s" if spec.is_over_rate else "°C"
    first, last = thick_words(spec.curve_mpa_s[0]), thick_words(spec.curve_mpa_s[-1])
    count = len(spec.points_mpa_s)
    told = f"{count} measured" if count else "nothing measured"
    ends = f"{first} at {_plain(along[0])} {unit}, {last} at {_plain(along[-1])} {unit}"
    return f"{spec.title}: {ends}; {told}."


def flow_rows(spec: FlowPlot) -> tuple[tuple[str, ...], ...]:
    """Return the curve as rows: where, how thick, and its two ends."""
    along = spec.rates_per_s or spec.temps_c
    unit = "" if spec.is_over_rate else " °C"
    step = max(1, (len(along) - 1) // (_MOST_ROWS - 1))
    rows = list(zip(along, spec.curve_mpa_s, spec.low_mpa_s, spec.high_mpa_s, strict=True))
    return tuple(
        (f"{_plain(at)}{unit}", *(thick_words(one) for one in thick))
        for at, *thick in rows[::step]
    )


def thick_words(thick_mpa_s: float) -> str:
    """Return a viscosity in the unit that people read."""
    if thick_mpa_s < _PASCAL:
        return f"{thick_mpa_s:.3g} mPa s"
    digits = 0 if thick_mpa_s >= 100.0 * _PASCAL else 1 if thick_mpa_s >= 10.0 * _PASCAL else 2
    text = f"{thick_mpa_s / _PASCAL:.{digits}f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} Pa s"


def _plain(value: float) -> str:
    """Return a value with three digits that say something, never with an exponent."""
    return f"{float(f'{value:.3g}'):g}"


def _across(spec: FlowPlot, value: float) -> float:
    """Return where a value stands: even steps of ln for a rate, of itself for a temperature."""
    return math.log(value) if spec.is_over_rate else value


def _marks(board: Board, spec: FlowPlot, x: Callable[[float], float], floor: float) -> None:
    """Write some values along the bottom."""
    along = spec.rates_per_s or spec.temps_c
    if spec.is_over_rate:
        decades = range(math.ceil(math.log10(along[0])), math.floor(math.log10(along[-1])) + 1)
        values = [10.0**decade for decade in decades]
    else:
        step = next(s for s in (2, 5, 10, 20, 50, 100) if (along[-1] - along[0]) / s <= 6)  # noqa: PLR2004  six numbers stand beside each other on a phone
        first = math.ceil(along[0] / step)
        values = [float(step * n) for n in range(first, math.floor(along[-1] / step) + 1)]
    for value in values:
        place = x(value)
        board.path(f"M{num(place)} {num(floor)}v6", stroke="line")
        board.text(place, floor + board.size * 1.2, f"{value:g}", tone="ink_2", anchor="middle")
