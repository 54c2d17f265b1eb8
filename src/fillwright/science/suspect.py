"""Which containers are suspect after a bad check or an alarm.

A single check limits nothing by itself: what is suspect runs from the last good one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fillwright.errors import BadInput

__all__ = ["Check", "CheckOutcome", "SuspectRange", "suspect_range"]


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
            if number == last_alarm and alarm_zero_at_check is not None:
                start = min(start, _after_good(checks[:alarm_zero_at_check], first_container))
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
