"""Which parts suit: cylinder, container, nozzle, particles, valve, seals.

Thresholds are common practice or judgement, as each rule says; none of them needs a flow.
"""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from fillwright.science.cutoff import holding, yield_holds
from fillwright.science.match_lanes import Rows, graded, ranged
from fillwright.science.match_types import (
    Case,
    MatchOutcome,
    Nearest,
    Nozzle,
    ProductCylinder,
    Reason,
)
from fillwright.science.match_words import figured
from fillwright.science.rate import LEAST_SHARE, Shots, shots_for
from fillwright.science.seals_material import MaterialVerdict
from fillwright.science.stroke import GRAVITY

__all__ = [
    "NECK_ROOM",
    "container_rule",
    "cylinder_rule",
    "fits_rule",
    "holds_rule",
    "particle_rule",
    "seal_rule",
    "take_cylinder",
    "take_nozzle",
    "take_valve",
    "valve_rule",
]

NECK_ROOM: Final = 0.002
_MIDDLE: Final = (0.3, 0.9)
_COARSE: Final = 0.2
_BRIM, _BRIM_FOAM, _BRIM_MOST = 0.95, 0.85, 1.0
_SURE: Final = 0.6
_PARTICLES: Final = 3.0
_ROTARY_TO, _CARE_TO = 60.0, 65.0
_TINY: Final = 1e-9
_NO_YIELD: Final = 1e-12

OK, CARE, NO = MatchOutcome.OK, MatchOutcome.WITH_CARE, MatchOutcome.NO


def take_cylinder(case: Case) -> tuple[ProductCylinder, Shots] | None:
    """Return the cylinder to take with its shots, or None where none does.

    Fewest shots; among those the smallest that stands at 30 to 90 % of its stroke, else the
    smallest. Common practice, no source.
    """
    found = [
        (one, shots)
        for one in case.cylinders
        for shots in (shots_for(case.dose, cylinder=one.volume),)
        if shots.count is not None
    ]
    if not found:
        return None
    fewest = min(shots.count or 1 for _, shots in found)
    few = [pair for pair in found if pair[1].count == fewest]
    middle = [pair for pair in few if _MIDDLE[0] <= (pair[1].share or 0.0) <= _MIDDLE[1]]
    return min(middle or few, key=lambda pair: pair[0].volume)


def cylinder_rule(
    case: Case, rows: Rows, taken: tuple[ProductCylinder, Shots] | None
) -> tuple[Reason, tuple[Nearest, ...]]:
    """Hold the dose against the cylinder: a tenth to the whole of its stroke."""
    least, most = case.dose, case.dose / LEAST_SHARE
    nearest = Nearest(
        rule="cylinder",
        change="cylinder volume",
        to=f"{figured(1e6 * least, 4)} to {figured(1e6 * most, 4)} mL",
        words=f"A cylinder of {figured(1e6 * least, 4)} to {figured(1e6 * most, 4)} mL would do.",
    )
    if taken is None:
        smallest = min(one.volume for one in case.cylinders)
        share = ranged(rows.dose / smallest)
        words = (
            f"The dose is under a tenth of the smallest cylinder, {figured(1e6 * smallest, 4)} mL."
        )
        told = graded("cylinder", share, lambda _: NO, {NO: words}, limits=(), unit="1")
        return told, (nearest,)
    cylinder, shots = taken
    count = shots.count or 1
    times = "one shot" if count == 1 else f"{count} shots"
    share = ranged(rows.dose / count / cylinder.volume)

    def rank(one: float) -> MatchOutcome:
        if one > 1.0 + _TINY or one < LEAST_SHARE - _TINY:
            return NO
        return CARE if one < _COARSE else OK

    percent = f"{figured(100.0 * share.value)} % of its stroke in {times}"
    told = graded(
        "cylinder",
        share,
        rank,
        {
            OK: f"{cylinder.name}: {percent}.",
            CARE: f"{cylinder.name}: {percent}, a coarse setting.",
            NO: f"{cylinder.name}: {percent}.",
        },
        limits=(LEAST_SHARE, _COARSE, 1.0),
        unit="1",
    )
    return told, () if told.outcome is OK else (nearest,)


