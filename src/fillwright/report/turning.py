"""Drawings of what the hand meets: the volume scale, the wheel, the cylinders.

The volume scale is the machine's own: same numbers, same ticks, same direction.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final

from fillwright.records.charts import CylinderLane, CylinderLanes, VolumeScale, Wheel
from fillwright.records.turns import TOUCH
from fillwright.report.marks import shape
from fillwright.report.svg import Board, Tone, chamfered, num, plain

__all__ = ["draw_lanes", "draw_scale", "draw_wheel"]

_BODY: Final = (62.0, 150.0)
_PX_PER_NUMBER: Final = 100.0
_SCALE_WIDE: Final = 232.0
_SCALE_HIGH: Final = 372.0
_LEAST_TICK: Final = 4.0
_HEAD: Final = 16.0


def draw_wheel(spec: Wheel, *, for_print: bool, name: str) -> str:
    """Return the wheel with an arrow along the turn, a full round at most."""
    board = Board(130, 130, for_print, 16)
    board.path("M65 23A42 42 0 1 1 64.900 23Z", stroke="ink", width=9)
    board.path("M65 65V27M65 65 32 84M65 65 98 84", stroke="ink", width=6)
    board.dots([(65, 65)], size=18, tone="ink")
    share = min(max(abs(spec.size_turns), TOUCH), 0.92)
    sign = 1 if spec.is_clockwise else -1
    end = sign * share * 2 * math.pi
    x, y = 65 + 57 * math.sin(end), 65 - 57 * math.cos(end)
    sweep, large = int(spec.is_clockwise), int(share > 1 / 2)
    board.path(f"M65 8A57 57 0 {large} {sweep} {num(x)} {num(y)}", stroke="hand", width=7)
    # The head lies along the rim where the arc ends.
    ahead = (math.cos(end) * sign, math.sin(end) * sign)
    side = (-ahead[1], ahead[0])
    corners = [
        (x + ahead[0] * 13, y + ahead[1] * 13),
        (x + side[0] * 11, y + side[1] * 11),
        (x - side[0] * 11, y - side[1] * 11),
    ]
    data = "M" + "L".join(f"{num(px)} {num(py)}" for px, py in corners) + "Z"
    board.path(data, stroke="none", fill="hand")
    return board.finish(name, "wheel")


def draw_scale(spec: VolumeScale, *, for_print: bool, size: float, name: str) -> str:
    """Return the volume scale around the setting, about three numbers of it."""
    board = Board(_SCALE_WIDE, _SCALE_HIGH, for_print, size)
    every = float(spec.number_every_marks)
    middle = next(
        (float(v) for v in (spec.set_marks, spec.now_marks) if v is not None),
        float(spec.last_mark) / 2,
    )
    if spec.set_marks is not None and spec.now_marks is not None:
        apart = float(spec.now_marks) - float(spec.set_marks)
        middle += max(min(apart / 2, every), -every)
    sign = -1 if spec.rises_upwards else 1

    def y(mark: float) -> float:
        return _SCALE_HIGH / 2 + sign * (mark - middle) / every * _PX_PER_NUMBER

    reach = (_SCALE_HIGH / 2 - 8) / _PX_PER_NUMBER * every
    low, high = middle - reach, middle + reach
    _body(board, spec, y(max(low, 0.0)), y(min(high, float(spec.last_mark))))
    _engraving(board, spec, low=low, high=high, zero=y(0), one=y(every))
    _likely(board, spec, low=low, high=high, zero=y(0), one=y(1))
    _pointers(board, spec, middle, reach, sign)
    return board.finish(name, "volume-scale")


def draw_lanes(
    spec: CylinderLanes, *, for_print: bool, width: float, size: float, name: str
) -> str:
    """Return a bar for each cylinder from a tenth to the whole of it, and the dose across."""
    lane, gap = 1.5 * size, 1.75 * size
    bottom = len(spec.lanes) * (lane + gap) + 4
    board = Board(width, bottom + 1.9 * size, for_print, size)
    dose = float(spec.dose_ml)
    ends = [float(item.capacity_ml) for item in spec.lanes]
    low, high = math.log10(min([dose, *(c / 10 for c in ends)])), math.log10(max([dose, *ends]))
    span = (high - low) or 1.0

    def x(volume: float) -> float:
        return 6 + (math.log10(volume) - low) / span * (width - 12)

    for row, item in enumerate(spec.lanes):
        y = row * (lane + gap) + gap
        capacity = float(item.capacity_ml)
        edge: Tone = "on" if item.is_taken else "line"
        fill: Tone = "on_tint" if item.is_taken else "steel"
        start, end = x(capacity / 10), x(capacity)
        box = chamfered(start, y, end - start, lane, size * 0.4)
        board.path(box, stroke=edge, fill=fill, width=3 if item.is_taken else 2)
        tenths = (x(capacity * i / 10) for i in range(2, 10))
        ticks = "".join(f"M{num(at)} {num(y)}v{num(lane * 0.35)}" for at in tenths)
        board.path(ticks, stroke=edge, width=1.2)
    board.path(f"M{num(x(dose))} {num(gap - 4)}V{num(bottom)}", stroke="ink", width=4)
    for row, item in enumerate(spec.lanes):
        _lane_words(board, item, row * (lane + gap) + gap - size * 0.8, spec.unit)
    words = f"dose {_volume(spec.dose_ml, spec.unit)}"
    half = board.wide(words) / 2
    at = min(max(x(dose), half), width - half)
    board.text(at, bottom + size * 0.9, words, anchor="middle", is_bold=True)
    return board.finish(name, "cylinder-lanes")


def _body(board: Board, spec: VolumeScale, start: float, end: float) -> None:
    """Draw the steel of the scale, with the stop where it ends."""
    top, bottom = min(start, end), max(start, end)
    left, right = _BODY
    board.path(
        chamfered(left, top, right - left, bottom - top, 12), stroke="ink", fill="steel", width=2.5
    )
    if top > _SCALE_HIGH - bottom and top > 2 * board.size and spec.rises_upwards:
        board.text(left, top - board.size * 0.8, "end stop", tone="stop", is_bold=True)


def _engraving(
    board: Board, spec: VolumeScale, *, low: float, high: float, zero: float, one: float
) -> None:
    """Draw ticks and numbers as they are engraved."""
    every, step = float(spec.number_every_marks), float(spec.step_marks)
    per_mark = (one - zero) / every
    low, high = max(low, 0.0), min(high, float(spec.last_mark))
    thinning = max(1, math.ceil(_LEAST_TICK / max(abs(per_mark) * step, 1e-9)))
    short, half, long = "", "", ""
    left = num(_BODY[0])
    for i in range(math.ceil(low / step), math.floor(high / step) + 1):
        mark = i * step
        y = zero + mark * per_mark
        in_numbers = mark / every
        if abs(in_numbers - round(in_numbers)) < step / every / 4:
            long += f"M{left} {num(y)}h46"
            digits = 0 if every >= 1 else 1
            board.text(_BODY[0] - 8, y, plain(mark, digits), anchor="end", is_bold=True, size=26)
        elif abs(in_numbers * 2 - round(in_numbers * 2)) < step / every / 2:
            half += f"M{left} {num(y)}h32"
        elif i % thinning == 0:
            short += f"M{left} {num(y)}h20"
    board.path(long, stroke="ink", width=3)
    board.path(half, stroke="ink", width=2.2)
    board.path(short, stroke="ink", width=1.5)


def _likely(
    board: Board, spec: VolumeScale, *, zero: float, one: float, low: float, high: float
) -> None:
    """Draw the dashed box in which the right setting lies 19 times in 20."""
    if spec.likely_low_marks is None or spec.likely_high_marks is None:
        return
    ends = [min(max(float(m), low), high) for m in (spec.likely_low_marks, spec.likely_high_marks)]
    places = sorted(zero + m * (one - zero) for m in ends)
    box = chamfered(112, places[0], 35, max(places[1] - places[0], 6), 0)
    board.path(box, stroke="hand", fill="hand_tint", width=2.5, dash="6 3")


def _pointers(board: Board, spec: VolumeScale, middle: float, reach: float, sign: int) -> None:
    """Draw the open pointer where it is and the solid one where it shall be."""
    tip = _BODY[1] + 4
    per_mark = sign * _PX_PER_NUMBER / float(spec.number_every_marks)
    taken: list[float] = []
    for value, word, tone in (
        (spec.set_marks, "set", "hand"),
        (spec.now_marks, "now", "ink"),
        (spec.via_marks, "first", "hand"),
    ):
        if value is None:
            continue
        is_beyond = abs(float(value) - middle) > reach
        mark = min(max(float(value), middle - reach), middle + reach)
        y = _SCALE_HIGH / 2 + (mark - middle) * per_mark
        y = min(max(y, _HEAD), _SCALE_HIGH - _HEAD)
        tint: Tone = "hand" if tone == "hand" else "ink"
        head = f"M{num(tip)} {num(y)}L{num(tip + 22)} {num(y - 14)}V{num(y + 14)}Z"
        is_solid = word == "set"
        if is_solid:
            board.path(f"M{num(_BODY[0])} {num(y)}H{num(tip)}", stroke="hand", width=5)
        board.path(head, stroke=tint, fill=tint if is_solid else "sheet", width=2.5)
        near = next((other for other in taken if abs(other - y) < board.size * 1.2), None)
        shift = 0.0 if near is None else math.copysign(board.size * 1.2, y - near) + near - y
        taken.append(y + shift)
        board.text(tip + 26, y + shift, word, tone=tint, is_bold=is_solid)
        if is_beyond:
            # Off the drawing: the number stands in for the place.
            inwards = math.copysign(board.size * 1.15, _SCALE_HIGH / 2 - y)
            words = plain(value, _digits(spec.step_marks, value))
            board.text(tip + 26, y + shift + inwards, words, tone=tint)
            board.width = max(board.width, tip + 30 + board.wide(words))


def _digits(*marks: Decimal | float) -> int:
    """Return how many digits after the point the finest of these settings has."""
    exact = (mark.normalize() for mark in marks if isinstance(mark, Decimal))
    return max((max(0, -int(mark.as_tuple().exponent)) for mark in exact), default=0)


def _lane_words(board: Board, item: CylinderLane, y: float, unit: str) -> None:
    """Write what is said of a cylinder above its lane."""
    size = board.size
    start = 6.0
    if item.is_taken:
        inner = shape("on", ink=board.tone("on"), cut=board.tone("sheet"))
        board.place(inner, 6 + size * 0.55, y, size * 1.1)
        start += size * 1.5
    tone: Tone = "on" if item.is_taken else "ink"
    words = _volume(item.capacity_ml, unit)
    board.text(start, y, words, tone=tone, is_bold=True)
    board.text(
        start + board.wide(words) + 10,
        y,
        item.words,
        tone="on" if item.is_taken else "ink_2",
        is_bold=item.is_taken,
        has_ground=True,
    )


def _volume(volume_ml: Decimal, unit: str) -> str:
    """Return a volume in its unit without needless zeros."""
    return f"{volume_ml.normalize():f} {unit}"
