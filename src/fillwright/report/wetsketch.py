"""Draws the wet path of a machine from its pieces: suction above, outward below, air beside.

Bores are to one scale, lengths only hint: what matters is where the way narrows.
"""

from __future__ import annotations

import math
from typing import Final

from fillwright.records.wetsketch import SketchPiece, WetSketch
from fillwright.report.svg import Board, Tone, chamfered, num

__all__ = ["draw_sketch", "sketch_rows", "sketch_words"]

_ROW: Final = 142.0
_WIDEST: Final = 84.0
_WIDEST_BORE: Final = 62.0
_ENDS: Final = 62.0
_LEAST: Final = 30.0
_LEAST_BORE: Final = 7.0


def draw_sketch(spec: WetSketch, *, for_print: bool, width: float, size: float, name: str) -> str:
    """Return the sketch."""
    board = Board(width, 3.0 * _ROW + 8.0, for_print, size)
    scale = _WIDEST_BORE / max(_bores(spec))
    _row(board, spec, 0, "from the hopper", spec.suction, scale)
    _row(board, spec, 1, "to the nozzle", (*spec.outward, spec.nozzle), scale)
    _pistons(board, spec)
    return board.finish(name, "wet-sketch")


def sketch_words(spec: WetSketch) -> str:
    """Return what the sketch shows, in a sentence."""

    def way(pieces: tuple[SketchPiece, ...]) -> str:
        return ", ".join(f"{piece.name} {piece.bore_mm:g} mm" for piece in pieces)

    return (
        f"Wet path. From the hopper: {way(spec.suction)}. To the nozzle: "
        f"{way((*spec.outward, spec.nozzle))}."
    )


def sketch_rows(spec: WetSketch) -> tuple[tuple[str, ...], ...]:
    """Return the pieces as rows: name, what it is, bore and length."""
    return tuple(
        (piece.name, piece.kind, f"{piece.bore_mm:g} mm", f"{piece.length_mm:g} mm")
        for piece in (*spec.suction, *spec.outward, spec.nozzle)
    )


def _bores(spec: WetSketch) -> list[float]:
    """Return every bore of the path."""
    return [piece.bore_mm for piece in (*spec.suction, *spec.outward, spec.nozzle)]


def _row(
    board: Board,
    spec: WetSketch,
    row: int,
    title: str,
    pieces: tuple[SketchPiece, ...],
    scale: float,
) -> None:
    """Draw one side of the path, left to right."""
    top = row * _ROW
    middle = top + 28.0 + _WIDEST / 2.0
    board.text(0, top + board.size * 0.6, title, tone="ink_2")
    lengths = [math.sqrt(piece.length_mm + 1.0) for piece in pieces]
    room = board.width - _ENDS - 4.0
    spare = max(room - _LEAST * len(pieces), 0.0)
    left = _ENDS if row == 0 else _ENDS / 2.0 + 6.0
    if row == 0:
        _hopper(board, spec, middle, pieces[0].bore_mm * scale)
    else:
        _cylinder_end(board, spec, middle, at_start=True)
    for piece, length in zip(pieces, lengths, strict=True):
        long = _LEAST + spare * length / sum(lengths) * 0.82
        high = max(piece.bore_mm * scale, _LEAST_BORE)
        is_here = piece.key == spec.part or (
            spec.part == "valve" and piece.kind.startswith("valve")
        )
        tone: Tone = "hand" if is_here else "ink"
        box = chamfered(left, middle - high / 2.0, long, high, 0)
        board.path(
            box, stroke=tone, fill="hand_tint" if is_here else "sunk", width=4 if is_here else 2
        )
        _kind(board, piece, left, long, middle, tone)
        words = f"{piece.bore_mm:g}"
        if board.wide(words) <= long + 8.0:
            board.text(
                left + long / 2.0,
                top + 28.0 + _WIDEST + board.size * 0.75,
                words,
                tone="hand" if is_here else "ink",
                anchor="middle",
                is_bold=is_here,
            )
        left += long
    if row == 0:
        _cylinder_end(board, spec, middle, at_start=False, left=left)
    else:
        _drop(board, left + 6.0, middle)


