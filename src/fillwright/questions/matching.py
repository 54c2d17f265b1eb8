"""The question whether product, dose, container and machine suit, and with which parts."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Figures, Given, Real, Text, Values
from fillwright.questions.machines import ProductGiven, curve_of, drive_of, path_of
from fillwright.questions.owned import MOST_PARTS, ContainerGiven, Cubic, MachineGiven, RangesGiven

if TYPE_CHECKING:
    from fillwright.science.match_types import Case, Product, Ranges
    from fillwright.science.seals_material import MaterialLook

__all__ = ["match"]

_FLAMMABLE: Final = (
    "Flammable: no verdict here. Only if the papers of machine and place allow it; earthed, "
    "aired, and no tablet, phone or scale in the zone unless certified for it."
)
_CLEANERS: Final = frozenset(
    {
        "acid_cleaner",
        "alkaline_cleaner",
        "hot_water",
        "hydrogen_peroxide",
        "hypochlorite",
        "peracetic_acid",
        "steam",
    }
)
_SEALS: Final = ("EPDM", "FKM", "NBR", "HNBR", "VMQ", "FFKM", "PTFE", "UHMWPE")

_PRODUCT: dict[str, Any] = {
    "model": "newtonian",
    "density_kg_m3": 1400,
    "viscosity_pa_s": 5,
    "surface_tension_n_m": 0.077,
    "temperature_c": 20,
}
_MACHINE: dict[str, Any] = {
    "cylinders": [
        {"name": "100 mL", "volume_m3": 0.0001, "bore_m": 0.036},
        {"name": "500 mL", "volume_m3": 0.0005, "bore_m": 0.05},
    ],
    "nozzles": [
        {"name": "10 mm", "bore_m": 0.008, "outside_m": 0.01},
        {"name": "14 mm", "bore_m": 0.012, "outside_m": 0.014, "cutoff": True},
    ],
    "valves": ["rotary"],
    "seals": ["FKM"],
    "hoppers": [{"name": "30 L", "volume_m3": 0.03, "outlet_bore_m": 0.025}],
    "suction_path": [{"bore_m": 0.025, "length_m": 0.15}, {"bore_m": 0.018, "length_m": 0.06}],
    "discharge_path": [
        {"bore_m": 0.018, "length_m": 0.06},
        {"bore_m": 0.016, "length_m": 0.25},
        {"bore_m": 0.012, "length_m": 0.08},
    ],
    "drive": {
        "air_bore_m": 0.063,
        "rod_m": 0.02,
        "gauge_pa": 600000,
        "supply": {"c_m3_s_pa": 4e-8, "b": 0.3},
        "meter_out": {"c_m3_s_pa": 4e-9, "b": 0.3},
    },
}


class MatchGiven(Given):
    """A product, a dose, a container and a machine."""

    product: ProductGiven = Field(description="What is filled.", examples=[_PRODUCT])
    dose_m3: Cubic = Field(description="Volume of a dose.", examples=[0.00025])
    container: ContainerGiven = Field(
        description="What it is filled into.",
        examples=[{"neck_bore_m": 0.02, "volume_m3": 0.00028}],
    )
    machine: MachineGiven = Field(description="What it is filled with.", examples=[_MACHINE])
    media: Annotated[Values[Text], Field(max_length=MOST_PARTS)] | None = Field(
        default=None,
        description="Every ingredient and cleaner that touches the seals.",
        examples=[["honey", "alkaline_cleaner"]],
    )
    particle_m: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="Largest particle."
    )
    foaming: bool | None = Field(default=None, description="True for a product that foams.")
    flammable: bool | None = Field(
        default=None, description="True where product or vapour can burn."
    )
    claim_percent: Annotated[float, Real(above=0, at_most=100)] | None = Field(
        default=None, description="Repeatability claimed, to either side.", examples=[1]
    )
    ranges: RangesGiven | None = Field(default=None, description="How far the inputs may be off.")


class ReasonShown(Figures):
    """One rule with its figure and the range of it."""

    rule: str
    outcome: Literal["ok", "with-care", "no"]
    because: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    matters_most: str | None


class NearestShown(Figures):
    """The nearest thing that would do."""

    rule: str
    change: str
    to: float | str
    unit: str
    words: str


class ExpectedShown(Figures):
    """A figure to expect at the bench."""

    name: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    matters_most: str | None
    because: str


class MatchAnswer(Answer):
    """The verdict, the parts, and why."""

    verdict: Literal["suits", "suits-with-care", "does-not-suit"]
    cylinder: str | None
    shots: int | None
    share_of_cylinder: float | None
    valve: Literal["rotary", "spool"] | None
    nozzle: str | None
    seals: tuple[str, ...] | None
    hopper: str | None
    reasons: tuple[ReasonShown, ...]
    nearest: tuple[NearestShown, ...]
    expected: tuple[ExpectedShown, ...]
    matters_most: str | None
    not_judged: tuple[str, ...]
    cautions: tuple[str, ...]


def match(given: MatchGiven) -> MatchAnswer:
    """Answer whether product, dose, container and machine suit."""
    from fillwright.science.match import judge_match  # noqa: PLC0415  loaded when asked

    found = judge_match(_case(given))
    told = {"rule", "outcome", "because", "value", "low", "high", "unit", "matters_most"}
    return MatchAnswer(
        verdict=found.verdict.value,
        cylinder=found.cylinder,
        shots=found.shots,
        share_of_cylinder=found.share,
        valve=found.valve,
        nozzle=found.nozzle,
        seals=found.seals,
        hopper=found.hopper,
        reasons=tuple(
            ReasonShown(**{name: one for name, one in asdict(reason).items() if name in told})
            for reason in found.reasons
        ),
        nearest=tuple(NearestShown(**asdict(near)) for near in found.nearest),
        expected=tuple(ExpectedShown(**asdict(one)) for one in found.expected),
        matters_most=found.matters_most,
        not_judged=found.not_judged,
        cautions=(*found.cautions, *((_FLAMMABLE,) if given.flammable else ())),
        because=found.because,
        assumptions=(
            "Ranges of the inputs that were not given are judgement; give your own under ranges.",
            "A hopper without a head is taken as nearly empty.",
            "Air comes out at 20 kPa unless the product says otherwise.",
            "A cleaner is judged at its own temperature, an ingredient at the product's.",
            "Splash and foam are advice; containers vary.",
            "The machine's own manual and local rules go before this answer.",
        ),
        sources=(
            "ISO 6358-1:2013 (from memory)",
            "Metzner and Reed, AIChE J. 1, 434 (1955) (from memory)",
            "Mundo, Sommerfeld and Tropea, Int. J. Multiphase Flow 21, 151 (1995) (from memory)",
            "Maxwell (1875) after Duprez (from memory)",
            "Common compatibility charts, from memory",
            "A tenth to the whole of the stroke; 2 mm in the neck: common practice, no source",
        ),
    )


def _case(given: MatchGiven) -> Case:
    """Return the case of the science."""
    from fillwright.science import match_types as parts  # noqa: PLC0415  loaded when asked

    machine = given.machine
    seals, instead = _seals(given)
    return parts.Case(
        product=_product(given),
        dose=given.dose_m3,
        neck_bore=given.container.neck_bore_m,
        brimful=given.container.volume_m3,
        cylinders=tuple(
            parts.ProductCylinder(name=one.name, volume=one.volume_m3, bore=one.bore_m)
            for one in machine.cylinders
        ),
        nozzles=tuple(
            parts.Nozzle(
                name=one.name, bore=one.bore_m, outside=one.outside_m, cuts_off=bool(one.cutoff)
            )
            for one in machine.nozzles
        ),
        valves=machine.valves,
        hoppers=tuple(
            parts.Hopper(
                name=one.name,
                volume=one.volume_m3,
                outlet_bore=one.outlet_bore_m,
                head=one.head_m or 0.0,
            )
            for one in machine.hoppers or ()
        ),
        suction=path_of(machine.suction_path or ()),
        outward=path_of(machine.discharge_path or ()),
        drive=None if machine.drive is None else drive_of(machine.drive),
        rating=machine.rating_pa,
        seals=seals,
        seals_instead=instead,
        particle=given.particle_m,
        claim=None if given.claim_percent is None else given.claim_percent / 100.0,
        ranges=_ranges(given.ranges),
    )


def _product(given: MatchGiven) -> Product:
    """Return the product of the science."""
    from fillwright.science import match_types as parts  # noqa: PLC0415  loaded when asked

    one = given.product
    more: dict[str, Any] = {}
    if one.release_pressure_pa is not None:
        more["release_pressure"] = one.release_pressure_pa
    return parts.Product(
        curve=curve_of(one),
        density=one.density_kg_m3,
        surface_tension=one.surface_tension_n_m,
        vapour_pressure=one.vapour_pressure_pa or 0.0,
        temperature=one.temperature_c,
        is_foaming=bool(given.foaming),
        **more,
    )


def _ranges(given: RangesGiven | None) -> Ranges:
    """Return how far the inputs may be off."""
    from fillwright.science.match_types import Ranges  # noqa: PLC0415  loaded when asked

    if given is None:
        return Ranges()
    percent = given.dose_percent
    told = {
        "viscosity": given.viscosity_factor,
        "surface_tension": given.surface_tension_factor,
        "release_pressure": given.release_factor,
        "dose": None if percent is None else percent / 100.0,
        "temperature": given.temperature_k,
        "air_pressure": given.air_pa,
        "neck": given.neck_m,
        "handling": given.handling_least_s,
        "handling_most": given.handling_most_s,
    }
    found = Ranges(**{name: one for name, one in told.items() if one is not None})
    if found.handling > found.handling_most:
        raise BadInput(
            f"ranges.handling_least_s is {found.handling:g}, more than the most of "
            f"{found.handling_most:g}.",
            field="ranges.handling_least_s",
            given=found.handling,
            allowed=f"up to {found.handling_most:g}",
            code="inconsistent",
        )
    return found


def _seals(given: MatchGiven) -> tuple[dict[str, MaterialLook], tuple[str, ...]]:
    """Return how the fitted materials stand, and which of the table would do."""
    from fillwright.questions.seal_media import look_of  # noqa: PLC0415  loaded when asked
    from fillwright.science.seals_material import MaterialVerdict  # noqa: PLC0415  loaded when asked

    warm = given.product.temperature_c
    if not given.machine.seals or not given.media or warm is None:
        return {}, ()
    product = [name for name in given.media if name not in _CLEANERS]
    cleaners = [name for name in given.media if name in _CLEANERS]

    def look(name: str) -> MaterialLook:
        seen = [
            look_of(name, (one,), at, is_moving=True, field="machine.seals")
            for some, at in ((product, warm), (cleaners, None))
            for one in some
        ]
        return max(seen, key=lambda one: one.overall)

    looks = {name: look(name) for name in given.machine.seals}
    by_verdict: dict[MaterialVerdict, list[str]] = {}
    for name in _SEALS:
        by_verdict.setdefault(look(name).verdict, []).append(name)
    instead = tuple(by_verdict.get(MaterialVerdict.USE, ()))
    if not instead:
        tried = by_verdict.get(MaterialVerdict.SOAK_TEST, ())
        instead = tuple(f"{name} after a soak test" for name in tried)
    return looks, instead
