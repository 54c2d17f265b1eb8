"""Which containers are suspect after a bad check or an alarm.

A single check limits nothing by itself: what is suspect runs from the last good one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.given import readings_in_order, share

__all__ = ["Check", "CheckOutcome", "SuspectRange", "change_not_before", "suspect_range"]

_STEP_VAR = 9.0
_CREEP_VAR = 36.0
_CREEP_SHARE = 0.3


class CheckOutcome(StrEnum):
    """What one check of weighed containers came to."""

    GOOD = "good"
    BAD = "bad"
    VOID = "void"
    ALARM = "alarm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check during a run.

    Attributes
    ----------
    first : int
        Number of the first container weighed.
    last : int
        Number of the last container weighed.
    outcome : CheckOutcome
        Good, bad, void (the scale was at fault: proves nothing), or alarm of a chart.
    adjusted_after : bool
        Whether the machine was corrected right after this check, before the next container.
    adjusted_before_container : int or None
        Number of the first container filled after the correction, where known.
    """

    first: int
    last: int
    outcome: CheckOutcome
    adjusted_after: bool = False
    adjusted_before_container: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectRange:
    """Which containers are suspect.

    Attributes
    ----------
    first : int or None
        First suspect container; none when there is none.
    last : int or None
        Last suspect container; none when there is none.
    because : str
        How far back and why, in one sentence.
    assumptions : tuple of str
        What was taken for granted.
    """

    first: int | None
    last: int | None
    because: str
    assumptions: tuple[str, ...]


def suspect_range(
    checks: Sequence[Check],
    *,
    stopped_after: int,
    first_container: int = 1,
    alarm_zero_at_check: int | None = None,
    change_after_check: int | None = None,
) -> SuspectRange:
    """Return which containers are suspect after bad checks or an alarm.

    Parameters
    ----------
    checks : sequence of Check
        All checks in the order of their containers.
    stopped_after : int
        Number of the last container filled.
    first_container : int
        Number of the first container of the run.
    alarm_zero_at_check : int or None
        Check, counted from 1, at which the sum of the last alarm was last zero; 0 = before
        the first.
    change_after_check : int or None
        Last check before which the change cannot well have been (`change_not_before`). It
        only ever widens the range.

    Returns
    -------
    SuspectRange
        First and last container, or none.

    Raises
    ------
    BadInput
        If the checks are out of order or beyond the run.

    Notes
    -----
    From the container after the last good and valid check before the trouble, or after the
    check at which the alarming sum was last zero if that is earlier, to the last container
    filled before the correction; to the last of all where none was made. A void check proves
    nothing. A good check without a correction does not end the range: it has missed shifts
    before. Several troubles give one range over all of them. Common practice, no source.
    The last zero of a sum tends to lie after a small shift began: in simulated runs it holds
    the first container of a shift of 1 sd in six cases of ten only (docs, calibration).
    """
    _in_order(checks, first_container, stopped_after)
    alarms = [n for n, check in enumerate(checks, 1) if check.outcome is CheckOutcome.ALARM]
    last_alarm = alarms[-1] if alarms else 0
    first: int | None = None
    last = after_good = first_container
    open_trouble = False
    for number, check in enumerate(checks, start=1):
        if check.outcome in {CheckOutcome.BAD, CheckOutcome.ALARM}:
            start = after_good
            if number == last_alarm:
                for upto in (alarm_zero_at_check, change_after_check):
                    if upto is not None:
                        start = min(start, _after_good(checks[:upto], first_container))
            first = start if first is None else min(first, start)
            open_trouble = True
        elif check.outcome is CheckOutcome.GOOD and not open_trouble:
            after_good = check.last + 1
        corrected = _corrected_from(check)
        if open_trouble and corrected is not None:
            last, open_trouble = max(last, corrected - 1), False
    if first is None:
        return _suspect(None, None, "No check was bad: none is suspect.")
    if open_trouble:
        last = stopped_after
    return _suspect(
        first,
        last,
        f"Hold {first} to {last}: filled after the last good check and before a correction.",
    )


