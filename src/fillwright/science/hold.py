"""Holding a run: when and by how much to turn the wheel.

Suspect containers (`suspect`), the live watch (`watch`), charts over whole runs (`charts`,
`self_starting`), run lengths (`runlength`, `run_rules`) and `drift` can be had from here too.
"""

from __future__ import annotations

from dataclasses import dataclass

from fillwright.errors import BadInput
from fillwright.science.chart_constants import (
    ChartConstants,
    chart_constants,
)
from fillwright.science.charts import (
    CusumChart,
    EwmaChart,
    IndividualsChart,
    cusum_chart,
    ewma_chart,
    individuals_chart,
)
from fillwright.science.drift import (
    Drift,
    drift,
    watch_drift,
)
from fillwright.science.given import above_zero, finite, not_negative, whole
from fillwright.science.run_rules import (
    RunRule,
    arl_rules,
)
from fillwright.science.runlength import (
    arl_cusum,
    arl_ewma,
    containers_to_alarm,
    design_cusum,
    design_ewma,
)
from fillwright.science.self_starting import (
    SelfStartingChart,
    self_starting,
    self_starting_chart,
)
from fillwright.science.suspect import Check, CheckOutcome, SuspectRange, suspect_range
from fillwright.science.watch import (
    Signal,
    SignalKind,
    SignalSide,
    WatchState,
    WatchTake,
    watch_clear,
    watch_restart,
    watch_start,
    watch_take,
)

__all__ = [
    "Adjustment",
    "ChartConstants",
    "Check",
    "CheckOutcome",
    "CusumChart",
    "Drift",
    "EwmaChart",
    "IndividualsChart",
    "RunRule",
    "SelfStartingChart",
    "Signal",
    "SignalKind",
    "SignalSide",
    "SuspectRange",
    "WatchState",
    "WatchTake",
    "adjustment",
    "arl_cusum",
    "arl_ewma",
    "arl_rules",
    "chart_constants",
    "containers_to_alarm",
    "cusum_chart",
    "design_cusum",
    "design_ewma",
    "drift",
    "ewma_chart",
    "individuals_chart",
    "self_starting",
    "self_starting_chart",
    "suspect_range",
    "watch_clear",
    "watch_drift",
    "watch_restart",
    "watch_start",
    "watch_take",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjustment:
    """Whether and by how much to turn the wheel.

    Attributes
    ----------
    setting_change : float
        Change of the volume scale; zero inside the dead band. [m³]
    weight : float
        Share of the mean deviation that is believed. [1]
    level : float
        Believed deviation of the dose level: weight times mean deviation. [kg]
    dead_band : float
        Deviation inside which the wheel is left alone. [kg]
    equation : str
        Where the equation comes from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    setting_change: float
    weight: float
    level: float
    dead_band: float
    equation: str
    assumptions: tuple[str, ...]
    because: str


def adjustment(
    mean_deviation: float,
    *,
    slope: float,
    dead_band: float,
    shrink: float | None = None,
    prior_sd_of_level: float | None = None,
    dose_sd: float | None = None,
    readings: int | None = None,
) -> Adjustment:
    """Return whether and by how much to turn the wheel.

    Parameters
    ----------
    mean_deviation : float
        Mean of the last readings less target. [kg]
    slope : float
        Dose gained per volume of scale. [kg/m³]
    dead_band : float
        Deviation inside which the wheel is left alone. [kg]
    shrink : float or None
        Share of the deviation to believe, 0 to 1; none to work it out. [1]
    prior_sd_of_level : float or None
        Sd of the level about the target beforehand. [kg]
    dose_sd : float or None
        Sd of single doses. [kg]
    readings : int or None
        Readings in the mean.

    Returns
    -------
    Adjustment
        Change of setting, zero inside the dead band, and the weight.

    Raises
    ------
    BadInput
        If neither the share nor all of its three parts are given, or a figure cannot be used.

    Notes
    -----
    Weight K = τ²/(τ² + σ²/n); the level K · deviation is corrected in full when it is outside
    the band [1]_. A single reading never turns the wheel: correcting each dose in full
    doubles the variance.

    References
    ----------
    .. [1] Box and Luceño, Statistical control by monitoring and feedback adjustment (1997);
       from memory.

    Examples
    --------
    >>> answer = adjustment(0.002, slope=1000.0, dead_band=0.001, shrink=0.8)
    >>> round(1e6 * answer.setting_change, 3)
    -1.6
    """
    off = finite(mean_deviation, "mean_deviation")
    gain, band = above_zero(slope, "slope"), not_negative(dead_band, "dead_band")
    weight = _weight(shrink, prior_sd_of_level, dose_sd, readings)
    level = weight * off
    change = -level / gain
    if readings == 1:
        change, because = 0.0, "One reading never turns the wheel: weigh two more."
    elif abs(level) <= band:
        change, because = 0.0, "Leave the wheel alone: the deviation is inside the dead band."
    elif change > 0.0:
        because = "Turn up by the setting change, then weigh once more before another turn."
    else:
        because = "Go down past the setting, come up to it, and weigh before another turn."
    return Adjustment(
        setting_change=change,
        weight=weight,
        level=level,
        dead_band=band,
        equation="K = τ²/(τ² + σ²/n), change = -K · deviation / slope",
        assumptions=(
            "The level moves slowly against the scatter of single doses.",
            "The dose is a straight line in the setting.",
        ),
        because=because,
    )


def _weight(
    shrink: float | None, level_sd: float | None, dose_sd: float | None, readings: int | None
) -> float:
    """Return the share of the deviation to believe."""
    if shrink is not None:
        if not 0.0 <= finite(shrink, "shrink") <= 1.0:
            raise BadInput(
                f"shrink is {shrink:g}; give a share from 0 to 1.",
                field="shrink",
                given=shrink,
                allowed="0 to 1",
            )
        if readings is not None:
            whole(readings, "readings", at_least=1)
        return float(shrink)
    if level_sd is None or dose_sd is None or readings is None:
        raise BadInput(
            "shrink is missing; give it, or prior_sd_of_level, dose_sd and readings together.",
            field="shrink",
            allowed="shrink, or all three of its parts",
            code="missing",
        )
    own = not_negative(level_sd, "prior_sd_of_level") ** 2
    noise = above_zero(dose_sd, "dose_sd") ** 2 / whole(readings, "readings", at_least=1)
    return own / (own + noise)