def container_rule(case: Case, rows: Rows) -> tuple[Reason, tuple[Nearest, ...]] | None:
    """Hold the dose against the brim: 95 % of it, 85 % where it foams (judgement)."""
    if case.brimful is None:
        return None
    limit = _BRIM_FOAM if case.product.is_foaming else _BRIM
    most = _BRIM if case.product.is_foaming else _BRIM_MOST
    share = ranged(rows.dose / case.brimful)
    says = f"The dose is {figured(100.0 * share.value)} % of the brim"

    def rank(one: float) -> MatchOutcome:
        return OK if one <= limit + _TINY else CARE if one <= most + _TINY else NO

    told = graded(
        "container",
        share,
        rank,
        {
            OK: f"{says}.",
            CARE: f"{says}: little room above it.",
            NO: f"{says}: it runs over.",
        },
        limits=(limit, most),
        unit="1",
    )
    if told.outcome is OK:
        return told, ()
    bigger = 1e6 * case.dose / limit
    words = (
        f"A container of {figured(bigger, 4)} mL to the brim would do; or fill slower, from below."
    )
    near = Nearest(
        rule="container", change="brimful volume", to=case.dose / limit, unit="m3", words=words
    )
    return told, (near,)


def take_nozzle(case: Case) -> Nozzle | None:
    """Return the nozzle to take: the widest that fits and holds, else the narrowest that fits."""
    fitting = [n for n in case.nozzles if n.outside <= case.neck_bore - NECK_ROOM + _TINY]
    if not fitting:
        return None
    holds = [n for n in fitting if _holds(case, n)]
    if holds:
        return max(holds, key=lambda n: n.bore)
    return min(fitting, key=lambda n: n.bore)


def fits_rule(case: Case, rows: Rows, nozzle: Nozzle | None) -> tuple[Reason, tuple[Nearest, ...]]:
    """Hold the nozzle against the neck: 2 mm of room for air to leave (judgement)."""
    narrowest = min(case.nozzles, key=lambda n: n.outside) if nozzle is None else nozzle
    room = rows.neck - narrowest.outside
    found = ranged(room)
    mm = 1e3 * found.value

    def rank(one: float) -> MatchOutcome:
        return OK if one >= NECK_ROOM - _TINY else NO

    told = graded(
        "nozzle-fits",
        found,
        rank,
        {
            OK: f"{narrowest.name} leaves {figured(mm)} mm in the neck for air to leave.",
            NO: f"{narrowest.name} leaves {figured(mm)} mm in the neck, under 2 mm.",
        },
        limits=(NECK_ROOM,),
        unit="m",
    )
    if told.outcome is OK:
        return told, ()
    most = case.neck_bore - NECK_ROOM
    words = f"A nozzle of {figured(1e3 * most)} mm outside or less would do."
    near = Nearest(rule="nozzle-fits", change="nozzle outside", to=most, unit="m", words=words)
    return told, (near,)


def holds_rule(
    case: Case, rows: Rows, nozzle: Nozzle
) -> tuple[Reason, tuple[Nearest, ...]] | None:
    """Say whether the nozzle drips between doses: its bore against the widest that holds."""
    product = case.product
    tension = product.surface_tension
    slides = np.full(rows.dose.shape, np.inf)
    if tension is not None:
        slides = np.asarray(nozzle.bore / holding(rows.tension, product.density).slides)
    # A plug that its yield stress holds counts as one that surely does.
    start = np.maximum(float(product.curve.figures[0]) * rows.thickness, _NO_YIELD)
    plug = _SURE * product.density * GRAVITY * nozzle.bore / (4.0 * start)
    found = ranged(np.minimum(plug, slides))
    if nozzle.cuts_off:
        words = f"{nozzle.name}: it closes or draws back, so it does not drip."
        return graded("nozzle-holds", found, lambda _: OK, {OK: words}, limits=(), unit="1"), ()
    if tension is None and found.high > _SURE:
        return None
    widest = nozzle.bore / found.value

    def rank(one: float) -> MatchOutcome:
        return OK if one <= _SURE + _TINY else CARE if one <= 1.0 + _TINY else NO

    own, holds = figured(1e3 * nozzle.bore, 2), figured(1e3 * widest, 2)
    bores = f"its bore is {own} mm, this product holds in {holds} mm"
    told = graded(
        "nozzle-holds",
        found,
        rank,
        {
            OK: f"{nozzle.name} holds: {bores}.",
            CARE: f"{nozzle.name} may drip, shaken or with a wet lip: {bores}.",
            NO: f"{nozzle.name} drips: {bores}.",
        },
        limits=(_SURE, 1.0),
        unit="1",
    )
    if told.outcome is OK:
        return told, ()
    goal = widest if told.outcome is NO else _SURE * widest
    words = f"A bore of {figured(1e3 * goal, 2)} mm or less would hold, or a nozzle that cuts off."
    return told, (
        Nearest(rule="nozzle-holds", change="nozzle bore", to=goal, unit="m", words=words),
    )


