"""Questions about a proof of repeatability: factors, the proof itself, planning, capability."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from fillwright.questions.fields import (
    Answer,
    Count,
    Figures,
    Given,
    Real,
    Values,
    check_span,
    grams,
)
from fillwright.records.units import kg_from_g, pct_from_share, share_from_pct

if TYPE_CHECKING:
    from fillwright.science.proof import ProofResult

__all__ = [
    "distribution_free_n",
    "prove",
    "prove_answer",
    "prove_chance",
    "prove_plan",
    "tolerance_factor",
]

_EXACT_K = (
    "Two-sided normal tolerance interval, exact factor: Wald and Wolfowitz 1946, "
    "Odeh and Owen 1980 (from memory)"
)
_WILKS = "Wilks 1941, tolerance limits from the extremes (from memory)"
_NORMAL = "Doses are normal, independent and of one steady process."
_MOST_READINGS = 10_000

Share = Annotated[float, Real(above=0, below=1)]
Percent = Annotated[float, Real(above=0, at_most=100)]


class ToleranceFactorGiven(Given):
    """How many readings, and what is to be claimed of single doses."""

    n: Annotated[int, Count(at_least=2, at_most=1_000_000)] = Field(
        description="Number of readings.", examples=[43]
    )
    content: Annotated[float, Real(at_least=0.01, at_most=0.999999)] = Field(
        description="Share of doses inside.", examples=[0.9]
    )
    confidence: Annotated[float, Real(at_least=0.01, at_most=0.999999)] = Field(
        description="Confidence of the claim.", examples=[0.99]
    )
    sides: Annotated[int, Count(at_least=1, at_most=2)] = Field(
        description="1 for a limit on one side, 2 for both.", examples=[2]
    )
    df: Annotated[float, Real(at_least=1, at_most=1_000_000)] | None = Field(
        default=None, description="Degrees of freedom of a pooled sd; n - 1 when left out."
    )


class ToleranceFactorAnswer(Answer):
    """The factor k: the limits are mean plus and minus k times the sd."""

    k: float


def tolerance_factor(given: ToleranceFactorGiven) -> ToleranceFactorAnswer:
    """Answer with the exact normal tolerance factor."""
    from fillwright.science import proof  # noqa: PLC0415  loaded when asked

    k = proof.tolerance_factor(
        given.n,
        content=given.content,
        confidence=given.confidence,
        sides=given.sides,
        df=given.df,
    )
    return ToleranceFactorAnswer(
        k=k,
        because=f"With {given.n} readings {k:.5g} sd from the mean hold "
        f"{given.content:g} of the doses with confidence {given.confidence:g}.",
        assumptions=(_NORMAL,),
        sources=(_EXACT_K,),
    )


class DistributionFreeNGiven(Given):
    """What is to be claimed by the smallest and largest reading alone."""

    content: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Share of doses inside.", examples=[0.99]
    )
    confidence: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Confidence of the claim.", examples=[0.95]
    )
    sides: Annotated[int, Count(at_least=1, at_most=2)] = Field(
        description="1 for a limit on one side, 2 for both.", examples=[2]
    )


class DistributionFreeNAnswer(Answer):
    """Readings needed without assuming a normal distribution."""

    n: int


def distribution_free_n(given: DistributionFreeNGiven) -> DistributionFreeNAnswer:
    """Answer with how many readings prove a content by their extremes alone."""
    from fillwright.science import proof  # noqa: PLC0415  loaded when asked

    n = proof.distribution_free_n(given.content, given.confidence, sides=given.sides)
    return DistributionFreeNAnswer(
        n=n,
        because=f"The extremes of {n} readings hold {given.content:g} of the doses "
        f"with confidence {given.confidence:g}, whatever their distribution.",
        assumptions=("Doses are independent and of one steady process.",),
        sources=(_WILKS,),
    )


class ProveGiven(Given):
    """The readings of a proving run and the claim."""

    readings_g: Values[Annotated[float, Real()]] = Field(
        description="Net readings in the order they were filled, four or more to say anything.",
        min_length=2,
        max_length=_MOST_READINGS,
        examples=[[498, 502, 500, 500]],
    )
    target_g: Annotated[float, Real(above=0)] = Field(
        description="What the claim is about.", examples=[500]
    )
    tolerance_percent: Percent = Field(
        description="Half width of the claim, of the target.", examples=[1]
    )
    content: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Share of single doses claimed inside.", examples=[0.99]
    )
    confidence: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Confidence of the claim.", examples=[0.95]
    )
    readability_g: Annotated[float, Real(at_least=0)] | None = Field(
        default=None, description="Step of the weighing scale."
    )


class OrderTestsAnswer(Figures):
    """Whether the readings look like one steady process."""

    slope_per_dose: float
    p_two_sided: float
    von_neumann_ratio: float | None
    p_von_neumann: float
    lag1: float | None
    farthest: int
    farthest_sds: float
    p_outlier: float
    p_joint: float
    steady: bool


class ProveAnswer(Answer):
    """What the readings prove."""

    verdict: Literal["proved", "not-proved", "not-steady", "impossible", "scale-too-coarse"]
    n: int
    mean: float
    sd: float
    spread_g: float | None
    spread_upper_g: float | None
    k: float
    k_one_sided: float
    free_content: float
    free_n: int
    half_width_g: float
    half_width_percent: float
    claim_half_width_g: float
    sd_interval_g: tuple[float, float]
    mean_interval_g: tuple[float, float]
    content_provable: float
    content_upper: float
    order_tests: OrderTestsAnswer


def prove(given: ProveGiven) -> ProveAnswer:
    """Answer what the readings prove about single doses."""
    from fillwright.science import proof  # noqa: PLC0415  loaded when asked

    check_span(given.readings_g, "readings_g", step=given.readability_g or 0.0)
    found = proof.prove(
        [kg_from_g(reading) for reading in given.readings_g],
        target=kg_from_g(given.target_g),
        tolerance=kg_from_g(given.target_g * share_from_pct(given.tolerance_percent)),
        content=given.content,
        confidence=given.confidence,
        readability=kg_from_g(given.readability_g or 0.0),
    )
    return prove_answer(found)


def prove_answer(found: ProofResult) -> ProveAnswer:
    """Return a proof in the form of the answer.

    Parameters
    ----------
    found : ProofResult
        What `fillwright.science.proof.prove` returned.

    Returns
    -------
    ProveAnswer
        The same in grams.
    """
    order = found.order_tests
    return ProveAnswer(
        verdict=found.verdict.value,
        n=found.n,
        mean=grams(found.mean),
        sd=grams(found.sd),
        spread_g=None if found.spread is None else grams(found.spread),
        spread_upper_g=None if found.spread_upper is None else grams(found.spread_upper),
        k=found.k,
        k_one_sided=found.k_one_sided,
        free_content=found.free_content,
        free_n=found.free_n,
        half_width_g=grams(found.half_width),
        half_width_percent=pct_from_share(found.half_width_share),
        claim_half_width_g=grams(found.claim_half_width),
        sd_interval_g=(grams(found.sd_interval[0]), grams(found.sd_interval[1])),
        mean_interval_g=(grams(found.mean_interval[0]), grams(found.mean_interval[1])),
        content_provable=found.content_provable,
        content_upper=found.content_upper,
        order_tests=OrderTestsAnswer(
            slope_per_dose=grams(order.slope_per_dose),
            p_two_sided=order.p_two_sided,
            von_neumann_ratio=order.von_neumann_ratio,
            p_von_neumann=order.p_von_neumann,
            lag1=order.lag1,
            farthest=order.farthest + 1,
            farthest_sds=order.farthest_sds,
            p_outlier=order.p_outlier,
            p_joint=order.p_joint,
            steady=order.steady,
        ),
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


class ProvePlanGiven(Given):
    """What is expected of the doses, and what is to be claimed; percentages of the target."""

    true_sd_percent: Annotated[float, Real(above=0, at_most=100)] = Field(
        description="Expected sd of single doses.", examples=[0.25]
    )
    offset_percent: Annotated[float, Real(at_least=-100, at_most=100)] = Field(
        description="Expected mean less target.", examples=[0]
    )
    tolerance_percent: Percent = Field(description="Half width of the claim.", examples=[1])
    content: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Share of single doses claimed inside.", examples=[0.99]
    )
    confidence: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Confidence of the claim.", examples=[0.95]
    )
    power: Annotated[float, Real(at_least=0.01, at_most=0.9999)] = Field(
        description="Chance wanted that the proof succeeds.", examples=[0.8]
    )


class ProvePlanAnswer(Answer):
    """Readings needed; null where out of reach or impossible."""

    n: int | None
    impossible: bool
    content_true: float
    chance: float | None


def prove_plan(given: ProvePlanGiven) -> ProvePlanAnswer:
    """Answer with how many readings a proof needs."""
    from fillwright.science import proof  # noqa: PLC0415  loaded when asked

    found = proof.prove_plan(
        share_from_pct(given.true_sd_percent),
        offset=share_from_pct(given.offset_percent),
        tolerance=share_from_pct(given.tolerance_percent),
        content=given.content,
        confidence=given.confidence,
        power=given.power,
    )
    return ProvePlanAnswer(
        n=found.n,
        impossible=found.impossible,
        content_true=found.content_true,
        chance=found.chance,
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


class ProveChanceGiven(Given):
    """Readings planned, what is expected of the doses, and the claim."""

    n: Annotated[int, Count(at_least=2, at_most=_MOST_READINGS)] = Field(
        description="Number of readings.", examples=[30]
    )
    true_sd_percent: Annotated[float, Real(above=0, at_most=100)] = Field(
        description="Expected sd of single doses.", examples=[0.25]
    )
    offset_percent: Annotated[float, Real(at_least=-100, at_most=100)] = Field(
        description="Expected mean less target.", examples=[0]
    )
    tolerance_percent: Percent = Field(description="Half width of the claim.", examples=[1])
    content: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Share of single doses claimed inside.", examples=[0.99]
    )
    confidence: Annotated[float, Real(at_least=0.01, at_most=0.99999)] = Field(
        description="Confidence of the claim.", examples=[0.95]
    )


class ProveChanceAnswer(Answer):
    """Chance that a proof succeeds."""

    probability: float


def prove_chance(given: ProveChanceGiven) -> ProveChanceAnswer:
    """Answer with the chance that a proof with so many readings succeeds."""
    from fillwright.science import proof  # noqa: PLC0415  loaded when asked

    probability = proof.prove_chance(
        given.n,
        true_sd=share_from_pct(given.true_sd_percent),
        offset=share_from_pct(given.offset_percent),
        tolerance=share_from_pct(given.tolerance_percent),
        content=given.content,
        confidence=given.confidence,
    )
    return ProveChanceAnswer(
        probability=probability,
        because=f"With {given.n} readings the proof succeeds with chance {probability:.4g}.",
        assumptions=(_NORMAL, "The run is steady and the scale fine enough."),
        sources=(_EXACT_K,),
    )
