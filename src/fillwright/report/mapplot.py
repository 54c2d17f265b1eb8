"""Draws the two maps of a product on a machine: recharge time, and nozzle, against warmth."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Final

from fillwright.records.mapplot import NozzleMap, RechargeMap
from fillwright.report.svg import Board, Tone, chamfered, num

__all__ = [
    "SIGNS",
    "draw_nozzle_map",
    "draw_recharge_map",
    "nozzle_rows",
    "nozzle_words",
    "recharge_rows",
    "recharge_words",
]

Place = Callable[[float], float]

SIGNS: Final = {
    "good": "good",
    "splashes": "may splash",
    "drips": "drips",
    "stalls": "stalls",
}
_LEFT: Final = 70.0
_HIGH: Final = 300.0
_MOST_TEMPS: Final = 12
"""So many temperatures stand above each other in letters of ordinary size."""
_TONES: Final[dict[str, tuple[Tone, Tone]]] = {
    "good": ("on", "on_tint"),
    "splashes": ("warn", "warn_tint"),
    "drips": ("wait", "sheet"),
    "stalls": ("stop", "sunk"),
}


def draw_recharge_map(
    spec: RechargeMap, *, for_print: bool, width: float, size: float, name: str
) -> str:
    """Return where the recharge fills, over its time and the temperature."""
    right = width - 4.0 - 3.6 * size
    board = Board(width, _HIGH + 4.4 * size, for_print, size)
    top, floor = size * 2.2, _HIGH + size * 0.6
    cold, warm = spec.temps_c[0], spec.temps_c[-1]

    def x(time: float) -> float:
        return _LEFT + min(max(time / spec.longest_s, 0.0), 1.0) * (right - _LEFT)

    def y(temp: float) -> float:
        return floor - (temp - cold) / (warm - cold) * (floor - top)

    edge = [(x(min(t, spec.longest_s)), y(c)) for t, c in _both(spec.edges_s, spec.temps_c)]
    quick = [(x(min(t, spec.longest_s)), y(c)) for t, c in _both(spec.drive_s, spec.temps_c)]
    board.path(chamfered(_LEFT, top, right - _LEFT, floor - top, 0), stroke="none", fill="sunk")
    board.path(_area(quick, right), stroke="none", fill="warn_tint")
    board.path(_area(edge, right), stroke="none", fill="on_tint")
    board.path(_hatched(quick, edge), stroke="warn", width=1.5)
    board.path(_line(edge), stroke="ink", width=3)
    board.path(_line(quick), stroke="line", width=2, dash="6 5")
    board.path(chamfered(_LEFT, top, right - _LEFT, floor - top, 0), stroke="line")
    _temps(board, spec.temps_c, y)
    for temp in _round_temps(spec.temps_c):
        board.text(right + 6, y(temp), f"×{_thickness(spec, temp):.2g}", tone="ink_2")
    board.text(width - 4, top - size * 1.3, "times as thick", tone="ink_2", anchor="end")
    _across(board, spec.longest_s, x, floor)
    board.text(
        (_LEFT + right) / 2, floor + size * 2.6, "recharge by the watch, s", tone="ink_2",
        anchor="middle",
    )  # fmt: skip
    board.text(right - 8, top + size, "fills", tone="on", anchor="end", is_bold=True)
    low = floor - size
    if edge[0][0] - quick[0][0] > board.wide("comes short") + 24:
        at = quick[0][0] + 12
        board.text(at, low, "comes short", tone="warn", is_bold=True, has_ground=True)
    _here(board, x(spec.now_s), y(spec.now_c), "today", right)
    return board.finish(name, "recharge-map")


def draw_nozzle_map(
    spec: NozzleMap, *, for_print: bool, width: float, size: float, name: str
) -> str:
    """Return what a nozzle does, over its bore and the temperature."""
    board = Board(width, _HIGH + 6.4 * size, for_print, size)
    top, floor = size * 0.8, _HIGH
    right = width - 4.0
    rows, columns = len(spec.temps_c), len(spec.bores_mm)
    high, wide = (floor - top) / rows, (right - _LEFT) / columns
    for row, states in enumerate(spec.states):
        for column, state in enumerate(states):
            left, up = _LEFT + column * wide, floor - (row + 1) * high
            _cell(board, state, left, up, wide, high)
    board.path(chamfered(_LEFT, top, right - _LEFT, floor - top, 0), stroke="line")

    def y(temp: float) -> float:
        cold, warm = spec.temps_c[0], spec.temps_c[-1]
        return floor - high / 2 - (temp - cold) / (warm - cold) * (floor - top - high)

    def x(bore: float) -> float:
        ends = [math.log(value) for value in (spec.bores_mm[0], spec.bores_mm[-1])]
        share = (math.log(bore) - ends[0]) / (ends[1] - ends[0])
        return _LEFT + wide / 2 + min(max(share, 0.0), 1.0) * (right - _LEFT - wide)

    _temps(board, spec.temps_c, y)
    last = -math.inf
    for bore in spec.owned_mm:
        board.path(f"M{num(x(bore))} {num(floor)}v8", stroke="ink", width=3)
        if x(bore) - last > 2.2 * size:
            board.text(x(bore), floor + size * 1.1, f"{bore:g}", anchor="middle")
            last = x(bore)
    board.text(
        (_LEFT + right) / 2, floor + size * 2.4, "bore of the nozzle, mm", tone="ink_2",
        anchor="middle",
    )  # fmt: skip
    _here(board, x(spec.now_mm), y(spec.now_c), "today", right)
    at = 0.0
    for place, (state, words) in enumerate(SIGNS.items()):
        if at + 30 + board.wide(words) > width:
            at = 0.0
        low = floor + size * (3.6 if place < len(SIGNS) / 2 else 5.0)
        at = 0.0 if place == len(SIGNS) // 2 else at
        _cell(board, state, at + 1, low, 22, size)
        board.text(at + 30, low + size / 2, words)
        at += width / 2
    return board.finish(name, "nozzle-map")


def recharge_words(spec: RechargeMap) -> str:
    """Return what the map of the recharge shows now."""
    parts = "; ".join(
        f"at {temp:g} °C from {_seconds(edge)}"
        for temp, edge in _some(_both(spec.temps_c, spec.edges_s))
    )
    fills = "fills" if spec.is_full else "does not fill"
    return (
        f"The cylinder fills with a recharge that is long enough: {parts}. Today, "
        f"{_seconds(spec.now_s)} at {spec.now_c:g} °C, it {fills}."
    )


def recharge_rows(spec: RechargeMap) -> tuple[tuple[str, ...], ...]:
    """Return the map as rows: temperature, thickness, shortest recharge, quickest drive."""
    return tuple(
        (f"{temp:g} °C", f"{times:.2g}", _seconds(edge), _seconds(drive))
        for temp, times, edge, drive in zip(
            spec.temps_c, spec.thickness_factors, spec.edges_s, spec.drive_s, strict=True
        )
    )


def nozzle_words(spec: NozzleMap) -> str:
    """Return what the map of nozzles shows now."""
    row = min(range(len(spec.temps_c)), key=lambda i: abs(spec.temps_c[i] - spec.now_c))
    parts = []
    for state in SIGNS:
        bores = [b for b, s in zip(spec.bores_mm, spec.states[row], strict=True) if s == state]
        if bores:
            parts.append(f"{SIGNS[state]} from {min(bores):.2g} to {max(bores):.2g} mm")
    return f"At {spec.now_c:g} °C a nozzle is: {'; '.join(parts)}. Today {spec.now_mm:g} mm."


def nozzle_rows(spec: NozzleMap) -> tuple[tuple[str, ...], ...]:
    """Return the map as rows, one for each temperature."""
    return tuple(
        (f"{temp:g} °C", *(SIGNS[state] for state in states))
        for temp, states in zip(spec.temps_c, spec.states, strict=True)
    )


def _seconds(time: float) -> str:
    """Return a time in words."""
    return f"{time:.1f} s" if math.isfinite(time) else "never"


def _both(first: tuple[float, ...], second: tuple[float, ...]) -> list[tuple[float, float]]:
    """Return pairs."""
    return list(zip(first, second, strict=True))


def _some(pairs: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return every fourth pair, the ends with them."""
    return pairs[::4] if len(pairs) % 4 == 1 else [*pairs[::4], pairs[-1]]


