"""Questions of seals: materials against recipe and cleaner, gaskets by bore and ferrule."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Final, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Figures, Given, Real, Text, Values
from fillwright.questions.sealing import CONFIRM, Size

if TYPE_CHECKING:
    from fillwright.knowledge.seal_types import Ferrule
    from fillwright.science.seals_material import MaterialLook

__all__ = ["gasket", "look_of", "material"]

_CHARTS: Final = "Common compatibility charts, from memory"
_FERRULES: Final = "DIN 32676, ISO 2852 and inch tube: see how each figure is held"
_BORE_NEAR_MM: Final = 1.0
_OD_NEAR_MM: Final = 1.0


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
    found = look_of(given.material, given.media, given.temperature_c, is_moving=given.moving)
    kind = held.materials[given.material]
    media = [held.media[name] for name in dict.fromkeys(given.media)]
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


def look_of(
    name: str,
    media: tuple[str, ...],
    temperature_c: float | None,
    *,
    is_moving: bool,
    field: str = "material",
) -> MaterialLook:
    """Return how a material of the tables stands against media.

    Parameters
    ----------
    name : str
        Short name of the material.
    media : tuple of str
        Short names of every ingredient and cleaner.
    temperature_c : float, optional
        Warmest temperature at the seal; that of the first medium's rating when left out.
    is_moving : bool
        True for a seal that slides or turns.
    field : str
        Name of the field that the material was given in.

    Returns
    -------
    MaterialLook
        The worst medium decides.

    Raises
    ------
    BadInput
        If the tables do not hold a name.
    """
    from fillwright.knowledge import seal_tables  # noqa: PLC0415  loaded when asked
    from fillwright.science import seals_material  # noqa: PLC0415  loaded when asked

    held = seal_tables.materials()
    kind = held.materials.get(name)
    if kind is None:
        raise _not_held(field, name, tuple(held.materials))
    for one in media:
        if one not in held.media or one == "overall":
            raise _not_held("media", one, tuple(held.media))
    return seals_material.judge_material(
        {
            one: seals_material.Rated(
                rating=held.media[one].ratings[name], rated_at=held.media[one].rated_at_c
            )
            for one in dict.fromkeys(media)
        },
        temperature=held.media[media[0]].rated_at_c if temperature_c is None else temperature_c,
        coldest=kind.min_c,
        hottest=kind.max_c,
        is_moving=is_moving,
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
