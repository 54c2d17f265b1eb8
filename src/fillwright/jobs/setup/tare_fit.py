"""How sure an average empty is, and what to do where it is not sure enough."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from fillwright.jobs.limits import limits_of
from fillwright.jobs.words import plain
from fillwright.knowledge.types import RuleSet
from fillwright.records.entities import JobFacts
from fillwright.records.entries import TareSet
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.tare_fit import TareFit, TareFitVerdict, tare_fit

__all__ = ["empties_wanted", "fit_of", "tare_note", "tare_warning", "tare_warnings", "warning_now"]

_TWO: Final = 2
_WORDS: Final = {5: "Five", 10: "Ten"}


def fit_of(rule_sets: Mapping[str, RuleSet], facts: JobFacts, tare: TareSet) -> TareFit | None:
    """Return how good an average empty is; None where it was weighed of one or not at all."""
    if tare.sd_g is None or tare.empties < _TWO:
        return None
    limits = limits_of(facts, rule_sets)
    room = None if limits.t1_g is None else float(limits.label_g - limits.t1_g)
    half_g = float(facts.aim_g * facts.band_pct / 100)
    return tare_fit(
        kg_from_g(tare.sd_g),
        empties=tare.empties,
        shortage=kg_from_g(room) if room and room > 0 else None,
        half_band=kg_from_g(half_g),
        readability=kg_from_g(float(facts.scale.readability_g)),
    )


def tare_note(rule_sets: Mapping[str, RuleSet], facts: JobFacts, tare: TareSet) -> str:
    """Return how sure an average empty is, in a sentence; empty where nothing tells."""
    fit = fit_of(rule_sets, facts, tare)
    if fit is None:
        return ""
    return f"The average is sure to ±{g_from_kg(fit.half_width):.2g} g, 19 times in 20."


def tare_warning(rule_sets: Mapping[str, RuleSet], facts: JobFacts, tare: TareSet) -> str:
    """Return why one average empty will not do and what to do; empty where it will."""
    fit = fit_of(rule_sets, facts, tare)
    if fit is None or fit.verdict is TareFitVerdict.ENOUGH or facts.tare_way != "mean":
        return ""
    word = facts.container.word
    limits = limits_of(facts, rule_sets)
    half = plain((facts.aim_g * facts.band_pct / 100).quantize(Decimal("0.01")))
    against = f"±{half} g of the band"
    if not fit.is_by_band and limits.t1_g is not None:
        against = f"{plain(limits.label_g - limits.t1_g)} g that one may be short"
    if fit.verdict is TareFitVerdict.WEIGH_EACH:
        spread = 0.0 if tare.sd_g is None else tare.sd_g
        return (
            f"Empties differ by {spread:.2g} g (1 s), more than a quarter of the {against}: weigh "
            f"each empty instead. Change the facts to zero each {word} away."
        )
    many = _WORDS.get(tare.empties, str(tare.empties))
    return (
        f"{many} empties leave their average uncertain by ±{g_from_kg(fit.half_width):.2g} g, the "
        f"same error in every {word}: too much for the {against}. {fit.empties_needed} empties "
        f"would do, or zero each {word} away."
    )


def empties_wanted(
    rule_sets: Mapping[str, RuleSet], facts: JobFacts, tare: TareSet, most: int
) -> int:
    """Return how many empties a new carton wants: those weighed, or more up to `most`."""
    fit = fit_of(rule_sets, facts, tare)
    if fit is None or fit.verdict is not TareFitVerdict.MORE_EMPTIES:
        return tare.empties
    return max(tare.empties, min(most, fit.empties_needed))


def warning_now(rule_sets: Mapping[str, RuleSet], state: JobState) -> str:
    """Return what is to be said of the average empty that is taken off now."""
    tare = state.lots.tare_of(None) or state.tare
    return "" if tare is None else tare_warning(rule_sets, state.known, tare)


def tare_warnings(rule_sets: Mapping[str, RuleSet], state: JobState) -> tuple[str, ...]:
    """Return what is to be said of every average empty of a job, with where it began."""
    told: list[tuple[int, TareSet]] = list(state.lots.tares)
    if not told and state.tare is not None:
        told = [(0, state.tare)]
    word = state.known.container.word
    found = []
    for after, tare in told:
        warning = tare_warning(rule_sets, state.known, tare)
        if warning:
            found.append(f"Tare from {word} {after + 1}: {warning}" if len(told) > 1 else warning)
    return tuple(found)
