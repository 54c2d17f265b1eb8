"""What stands behind a proving run's verdict: every figure, and where the error comes from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fillwright.jobs.prove.plan import half_g
from fillwright.jobs.why import Fact, Why
from fillwright.jobs.words import decimals_of, plain
from fillwright.records.charts import ProbabilityPlot
from fillwright.records.entities import JobFacts
from fillwright.records.entries import ProofJudged, ProofPlanned
from fillwright.records.fold import JobState
from fillwright.records.proofplot import probability_plot
from fillwright.records.proofwords import spread_words, tries_words
from fillwright.records.units import kg_from_g
from fillwright.science.capability import capability

__all__ = ["Part", "error_parts", "plot_of", "why_of"]

_LEAST_PART: Final = 0.005
_LEAST_SHARE: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of the error of a dose about its aim, in grams (1 s, or how far off)."""

    name: str
    size_g: float


def why_of(state: JobState, proof: ProofJudged) -> Why:
    """Return the figures behind a verdict, each with its name."""
    facts, plan = state.known, state.proof_plan
    claim = f"{plain(facts.claim_content_pct)} in 100"
    digits = decimals_of(facts.scale.readability_g) + 1
    rows = [
        *_tries(proof, plan),
        Fact(name="Middle of the doses", words=f"{proof.mean_g:.{digits + 1}f} g"),
    ]
    if proof.spread_g is not None or proof.spread_upper_g is not None:
        words = spread_words(proof.spread_g, proof.spread_upper_g)
        rows.append(Fact(name="Spread (1 s)", words=words))
    if proof.spread_g is not None and proof.spread_upper_g is not None:
        rows.append(
            Fact(name="Spread below, 95 % confidence", words=f"{proof.spread_upper_g:.4g} g")
        )
    if proof.k is not None and proof.half_width_g is not None and proof.spread_g is not None:
        rows += [
            Fact(name="Factor k, both sides", words=f"{proof.k:.4f}"),
            Fact(
                name=f"{claim} lie within",
                words=f"{proof.mean_g - proof.half_width_g:.{digits}f} to "
                f"{proof.mean_g + proof.half_width_g:.{digits}f} g",
            ),
            *_one_sided(proof, claim, digits),
        ]
    if proof.content_provable_pct is not None and proof.spread_g is not None:
        rows.append(Fact(name="Inside, proved", words=f"{proof.content_provable_pct:.4g} in 100"))
    if proof.content_most_pct is not None and proof.spread_g is not None:
        rows.append(Fact(name="Inside, at most", words=f"{proof.content_most_pct:.4g} in 100"))
    if proof.free_content_pct is not None:
        rows.append(
            Fact(
                name="Between smallest and largest, whatever their shape",
                words=f"{proof.free_content_pct:.3g} in 100; {proof.free_shots} shots for "
                f"{plain(facts.claim_content_pct)}",
            )
        )
    return Why(
        facts=(*rows, *_capability(facts, proof)),
        assumptions=proof.assumptions,
        source=proof.equation,
        words=tuple(w for w in (tries_words(proof, facts.claim_confidence_pct),) if w),
    )


def error_parts(state: JobState, proof: ProofJudged) -> tuple[Part, ...]:
    """Return where the error about the aim comes from, the biggest part first.

    Mean square about the aim: middle, scatter of the dose, scale, rounding, empties. Nothing
    where the step hides the spread, nor where the run was not steady.
    """
    facts = state.known
    if proof.spread_g is None or proof.k is None or proof.verdict == "not-steady":
        return ()
    step = float(facts.scale.readability_g)
    scale = float(facts.scale.repeatability_sd_g) ** 2
    empties = 0.0
    if facts.tare_way == "mean":
        known = state.tare.sd_g if state.tare is not None else None
        empties = float(known if known is not None else facts.container.tare_sd_g or 0) ** 2
    dose = max(proof.spread_g**2 - scale - empties, 0.0)
    parts = {
        "The middle is off the aim": (proof.mean_g - float(facts.aim_g)) ** 2,
        "The dose scatters": dose,
        "The weighing scale repeats so": scale,
        "The step of the scale": step**2 / 12,
        "The empties differ": empties,
    }
    whole = sum(parts.values())
    if whole <= 0:
        return ()
    order = sorted(parts.items(), key=lambda part: -part[1])
    return tuple(
        Part(name=name, size_g=value**0.5) for name, value in order if value / whole >= _LEAST_PART
    )


def plot_of(state: JobState, proof: ProofJudged) -> ProbabilityPlot | None:
    """Return the shots against the normal line; None where there is nothing to see."""
    if proof.plot_seed is None:
        return None
    step = state.known.scale.readability_g
    shots = [s.fact.net_g for s in state.proof_shots if s.counts][: proof.shots]
    return probability_plot(shots, step_g=step, seed=proof.plot_seed, decimals=decimals_of(step))


def _tries(proof: ProofJudged, plan: ProofPlanned | None) -> list[Fact]:
    """Return which try it was and how it was looked at."""
    rows = [Fact(name="Try", words=str(proof.attempt))]
    if proof.confidence_left_pct is not None and proof.attempt > 1:
        rows.append(
            Fact(
                name="Confidence over all tries, at least",
                words=f"{proof.confidence_left_pct:g} %",
            )
        )
    if plan is not None and plan.looks and plan.look_confidence_share is not None:
        looks = ", ".join(str(n) for n in plan.looks)
        rows += [
            Fact(name="Looks planned at", words=looks),
            Fact(name="Decided at", words=f"{proof.looked_at} shots"),
            Fact(
                name="Confidence at each look", words=f"{100 * plan.look_confidence_share:.4g} %"
            ),
        ]
    return rows


def _one_sided(proof: ProofJudged, claim: str, digits: int) -> list[Fact]:
    """Return the limit of one side alone."""
    if proof.one_sided_k_factor is None:
        return []
    reach = proof.one_sided_k_factor * proof.sd_g
    return [
        Fact(name="Factor k, one side", words=f"{proof.one_sided_k_factor:.4f}"),
        Fact(name=f"Low side alone: {claim} above", words=f"{proof.mean_g - reach:.{digits}f} g"),
        Fact(name=f"High side alone: {claim} below", words=f"{proof.mean_g + reach:.{digits}f} g"),
    ]


def _capability(facts: JobFacts, proof: ProofJudged) -> list[Fact]:
    """Return how the spread compares with the claim, with intervals."""
    if proof.k is None or not proof.spread_g or proof.verdict == "not-steady":
        return []
    aim, half = float(facts.aim_g), half_g(facts)
    found = capability(
        proof.shots,
        mean=kg_from_g(proof.mean_g),
        sd_overall=kg_from_g(proof.sd_g),
        lower=kg_from_g(aim - half),
        upper=kg_from_g(aim + half),
    )
    low, high = found.pp_interval
    return [
        Fact(name="Pp, 95 % interval", words=f"{found.pp:.2f}, {low:.2f} to {high:.2f}"),
        Fact(name="Ppk, at least with 95 %", words=f"{found.ppk:.2f}, {found.ppk_lower:.2f}"),
        Fact(
            name="Outside the claim, as mean and spread have it",
            words=_few(found.share_outside),
        ),
    ]


def _few(share: float) -> str:
    """Return a small share as so many in a hundred."""
    return f"{100 * share:.2g} in 100" if share >= _LEAST_SHARE else "hardly any"
