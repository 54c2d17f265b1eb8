"""Whether a weighing scale is good enough for a tolerance, and what to do if it is not.

Uncertainty of a mean of readings, split into what averages and what does not; the verdict
says good enough, average so many, read running totals, or find another scale.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from fillwright.science.given import above_zero, not_negative, whole
from fillwright.science.rounding import rounding_bias

__all__ = [
    "ReadingUncertainty",
    "ScaleCheck",
    "ScaleVerdict",
    "reading_uncertainty",
    "scale_check",
    "serving_readability",
]

_MOST_REPEATS = 100
_REPEATABILITY_IN_STEPS = 0.5
_STEP_OVER_TOLERANCE = 1.0 / 4.0
_REPEATABILITY_OVER_TOLERANCE = 1.0 / 12.0
_STEPS = (5.0, 2.0, 1.0)


class ScaleVerdict(StrEnum):
    """Whether a scale can judge doses against a tolerance."""

    GOOD_ENOUGH = "good-enough"
    REPEATS = "repeats"
    RUNNING_TOTAL = "running-total"
    NO = "no"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingUncertainty:
    """Standard uncertainty of the mean of some readings, split by what repeats can do to it.

    Attributes
    ----------
    averaging : float
        The part that falls with the root of the number of readings, as it is now. [kg]
    shared : float
        The part common to all readings: left-over rounding and a shared mean tare. [kg]
    total : float
        Root sum of squares of both. [kg]
    tare_share : float
        Part of the variance of one reading that comes from the tare. [1]
    """

    averaging: float
    shared: float
    total: float
    tare_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleCheck:
    """Whether a scale is good enough for a tolerance, and what to do if not.

    Attributes
    ----------
    verdict : ScaleVerdict
        Good enough, with repeats, by running totals, or not at all.
    repeats : int
        Readings to average (or doses in the running total) so that it will do.
    u_single : float
        Standard uncertainty of one reading. [kg]
    u_mean : float
        Standard uncertainty of the mean of `repeats` readings. [kg]
    residual_rounding : float
        Rounding error left after endlessly many readings. [kg]
    allowed : float
        Largest standard uncertainty that will do. [kg]
    equation : str
        Where the equation comes from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    verdict: ScaleVerdict
    repeats: int
    u_single: float
    u_mean: float
    residual_rounding: float
    allowed: float
    equation: str
    assumptions: tuple[str, ...]
    because: str


def reading_uncertainty(
    *,
    readability: float,
    repeatability_sd: float,
    dose_sd: float = 0.0,
    tare_sd: float = 0.0,
    tare_readings: int = 0,
    repeats: int = 1,
) -> ReadingUncertainty:
    """Return the standard uncertainty of the mean of some readings of doses.

    Parameters
    ----------
    readability : float
        Step of the scale. [kg]
    repeatability_sd : float
        Sd of the scale for one load, rounding left out. [kg]
    dose_sd : float
        Sd from dose to dose; zero when one dose is weighed again and again. [kg]
    tare_sd : float
        Sd of the empty containers where a mean tare is taken; zero with each one's own
        tare (put √2 times the repeatability there instead). [kg]
    tare_readings : int
        Empty containers that the mean tare was taken from; 0 for own tare.
    repeats : int
        Readings averaged.

    Returns
    -------
    ReadingUncertainty
        What averages, what is shared, and the total.

    Raises
    ------
    BadInput
        If a figure is negative or `repeats` is below 1.

    Notes
    -----
    u² = (σ² + u_r² + σ_T² + d²/12 - b²)/m + b² + σ_T²/n_T, with the rounding bias b of
    `rounding_bias`. Dividing d²/12 by the repeats is wrong where the scatter is below half a
    step; own derivation, the Fourier series of the rounding error.
    """
    step = not_negative(readability, "readability")
    scale = not_negative(repeatability_sd, "repeatability_sd")
    dose = not_negative(dose_sd, "dose_sd")
    tare = not_negative(tare_sd, "tare_sd")
    count = whole(repeats, "repeats", at_least=1)
    tares = whole(tare_readings, "tare_readings", at_least=0)
    scatter = scale**2 + dose**2 + tare**2
    left = float(rounding_bias(step, sd=math.sqrt(scatter)))
    averaging = math.sqrt((scatter + max(step**2 / 12.0 - left**2, 0.0)) / count)
    shared = math.hypot(left, tare / math.sqrt(tares) if tares else 0.0)
    single = scatter + step**2 / 12.0
    return ReadingUncertainty(
        averaging=averaging,
        shared=shared,
        total=math.hypot(averaging, shared),
        tare_share=tare**2 / single if single else 0.0,
    )


