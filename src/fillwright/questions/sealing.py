"""Questions of seals: O-ring sizes, glands, materials, gaskets."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Final, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Figures, Given, Real, Text, Values
from fillwright.records.units import m_from_mm, mm_from_m

if TYPE_CHECKING:
    from fillwright.knowledge.seal_types import Ferrule
    from fillwright.science.seals import Fit

__all__ = ["gasket", "gland", "material", "oring"]

CONFIRM: Final = "Confirm with the seal maker for this compound."
_SIZES: Final = (
    "AS568 sizes, shared by BS 1806 and ISO 3601-1: inside diameters by the rule of the series, "
    "some read in open lists; tolerances from memory"
)
_ADVICE: Final = "Limits as seal makers' pages advise; the pages differ, ours are a middle way"
_CHARTS: Final = "Common compatibility charts, from memory"
_FERRULES: Final = "DIN 32676, ISO 2852 and inch tube: see how each figure is held"
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
_BORE_NEAR_MM: Final = 1.0
_OD_NEAR_MM: Final = 1.0


class OringGiven(Given):
    """A size number, or what a calliper read."""

    dash: Text | None = Field(default=None, description="Size number.", examples=["229"])
    id_mm: Size | None = Field(default=None, description="Inside diameter, not stretched.")
    cs_mm: Size | None = Field(default=None, description="Section, mean of three places.")
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
                f"Tolerances added up: ring ±{id_tol_mm:.2f} x ±{cs_tol_mm:.2f} mm, machined sizes "
                f"±{slack:g} mm."
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


class MaterialGiven(Given):
    """A seal and everything that touches it."""

    material: Text = Field(description="Short name of the material.", examples=["EPDM"])
    media: Annotated[Values[Text], Field(min_length=1)] = Field(
        description="Every ingredient listed and every cleaner.",
        examples=[["vegetable_oil", "alkaline_cleaner"]],
    )
    temperature_c: Annotated[float, Real(at_least=-273.15, at_most=1000)] = Field(
        description="Warmest temperature at the seal.", examples=[60]
    )
    moving: bool = Field(description="True for a seal that slides or turns.", examples=[True])


class MaterialAnswer(Answer):
    """Ratings, and what to do."""

    rating: dict[str, int]
    verdict: Literal["use", "soak-test", "do-not-use"]
    notes: tuple[str, ...]
    food_contact: tuple[str, ...]
    confirm_with_maker: Literal[True] = True


def material(given: MaterialGiven) -> MaterialAnswer:
    """Answer with how a seal material stands against recipe and cleaner."""
    from fillwright.knowledge import seal_tables  # noqa: PLC0415  loaded when asked
    from fillwright.science import seals_material  # noqa: PLC0415  loaded when asked

    held = seal_tables.materials()
    kind = held.materials.get(given.material)
    if kind is None:
        raise _not_held("material", given.material, tuple(held.materials))
    for name in given.media:
        if name not in held.media or name == "overall":
            raise _not_held("media", name, tuple(held.media))
    media = [held.media[name] for name in dict.fromkeys(given.media)]
    found = seals_material.judge_material(
        {
            medium.key: seals_material.Rated(
                rating=medium.ratings[kind.key], rated_at=medium.rated_at_c
            )
            for medium in media
        },
        temperature=given.temperature_c,
        coldest=kind.min_c,
        hottest=kind.max_c,
        is_moving=given.moving,
    )
    notes = [f"{kind.key}: {kind.note}."]
    notes += [f"{medium.name}: {medium.note}." for medium in media if medium.note]
    if found.verdict is seals_material.MaterialVerdict.SOAK_TEST:
        notes.append(
            "Soak a spare for 24 h at this temperature; weigh, measure and feel it before and "
            "after. Over 5 % swell in a moving seal means no."
        )
    worst = held.media[found.worst_medium].name
    because = f"{worst} decides: rating {found.overall} of 4 at {given.temperature_c:g} °C."
    if found.is_outside_limits:
        because = (
            f"{kind.key} holds from {kind.min_c:g} to {kind.max_c:g} °C; "
            f"{given.temperature_c:g} °C is outside."
        )
    return MaterialAnswer(
        rating={**found.ratings, "overall": found.overall},
        verdict=found.verdict.value,
        notes=tuple(notes),
        food_contact=held.food_references,
        because=because,
        assumptions=(
            CONFIRM,
            (
                "A mixture is as bad as its worst ingredient listed; what is not listed is not "
                "judged."
            ),
            "Food contact is not judged: keep the certificate of each seal lot.",
        ),
        sources=(_CHARTS,),
    )


def _not_held(field: str, given: str, names: tuple[str, ...]) -> BadInput:
    """Return the error for a name that the tables do not hold."""
    allowed = ", ".join(names)
    message = f"{field}: {given!r} is not in the tables; choose from {allowed}."
    return BadInput(message, field=field, given=given, allowed=allowed, code="choice")


class GasketGiven(Given):
    """A clamp union as measured."""

    bore_mm: Size = Field(description="Bore of the pipe at the union.", examples=[26])
    ferrule_od_mm: Size = Field(description="Outside diameter of the ferrule.", examples=["50.5"])


class FerruleMatch(Figures):
    """A size of ferrule."""

    family: str
    nominal: str
    bore_mm: float
    ferrule_od_mm: float
    bore_source: str
    od_source: str


class GasketAnswer(Answer):
    """Sizes that fit both diameters, and those that would close but step into the flow."""

    matches: tuple[FerruleMatch, ...]
    closes_but_wrong_bore: tuple[FerruleMatch, ...]
    confirm_with_maker: Literal[True] = True


def gasket(given: GasketGiven) -> GasketAnswer:
    """Answer with the clamp gasket by bore and ferrule."""
    from fillwright.knowledge import seal_tables  # noqa: PLC0415  loaded when asked

    closing = [
        ferrule
        for ferrule in seal_tables.ferrules()
        if abs(ferrule.ferrule_od_mm - given.ferrule_od_mm) <= _OD_NEAR_MM
    ]
    right = [f for f in closing if abs(f.bore_mm - given.bore_mm) <= _BORE_NEAR_MM]
    wrong = [f for f in closing if f not in right]
    because = "No ferrule of the tables has this outside diameter; measure again."
    if closing:
        because = (
            f"Fit bore and ferrule: {len(right)}. Close the same clamp with another bore: "
            f"{len(wrong)}."
        )
    return GasketAnswer(
        matches=tuple(_ferrule(f) for f in right),
        closes_but_wrong_bore=tuple(_ferrule(f) for f in wrong),
        because=because,
        assumptions=(
            CONFIRM,
            "Both diameters within 1 mm; a gasket of another bore closes and steps into the flow.",
        ),
        sources=(_FERRULES,),
    )


def _ferrule(ferrule: Ferrule) -> FerruleMatch:
    """Return a ferrule as the answer shows it."""
    return FerruleMatch(**asdict(ferrule))
