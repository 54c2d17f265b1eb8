"""A product as it is described on its form: what it runs like, or what was measured of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final, cast

from fillwright.errors import BadInput
from fillwright.jobs.match.product_figures import (
    ask_about_units,
    must_be_density,
    weighed_density,
)
from fillwright.knowledge.product_presets import product_presets
from fillwright.knowledge.seal_tables import materials
from fillwright.records.entities import Product, RunsLike
from fillwright.records.product_parts import (
    CupTime,
    DensityWeighed,
    FlowReading,
    FlowWay,
    ProductFlow,
    ViscosityPoint,
)
from fillwright.science.flow_cup import CUPS
from fillwright.web.forms import choice, figure, figure_or_none, given, is_ticked, text
from fillwright.web.visit import Form

__all__ = [
    "MEDIA",
    "POINTS",
    "READINGS",
    "choices_of_product",
    "form_of_product",
    "new_product",
    "with_measured",
]

POINTS: Final = 4
"""Rows for viscosities at temperatures."""
READINGS: Final = 6
"""Rows for viscometer readings."""
MEDIA: Final = 3
"""Rows for what is in it."""
_WAYS: Final[dict[str, str]] = {
    "": "as above",
    "points": "viscosities from a data sheet",
    "readings": "readings of a viscometer",
    "cup": "time of a flow cup",
}
_MEASURED: Final = (
    "flow_way", "tension", "units_sure", "readings_c", "cup", "cup_s", "cup_c", "particle_mm",
    *(f"point_{end}_{place}" for place in range(1, POINTS + 1) for end in "cv"),
    *(f"{end}_{place}" for place in range(1, READINGS + 1) for end in ("rate", "read_v")),
    *(f"media_{place}" for place in range(1, MEDIA + 1)),
)  # fmt: skip
_DENSITY_STEP: Final = Decimal("0.0001")
_OTHER_CUP: Final = "another cup"
_USUAL_C: Final = Decimal(20)


def new_product(form: Form) -> Product:
    """Return a product that is described.

    Raises
    ------
    BadInput
        If a field is missing or cannot be.
    """
    presets = product_presets()
    key = choice(form, "runs_like", "what it runs like", tuple(presets))
    density, weighed = _density(form)
    return Product(
        name=text(form, "product_name", "The product's name"),
        density_g_per_ml=density,
        density_c=figure_or_none(form, "density_c", "Its temperature") or _USUAL_C,
        product_c=figure_or_none(form, "product_c", "The temperature at the nozzle") or _USUAL_C,
        is_apparent=is_ticked(form, "is_apparent") and weighed is None,
        runs_like=RunsLike(presets[key].runs_like),
        is_flammable=is_ticked(form, "is_flammable"),
        notes=given(form, "product_notes"),
        flow=ProductFlow(preset=key),
        weighed=weighed,
    )


def with_measured(form: Form, product: Product) -> Product:
    """Return a product with what was measured of it; what was left empty stays as it is.

    Raises
    ------
    BadInput
        If a field cannot be, or a viscosity looks like another unit and was not confirmed.
    """
    way = given(form, "flow_way")
    if way not in _WAYS:
        message = "Choose how its thickness is known from the list."
        raise BadInput(message, field="flow_way", given=way[:40], code="choice")
    old = product.flow or ProductFlow()
    flow = old if not way else _flow(form, cast("FlowWay", way), old)
    if "tension" in form:
        tension = figure_or_none(form, "tension", "Surface tension", above=0)
        flow = replace(flow, tension_mn_per_m=tension)
    question = ask_about_units(flow) if way else ""
    if question and not is_ticked(form, "units_sure"):
        message = f"{question} Type it in mPa s, or tick that it is as typed."
        raise BadInput(
            message,
            field="units_sure",
            given=question.partition(" ")[0],
            allowed="mPa s",
            code="unit",
        )
    found = product if flow == ProductFlow() else replace(product, flow=flow)
    if "media_1" in form:
        found = replace(found, media=_media(form))
    if "particle_mm" in form:
        size = figure_or_none(form, "particle_mm", "The largest piece", above=0)
        found = replace(found, particle_mm=size)
    return found


def form_of_product(product: Product) -> dict[str, str]:
    """Return the fields of what was measured of a product, filled in."""
    flow = product.flow
    shown = {f"media_{place}": name for place, name in enumerate(product.media[:MEDIA], start=1)}
    shown["particle_mm"] = "" if product.particle_mm is None else f"{product.particle_mm:f}"
    if flow is None:
        return shown
    shown["flow_way"] = "" if flow.way == "like" else flow.way
    shown["tension"] = "" if flow.tension_mn_per_m is None else f"{flow.tension_mn_per_m:f}"
    for place, point in enumerate(flow.points, start=1):
        shown[f"point_c_{place}"] = f"{point.at_c:f}"
        shown[f"point_v_{place}"] = f"{point.viscosity_mpa_s:f}"
    for place, reading in enumerate(flow.readings, start=1):
        shown[f"rate_{place}"] = f"{reading.rate_per_s:f}"
        shown[f"read_v_{place}"] = f"{reading.viscosity_mpa_s:f}"
    if flow.readings_c is not None:
        shown["readings_c"] = f"{flow.readings_c:f}"
    if flow.cup is not None:
        shown |= {
            "cup": flow.cup.orifice,
            "cup_s": f"{flow.cup.time_s:f}",
            "cup_c": f"{flow.cup.at_c:f}",
        }
    if ask_about_units(flow):
        shown["units_sure"] = "yes"
    return shown


def choices_of_product() -> Mapping[str, object]:
    """Return the lists that the form picks from."""
    return {
        "presets": [
            (one.key, f"{one.name}: {one.says}") for one in product_presets().values()
        ],
        "ways": list(_WAYS.items()),
        "cups": [("", "choose"), *((cup, f"ISO 2431, {cup}") for cup in CUPS),
                 (_OTHER_CUP, _OTHER_CUP)],
        "media": [("", "nothing more")]
        + [(one.key, one.name) for one in materials().media.values() if one.key != "overall"],
        "points": range(1, POINTS + 1),
        "readings": range(1, READINGS + 1),
        "media_rows": range(1, MEDIA + 1),
        "measured": _MEASURED,
    }  # fmt: skip


def _density(form: Form) -> tuple[Decimal, DensityWeighed | None]:
    """Return the density as typed, or as weighed with a known volume."""
    if not given(form, "weighed_ml") and not given(form, "weighed_g"):
        typed = figure(form, "density_g_per_ml", "Density", above=0)
        must_be_density(typed)
        return typed, None
    volume = figure(form, "weighed_ml", "The volume that was weighed", above=0)
    net = figure(form, "weighed_g", "What it weighed", above=0)
    found = weighed_density(volume, net)
    return found.density_g_per_ml.quantize(_DENSITY_STEP), found.weighed


def _flow(form: Form, way: FlowWay, old: ProductFlow) -> ProductFlow:
    """Return how a product flows, by the way that was picked."""
    if way == "points":
        pairs = _pairs(form, "point_c_", "point_v_", POINTS, "A temperature", least=Decimal(-40))
        points = tuple(ViscosityPoint(at_c=a, viscosity_mpa_s=v) for a, v in pairs)
        return replace(old, way=way, points=points, readings=(), cup=None)
    if way == "readings":
        pairs = _pairs(form, "rate_", "read_v_", READINGS, "A shear rate", least=None)
        readings = tuple(FlowReading(rate_per_s=a, viscosity_mpa_s=v) for a, v in pairs)
        at = figure_or_none(form, "readings_c", "The temperature of the readings")
        return replace(old, way=way, readings=readings, readings_c=at, points=(), cup=None)
    orifice = given(form, "cup")
    if orifice not in CUPS:
        message = (
            "No published conversion is held for that cup. Read a rotational viscometer at two "
            "speeds or more, or take a cup of ISO 2431."
        )
        raise BadInput(message, field="cup", given=orifice, allowed=", ".join(CUPS), code="choice")
    cup = CupTime(
        orifice=orifice,
        time_s=figure(form, "cup_s", "The time of the cup", least=30, most=100),
        at_c=figure_or_none(form, "cup_c", "The temperature of the cup") or _USUAL_C,
    )
    return replace(old, way=way, cup=cup, points=(), readings=())


def _pairs(
    form: Form, first: str, second: str, rows: int, name: str, *, least: Decimal | None
) -> list[tuple[Decimal, Decimal]]:
    """Return the pairs that were typed; half a pair is asked for, and one pair is needed."""
    found = []
    for place in range(1, rows + 1):
        one, other = f"{first}{place}", f"{second}{place}"
        if not given(form, one) and not given(form, other):
            continue
        above = 0 if least is None else None
        at = figure(form, one, f"{name} of row {place}", least=least, above=above)
        found.append((at, figure(form, other, f"The viscosity of row {place}", above=0)))
    if not found:
        message = "Type at least one row: where it was measured, and how thick it was."
        raise BadInput(message, field=f"{second}1", allowed="a row", code="missing")
    return found


def _media(form: Form) -> tuple[str, ...]:
    """Return what is in the product, by the short names of the table of materials."""
    known = materials().media
    picked = [given(form, f"media_{place}") for place in range(1, MEDIA + 1)]
    for place, name in enumerate(picked, start=1):
        if name and (name not in known or name == "overall"):
            message = "Choose what is in it from the list."
            raise BadInput(message, field=f"media_{place}", given=name[:40], code="choice")
    return tuple(dict.fromkeys(name for name in picked if name))
