"""Whether the weighing scale is good enough for the dose and the claim, before a jar is filled."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from fillwright.jobs.why import Fact, Why
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts
from fillwright.records.entries import TareSet
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.scale_check import (
    ScaleCheck,
    ScaleVerdict,
    scale_check,
    serving_readability,
)

__all__ = ["ScaleLook", "finer_scale", "scale_look"]

_COARSE: Final = 1.5
_EXPANDED: Final = 2
_BEARABLE: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleLook:
    """Whether the weighing scale will do.

    Parameters
    ----------
    verdict : str
        ``"good-enough"``, ``"repeats"``, ``"running-total"`` or ``"no"``.
    state : str
        Tag of the verdict.
    headline : str
        The verdict in words.
    advice : str
        What to do, in one or two sentences.
    spread_words : str
        What the step does to the spread that can be shown.
    serves_g : Decimal or None
        Coarsest usual step that would serve; None where the empties alone are too unlike.
    why : Why
        The numbers behind it.
    """

    verdict: str
    state: str
    headline: str
    advice: str
    spread_words: str
    serves_g: Decimal | None
    why: Why


def scale_look(state: JobState) -> ScaleLook:
    """Return whether the weighing scale of a job will do for its dose and claim."""
    return _look(state.known, state.tare)


def finer_scale(facts: JobFacts, tare: TareSet | None = None) -> str:
    """Return which scale would serve, as an order."""
    serves = _serves_g(facts, _tare_sd_g(facts, tare))
    if serves is None:
        return f"Zero each empty {facts.container.word} away: they differ too much."
    return f"Use a weighing scale that reads to {plain(serves)} g or finer."


@lru_cache(maxsize=128)
def _look(facts: JobFacts, tare: TareSet | None) -> ScaleLook:
    """Work it out once for each set of facts."""
    half_g = facts.aim_g * facts.claim_pct / 100
    tare_sd_g = _tare_sd_g(facts, tare)
    found = scale_check(
        kg_from_g(half_g),
        readability=kg_from_g(facts.scale.readability_g),
        repeatability_sd=kg_from_g(facts.scale.repeatability_sd_g),
        tare_sd=kg_from_g(tare_sd_g),
        same_container=True,
    )
    verdict = found.verdict
    no_room = verdict is ScaleVerdict.RUNNING_TOTAL and _room(facts) < found.repeats
    unlike = tare_sd_g >= g_from_kg(found.allowed)
    if no_room or unlike:
        verdict = ScaleVerdict.NO
    serves_g = _serves_g(facts, tare_sd_g)
    return ScaleLook(
        verdict=verdict.value,
        state="on" if verdict is ScaleVerdict.GOOD_ENOUGH else "held",
        headline="Not with an average empty" if unlike else _headline(verdict, found.repeats),
        advice=_unlike_words(facts)
        if unlike
        else _advice(facts, found, verdict, finer_scale(facts, tare)),
        spread_words=_spread_words(facts),
        serves_g=serves_g,
        why=_why(facts, found, half_g, tare_sd_g, serves_g),
    )


def _tare_sd_g(facts: JobFacts, tare: TareSet | None) -> float:
    """Return how empties differ, where their average is taken off; zero where not known."""
    if facts.tare_way != "mean":
        return 0.0
    if tare is not None and tare.sd_g is not None:
        return tare.sd_g
    return float(facts.container.tare_sd_g or 0)


def _serves_g(facts: JobFacts, tare_sd_g: float) -> Decimal | None:
    """Return the coarsest usual step that would serve."""
    half = kg_from_g(facts.aim_g * facts.claim_pct / 100)
    step = serving_readability(half, tare_sd=kg_from_g(tare_sd_g))
    return None if step is None else Decimal(f"{g_from_kg(step):.6g}")


def _room(facts: JobFacts) -> int:
    """Return how many filled containers the pan holds."""
    one_g = facts.aim_g + (facts.container.tare_g or Decimal(0))
    return int(facts.scale.capacity_g / one_g)


def _headline(verdict: ScaleVerdict, repeats: int) -> str:
    """Return the verdict in words."""
    return {
        ScaleVerdict.GOOD_ENOUGH: "Good enough",
        ScaleVerdict.REPEATS: f"Only with {repeats} readings of each",
        ScaleVerdict.RUNNING_TOTAL: f"Only by the total of {repeats}",
        ScaleVerdict.NO: "No number of repeats will do",
    }[verdict]


def _unlike_words(facts: JobFacts) -> str:
    """Return what to do where the empties differ too much for one average."""
    word = facts.container.word
    return (
        f"The empty {word}s differ too much for ±{plain(facts.claim_pct)} %, and weighing one "
        f"{word} again does not help. Zero each empty {word} away: change how the tare is taken "
        "in the facts."
    )


def _advice(facts: JobFacts, found: ScaleCheck, verdict: ScaleVerdict, finer: str) -> str:
    """Return what to do about it."""
    word, step = facts.container.word, plain(facts.scale.readability_g)
    claim = f"±{plain(facts.claim_pct)} %"
    if verdict is ScaleVerdict.GOOD_ENOUGH:
        return f"It reads to {step} g: one reading of each {word} will do for {claim}."
    if verdict is ScaleVerdict.REPEATS:
        if found.repeats > _BEARABLE:
            return f"{finer} On this one it takes {found.repeats} readings of each {word}."
        return (
            f"Lift each {word} off and on again, {found.repeats} readings, and take the "
            f"average. Or: {finer}"
        )
    if verdict is ScaleVerdict.RUNNING_TOTAL:
        return (
            f"Averages will not do for {claim}. Leave {found.repeats} filled {word}s on the pan, "
            f"read their total and divide: that shows the middle, never the spread. {finer}"
        )
    return f"It reads to {step} g, too coarse for {claim}. {finer}"


def _spread_words(facts: JobFacts) -> str:
    """Return what the step does to the spread that can be shown."""
    step = facts.scale.readability_g
    if facts.expected_sd_pct is None:
        return ""
    expected_g = facts.aim_g * facts.expected_sd_pct / 100
    if step <= Decimal(str(_COARSE)) * expected_g:
        return ""
    return (
        f"Its step hides the spread expected here ({expected_g:.2g} g): only a bound can be "
        "shown, never a figure."
    )


def _why(
    facts: JobFacts,
    found: ScaleCheck,
    half_g: Decimal,
    tare_sd_g: float,
    serves_g: Decimal | None,
) -> Why:
    """Return the numbers behind the verdict."""
    step = facts.scale.readability_g
    whole = found.u_single**2
    of_empties = 100 * kg_from_g(tare_sd_g) ** 2 / whole if whole else 0.0
    rows = [
        Fact(name="Claim", words=f"±{half_g:.4g} g of {plain(facts.aim_g)} g"),
        Fact(name="Step of the scale", words=f"{plain(step)} g"),
        Fact(name="Repeats within (1 s)", words=f"{plain(facts.scale.repeatability_sd_g)} g"),
    ]
    if facts.tare_way == "mean":
        rows += [
            Fact(
                name="Empties differ by (1 s)",
                words=f"{tare_sd_g:.2g} g" if tare_sd_g else "not known yet",
            ),
            Fact(name="Of the doubt, from the empties", words=f"{of_empties:.0f} %"),
        ]
    rows += [
        Fact(
            name="One reading may be off by (2 s)",
            words=f"{_EXPANDED * g_from_kg(found.u_single):.2g} g",
        ),
        Fact(name="Allowed", words=f"{_EXPANDED * g_from_kg(found.allowed):.2g} g"),
        Fact(
            name="Left after endless repeats (1 s)",
            words=f"{g_from_kg(found.residual_rounding):.2g} g",
        ),
        Fact(name="Smallest spread it shows (1 s)", words=f"{float(step) / _COARSE:.2g} g"),
        Fact(
            name="Would serve",
            words="none: the empties differ too much"
            if serves_g is None
            else f"{plain(serves_g)} g or finer",
        ),
    ]
    return Why(
        facts=tuple(rows),
        assumptions=(
            *found.assumptions,
            "Another scale is taken to repeat within half its step.",
        ),
        source=found.equation,
    )
