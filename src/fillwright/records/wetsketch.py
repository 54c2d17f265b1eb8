"""What the sketch of a machine's wet path shows: its pieces in flow order, by bore."""

from __future__ import annotations

from dataclasses import dataclass

from fillwright.records.entities import Machine, Nozzle

__all__ = ["SketchPiece", "WetSketch", "sketch_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SketchPiece:
    """A piece; `key` is what a question about it is called."""

    key: str
    name: str
    kind: str
    bore_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WetSketch:
    """The wet path from hopper to nozzle, with the air cylinder behind the piston.

    Parameters
    ----------
    suction, outward : tuple of SketchPiece
        In the order of the flow.
    nozzle : SketchPiece
        What the product leaves by.
    cylinder_bore_mm, stroke_mm : float or None
        The product cylinder; None where it was not measured.
    air_bore_mm, rod_mm : float or None
        The air cylinder.
    part : str
        Key of the part in hand; empty for none.
    """

    suction: tuple[SketchPiece, ...]
    outward: tuple[SketchPiece, ...]
    nozzle: SketchPiece
    cylinder_bore_mm: float | None = None
    stroke_mm: float | None = None
    air_bore_mm: float | None = None
    rod_mm: float | None = None
    part: str = ""


def sketch_of(machine: Machine, *, part: str = "", stroke_mm: float | None = None) -> WetSketch:
    """Return the sketch of a machine, with one part in hand.

    Parameters
    ----------
    machine : Machine
        As far as it is described.
    part : str
        Key of the part in hand.
    stroke_mm : float, optional
        Stroke of its largest cylinder.
    """
    bores = [float(one.bore_mm) for one in machine.cylinders if one.bore_mm is not None]
    nozzle = machine.nozzles[_place(part, len(machine.nozzles))]
    return WetSketch(
        suction=_pieces(machine, "suction"),
        outward=_pieces(machine, "outward"),
        nozzle=_nozzle(nozzle),
        cylinder_bore_mm=max(bores, default=None),
        stroke_mm=stroke_mm,
        air_bore_mm=None if machine.air is None else float(machine.air.bore_mm),
        rod_mm=None if machine.air is None else float(machine.air.rod_mm),
        part="nozzle" if part.startswith("nozzle") else part,
    )


def _place(part: str, many: int) -> int:
    """Return which nozzle is in hand, else the last: the widest."""
    what, _, number = part.partition("-")
    return int(number) - 1 if what == "nozzle" and number.isdigit() else many - 1


def _pieces(machine: Machine, side: str) -> tuple[SketchPiece, ...]:
    """Return the pieces of one side."""
    path = machine.suction if side == "suction" else machine.outward
    return tuple(
        SketchPiece(
            key=f"{side}-{place}",
            name=piece.name,
            kind=piece.kind,
            bore_mm=float(piece.bore_mm),
            length_mm=float(piece.length_mm),
        )
        for place, piece in enumerate(path, start=1)
    )


def _nozzle(nozzle: Nozzle) -> SketchPiece:
    """Return the nozzle as a piece."""
    return SketchPiece(
        key="nozzle",
        name="Nozzle",
        kind=nozzle.kind,
        bore_mm=float(nozzle.bore_mm),
        length_mm=float(nozzle.length_mm or 0),
    )
