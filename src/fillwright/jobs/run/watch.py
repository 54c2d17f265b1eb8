"""How a run may be watched: the ways with their run lengths, in plain words.

Run lengths of single weights with sums or with a moving average together were simulated,
40,000 runs each, normal readings of known sd; the tests draw them again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.kinds_run import WatchChosen, WatchWay
from fillwright.science.runlength import arl_cusum, arl_ewma

__all__ = ["USUAL", "WAYS", "Way", "chosen", "way_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way to watch a run.

    Parameters
    ----------
    key : str
        Its name on record.
    label, words : str
        What the page calls it, and what it is for.
    k, sums_limit_z : float or None
        Reference value and limit of the sums; None where they do not alarm.
    share_of_newest, average_limit_z : float or None
        Weight of the newest and width of the limits of the average; None without one.
    false_alarm_doses : float
        Weights from one false alarm to the next, on average.
    found_after_doses : float
        Weights until a shift of one sd of a dose is found, on average.
    """

    key: WatchWay
    label: str
    words: str
    k: float | None
    sums_limit_z: float | None
    share_of_newest: float | None
    average_limit_z: float | None
    false_alarm_doses: float
    found_after_doses: float

    @property
    def alone(self) -> float | None:
        """Return the run length of the sums or the average alone; None for single weights."""
        if self.share_of_newest is not None and self.average_limit_z is not None:
            return arl_ewma(self.share_of_newest, self.average_limit_z)
        if self.k is not None and self.sums_limit_z is not None:
            return arl_cusum(self.k, self.sums_limit_z)
        return None


USUAL: Final = "sums"
WAYS: Final = (
    Way(
        key="sums",
        label="Single ones, and small ones that add up",
        words="For most runs: a far one at once, a small shift within some ten weights.",
        k=0.5,
        sums_limit_z=5.0,
        share_of_newest=None,
        average_limit_z=None,
        false_alarm_doses=223.0,
        found_after_doses=9.8,
    ),
    Way(
        key="keen-sums",
        label="Single ones, and very small ones that add up",
        words="Where half a spread matters; slower for larger shifts.",
        k=0.25,
        sums_limit_z=8.0,
        share_of_newest=None,
        average_limit_z=None,
        false_alarm_doses=198.0,
        found_after_doses=10.6,
    ),
    Way(
        key="average",
        label="Single ones, and the average of the last ones",
        words="Quick just after a start or a turn.",
        k=None,
        sums_limit_z=None,
        share_of_newest=0.1,
        average_limit_z=2.814,
        false_alarm_doses=221.0,
        found_after_doses=8.0,
    ),
    Way(
        key="limits",
        label="Single ones alone",
        words="Fewest false alarms; a small shift goes on for long.",
        k=None,
        sums_limit_z=None,
        share_of_newest=None,
        average_limit_z=None,
        false_alarm_doses=370.4,
        found_after_doses=43.9,
    ),
)


def way_of(key: str) -> Way:
    """Return a way by its key; the usual one where nothing is picked.

    Raises
    ------
    BadInput
        If there is no such way.
    """
    found = next((way for way in WAYS if way.key == (key or USUAL)), None)
    if found is None:
        names = ", ".join(way.key for way in WAYS)
        message = f"{key!r} is no way to watch a run. Pick one of {names}."
        raise BadInput(message, field="watch", given=key, allowed=names, code="choice")
    return found


def chosen(way: Way) -> WatchChosen:
    """Return the fact that a way was chosen."""
    return WatchChosen(
        way=way.key,
        k=way.k,
        sums_limit_z=way.sums_limit_z,
        share_of_newest=way.share_of_newest,
        average_limit_z=way.average_limit_z,
        false_alarm_doses=way.false_alarm_doses,
    )
