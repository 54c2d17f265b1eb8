"""Questions about charts before a run: how soon they alarm, and how to set their limits."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput, OutsideModel
from fillwright.questions.fields import Answer, Count, Given, Real, Values

__all__ = ["arl", "chart_constants", "chart_design", "check_delay", "check_plan"]

_PAGE = "Page 1954, integral equation of the cumulative sum, by quadrature (from memory)"
_CROWDER = "Crowder 1987, integral equation of the moving average, by quadrature (from memory)"
_RULES = "Champ and Woodall 1987, run rules as a Markov chain (from memory)"
_LONGEST_RUN = 1e10
_NO_LIMIT = 1e-3
_SMALL_K = 0.15
_LONGEST_SMALL_K = 1e5
_KNOWN = "Mean and sd of the steady run are known; readings are normal and independent."
Reference = Annotated[float, Real(at_least=0, at_most=5)]
Weight = Annotated[float, Real(at_least=0.01, at_most=0.99)]


class ChartConstantsGiven(Given):
    """The size of the groups."""

    subgroup_size: Annotated[int, Count(at_least=2, at_most=100)] = Field(
        description="Readings in a group.", examples=[5]
    )


class ChartConstantsAnswer(Answer):
    """Constants of mean, range and sd charts."""

    c4: float
    d2: float
    d3: float
    a2: float = Field(serialization_alias="A2")
    a3: float = Field(serialization_alias="A3")
    b3: float = Field(serialization_alias="B3")
    b4: float = Field(serialization_alias="B4")
    d3_limit: float = Field(serialization_alias="D3")
    d4_limit: float = Field(serialization_alias="D4")


def chart_constants(given: ChartConstantsGiven) -> ChartConstantsAnswer:
    """Answer with the constants of charts for one group size."""
    from fillwright.science import chart_constants as science  # noqa: PLC0415  when asked

    found = science.chart_constants(given.subgroup_size)
    return ChartConstantsAnswer(
        c4=found.c4,
        d2=found.d2,
        d3=found.d3,
        a2=found.A2,
        a3=found.A3,
        b3=found.B3,
        b4=found.B4,
        d3_limit=found.D3,
        d4_limit=found.D4,
        because=f"Constants for groups of {given.subgroup_size}, computed and not tabulated.",
        assumptions=("Readings are normal and independent.",),
        sources=("Definitions as in ISO 7870-2 (from memory)",),
    )


class Rule(Given):
    """So many of the last readings beyond a line, all on the same side."""

    r_of: Annotated[int, Count(at_least=1, at_most=12)] = Field(description="How many.")
    last: Annotated[int, Count(at_least=1, at_most=12)] = Field(description="Of how many.")
    beyond_sd_same_side: Annotated[float, Real(at_least=0, at_most=6)] = Field(
        description="The line, in sds from the centre."
    )


class ArlGiven(Given):
    """A chart with its settings, and a shift of the mean."""

    chart: Literal["cusum", "cusum-one-sided", "ewma", "run-rules"] = Field(
        description="Kind of chart.", examples=["cusum"]
    )
    k: Reference | None = Field(
        default=None, description="Reference value, for cusum.", examples=[0.5]
    )
    h: Annotated[float, Real(above=0, at_most=20)] | None = Field(
        default=None, description="Decision limit, for cusum.", examples=[5]
    )
    head_start: Annotated[float, Real(at_least=0, at_most=20)] | None = Field(
        default=None, description="Where the sums begin, for cusum; 0 when left out."
    )
    lam: Weight | None = Field(default=None, description="Weight of the newest, for ewma.")
    limit: Annotated[float, Real(at_least=0.1, at_most=6)] | None = Field(
        default=None, alias="L", description="Width of the limits in sds, for ewma."
    )
    rules: Values[Rule] | None = Field(
        default=None, max_length=6, description="For run-rules; any of them alarms."
    )
    shift_sd: Annotated[float, Real(at_least=-20, at_most=20)] = Field(
        description="Shift of the mean in sds, from the start.", examples=[1]
    )


class ArlAnswer(Answer):
    """Average run length."""

    arl: float


def arl(given: ArlGiven) -> ArlAnswer:
    """Answer how many readings pass on average until a chart alarms."""
    from fillwright.science import run_rules, runlength  # noqa: PLC0415  loaded when asked

    if given.chart == "ewma":
        _need(given.chart, lam=given.lam, L=given.limit)
        length = runlength.arl_ewma(given.lam or 0.0, given.limit or 0.0, shift=given.shift_sd)
        source = _CROWDER
    elif given.chart == "run-rules":
        _need(given.chart, rules=given.rules or None)
        length = run_rules.arl_rules(
            [
                run_rules.RunRule(r_of=rule.r_of, last=rule.last, beyond=rule.beyond_sd_same_side)
                for rule in given.rules or ()
            ],
            shift=given.shift_sd,
        )
        source = _RULES
    else:
        _need(given.chart, k=given.k, h=given.h)
        length = runlength.arl_cusum(
            given.k or 0.0,
            given.h or 0.0,
            shift=given.shift_sd,
            head_start=given.head_start or 0.0,
            sides=1 if given.chart == "cusum-one-sided" else 2,
        )
        source = _PAGE
    if not 1.0 <= length <= _LONGEST_RUN:
        raise OutsideModel(
            f"{given.chart} with these settings alarms after over {_LONGEST_RUN:g} readings, "
            "which cannot be computed; give tighter limits.",
            field="chart",
            given=given.chart,
            allowed=f"settings with a run length up to {_LONGEST_RUN:g}",
        )
    return ArlAnswer(
        arl=length,
        because=f"With a shift of {given.shift_sd:g} sd the chart alarms after {length:.4g} "
        "readings on average.",
        assumptions=(_KNOWN,),
        sources=(source,),
    )


class ChartDesignGiven(Given):
    """The run length that is wanted of a steady run."""

    chart: Literal["cusum", "ewma"] = Field(description="Kind of chart.", examples=["cusum"])
    k: Annotated[float, Real(at_least=0.1, at_most=5)] | None = Field(
        default=None, description="Reference value, for cusum.", examples=[0.5]
    )
    lam: Weight | None = Field(default=None, description="Weight of the newest, for ewma.")
    arl0: Annotated[float, Real(at_least=2, at_most=1_000_000)] = Field(
        description="Readings between false alarms, on average.", examples=[370.4]
    )


class ChartDesignAnswer(Answer):
    """The limit that gives it: h for a cusum, L for an ewma."""

    h: float | None
    limit: float | None = Field(serialization_alias="L")


def chart_design(given: ChartDesignGiven) -> ChartDesignAnswer:
    """Answer with the limit of a chart for a wanted run length."""
    from fillwright.science import runlength  # noqa: PLC0415  loaded when asked

    h = limit = None
    if given.chart == "cusum":
        _need(given.chart, k=given.k)
        k = given.k or 0.0
        _check_reach(k, given.arl0, least=runlength.arl_cusum(k, _NO_LIMIT))
        h = runlength.design_cusum(k, given.arl0)
        name, source = f"h = {h:.4g}", _PAGE
    else:
        _need(given.chart, lam=given.lam)
        limit = runlength.design_ewma(given.lam or 0.0, given.arl0)
        name, source = f"L = {limit:.4g}", _CROWDER
    return ChartDesignAnswer(
        h=h,
        limit=limit,
        because=f"{name} gives a false alarm every {given.arl0:g} readings on average.",
        assumptions=(_KNOWN,),
        sources=(source,),
    )


def _check_reach(k: float, arl0: float, *, least: float) -> None:
    """Refuse a run length that no limit gives, or that cannot be computed."""
    most = _LONGEST_SMALL_K if k < _SMALL_K else math.inf
    if not least <= arl0 <= most:
        allowed = f"from {least:.4g}" + (f" to {most:g}" if most < math.inf else "")
        raise OutsideModel(
            f"arl0 is {arl0:g}; with k {k:g} give one {allowed}.",
            field="arl0",
            given=arl0,
            allowed=allowed,
        )


class CheckDelayGiven(Given):
    """How often and how many are checked, and the shift to be found."""

    checked_each_time: Annotated[int, Count(at_least=1, at_most=1000)] = Field(
        description="Containers weighed at a check.", examples=[3]
    )
    containers_between_checks: Annotated[float, Real(above=0, at_most=1_000_000)] = Field(
        description="Containers from check to check.", examples=[50]
    )
    shift_in_dose_sd: Annotated[float, Real(at_least=-20, at_most=20)] = Field(
        description="Shift of the mean in sds of single doses.", examples=[1]
    )
    chart: Literal["mean", "cusum"] = Field(description="Kind of chart.", examples=["mean"])


class CheckDelayAnswer(Answer):
    """Containers filled after the shift until the alarm, on average."""

    containers: float


def check_delay(given: CheckDelayGiven) -> CheckDelayAnswer:
    """Answer how many containers are filled after a shift until the chart alarms."""
    from fillwright.science import runlength  # noqa: PLC0415  loaded when asked

    if given.checked_each_time > given.containers_between_checks:
        raise BadInput(
            f"checked_each_time is {given.checked_each_time}; there are only "
            f"{given.containers_between_checks:g} from check to check.",
            field="checked_each_time",
            given=given.checked_each_time,
            allowed=f"up to {given.containers_between_checks:g}",
            code="inconsistent",
        )
    containers = runlength.containers_to_alarm(
        given.checked_each_time,
        given.containers_between_checks,
        given.shift_in_dose_sd,
        chart=given.chart,
    )
    return CheckDelayAnswer(
        containers=containers,
        because=f"On average {containers:.4g} containers are filled until the alarm.",
        assumptions=(_KNOWN, "The shift comes at any time between two checks alike."),
        sources=(_PAGE if given.chart == "cusum" else "3 sd limits on the mean of a check",),
    )


class CheckPlanGiven(Given):
    """The shift to be found, what weighing costs, and what is lost until it is found."""

    shift_in_dose_sd: Annotated[float, Real(at_least=0.05, at_most=20)] = Field(
        description="Shift that must not go on, in sds of single doses.", examples=[1.5]
    )
    containers_between_shifts: Annotated[float, Real(at_least=1, at_most=1e9)] = Field(
        description="Containers from one such shift to the next, on average.", examples=[5000]
    )
    cost_of_a_weighing: Annotated[float, Real(above=0, at_most=1e9)] = Field(
        description="Cost of weighing one container, in any money.", examples=[0.2]
    )
    cost_of_a_container_at_risk: Annotated[float, Real(above=0, at_most=1e9)] = Field(
        description="Cost of one container filled after the shift, in the same.", examples=[1]
    )
    cost_of_a_false_alarm: Annotated[float, Real(at_least=0, at_most=1e9)] = Field(
        default=0.0, description="Cost of looking into an alarm that is none."
    )
    most_to_look_at: Annotated[int, Count(at_least=1, at_most=10_000_000)] | None = Field(
        default=None, description="Containers that can be weighed again after an alarm."
    )
    chart: Literal["mean", "cusum"] = Field(default="cusum", description="Kind of chart.")


class CheckPlanAnswer(Answer):
    """How often and how many, with the costs for each container filled."""

    checked_each_time: int
    containers_between_checks: int
    containers_to_alarm: float
    cost_of_weighing: float
    cost_at_risk: float
    cost_of_false_alarms: float
    is_bounded: bool


def check_plan(given: CheckPlanGiven) -> CheckPlanAnswer:
    """Answer how often to weigh and how many, at the least cost."""
    from fillwright.science import check_plan as science  # noqa: PLC0415  when asked

    found = science.plan_checks(
        given.shift_in_dose_sd,
        containers_between_shifts=given.containers_between_shifts,
        cost_of_a_weighing=given.cost_of_a_weighing,
        cost_of_a_container_at_risk=given.cost_of_a_container_at_risk,
        cost_of_a_false_alarm=given.cost_of_a_false_alarm,
        most_to_look_at=given.most_to_look_at,
        chart=given.chart,
    )
    return CheckPlanAnswer(
        checked_each_time=found.checked_each_time,
        containers_between_checks=found.containers_between_checks,
        containers_to_alarm=found.containers_to_alarm,
        cost_of_weighing=found.cost_of_weighing,
        cost_at_risk=found.cost_at_risk,
        cost_of_false_alarms=found.cost_of_false_alarms,
        is_bounded=found.is_bounded,
        because=found.because,
        assumptions=found.assumptions,
        sources=("Duncan 1956, economic design of charts (from memory); run lengths computed",),
    )


def _need(chart: str, **settings: object) -> None:
    """Refuse a chart whose settings are missing."""
    for name, value in settings.items():
        if value is None:
            raise BadInput(
                f"{name} is missing; the chart {chart} needs it.",
                field=name,
                allowed="a value",
                code="missing",
            )
