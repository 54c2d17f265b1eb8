"""Questions of O-rings: which size one is, and how it sits in its gland."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Figures, Given, Real, Text
from fillwright.records.units import m_from_mm, mm_from_m

if TYPE_CHECKING:
    from fillwright.science.seals import Fit

__all__ = ["CONFIRM", "Size", "gland", "oring"]

CONFIRM: Final = "Confirm with the seal maker for this compound."
_SIZES: Final = (
    "AS568 sizes, shared by BS 1806 and ISO 3601-1: inside diameters by the rule of the series, "
    "some read in open lists; tolerances from memory"
)
_ADVICE: Final = "Limits as seal makers' pages advise; the pages differ, ours are a middle way"
_SD_ID_MM: Final = 0.25
_SD_CS_MM: Final = 0.08
_SHOWN: Final = 3
_MACHINING_MM: Final = 0.05
_SECTION_TOLS: Final = ((2.25, 0.08), (3.15, 0.09), (4.5, 0.10), (6.3, 0.13))
_THICK_TOL_MM: Final = 0.15
"""Of thicker sections; the row above says section up to, and tolerance, in the classes of
ISO 3601-1 as a seller's page prints them. [mm]"""
Size = Annotated[float, Real(above=0, at_most=5000)]
Sd = Annotated[float, Real(above=0, at_most=50)]


class OringGiven(Given):
    """A size number, or what a calliper read."""

    dash: Text | None = Field(default=None, description="Size number, such as 229.")
    id_mm: Size | None = Field(
        default=None, description="Inside diameter, not stretched.", examples=["59.7"]
    )
    cs_mm: Size | None = Field(
        default=None, description="Section, mean of three places.", examples=["3.5"]
    )
    sd_id_mm: Sd | None = Field(
        default=None, description="Sd of the inside diameter measured; 0.25 when left out."
    )
    sd_cs_mm: Sd | None = Field(
        default=None, description="Sd of the section measured; 0.08 when left out."
    )


class OringMatch(Figures):
    """One size that it may be."""

    dash: str
    id_mm: float
    cs_mm: float
    id_tol_mm: float
    cs_tol_mm: float
    od_mm: float
    probability: float


class OringAnswer(Answer):
    """The sizes, likeliest first."""

    matches: tuple[OringMatch, ...]
    sure: bool
    confirm_with_maker: Literal[True] = True


def oring(given: OringGiven) -> OringAnswer:
    """Answer with the O-ring size of a number, or the sizes that a measured ring may be."""
    from fillwright.knowledge import seal_tables  # noqa: PLC0415  loaded when asked
    from fillwright.science import seals  # noqa: PLC0415  loaded when asked

    measured = given.id_mm is not None or given.cs_mm is not None
    if given.dash is not None and measured:
        message = "dash: give the number, or the two measures, not both."
        raise BadInput(message, field="dash", given=given.dash, code="inconsistent")
    if given.dash is not None:
        size = seal_tables.oring(given.dash)
        found = (_match(size.dash, 1.0),)
        return OringAnswer(
            matches=found,
            sure=True,
            because=f"Size {size.dash} is {size.id_mm:g} x {size.cs_mm:g} mm.",
            assumptions=(CONFIRM, f"Inside diameter held: {size.source}; tolerances from memory."),
            sources=(_SIZES,),
        )
    if given.id_mm is None or given.cs_mm is None:
        missing = "id_mm" if given.id_mm is None else "cs_mm"
        message = f"{missing}: give dash, or both id_mm and cs_mm as measured."
        raise BadInput(message, field=missing, allowed="a size in mm", code="missing")
    rings = [
        seals.Ring(
            name=size.dash,
            inside=m_from_mm(size.id_mm),
            section=m_from_mm(size.cs_mm),
            inside_tol=m_from_mm(size.id_tol_mm),
            section_tol=m_from_mm(size.cs_tol_mm),
        )
        for size in seal_tables.orings()
    ]
    ranked = seals.name_ring(
        m_from_mm(given.id_mm),
        m_from_mm(given.cs_mm),
        rings,
        inside_sd=m_from_mm(given.sd_id_mm or _SD_ID_MM),
        section_sd=m_from_mm(given.sd_cs_mm or _SD_CS_MM),
    )
    sure = seals.is_sure(ranked[0])
    best = ranked[0].ring.name
    far = max(abs(ranked[0].z_inside), abs(ranked[0].z_section))
    because = f"Size {best} holds {ranked[0].probability:.0%} among all sizes of the table."
    if not sure:
        because = (
            f"Nearest is {best}, but it is not sure: {far:.1f} sd off, "
            f"{ranked[0].probability:.0%} among all sizes. It may be a metric or worn ring."
        )
    return OringAnswer(
        matches=tuple(_match(match.ring.name, match.probability) for match in ranked[:_SHOWN]),
        sure=sure,
        because=because,
        assumptions=(
            CONFIRM,
            "Every size of the table is equally likely beforehand; metric sizes are not in it.",
            "A used ring swells, shrinks and flattens: measure a good one where there is one.",
        ),
        sources=(_SIZES,),
    )


def _match(dash: str, probability: float) -> OringMatch:
    """Return a size as the answer shows it."""
    from fillwright.knowledge import seal_tables  # noqa: PLC0415  loaded when asked

    size = seal_tables.oring(dash)
    return OringMatch(
        dash=size.dash,
        id_mm=size.id_mm,
        cs_mm=size.cs_mm,
        id_tol_mm=size.id_tol_mm,
        cs_tol_mm=size.cs_tol_mm,
        od_mm=round(size.id_mm + 2 * size.cs_mm, 3),
        probability=probability,
    )