def scale_check(
    tolerance: float,
    *,
    readability: float,
    repeatability_sd: float,
    dose_sd: float | None = None,
    tare_sd: float = 0.0,
    repeats: int = 1,
    ratio: float = 4.0,
    same_container: bool = False,
) -> ScaleCheck:
    """Return whether a scale can judge a mean dose against a tolerance.

    Parameters
    ----------
    tolerance : float
        Half width of the band about the target. [kg]
    readability : float
        Step of the scale. [kg]
    repeatability_sd : float
        Sd of the scale for one load. [kg]
    dose_sd : float or None
        Sd from dose to dose when several doses are averaged; none for one dose. [kg]
    tare_sd : float
        Sd of the empty containers where a mean tare is used. [kg]
    repeats : int
        Readings to be averaged as planned.
    ratio : float
        Tolerance over twice the standard uncertainty that is wanted. [1]
    same_container : bool
        Whether repeats weigh one container again and again, so that what its empty differs
        from the mean tare stays in all of them.

    Returns
    -------
    ScaleCheck
        Verdict, the repeats that do, and the figures.

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    The scale will do when u <= t / (2 ratio). The ratio 4 is an old shop habit: common
    practice, no source. Mean tare is forbidden above a third of the tolerance (own rule).
    A running total of m doses reads the sum once, so its rounding is d / (m √12).
    """
    band = above_zero(tolerance, "tolerance")
    allowed = band / (2.0 * above_zero(ratio, "ratio"))
    planned = whole(repeats, "repeats", at_least=1)
    step = not_negative(readability, "readability")

    stays = not_negative(tare_sd, "tare_sd") if same_container else 0.0

    def mean_of(count: int) -> ReadingUncertainty:
        found = reading_uncertainty(
            readability=step,
            repeatability_sd=repeatability_sd,
            dose_sd=0.0 if dose_sd is None else dose_sd,
            tare_sd=0.0 if same_container else tare_sd,
            repeats=count,
        )
        if not stays:
            return found
        whole_ = math.hypot(found.total, stays)
        return ReadingUncertainty(
            averaging=found.averaging,
            shared=math.hypot(found.shared, stays),
            total=whole_,
            tare_share=(stays / whole_) ** 2,
        )

    single = mean_of(1)
    now = mean_of(planned)
    residual = now.shared
    verdict, count, mean = ScaleVerdict.NO, planned, now.total
    because = "No number of repeats will do: a finer scale is needed."
    if tare_sd > band / 3.0:
        because = (
            "The empty containers differ by too much for a mean tare: tare each one on its own."
        )
    elif now.total <= allowed:
        verdict = ScaleVerdict.GOOD_ENOUGH
        because = f"The scale will do with {planned} reading(s)."
    elif (enough := _fewest(lambda m: mean_of(m).total, allowed)) is not None:
        verdict, count, mean = ScaleVerdict.REPEATS, enough, mean_of(enough).total
        because = f"The scale will do when {enough} readings are averaged."
    elif (enough := _fewest(_running_total(single, step), allowed)) is not None:
        verdict, count = ScaleVerdict.RUNNING_TOTAL, enough
        mean = _running_total(single, step)(enough)
        because = (
            f"Averages will not do; leave {enough} doses on the pan, read their total "
            "and divide, within the scale's capacity."
        )
    return ScaleCheck(
        verdict=verdict,
        repeats=count,
        u_single=single.total,
        u_mean=mean,
        residual_rounding=residual,
        allowed=allowed,
        equation="u <= t / (2 ratio); left-over rounding by Fourier series (own derivation)",
        assumptions=(
            "The scale is adjusted and level; a constant error of it is not in these figures.",
            f"Tolerance over twice the uncertainty should reach {ratio:g}: common practice.",
        ),
        because=because,
    )


def serving_readability(
    tolerance: float, *, tare_sd: float = 0.0, ratio: float = 4.0
) -> float | None:
    """Return the coarsest usual step of a scale that would serve for a tolerance.

    Parameters
    ----------
    tolerance : float
        Half width of the band about the target. [kg]
    tare_sd : float
        Sd of the empty containers where a mean tare is used. [kg]
    ratio : float
        Tolerance over twice the standard uncertainty that is wanted. [1]

    Returns
    -------
    float or None
        A step of 1, 2 or 5 times a power of ten; none where the empties alone are too
        unlike. [kg]

    Raises
    ------
    BadInput
        If a figure cannot be used.

    Notes
    -----
    The scale is taken to repeat within half a step. It serves when one reading is good
    enough (`scale_check`), and when it can show the spread that a proof of the tolerance
    needs: step up to a quarter of the tolerance, repeatability up to a twelfth of it. Own
    design: a proof of 99 in a hundred needs a spread of about a quarter of the tolerance.

    Examples
    --------
    >>> round(1e3 * serving_readability(0.0025), 6)
    0.2
    """
    band = above_zero(tolerance, "tolerance")
    most = band * min(
        _STEP_OVER_TOLERANCE, _REPEATABILITY_OVER_TOLERANCE / _REPEATABILITY_IN_STEPS
    )
    power = math.floor(math.log10(most))
    usual = (figure * 10.0**p for p in range(power, power - 3, -1) for figure in _STEPS)
    for step in usual:
        if step <= most * (1.0 + 1e-9):
            found = scale_check(
                band,
                readability=step,
                repeatability_sd=_REPEATABILITY_IN_STEPS * step,
                tare_sd=tare_sd,
                ratio=ratio,
            )
            if found.verdict is ScaleVerdict.GOOD_ENOUGH:
                return step
    return None


def _fewest(uncertainty: Callable[[int], float], allowed: float) -> int | None:
    """Return the fewest readings whose mean is good enough, none above a hundred."""
    counts = range(1, _MOST_REPEATS + 1)
    return next((m for m in counts if uncertainty(m) <= allowed), None)


def _running_total(single: ReadingUncertainty, step: float) -> Callable[[int], float]:
    """Return the uncertainty of a mean dose from one reading of the total of m doses."""
    scatter = max(single.total**2 - step**2 / 12.0, 0.0)

    def uncertainty(count: int) -> float:
        return math.sqrt(scatter / count + (step / count) ** 2 / 12.0)

    return uncertainty
