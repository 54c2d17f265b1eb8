"""O-rings: which size a measured ring is, and how a ring sits in its gland."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, not_negative

__all__ = [
    "Fit",
    "GlandKind",
    "GlandLook",
    "Ring",
    "RingMatch",
    "Verdict",
    "gland",
    "is_sure",
    "name_ring",
]

_SURE: Final = 0.9
_SURE_Z: Final = 3.0
_TOL_IN_SD: Final = 3.0
_THIN: Final = 0.0019
"""Sections below this one may be squeezed more. [m]"""


class Verdict(StrEnum):
    """How a figure stands to what seal pages advise."""

    GREEN = "green"
    AMBER = "amber"
    RED = "red"


class GlandKind(StrEnum):
    """How the ring works."""

    MOVING = "moving"
    FIXED = "fixed"
    FACE = "face"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """One size of O-ring.

    Attributes
    ----------
    name : str
        Size number, or what a profile calls it.
    inside, section : float
        Inside diameter and section, nominal. [m]
    inside_tol, section_tol : float
        Tolerances of making, plus and minus. [m]
    """

    name: str
    inside: float
    section: float
    inside_tol: float
    section_tol: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RingMatch:
    """A size that a measured ring may be.

    Attributes
    ----------
    ring : Ring
        The size.
    probability : float
        Its share among all sizes held. [1]
    z_inside, z_section : float
        How far the two measures are off, in standard deviations. [1]
    """

    ring: Ring
    probability: float
    z_inside: float
    z_section: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """One figure of a gland, nominal and at the ends of the tolerances.

    Attributes
    ----------
    value : float
        With nominal sizes. [1]
    low, high : float
        Ends over all tolerances. [1]
    verdict, worst_verdict : Verdict
        Of the nominal figure, and of the worse end.
    worst : float
        The worse end. [1]
    """

    value: float
    low: float
    high: float
    verdict: Verdict
    worst_verdict: Verdict
    worst: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GlandLook:
    """A ring in its gland.

    Attributes
    ----------
    depth : float
        Depth of the gland. [m]
    squeeze, stretch, fill : Fit
        Squeeze of the section, stretch of the inside diameter, share of the groove filled.
    squeeze_stretched : float
        Squeeze of the section as the stretch thins it, at constant volume. [1]
    """

    depth: float
    squeeze: Fit
    stretch: Fit
    fill: Fit
    squeeze_stretched: float


_Band = tuple[float, float, float, float]
"""Amber from, green from, green to, amber to; outside is red."""
_SQUEEZE: Final[dict[GlandKind, _Band]] = {
    GlandKind.MOVING: (0.06, 0.08, 0.18, 0.22),
    GlandKind.FIXED: (0.10, 0.13, 0.28, 0.32),
    GlandKind.FACE: (0.10, 0.18, 0.30, 0.35),
}
_SQUEEZE_THIN_MOVING: Final[_Band] = (0.06, 0.08, 0.25, 0.28)
_STRETCH: Final[_Band] = (-0.02, 0.0, 0.03, 0.05)
_FILL: Final[_Band] = (0.50, 0.60, 0.85, 0.90)


def name_ring(
    inside: float,
    section: float,
    rings: Sequence[Ring],
    *,
    inside_sd: float,
    section_sd: float,
) -> tuple[RingMatch, ...]:
    """Return the sizes that a measured ring may be, likeliest first.

    Parameters
    ----------
    inside, section : float
        Measured, the ring not stretched. [m]
    rings : sequence of Ring
        Every size that it might be.
    inside_sd, section_sd : float
        Standard deviations of the two measurements. [m]

    Returns
    -------
    tuple of RingMatch
        All sizes, with probabilities that add up to 1.

    Raises
    ------
    BadInput
        If a measure or a standard deviation is not above zero, or there are no sizes.

    Notes
    -----
    Normal likelihood; the tolerance of making counts as three standard deviations, and every
    size is equally likely beforehand (both our own choice).
    """
    above_zero(inside, "id_mm")
    above_zero(section, "cs_mm")
    above_zero(inside_sd, "sd_id_mm")
    above_zero(section_sd, "sd_cs_mm")
    if not rings:
        raise BadInput("rings: no sizes to choose from.", field="rings", code="missing")
    found = []
    for ring in rings:
        z_inside = (ring.inside - inside) / math.hypot(ring.inside_tol / _TOL_IN_SD, inside_sd)
        z_section = (ring.section - section) / math.hypot(
            ring.section_tol / _TOL_IN_SD, section_sd
        )
        found.append((-(z_inside**2 + z_section**2) / 2.0, ring, z_inside, z_section))
    best = max(row[0] for row in found)
    total = math.fsum(math.exp(row[0] - best) for row in found)
    return tuple(
        RingMatch(
            ring=ring,
            probability=math.exp(log - best) / total,
            z_inside=z_inside,
            z_section=z_section,
        )
        for log, ring, z_inside, z_section in sorted(found, key=lambda row: -row[0])
    )


def is_sure(match: RingMatch) -> bool:
    """Say whether a size can be named without doubt.

    Parameters
    ----------
    match : RingMatch
        The likeliest size.

    Returns
    -------
    bool
        True where it holds over nine tenths and neither measure is three sd off.
    """
    near = abs(match.z_inside) < _SURE_Z and abs(match.z_section) < _SURE_Z
    return match.probability > _SURE and near


def gland(
    ring: Ring,
    kind: GlandKind,
    *,
    bore: float,
    groove: float,
    width: float,
    machining_tol: float = 0.0,
    depth: float | None = None,
) -> GlandLook:
    """Return how a ring sits in a gland, nominal and in the worst case.

    Parameters
    ----------
    ring : Ring
        The ring.
    kind : GlandKind
        Moving, fixed radial, or face.
    bore : float
        Diameter that the ring seals against. [m]
    groove : float
        Diameter of the bottom of the groove. [m]
    width : float
        Width of the groove. [m]
    machining_tol : float
        Tolerance of each machined size, plus and minus. [m]
    depth : float, optional
        Depth of the groove, where it is not half of bore less groove. [m]

    Returns
    -------
    GlandLook
        Depth, squeeze, stretch and fill.

    Raises
    ------
    BadInput
        If the bore is not larger than the groove, or a size is not above zero.

    Notes
    -----
    Limits as seal makers' pages print them (squeeze and fill differ between pages; these
    limits are a middle way). Extreme tolerances are added up, not combined by chance.
    """
    for value, field in ((bore, "bore_mm"), (groove, "groove_mm"), (width, "width_mm")):
        above_zero(value, field)
    above_zero(ring.inside, "id_mm")
    above_zero(ring.section, "cs_mm")
    not_negative(machining_tol, "machining_tol_mm")
    if depth is None and bore <= groove:
        message = "bore_mm must be larger than groove_mm: the ring lies between the two."
        raise BadInput(message, field="bore_mm", given=bore * 1e3, code="inconsistent")
    deep = (bore - groove) / 2.0 if depth is None else above_zero(depth, "depth_mm")
    slack = machining_tol
    shallow, widest = deep - slack, deep + slack
    thin, thick = ring.section - ring.section_tol, ring.section + ring.section_tol
    small, large = ring.inside - ring.inside_tol, ring.inside + ring.inside_tol
    if min(shallow, thin, small, width - slack, groove - slack) <= 0:
        message = "The tolerances are larger than the sizes: check the units."
        raise BadInput(message, field="machining_tol_mm", given=slack * 1e3, code="inconsistent")
    thinned = ring.section * math.sqrt((ring.inside + ring.section) / (groove + ring.section))
    is_thin = kind is GlandKind.MOVING and ring.section < _THIN
    band = _SQUEEZE_THIN_MOVING if is_thin else _SQUEEZE[kind]
    return GlandLook(
        depth=deep,
        squeeze=_fit(1.0 - deep / ring.section, 1.0 - widest / thin, 1.0 - shallow / thick, band),
        stretch=_fit(
            groove / ring.inside - 1.0,
            (groove - slack) / large - 1.0,
            (groove + slack) / small - 1.0,
            _STRETCH,
        ),
        fill=_fit(
            _area(ring.section) / (deep * width),
            _area(thin) / (widest * (width + slack)),
            _area(thick) / (shallow * (width - slack)),
            _FILL,
        ),
        squeeze_stretched=1.0 - deep / thinned,
    )


def _area(section: float) -> float:
    """Return the area of a round section. [m²]."""
    return math.pi / 4.0 * section**2


def _fit(value: float, low: float, high: float, band: _Band) -> Fit:
    """Judge a figure and its two ends."""
    rank = (Verdict.GREEN, Verdict.AMBER, Verdict.RED)
    ends = (low, high)
    worst = max(
        ends, key=lambda end: (rank.index(_judge(end, band)), abs(end - (band[1] + band[2]) / 2))
    )
    return Fit(
        value=value,
        low=low,
        high=high,
        verdict=_judge(value, band),
        worst_verdict=_judge(worst, band),
        worst=worst,
    )


def _judge(value: float, band: _Band) -> Verdict:
    """Return the colour of a figure; the limits themselves belong to the better side."""
    edge = 1e-9
    if band[1] - edge <= value <= band[2] + edge:
        return Verdict.GREEN
    return Verdict.AMBER if band[0] - edge <= value <= band[3] + edge else Verdict.RED