class GlandGiven(Given):
    """A ring and the gland that it sits in."""

    bore_mm: Size = Field(description="Diameter that the ring seals against.", examples=[60])
    groove_mm: Size = Field(
        description="Diameter of the bottom of the groove.", examples=["53.85"]
    )
    width_mm: Size = Field(description="Width of the groove.", examples=["4.7"])
    id_mm: Size = Field(description="Inside diameter of the ring.", examples=["53.57"])
    cs_mm: Size = Field(description="Section of the ring.", examples=["3.53"])
    kind: Literal["moving", "fixed", "face"] = Field(
        description="How the ring works: moving, fixed radial, or face.", examples=["moving"]
    )
    depth_mm: Size | None = Field(
        default=None,
        description="Depth of the groove, for a face; half of bore less groove when left out.",
    )
    machining_tol_mm: Annotated[float, Real(at_least=0, at_most=10)] | None = Field(
        default=None, description="Tolerance of each machined size; 0.05 when left out."
    )


class GlandFigure(Figures):
    """A figure of the gland with nominal sizes."""

    value: float
    verdict: Literal["green", "amber", "red"]


class WorstFigure(Figures):
    """The worse end of a figure over all tolerances, and both ends."""

    value: float
    verdict: Literal["green", "amber", "red"]
    low: float
    high: float


class WorstCase(Figures):
    """The three figures at the ends of the tolerances."""

    squeeze: WorstFigure
    stretch: WorstFigure
    fill: WorstFigure


class GlandAnswer(Answer):
    """How the ring sits."""

    depth_mm: float
    squeeze: GlandFigure
    stretch: GlandFigure
    fill: GlandFigure
    worst_case: WorstCase
    squeeze_stretched: float
    confirm_with_maker: Literal[True] = True


def gland(given: GlandGiven) -> GlandAnswer:
    """Answer with squeeze, stretch and fill of a ring in its gland, and their worst case."""
    from fillwright.science import seals  # noqa: PLC0415  loaded when asked

    id_tol_mm, cs_tol_mm = _tolerances(given.id_mm, given.cs_mm)
    slack = _MACHINING_MM if given.machining_tol_mm is None else given.machining_tol_mm
    found = seals.gland(
        seals.Ring(
            name="",
            inside=m_from_mm(given.id_mm),
            section=m_from_mm(given.cs_mm),
            inside_tol=m_from_mm(id_tol_mm),
            section_tol=m_from_mm(cs_tol_mm),
        ),
        seals.GlandKind(given.kind),
        bore=m_from_mm(given.bore_mm),
        groove=m_from_mm(given.groove_mm),
        width=m_from_mm(given.width_mm),
        machining_tol=m_from_mm(slack),
        depth=None if given.depth_mm is None else m_from_mm(given.depth_mm),
    )
    red = [
        name
        for name, fit in (
            ("squeeze", found.squeeze),
            ("stretch", found.stretch),
            ("fill", found.fill),
        )
        if fit.worst_verdict is seals.Verdict.RED
    ]
    worst = f" At the worst tolerances {' and '.join(red)} would be red." if red else ""
    return GlandAnswer(
        depth_mm=float(f"{mm_from_m(found.depth):.12g}"),
        squeeze=_nominal(found.squeeze),
        stretch=_nominal(found.stretch),
        fill=_nominal(found.fill),
        worst_case=WorstCase(
            squeeze=_worst(found.squeeze),
            stretch=_worst(found.stretch),
            fill=_worst(found.fill),
        ),
        squeeze_stretched=found.squeeze_stretched,
        because=(
            f"Squeeze {found.squeeze.value:.1%} {found.squeeze.verdict.value}, stretch "
            f"{found.stretch.value:.1%} {found.stretch.verdict.value}, fill "
            f"{found.fill.value:.0%} {found.fill.verdict.value}.{worst}"
        ),
        assumptions=(
            CONFIRM,
            (
                f"Tolerances added up: ring ±{id_tol_mm:.2f} x ±{cs_tol_mm:.2f} mm, machined "
                f"sizes ±{slack:g} mm."
            ),
            "Stretching thins the section: squeeze_stretched counts that at constant volume.",
        ),
        sources=(_ADVICE, "Tolerances in the classes of ISO 3601-1, from a seller's page"),
    )


def _tolerances(id_mm: float, cs_mm: float) -> tuple[float, float]:
    """Return the tolerances of a ring: of its table size, else the general ones. [mm]."""
    from fillwright.knowledge import seal_tables  # noqa: PLC0415  loaded when asked

    near = 0.011
    for size in seal_tables.orings():
        if abs(size.id_mm - id_mm) <= near and abs(size.cs_mm - cs_mm) <= near:
            return size.id_tol_mm, size.cs_tol_mm
    section = next((tol for up_to, tol in _SECTION_TOLS if cs_mm <= up_to), _THICK_TOL_MM)
    return 0.009 * id_mm**0.95 + 0.11, section


def _nominal(fit: Fit) -> GlandFigure:
    """Return the nominal figure as the answer shows it."""
    return GlandFigure(value=fit.value, verdict=fit.verdict.value)


def _worst(fit: Fit) -> WorstFigure:
    """Return the worse end as the answer shows it."""
    return WorstFigure(
        value=fit.worst, verdict=fit.worst_verdict.value, low=fit.low, high=fit.high
    )