def _kind(
    board: Board, piece: SketchPiece, left: float, long: float, middle: float, tone: Tone
) -> None:
    """Draw the sign of a bend or valve inside its piece."""
    at = left + long / 2.0
    if piece.kind.startswith("valve"):
        board.path(f"M{num(at - 9)} {num(middle)}a9 9 0 1 0 18 0a9 9 0 1 0 -18 0", stroke=tone)
        data = f"M{num(at - 9)} {num(middle)}h18"
        if piece.kind == "valve turning":
            data = f"M{num(at - 9)} {num(middle)}h9v9"
        board.path(data, stroke=tone, width=3)
    elif "bend" in piece.kind or piece.kind == "tee":
        board.path(f"M{num(at - 9)} {num(middle + 5)}q14 0 14 -12", stroke=tone, width=3)


def _hopper(board: Board, spec: WetSketch, middle: float, outlet: float) -> None:
    """Draw the hopper lying on its side, so that the flow goes on to the right."""
    tone: Tone = "hand" if spec.part == "hopper" else "ink"
    fill: Tone = "hand_tint" if spec.part == "hopper" else "sunk"
    wide = _WIDEST / 2.0
    board.path(
        f"M2 {num(middle - wide)}H20L{num(_ENDS)} {num(middle - outlet / 2)}"
        f"V{num(middle + outlet / 2)}L20 {num(middle + wide)}H2Z",
        stroke=tone,
        fill=fill,
        width=4 if spec.part == "hopper" else 2,
    )


def _cylinder_end(
    board: Board, spec: WetSketch, middle: float, *, at_start: bool, left: float = 0.0
) -> None:
    """Draw where the cylinder begins or ends a side."""
    tone: Tone = "hand" if spec.part == "cylinder" else "ink"
    wide = _WIDEST / 2.0
    edge = 4.0 if spec.part == "cylinder" else 2.0
    if at_start:
        right = _ENDS / 2.0 + 6.0
        data = f"M2 {num(middle - wide)}H{num(right)}V{num(middle + wide)}H2"
    else:
        data = f"M{num(board.width - 2)} {num(middle - wide)}H{num(left)}V{num(middle + wide)}"
        data += f"H{num(board.width - 2)}"
    board.path(data, stroke=tone, fill="steel", width=edge)


def _drop(board: Board, x: float, middle: float) -> None:
    """Draw the product that leaves."""
    board.path(f"M{num(x)} {num(middle)}q9 -5 16 0t16 0", stroke="wait", width=3)


def _pistons(board: Board, spec: WetSketch) -> None:
    """Draw product piston, rod and air cylinder to one scale."""
    if spec.cylinder_bore_mm is None or spec.air_bore_mm is None or spec.rod_mm is None:
        return
    top = 2.0 * _ROW
    board.text(0, top + board.size * 0.6, "piston, rod, air cylinder", tone="ink_2")
    middle = top + 28.0 + _WIDEST / 2.0
    scale = _WIDEST / max(spec.cylinder_bore_mm, spec.air_bore_mm)
    half = (board.width - 8.0) / 2.0
    product: Tone = "hand" if spec.part == "cylinder" else "ink"
    air: Tone = "hand" if spec.part == "air" else "ink"
    long = half - 30.0
    high = spec.cylinder_bore_mm * scale
    board.path(
        chamfered(4, middle - high / 2, long, high, 0),
        stroke=product,
        fill="sunk",
        width=4 if spec.part == "cylinder" else 2,
    )
    tall = spec.air_bore_mm * scale
    start = half + 26.0
    board.path(
        chamfered(start, middle - tall / 2, long, tall, 0),
        stroke=air,
        fill="steel",
        width=4 if spec.part == "air" else 2,
    )
    rod = max(spec.rod_mm * scale, 3.0)
    at = 4 + long * 0.62
    board.path(
        chamfered(at, middle - rod / 2, start + long * 0.5 - at, rod, 0),
        stroke=air,
        fill="sheet",
    )
    board.path(chamfered(at - 9, middle - high / 2, 9, high, 0), stroke=product, fill="steel")
    board.path(
        chamfered(start + long * 0.5, middle - tall / 2, 9, tall, 0), stroke=air, fill="sunk"
    )
    foot = middle + _WIDEST / 2.0 + board.size * 0.75
    board.text(4, foot, f"{spec.cylinder_bore_mm:g}", tone=product)
    board.text(start, foot, f"{spec.air_bore_mm:g}, rod {spec.rod_mm:g}", tone=air)
