"""Questions of the life of seals: Weibull life, age to change at, chance to fail, spares."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from fillwright.questions.fields import Answer, Figures, Given, Real, Values

__all__ = ["age_replacement", "failure_within", "seal_life", "spares"]

Cycles = Annotated[float, Real(above=0, at_most=1e12)]
CyclesFromZero = Annotated[float, Real(at_least=0, at_most=1e12)]
Shape = Annotated[float, Real(at_least=0.02, at_most=200)]
Cost = Annotated[float, Real(above=0, at_most=1e12)]
Chance = Annotated[float, Real(at_least=1e-9, at_most=1 - 1e-9)]
_NIST: Final = "NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3"
_FAILED: Final = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
_CONDITIONS: Final = "Lives of one position, material and product family only: do not mix them."


class SealLifeGiven(Given):
    """Lives of one seal position, in one material, with one product family."""

    failures_cycles: Values[Cycles] = Field(
        description="Cycles at failure.", examples=[list(_FAILED)]
    )
    censored_cycles: Values[Cycles] = Field(
        default=(),
        description="Cycles of those changed, or still running, while good.",
        examples=[[500] * 10],
    )
    expected_life_cycles: Cycles | None = Field(
        default=None,
        description="What the profile expects, for the belief under three failures.",
    )
    confidence: Chance = Field(default=0.95, description="Confidence of the intervals.")


class Belief(Figures):
    """What may be said of the scale under three failures, with the shape taken."""

    shape: float
    scale: float
    scale_interval: tuple[float, float]


class SealLifeAnswer(Answer):
    """The life fitted; null under three failures, with the reason and the belief instead."""

    shape: float | None
    scale: float | None
    mean: float | None
    shape_interval: tuple[float, float] | None
    scale_interval: tuple[float, float] | None
    reason: str | None
    prior: Belief | None


def seal_life(given: SealLifeGiven) -> SealLifeAnswer:
    """Answer with the Weibull life of a seal position from failures and censored lives."""
    from fillwright.science import life  # noqa: PLC0415  loaded when asked

    failed, good = given.failures_cycles, given.censored_cycles
    if len(failed) >= life.FEWEST_FAILURES:
        fit = life.weibull_fit(failed, good, confidence=given.confidence)
        wears = "it wears" if fit.shape_interval[0] > 1.0 else "wear is not shown beyond doubt"
        return SealLifeAnswer(
            shape=fit.shape,
            scale=fit.scale,
            mean=fit.mean,
            shape_interval=fit.shape_interval,
            scale_interval=fit.scale_interval,
            reason=None,
            prior=None,
            because=(
                f"{len(failed)} failed, {len(good)} were good when last seen: shape "
                f"{fit.shape:.3g} ({wears}), scale {fit.scale:.4g} cycles."
            ),
            assumptions=("Intervals by likelihood ratio.", _CONDITIONS),
            sources=(_NIST,),
        )
    belief = life.life_prior(
        failed, good, expected_scale=given.expected_life_cycles, confidence=given.confidence
    )
    reason = f"{len(failed)} failures are too few to fit a life; 3 are needed."
    return SealLifeAnswer(
        shape=None,
        scale=None,
        mean=None,
        shape_interval=None,
        scale_interval=None,
        reason=reason,
        prior=Belief(shape=belief.shape, scale=belief.scale, scale_interval=belief.scale_interval),
        because=(
            f"{reason} With shape {belief.shape:g} taken for wear, the scale lies between "
            f"{belief.scale_interval[0]:.3g} and {belief.scale_interval[1]:.3g} cycles."
        ),
        assumptions=(
            "Shape 2 for wear is judgement; the belief about the scale is a gamma prior.",
            _CONDITIONS,
        ),
        sources=("Conjugate gamma prior for a Weibull life of known shape, from memory",),
    )


class AgeReplacementGiven(Given):
    """A life and two costs."""

    shape: Shape = Field(description="Weibull shape.", examples=["2.2"])
    scale: Cycles = Field(description="Weibull scale, in cycles.", examples=[900])
    cost_planned: Cost = Field(description="Cost of a planned change.", examples=[1])
    cost_failure: Cost = Field(
        description="Cost of a failure: product lost, proving anew, lot looked at again.",
        examples=[6],
    )


class AgeReplacementAnswer(Answer):
    """Best age; null means run to failure."""

    age: float | None
    cost_rate: float
    run_to_failure_rate: float


def age_replacement(given: AgeReplacementGiven) -> AgeReplacementAnswer:
    """Answer with the age at which a planned change costs least."""
    from fillwright.science import life_policy  # noqa: PLC0415  loaded when asked

    found = life_policy.age_replacement(
        given.shape, given.scale, cost_planned=given.cost_planned, cost_failure=given.cost_failure
    )
    because = "Run to failure: a planned change would not cost less in the long run."
    if found.age is not None:
        saved = 1.0 - found.cost_rate / found.run_to_failure_rate
        because = (
            f"Change at {found.age:.4g} cycles, or at the last strip before: {saved:.0%} less "
            "than running to failure."
        )
    return AgeReplacementAnswer(
        age=found.age,
        cost_rate=found.cost_rate,
        run_to_failure_rate=found.run_to_failure_rate,
        because=because,
        assumptions=(
            "A new seal is as good as new, and a failure is found at once.",
            "The cost curve is flat near its bottom: the strip that happens anyway is best.",
        ),
        sources=("Age replacement, Barlow and Hunter 1960, from memory",),
    )


class FailureWithinGiven(Given):
    """A life, the age now and the cycles to come."""

    shape: Shape = Field(description="Weibull shape.", examples=[3])
    scale: Cycles = Field(description="Weibull scale, in cycles.", examples=[60000])
    age: CyclesFromZero = Field(description="Cycles run.", examples=[30000])
    horizon: CyclesFromZero = Field(description="Cycles to come.", examples=[5000])


class FailureWithinAnswer(Answer):
    """The chance."""

    probability: float


def failure_within(given: FailureWithinGiven) -> FailureWithinAnswer:
    """Answer with the chance that a seal fails within the cycles to come."""
    from fillwright.science import life_policy  # noqa: PLC0415  loaded when asked

    chance = life_policy.failure_within(
        given.shape, given.scale, age=given.age, horizon=given.horizon
    )
    return FailureWithinAnswer(
        probability=chance,
        because=(
            f"A seal that has run {given.age:g} cycles fails within the next {given.horizon:g} "
            f"with a chance of {chance:.2%}."
        ),
        assumptions=("It is good now.", "Shape and scale are taken as known."),
        sources=("1 - R(age + horizon)/R(age) of the Weibull life",),
    )


class SparesGiven(Given):
    """Use in the lead time, and the chance wanted."""

    mean_demand: Annotated[float, Real(at_least=0, at_most=1_000_000)] = Field(
        description="Mean number used in the lead time.", examples=["1.8"]
    )
    service: Chance = Field(description="Chance wanted that the stock lasts.", examples=["0.95"])


class SparesAnswer(Answer):
    """Spares to keep."""

    stock: int
    achieved: float


def spares(given: SparesGiven) -> SparesAnswer:
    """Answer with the spares that last the lead time with a given chance."""
    from fillwright.science import life_policy  # noqa: PLC0415  loaded when asked

    found = life_policy.spares(given.mean_demand, given.service)
    return SparesAnswer(
        stock=found.stock,
        achieved=found.achieved,
        because=f"{found.stock} last the lead time with a chance of {found.achieved:.4f}.",
        assumptions=("Seals fail one by one: demand in the lead time is Poisson.",),
        sources=("Poisson distribution",),
    )
