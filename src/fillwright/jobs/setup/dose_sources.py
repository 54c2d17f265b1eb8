"""The sources of the spread of a dose: read and measured ones as they are, the rest taken.

Sizes that are taken are judgements of ours, no source; a proof brings them down.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fillwright.errors import BadInput
from fillwright.jobs.match.flowing import curve_of
from fillwright.jobs.setup.rig import Rig
from fillwright.records.fold import JobState
from fillwright.records.units import kg_from_g, m_from_mm, n_per_m_from_mn_per_m
from fillwright.science.budget import Contributor, Kind
from fillwright.science.cutoff import drop, drop_scatter, yield_holds
from fillwright.science.dose import dose_model

__all__ = ["Source", "brought_down", "sources_of"]

_STEEL_PER_K: Final = 1.6e-5
_TEMPERATURE_SD_K: Final = 1.0
_DRUM_SD: Final = 0.0005
_GAS_SD: Final = 0.0006
_FOAMY_GAS_SD: Final = 0.002
_LEAK_SD: Final = 0.0004
_STOP_SD_MM: Final = 0.02
_NARROWER: Final = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A contributor with where its size is from."""

    one: Contributor
    basis: str


def sources_of(state: JobState, rig: Rig | None) -> list[Source]:
    """Return every source, measured ones as they were measured."""
    facts = state.known
    dose = kg_from_g(facts.aim_g)
    expansion = float(facts.product.expansion_per_k) - 3.0 * _STEEL_PER_K
    foams = facts.product.runs_like == "foamy"
    found = [
        _taken("temperature of the product", dose * expansion, _TEMPERATURE_SD_K, Kind.DRIFT,
               "hold it; weigh again when it has moved"),
        _taken("density from drum to drum", dose, _DRUM_SD, Kind.DRIFT,
               "weigh again with each drum"),
        _taken("gas in the product", dose, _FOAMY_GAS_SD if foams else _GAS_SD, Kind.WITHIN,
               "let it rest, do not stir, tight suction joint"),
        _taken("leaks past valve and piston", dose, _LEAK_SD, Kind.WITHIN, "look at the rings"),
    ]  # fmt: skip
    if rig is not None:
        model = dose_model(
            density=rig.density, bore=m_from_mm(rig.cylinder_bore_mm), stroke=rig.stroke
        )
        found.append(
            _taken("stop of the stroke", model.stroke, m_from_mm(_STOP_SD_MM), Kind.WITHIN,
                   "approach from below, lock the wheel")
        )  # fmt: skip
        found += _drop(rig)
    return [*found, *_density(state), *_weighing(state)]


def _density(state: JobState) -> list[Source]:
    """Return how well the density was weighed; a trim by weight sets that away."""
    weighed = state.known.product.weighed
    if weighed is None:
        return []
    relative = math.hypot(
        float(weighed.net_sd_g / weighed.net_g), float(weighed.volume_sd_ml / weighed.volume_ml)
    )
    one = Contributor(
        name="density as it was weighed",
        sensitivity=kg_from_g(state.known.aim_g),
        standard_uncertainty=relative,
        kind=Kind.BIAS,
        cure="weigh a larger volume of it",
    )
    return [Source(one=one, basis="measured here")]


def _taken(name: str, sensitivity: float, size: float, kind: Kind, cure: str) -> Source:
    """Return a source that is a judgement of ours."""
    one = Contributor(
        name=name, sensitivity=sensitivity, standard_uncertainty=size, kind=kind, cure=cure
    )
    return Source(one=one, basis="taken")


def _drop(rig: Rig) -> list[Source]:
    """Return what the last drop gives; none where the product stands as a plug."""
    bore, lip = m_from_mm(rig.nozzle.bore_mm), m_from_mm(rig.nozzle.outside_mm)
    if bool(np.all(yield_holds(curve_of(rig.flow), rig.density, bore))):
        return []
    tension = n_per_m_from_mn_per_m(rig.flow.tension_mn_per_m)
    mass = _drop_mass(tension, rig.density, lip)
    cuts = rig.nozzle.kind != "plain"
    scatter = float(drop_scatter(mass, cuts_off=cuts))
    cure = "a smaller bore" if cuts else "a nozzle that cuts off or draws back"
    return [_taken("last drop at the nozzle", 1.0, scatter, Kind.WITHIN, cure)]


def _drop_mass(tension: float, density: float, lip: float) -> float:
    """Return the mass of a drop; a lip too wide for one is taken as the widest that has one."""
    for _ in range(_NARROWER):
        try:
            return float(drop(tension, density, lip).mass)
        except BadInput:
            lip *= 0.9
    return 0.0


def _weighing(state: JobState) -> list[Source]:
    """Return what weighing adds: the scale as it is rated, the empties as they were weighed."""
    facts = state.known
    step = kg_from_g(facts.scale.readability_g)
    one = math.hypot(kg_from_g(facts.scale.repeatability_sd_g), step / math.sqrt(12.0))
    readings = math.sqrt(2.0) if facts.tare_way == "zeroed" else 1.0
    found = [
        Source(
            one=Contributor(
                name="weighing scale",
                sensitivity=1.0,
                standard_uncertainty=readings * one,
                cure="a finer scale, or the mean of three readings",
            ),
            basis="read",
        )
    ]
    empties = None if state.tare is None else state.tare.sd_g
    basis = "measured here"
    if empties is None and facts.container.tare_sd_g is not None:
        empties, basis = float(facts.container.tare_sd_g), "read"
    if facts.tare_way == "mean" and empties:
        found.append(
            Source(
                one=Contributor(
                    name="empties",
                    sensitivity=1.0,
                    standard_uncertainty=kg_from_g(empties),
                    cure="weigh each with its own tare",
                ),
                basis=basis,
            )
        )
    return found


def brought_down(sources: list[Source], measured_sd: float | None) -> list[Source]:
    """Return the sources with the guesses no greater together than a proof leaves room for."""
    if measured_sd is None:
        return sources
    within = [s for s in sources if s.one.kind is Kind.WITHIN]
    known = math.hypot(*(_size(s) for s in within if s.basis != "taken"), 0.0)
    guessed = math.hypot(*(_size(s) for s in within if s.basis == "taken"), 0.0)
    room = math.sqrt(max(measured_sd**2 - known**2, 0.0))
    if guessed <= room or guessed == 0.0:
        return sources
    share = room / guessed
    return [
        replace(
            s,
            one=replace(s.one, standard_uncertainty=share * s.one.standard_uncertainty),
            basis="brought down to the proof",
        )
        if s.basis == "taken" and s.one.kind is Kind.WITHIN
        else s
        for s in sources
    ]


def _size(source: Source) -> float:
    """Return what a source gives alone."""
    return abs(source.one.sensitivity) * source.one.standard_uncertainty