def _line(points: list[tuple[float, float]]) -> str:
    """Return a line through points."""
    return "M" + "L".join(f"{num(across)} {num(up)}" for across, up in points)


def _area(points: list[tuple[float, float]], right: float) -> str:
    """Return what lies to the right of a line."""
    return _line(points) + f"H{num(right)}V{num(points[0][1])}Z"


def _hatched(quick: list[tuple[float, float]], edge: list[tuple[float, float]]) -> str:
    """Return level strokes between two lines, so that the strip reads without its colour."""
    data = ""
    for (low, below), (high, above) in zip(pairwise(quick), pairwise(edge), strict=True):
        for step in range(3):
            share = step / 3
            start = low[0] + share * (below[0] - low[0])
            end = high[0] + share * (above[0] - high[0])
            if end > start + 2:
                up = low[1] + share * (below[1] - low[1])
                data += f"M{num(start)} {num(up)}H{num(end)}"
    return data


def _temps(board: Board, temps: tuple[float, ...], y: Place) -> None:
    """Write round temperatures down the side."""
    for temp in _round_temps(temps):
        board.text(_LEFT - 6, y(temp), f"{temp:.0f} °C", tone="ink_2", anchor="end")
        board.path(f"M{num(_LEFT - 4)} {num(y(temp))}h4", stroke="line")


