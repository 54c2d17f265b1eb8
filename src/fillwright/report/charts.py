"""Charts of the bench: drawn as SVG, told in a sentence, shown as a table.

One definition a chart (`fillwright.records.charts`); the same drawing goes into the page and
into the PDF. In the page, draw a wide and a narrow one, so that letters never shrink.
"""

from __future__ import annotations

from typing import Final

from fillwright.records.charts import (
    Chart,
    CylinderLanes,
    DoseChart,
    LotChart,
    ProbabilityPlot,
    ProofChart,
    RankedBars,
    VolumeScale,
    Wheel,
)
from fillwright.records.flowplot import FlowPlot
from fillwright.records.mapplot import NozzleMap, RechargeMap
from fillwright.records.wetsketch import WetSketch
from fillwright.report.dose_chart import draw_doses
from fillwright.report.flowplot import draw_flow
from fillwright.report.heaps import draw_lot, draw_proof
from fillwright.report.mapplot import draw_nozzle_map, draw_recharge_map
from fillwright.report.marks import MARKS, mark
from fillwright.report.probability import draw_bars, draw_probability
from fillwright.report.telling import Table, describe, table
from fillwright.report.turning import draw_lanes, draw_scale, draw_wheel
from fillwright.report.wetsketch import draw_sketch

__all__ = [
    "MARKS",
    "NARROW",
    "WIDE",
    "Chart",
    "CylinderLanes",
    "DoseChart",
    "LotChart",
    "ProbabilityPlot",
    "ProofChart",
    "RankedBars",
    "Table",
    "VolumeScale",
    "Wheel",
    "describe",
    "draw",
    "mark",
    "table",
]

WIDE: Final = 1000
NARROW: Final = 360
_PRINT_WIDE: Final = 720
_PAGE_SIZE: Final = 17.0
_PRINT_SIZE: Final = 14.0


def draw(spec: Chart, *, for_print: bool, width_px: int | None = None) -> str:
    """Return a chart as SVG.

    Parameters
    ----------
    spec : Chart
        What it shows.
    for_print : bool
        True for literal black on white and the shipped letters, False for the colours of the
        page's style sheet.
    width_px : int, optional
        Width to draw for: ``WIDE`` (the default in the page), ``NARROW`` for a phone, or
        another. The volume scale and the wheel have one size.

    Returns
    -------
    str
        One ``svg`` element with its accessible name, without styles or scripts; for the page,
        parts that stay the same from dose to dose have an id.
    """
    size = _PRINT_SIZE if for_print else _PAGE_SIZE
    width = float(width_px or (_PRINT_WIDE if for_print else WIDE))
    name = describe(spec)
    match spec:
        case DoseChart():
            return draw_doses(spec, for_print=for_print, width=width, size=size, name=name)
        case ProofChart():
            return draw_proof(spec, for_print=for_print, width=width, size=size, name=name)
        case ProbabilityPlot():
            return draw_probability(spec, for_print=for_print, width=width, size=size, name=name)
        case RankedBars():
            return draw_bars(spec, for_print=for_print, width=width, size=size, name=name)
        case LotChart():
            return draw_lot(spec, for_print=for_print, width=width, size=size, name=name)
        case CylinderLanes():
            return draw_lanes(spec, for_print=for_print, width=width, size=size, name=name)
        case WetSketch() | RechargeMap() | NozzleMap() | FlowPlot():
            return _draw_machine(spec, for_print=for_print, width=width, size=size, name=name)
        case VolumeScale():
            return draw_scale(spec, for_print=for_print, size=20.0, name=name)
        case Wheel():
            return draw_wheel(spec, for_print=for_print, name=name)


def _draw_machine(
    spec: WetSketch | RechargeMap | NozzleMap | FlowPlot,
    *,
    for_print: bool,
    width: float,
    size: float,
    name: str,
) -> str:
    """Return a picture of the machine itself, or of what it does with a product."""
    match spec:
        case WetSketch():
            return draw_sketch(spec, for_print=for_print, width=width, size=size, name=name)
        case RechargeMap():
            return draw_recharge_map(spec, for_print=for_print, width=width, size=size, name=name)
        case NozzleMap():
            return draw_nozzle_map(spec, for_print=for_print, width=width, size=size, name=name)
        case FlowPlot():
            return draw_flow(spec, for_print=for_print, width=width, size=size, name=name)