def change_not_before(readings_in_sds: ArrayLike, *, probability: float = 0.95) -> int:
    """Return how many of the first readings lie before the change, with a probability.

    Parameters
    ----------
    readings_in_sds : array_like, shape (n,)
        Readings since the last adjustment up to the alarm, less the level that they were
        held at, in sds of a dose. [1]
    probability : float
        Wanted probability that the change came after them. [1]

    Returns
    -------
    int
        0 where the change may have been there from the first reading on.

    Raises
    ------
    BadInput
        If there is no reading, or a figure cannot be used.

    Notes
    -----
    A step of N(0, 3²) sd, or in three of ten a creep of N(0, 6²) sd up to the last reading,
    from any reading on with even chances; normal readings of known sd. The posterior of the
    place is exact under that. Own model, constants invented; how often it holds is in
    docs/reference/calibration.md.

    Examples
    --------
    >>> change_not_before([0.2, -0.9, 0.4, -0.1, 0.6, 3.4, 2.9, 3.8])
    2
    """
    z = readings_in_order(readings_in_sds, "readings_in_sds", at_least=1)
    wanted = share(probability, "probability")
    places = np.arange(z.size)
    left = z.size - places.astype(np.float64)
    tail = np.cumsum(z[::-1])[::-1]
    risen = (np.cumsum((places * z)[::-1])[::-1] - (places - 1.0) * tail) / left
    squares = (left + 1.0) * (2.0 * left + 1.0) / (6.0 * left)
    step = math.log1p(-_CREEP_SHARE) + _log_odds(tail, left, _STEP_VAR)
    creep = math.log(_CREEP_SHARE) + _log_odds(risen, squares, _CREEP_VAR)
    both = np.logaddexp(step, creep)
    mass = np.cumsum(np.exp(both - np.max(both)))
    return int(np.searchsorted(mass, (1.0 - wanted) * mass[-1]))


def _log_odds(
    products: NDArray[np.float64], squares: NDArray[np.float64], variance: float
) -> NDArray[np.float64]:
    """Return the log evidence of a pattern of normal size over none, at known sd."""
    grown = 1.0 + variance * squares
    return np.asarray(0.5 * products**2 * variance / grown - 0.5 * np.log(grown))


def _in_order(checks: Sequence[Check], first_container: int, stopped_after: int) -> None:
    """Refuse checks that overlap, run backwards or lie beyond the run."""
    before = first_container - 1
    for number, check in enumerate(checks):
        field = f"checks[{number}]"
        if not before < check.first <= check.last <= stopped_after:
            raise BadInput(
                f"{field} covers {check.first} to {check.last}; give checks in order within "
                f"{first_container} to {stopped_after}.",
                field=field,
                given=(check.first, check.last),
                allowed=f"after {before}, up to {stopped_after}",
                code="inconsistent",
            )
        corrected = check.adjusted_before_container
        if corrected is not None and corrected <= check.last:
            raise BadInput(
                f"{field}.adjusted_before_container is {corrected}; give one after the "
                f"check's last container, {check.last}.",
                field=f"{field}.adjusted_before_container",
                given=corrected,
                allowed=f"above {check.last}",
                code="inconsistent",
            )
        before = check.last


def _after_good(checks: Sequence[Check], first_container: int) -> int:
    """Return the container after the last good check."""
    ends = [check.last for check in checks if check.outcome is CheckOutcome.GOOD]
    return ends[-1] + 1 if ends else first_container


def _corrected_from(check: Check) -> int | None:
    """Return the first container filled after the correction at a check."""
    if check.adjusted_before_container is not None:
        return check.adjusted_before_container
    return check.last + 1 if check.adjusted_after else None


def _suspect(first: int | None, last: int | None, because: str) -> SuspectRange:
    """Return the answer with what it rests on."""
    return SuspectRange(
        first=first,
        last=last,
        because=because,
        assumptions=(
            "A good check vouches for what was filled before it, a void one for nothing.",
            "A good check without a correction does not end the trouble.",
        ),
    )
