"""Whether a proof that was kept still speaks for a machine: a few new doses against it.

Two prediction limits, one for the middle and one for the spread of the new doses, that doses of
an unchanged machine leave with a stated chance. It looks for a change; it proves nothing anew.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, not_negative, readings_in_order, whole

__all__ = ["KeptCheck", "KeptJudged", "KeptVerdict", "kept_check", "kept_judge", "overlooked"]

_FEWEST_KEPT = 5
_FEWEST_NEW = 3
_POINTS = 400


class KeptVerdict(StrEnum):
    """What a few doses say of a kept proof."""

    AGREES = "agrees"
    DISAGREES = "disagrees"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCheck:
    """What new doses are held to, fixed before the first.

    Attributes
    ----------
    shots : int
        New doses.
    kept_shots : int
        Readings of the kept proof.
    mean_low, mean_high : float
        Where the mean of the new doses must lie. [kg]
    most_sd : float
        What their sd must not pass. [kg]
    false_alarm : float
        Chance at most that an unchanged machine disagrees. [1]
    overlooked_spread : float
        Chance that a spread twice as wide is overlooked. [1]
    overlooked_shift : float
        Chance that a middle two sds off is overlooked, the spread unchanged. [1]
    equation : str
        Where the limits come from.
    assumptions : tuple of str
        What is taken for granted.
    """

    shots: int
    kept_shots: int
    mean_low: float
    mean_high: float
    most_sd: float
    false_alarm: float
    overlooked_spread: float
    overlooked_shift: float
    equation: str
    assumptions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptJudged:
    """What the new doses say.

    Attributes
    ----------
    verdict : KeptVerdict
        They agree with the kept proof, or do not.
    mean : float
        Their mean. [kg]
    sd : float
        Their sd, divisor n - 1. [kg]
    because : str
        One sentence.
    """

    verdict: KeptVerdict
    mean: float
    sd: float
    because: str


def kept_check(
    sd: float,
    *,
    kept_shots: int,
    target: float,
    trim_sd: float = 0.0,
    shots: int = 5,
    false_alarm: float = 0.05,
) -> KeptCheck:
    """Return what new doses are held to.

    Parameters
    ----------
    sd : float
        Sd of the readings of the kept proof. [kg]
    kept_shots : int
        How many they were.
    target : float
        Aim that the machine is trimmed to now. [kg]
    trim_sd : float
        How far the trim leaves the middle from the aim, one sd. [kg]
    shots : int
        New doses.
    false_alarm : float
        Chance at most that an unchanged machine disagrees. [1]

    Returns
    -------
    KeptCheck
        The limits and the chances.

    Raises
    ------
    BadInput
        If a figure is not finite or above zero, there are too few readings, or the chance is
        not between 0 and a half.

    Notes
    -----
    Half of the chance goes to each limit, so that together they keep it (Bonferroni). Middle:
    aim ± t(1 - α/4; n - 1) √(s²/m + τ²), the prediction interval for the mean of m further
    doses [1]_ with the trim's own error τ; the t of the spread alone is wider than is needed
    where τ is known, so the chance is kept. Spread: s √F(1 - α/2; m - 1, n - 1).

    References
    ----------
    .. [1] ISO 16269-8, prediction intervals; from memory.

    Examples
    --------
    >>> check = kept_check(0.4e-3, kept_shots=30, target=0.252)
    >>> round(1e3 * check.mean_high - 252, 3), round(1e3 * check.most_sd, 3)
    (0.423, 0.723)
    """
    spread = above_zero(sd, "sd")
    aim = above_zero(target, "target")
    trim = not_negative(trim_sd, "trim_sd")
    alpha = _chance(false_alarm)
    whole(kept_shots, "kept_shots", at_least=_FEWEST_KEPT)
    whole(shots, "shots", at_least=_FEWEST_NEW)
    half = _mean_half(spread, kept_shots, shots, trim, alpha)
    return KeptCheck(
        shots=shots,
        kept_shots=kept_shots,
        mean_low=aim - half,
        mean_high=aim + half,
        most_sd=spread * _spread_ratio(kept_shots, shots, alpha),
        false_alarm=alpha,
        overlooked_spread=overlooked(
            kept_shots=kept_shots,
            shots=shots,
            false_alarm=alpha,
            trim_ratio=trim / spread,
            spread_ratio=2.0,
        ),
        overlooked_shift=overlooked(
            kept_shots=kept_shots,
            shots=shots,
            false_alarm=alpha,
            trim_ratio=trim / spread,
            shift_ratio=2.0,
        ),
        equation="prediction limits for mean and sd of further doses (ISO 16269-8, from memory)",
        assumptions=(
            "Doses are normal and independent.",
            "Nothing was changed that the journal does not know of.",
            "The new doses are the first ones after the trim; none was left out for its value.",
        ),
    )


def kept_judge(readings: ArrayLike, check: KeptCheck) -> KeptJudged:
    """Return what new doses say of a kept proof.

    Parameters
    ----------
    readings : array_like, shape (n,)
        The new doses, in time order. [kg]
    check : KeptCheck
        What they are held to.

    Returns
    -------
    KeptJudged
        The verdict; on a limit is not beyond it.

    Raises
    ------
    BadInput
        If there are not exactly as many as planned.
    """
    given = readings_in_order(readings, "readings", at_least=_FEWEST_NEW)
    if given.size != check.shots:
        message = f"readings: {given.size} given, {check.shots} planned; weigh exactly those."
        raise BadInput(message, field="readings", given=int(given.size), allowed=str(check.shots))
    mean, sd = float(given.mean()), float(given.std(ddof=1))
    found: list[str] = []
    if not check.mean_low <= mean <= check.mean_high:
        found.append("the middle has moved")
    if sd > check.most_sd:
        found.append("the spread has grown")
    verdict = KeptVerdict.DISAGREES if found else KeptVerdict.AGREES
    because = (
        f"{' and '.join(found).capitalize()} further than {check.shots} doses of an unchanged "
        "machine would show."
        if found
        else f"{check.shots} doses lie as those of an unchanged machine would."
    )
    return KeptJudged(verdict=verdict, mean=mean, sd=sd, because=because)


def overlooked(
    *,
    kept_shots: int,
    shots: int,
    false_alarm: float = 0.05,
    trim_ratio: float = 0.0,
    shift_ratio: float = 0.0,
    spread_ratio: float = 1.0,
) -> float:
    """Return the chance that new doses agree although the machine has changed.

    Parameters
    ----------
    kept_shots, shots : int
        Readings of the kept proof, and new doses.
    false_alarm : float
        Chance that the limits were made for. [1]
    trim_ratio : float
        Error of the trim over the sd of a dose. [1]
    shift_ratio : float
        How far the middle is off beside the trim's error, in sds of a dose. [1]
    spread_ratio : float
        New sd over the old one. [1]

    Returns
    -------
    float
        The chance; with no change it is one less the true chance of a false alarm. [1]

    Raises
    ------
    BadInput
        If a figure is out of its range.

    Notes
    -----
    Given the kept s, mean and sd of the new doses are independent; their two chances are
    multiplied and averaged over s, by the midpoint rule on its quantiles.
    """
    alpha = _chance(false_alarm)
    whole(kept_shots, "kept_shots", at_least=_FEWEST_KEPT)
    whole(shots, "shots", at_least=_FEWEST_NEW)
    trim = not_negative(trim_ratio, "trim_ratio")
    shift, ratio = finite(shift_ratio, "shift_ratio"), above_zero(spread_ratio, "spread_ratio")
    free = kept_shots - 1
    levels = (np.arange(_POINTS) + 0.5) / _POINTS
    kept = np.sqrt(stats.chi2.ppf(levels, free) / free)
    t = float(stats.t.ppf(1.0 - alpha / 4.0, free))
    half = t * np.sqrt(kept**2 / shots + trim**2)
    of_mean = math.sqrt(ratio**2 / shots + trim**2)
    inside = stats.norm.cdf((half - shift) / of_mean) - stats.norm.cdf((-half - shift) / of_mean)
    most = kept * _spread_ratio(kept_shots, shots, alpha) / ratio
    narrow = stats.chi2.cdf((shots - 1) * most**2, shots - 1)
    return float(np.mean(inside * narrow))


def _mean_half(sd: float, kept_shots: int, shots: int, trim_sd: float, alpha: float) -> float:
    """Return half the width of the limits of the mean. [kg]."""
    t = float(stats.t.ppf(1.0 - alpha / 4.0, kept_shots - 1))
    return t * math.sqrt(sd**2 / shots + trim_sd**2)


def _spread_ratio(kept_shots: int, shots: int, alpha: float) -> float:
    """Return how many times the kept sd the new one may be. [1]."""
    return math.sqrt(float(stats.f.ppf(1.0 - alpha / 2.0, shots - 1, kept_shots - 1)))


def _chance(false_alarm: float) -> float:
    """Return the chance of a false alarm, or refuse it. [1]."""
    alpha = finite(false_alarm, "false_alarm")
    if not 0.0 < alpha < 0.5:  # noqa: PLR2004  a half is a coin
        message = f"false_alarm is {alpha:g}; give a chance between 0 and 0.5."
        raise BadInput(message, field="false_alarm", given=alpha, allowed="between 0 and 0.5")
    return alpha