def _round_temps(temps: tuple[float, ...]) -> list[float]:
    """Return temperatures in fives, or in tens and twenties, that lie inside the picture."""
    wide = temps[-1] - temps[0]
    step = next((size for size in (5.0, 10.0) if wide / size <= _MOST_TEMPS), 20.0)
    first, last = math.ceil(temps[0] / step - 1e-9), math.floor(temps[-1] / step + 1e-9)
    return [step * place for place in range(first, last + 1)]


def _thickness(spec: RechargeMap, temp: float) -> float:
    """Return how many times as thick the product is between the rows of the picture."""
    rows = _both(spec.temps_c, spec.thickness_factors)
    for (cold, thick), (warm, thin) in pairwise(rows):
        if cold <= temp <= warm:
            share = (temp - cold) / (warm - cold)
            return float(thick * (thin / thick) ** share)
    return rows[-1][1] if temp > rows[-1][0] else rows[0][1]


def _across(board: Board, longest: float, x: Place, floor: float) -> None:
    """Write the seconds along the bottom."""
    step = next(s for s in (0.2, 0.5, 1, 2, 5, 10, 20, 50, 100) if longest / s <= 5)  # noqa: PLR2004  five numbers stand beside each other on a phone
    at = 0.0
    while at <= longest:
        board.path(f"M{num(x(at))} {num(floor)}v6", stroke="line")
        board.text(x(at), floor + board.size * 1.1, f"{at:g}", tone="ink_2", anchor="middle")
        at = round(at + step, 6)


def _cell(board: Board, state: str, left: float, up: float, wide: float, high: float) -> None:
    """Draw one cell with its sign."""
    stroke, fill = _TONES[state]
    board.path(chamfered(left, up, wide, high, 0), stroke="none", fill=fill)
    across, down = left + wide / 2, up + high / 2
    arm = min(wide, high) * 0.24
    if state == "stalls":
        data = f"M{num(across - arm)} {num(down - arm)}l{num(2 * arm)} {num(2 * arm)}"
        data += f"m0 {num(-2 * arm)}l{num(-2 * arm)} {num(2 * arm)}"
        board.path(data, stroke=stroke, width=2)
    elif state == "splashes":
        data = f"M{num(across - arm)} {num(down - arm)}l{num(arm)} {num(2 * arm)}"
        data += f"l{num(arm)} {num(-2 * arm)}"
        board.path(data, stroke=stroke, width=2)
    elif state == "drips":
        board.dots([(across, down)], size=arm * 1.5, tone=stroke)


def _here(board: Board, x: float, y: float, words: str, right: float) -> None:
    """Draw today's point with its word."""
    board.path(f"M{num(x - 11)} {num(y)}a11 11 0 1 0 22 0a11 11 0 1 0 -22 0", width=4)
    board.dots([(x, y)], size=7, tone="ink")
    is_left = x + 18 + board.wide(words) > right
    board.text(
        x - 17 if is_left else x + 17,
        y,
        words,
        anchor="end" if is_left else "start",
        is_bold=True,
        has_ground=True,
    )
