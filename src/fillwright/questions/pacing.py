"""Questions about pace: containers a minute, and into how many shots a dose is cut."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from fillwright.questions.fields import Answer, Count, Given, Real

__all__ = ["multi_shot", "rate"]

Seconds = Annotated[float, Real(at_least=0, at_most=1e5)]


class RateGiven(Given):
    """Times of one container."""

    fill_s: Annotated[float, Real(above=0, at_most=1e5)] = Field(
        description="Time of a fill stroke.", examples=[1.2]
    )
    recharge_s: Seconds = Field(description="Time of a recharge stroke.", examples=[1.8])
    handling_s: Seconds = Field(
        description="Time to take a container away and put the next.", examples=[3]
    )
    mode: Literal["foot-switch", "recharge-on-press", "continuous"] = Field(
        description="The machine waits full, waits empty, or a timer repeats.",
        examples=["foot-switch"],
    )
    dwell_s: Seconds | None = Field(
        default=None, description="Rest after the recharge; 0 when left out."
    )
    valve_s: Seconds | None = Field(
        default=None, description="One turn of the valve; 0 when left out."
    )
    cutoff_s: Seconds | None = Field(
        default=None, description="Until the nozzle has cut off; 0 when left out."
    )
    shots: Annotated[int, Count(at_least=1, at_most=10_000)] | None = Field(
        default=None, description="Shots into one container; 1 when left out."
    )
    nozzles: Annotated[int, Count(at_least=1, at_most=1000)] | None = Field(
        default=None, description="Containers filled at once; 1 when left out."
    )


class RateAnswer(Answer):
    """How fast containers come."""

    cycle_s: float
    units_per_min: float
    binds: Literal["hands", "recharge"]
    pause_s: float | None
    units_per_min_with_a_second_less: float


def rate(given: RateGiven) -> RateAnswer:
    """Answer how fast containers come, and what binds."""
    from fillwright.science import rate as science  # noqa: PLC0415  loaded when asked

    nozzles = given.nozzles or 1
    found = science.rate(
        fill=given.fill_s,
        recharge=given.recharge_s,
        handling=given.handling_s,
        mode=science.Mode(given.mode),
        dwell=given.dwell_s or 0.0,
        valve=given.valve_s or 0.0,
        cutoff=given.cutoff_s or 0.0,
        shots=given.shots or 1,
        nozzles=nozzles,
    )
    return RateAnswer(
        cycle_s=found.cycle,
        units_per_min=60.0 * found.per_second,
        binds="hands" if found.binds == "hands" else "recharge",
        pause_s=found.pause,
        units_per_min_with_a_second_less=60.0 * nozzles / found.saved,
        because=found.because,
        assumptions=("Nobody tires; say a range for the hands, 2.5 to 5 s (judgement).",),
        sources=("Sum of the times of one container.",),
    )


class MultiShotGiven(Given):
    """A dose and a cylinder."""

    target_m3: Annotated[float, Real(above=0, at_most=10)] = Field(
        description="Volume of the dose.", examples=[0.0012]
    )
    cylinder_m3: Annotated[float, Real(above=0, at_most=10)] = Field(
        description="Volume of the whole stroke.", examples=[0.0005]
    )
    least_fraction: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="Least share of the cylinder a shot may be; 0.1."
    )
    u_random_per_shot: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="Relative standard uncertainty of one shot, anew each time."
    )
    u_systematic: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None, description="The same that all shots have in common."
    )


class MultiShotAnswer(Answer):
    """Into how many shots; null where no number does."""

    shots: int | None
    shot_m3: float | None
    u_relative_total: float | None


def multi_shot(given: MultiShotGiven) -> MultiShotAnswer:
    """Answer into how many equal shots a dose is cut."""
    from fillwright.science import rate as science  # noqa: PLC0415  loaded when asked

    found = science.shots_for(
        given.target_m3,
        cylinder=given.cylinder_m3,
        least_share=(
            science.LEAST_SHARE if given.least_fraction is None else given.least_fraction
        ),
        random_spread=given.u_random_per_shot,
        systematic_spread=given.u_systematic,
    )
    return MultiShotAnswer(
        shots=found.count,
        shot_m3=found.shot,
        u_relative_total=found.relative_spread,
        because=found.because,
        assumptions=("All shots are equal.",),
        sources=("10 % of the cylinder is common practice, no source.",),
    )