def particle_rule(case: Case, nozzle: Nozzle | None) -> tuple[Reason, tuple[Nearest, ...]] | None:
    """Hold the largest particle against the narrowest bore: three times it (judgement)."""
    if not case.particle:
        return None
    bores = [float(np.min(np.asarray(p.bore))) for p in (*case.suction, *case.outward[:-1])]
    if nozzle is not None:
        bores.append(nozzle.bore)
    if not bores:
        return None
    narrow = min(bores)
    times = narrow / case.particle
    outcome = OK if times >= _PARTICLES - _TINY else NO
    bore = figured(1e3 * narrow)
    words = f"The narrowest bore, {bore} mm, is {figured(times)} times the largest particle."
    told = Reason(
        rule="particles", outcome=outcome, because=words, value=times, low=times, high=times,
        unit="1",
    )  # fmt: skip
    if outcome is OK:
        return told, ()
    least = _PARTICLES * case.particle
    says = f"A least bore of {figured(1e3 * least)} mm along the whole path would do."
    return told, (Nearest(rule="particles", change="bore", to=least, unit="m", words=says),)


def take_valve(case: Case) -> Literal["rotary", "spool"] | None:
    """Return the valve to take: spool above 60 °C where there is one, else rotary."""
    warm = case.product.temperature
    if warm is None or not case.valves:
        return None
    wanted: Literal["rotary", "spool"] = "spool" if warm > _ROTARY_TO else "rotary"
    other: Literal["rotary", "spool"] = "rotary" if wanted == "spool" else "spool"
    return wanted if wanted in case.valves else other


def valve_rule(rows: Rows, valve: str) -> tuple[Reason, tuple[Nearest, ...]]:
    """Hold the temperature against the valve: 60 to 65 °C for a rotary one (common practice)."""
    warm = ranged(rows.celsius)

    def rank(one: float) -> MatchOutcome:
        if valve == "spool" or one <= _ROTARY_TO:
            return OK
        return CARE if one <= _CARE_TO else NO

    told = graded(
        "valve",
        warm,
        rank,
        {
            OK: f"The {valve} valve bears {figured(warm.value)} °C.",
            CARE: f"{figured(warm.value)} °C is much for a rotary valve; a spool valve bears it.",
            NO: f"{figured(warm.value)} °C needs the spool valve.",
        },
        limits=(_ROTARY_TO, _CARE_TO) if valve == "rotary" else (),
        unit="C",
    )
    if told.outcome is OK:
        return told, ()
    words = "A spool valve would do, or a fill at 60 °C or cooler."
    return told, (Nearest(rule="valve", change="valve", to="spool", words=words),)


def seal_rule(case: Case) -> tuple[Reason, tuple[Nearest, ...], tuple[str, ...]]:
    """Hold the fitted seals against everything that touches them; the worst decides."""
    worst = max(case.seals, key=lambda name: case.seals[name].overall)
    look = case.seals[worst]
    outcome = {
        MaterialVerdict.USE: OK,
        MaterialVerdict.SOAK_TEST: CARE,
        MaterialVerdict.DO_NOT_USE: NO,
    }[look.verdict]
    says = {
        OK: f"Every seal stands; {worst} is the worst with rating {look.overall} of 4.",
        CARE: f"{worst} rates {look.overall} of 4 with {look.worst_medium}: soak a spare first.",
        NO: f"{worst} does not stand {look.worst_medium}: rating {look.overall} of 4.",
    }[outcome]
    told = Reason(
        rule="seals", outcome=outcome, because=says, value=float(look.overall),
        low=float(look.overall), high=float(look.overall), unit="1 to 4",
    )  # fmt: skip
    stand = tuple(
        n for n, one in case.seals.items() if one.verdict is not MaterialVerdict.DO_NOT_USE
    )
    if outcome is OK:
        return told, (), stand
    would = ", ".join(case.seals_instead)
    says = f"Seals that would do: {would}." if would else "No material of the table is rated good."
    near = Nearest(rule="seals", change="material", to=would, words=says)
    return told, (near,), stand


def _holds(case: Case, nozzle: Nozzle) -> bool:
    """Tell whether a nozzle holds, as given; what is not known counts as holding."""
    product = case.product
    if nozzle.cuts_off or product.surface_tension is None:
        return True
    slides = float(holding(product.surface_tension, product.density).slides)
    by_yield = bool(yield_holds(product.curve, product.density, nozzle.bore))
    return nozzle.bore <= slides or by_yield
