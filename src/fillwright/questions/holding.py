"""Questions about holding a run: what a chart shows, and how far to turn the wheel."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Count, Given, Real, Values, grams, millilitres
from fillwright.records.units import kg_from_g, kg_per_m3_from_g_per_ml

__all__ = ["adjust", "chart_run"]

Positive = Annotated[float, Real(above=0)]
NotNegative = Annotated[float, Real(at_least=0)]


class ChartRunGiven(Given):
    """Readings of a run in time order, or the same in sds about the target."""

    chart: Literal["individuals", "groups", "cusum", "ewma", "self-starting"] = Field(
        description="Kind of chart.", examples=["cusum"]
    )
    readings: Values[Annotated[float, Real()]] | None = Field(
        default=None, description="For individuals and self-starting; any unit."
    )
    standardised: Values[Annotated[float, Real(at_least=-1e6, at_most=1e6)]] | None = Field(
        default=None,
        description="For cusum and ewma: reading less target, over the sd.",
        examples=[[0.2, -0.4, 1.1, 0.9, 2.0, 1.6, 2.2, 1.9]],
    )
    groups: Values[Values[Annotated[float, Real()]]] | None = Field(
        default=None,
        min_length=2,
        max_length=10_000,
        description="For groups: readings weighed one after another, two or more in each.",
    )
    k: Annotated[float, Real(at_least=0, at_most=10)] = Field(
        default=0.5, description="Reference value of the sums."
    )
    h: Annotated[float, Real(above=0, at_most=1000)] = Field(
        default=5.0, description="Decision limit of the sums."
    )
    lam: Annotated[float, Real(above=0, at_most=1)] = Field(
        default=0.1, description="Weight of the newest reading in the moving average."
    )
    limit: Annotated[float, Real(above=0, at_most=1000)] = Field(
        default=2.814, alias="L", description="Width of its limits in sds."
    )


class ChartRunAnswer(Answer):
    """The chart; what belongs to another kind is null, signals count from 1."""

    centre: float | None = None
    upper: float | None = None
    lower: float | None = None
    mean_moving_range: float | None = None
    sd_from_mr: float | None = None
    ewma: tuple[float, ...] | None = None
    upper_limit: tuple[float, ...] | float | None = None
    means: tuple[float, ...] | None = None
    sds: tuple[float, ...] | None = None
    sd_within: float | None = None
    mean_low: tuple[float, ...] | None = None
    mean_high: tuple[float, ...] | None = None
    sd_low: tuple[float, ...] | None = None
    sd_high: tuple[float, ...] | None = None
    z: tuple[float | None, ...] | None = None
    up: tuple[float, ...] | None = None
    down: tuple[float, ...] | None = None
    first_signal: int | None
    last_good: int


def chart_run(given: ChartRunGiven) -> ChartRunAnswer:
    """Answer with a chart over a whole run."""
    if given.chart == "groups" or given.groups is not None:
        return _groups(given)
    row = _row(given)
    if given.chart == "individuals":
        return _individuals(row)
    if given.chart == "ewma":
        return _ewma(row, given)
    return _sums(row, given)


def _row(given: ChartRunGiven) -> tuple[float, ...]:
    """Return the readings that the chart asks for, or say which are missing or too many."""
    raw = given.chart in {"individuals", "self-starting"}
    wanted, other = ("readings", "standardised") if raw else ("standardised", "readings")
    row: tuple[float, ...] | None = getattr(given, wanted)
    if getattr(given, other) is not None:
        raise BadInput(
            f"{other} does not belong to the chart {given.chart}; give {wanted}.",
            field=other,
            given=other,
            allowed=wanted,
            code="inconsistent",
        )
    if row is None:
        raise BadInput(
            f"{wanted} is missing; the chart {given.chart} needs it.",
            field=wanted,
            allowed="a list of numbers",
            code="missing",
        )
    least = {"individuals": 2, "self-starting": 3}.get(given.chart, 1)
    if len(row) < least:
        raise BadInput(
            f"{wanted} holds {len(row)}; give at least {least}.",
            field=wanted,
            given=len(row),
            allowed=f"at least {least} numbers",
        )
    return row


def _groups(given: ChartRunGiven) -> ChartRunAnswer:
    """Return the chart of means and sds of groups."""
    from fillwright.science.group_chart import group_chart  # noqa: PLC0415  loaded when asked

    if given.chart != "groups" or given.readings is not None or given.standardised is not None:
        raise BadInput(
            "groups belongs to the chart groups, and nothing else does; give one of the two.",
            field="groups",
            given="groups",
            allowed="groups with the chart groups alone",
            code="inconsistent",
        )
    if given.groups is None:
        raise BadInput(
            "groups is missing; the chart groups needs it.",
            field="groups",
            allowed="a list of lists of numbers",
            code="missing",
        )
    found = group_chart(given.groups)
    return ChartRunAnswer(
        centre=found.centre,
        means=tuple(found.means.tolist()),
        sds=tuple(found.sds.tolist()),
        sd_within=found.sd_within,
        mean_low=tuple(found.mean_low.tolist()),
        mean_high=tuple(found.mean_high.tolist()),
        sd_low=tuple(found.sd_low.tolist()),
        sd_high=tuple(found.sd_high.tolist()),
        first_signal=found.first_signal,
        last_good=found.last_good,
        because=_signal(found.first_signal)
        .replace("reading", "group")
        .replace("Reading", "Group"),
        assumptions=("Readings of a steady run are independent and normal.",),
        sources=("Limits at 3 sd by c4, as in ISO 7870-2 (from memory); computed",),
    )


def _individuals(row: tuple[float, ...]) -> ChartRunAnswer:
    """Return the chart of single readings."""
    from fillwright.science import charts  # noqa: PLC0415  loaded when asked

    found = charts.individuals_chart(row)
    return ChartRunAnswer(
        centre=found.centre,
        upper=found.upper,
        lower=found.lower,
        mean_moving_range=found.mean_moving_range,
        sd_from_mr=found.sd_from_mr,
        first_signal=found.first_signal,
        last_good=found.last_good,
        because=_signal(found.first_signal),
        assumptions=("Readings of a steady run are independent and normal.",),
        sources=("Limits at 3 sd, sd from the mean moving range over 1.128; computed",),
    )


def _ewma(row: tuple[float, ...], given: ChartRunGiven) -> ChartRunAnswer:
    """Return the chart of the weighted moving average."""
    from fillwright.science import charts  # noqa: PLC0415  loaded when asked

    found = charts.ewma_chart(row, weight=given.lam, limit=given.limit)
    return ChartRunAnswer(
        ewma=tuple(found.ewma.tolist()),
        upper_limit=tuple(found.upper_limit.tolist()),
        first_signal=found.first_signal,
        last_good=found.last_good,
        because=_signal(found.first_signal),
        assumptions=("Mean and sd behind the standardised readings are known.",),
        sources=("Exponentially weighted moving average with exact limits (from memory)",),
    )


def _sums(row: tuple[float, ...], given: ChartRunGiven) -> ChartRunAnswer:
    """Return the chart of cumulative sums, with known or with learnt parameters."""
    from fillwright.science import charts, self_starting  # noqa: PLC0415  loaded when asked

    z: tuple[float | None, ...] | None = None
    if given.chart == "self-starting":
        started = self_starting.self_starting_chart(row, k=given.k, h=given.h)
        found = started.chart
        z = tuple(None if math.isnan(value) else value for value in started.z.tolist())
        assumptions = ("Mean and sd are learnt from the readings before each one.",)
        source = "Hawkins 1987, self-starting cusum charts (from memory)"
    else:
        found = charts.cusum_chart(row, k=given.k, h=given.h)
        assumptions = ("Mean and sd behind the standardised readings are known.",)
        source = "Two one-sided cumulative sums with reference value (from memory)"
    return ChartRunAnswer(
        z=z,
        up=tuple(found.up.tolist()),
        down=tuple(found.down.tolist()),
        upper_limit=found.upper_limit,
        first_signal=found.first_signal,
        last_good=found.last_good,
        because=_signal(found.first_signal),
        assumptions=assumptions,
        sources=(source,),
    )


def _signal(first: int | None) -> str:
    """Return what a chart shows in one sentence."""
    return "No reading gives a signal." if first is None else f"Reading {first} gives a signal."


class AdjustGiven(Given):
    """How far the doses are off, and what the wheel does to them."""

    mean_deviation_g: Annotated[float, Real()] = Field(
        description="Mean of the readings less target.", examples=[-1.2]
    )
    slope_g_per_ml: Positive = Field(
        description="Dose gained per millilitre of the volume scale.", examples=[0.98]
    )
    dead_band_g: NotNegative = Field(
        description="Deviation inside which the wheel is left alone.", examples=[0.5]
    )
    shrink: Annotated[float, Real(at_least=0, at_most=1)] | None = Field(
        default=None,
        description="Share of the deviation that is believed; or the three below.",
        examples=[0.8],
    )
    prior_sd_of_level_g: NotNegative | None = Field(
        default=None, description="Sd of the true level before the readings."
    )
    dose_sd_g: Positive | None = Field(default=None, description="Sd of single doses.")
    readings: Annotated[int, Count(at_least=1, at_most=1_000_000)] | None = Field(
        default=None, description="Readings behind the mean."
    )


class AdjustAnswer(Answer):
    """Change of the volume scale, 0 inside the dead band."""

    setting_change_ml: float
    weight: float
    level_g: float


def adjust(given: AdjustGiven) -> AdjustAnswer:
    """Answer whether and by how much to turn the wheel."""
    from fillwright.science import hold  # noqa: PLC0415  loaded when asked

    parts = (given.prior_sd_of_level_g, given.dose_sd_g, given.readings)
    missing = given.shrink is None and None in parts
    if missing or (given.shrink is not None and parts != (None, None, None)):
        raise BadInput(
            "shrink is missing; give it, or prior_sd_of_level_g, dose_sd_g and readings."
            if missing
            else "shrink is given beside what it would be computed from; give one of the two.",
            field="shrink",
            given=given.shrink,
            allowed="shrink, or prior_sd_of_level_g with dose_sd_g and readings",
            code="missing" if missing else "inconsistent",
        )
    found = hold.adjustment(
        kg_from_g(given.mean_deviation_g),
        slope=kg_per_m3_from_g_per_ml(given.slope_g_per_ml),
        dead_band=kg_from_g(given.dead_band_g),
        shrink=given.shrink,
        prior_sd_of_level=None
        if given.prior_sd_of_level_g is None
        else kg_from_g(given.prior_sd_of_level_g),
        dose_sd=None if given.dose_sd_g is None else kg_from_g(given.dose_sd_g),
        readings=given.readings,
    )
    return AdjustAnswer(
        setting_change_ml=millilitres(found.setting_change),
        weight=found.weight,
        level_g=grams(found.level),
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )
