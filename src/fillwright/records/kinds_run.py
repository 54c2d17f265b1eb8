"""Kinds of entry that only a run makes: how it is watched, what its weights look like.

Past-tense facts, typed and versioned; `entries` lists all kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

__all__ = ["HopperRead", "SignatureSeen", "WatchChosen", "WatchWay"]

WatchWay = Literal["sums", "keen-sums", "average", "limits"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchChosen:
    """How the run that starts next is watched.

    Parameters
    ----------
    way : str
        Single weights with sums, with keener sums, with a moving average, or alone.
    k, sums_limit_z : float or None
        Reference value and limit of the sums, in sds of a dose; None where they do not alarm.
    share_of_newest, average_limit_z : float or None
        Weight of the newest and width of the limits of the average; None where it is not kept.
    false_alarm_doses : float
        Weights from one false alarm to the next in a steady run, on average.
    """

    kind: ClassVar[str] = "watch chosen"
    version: ClassVar[int] = 1
    way: WatchWay
    k: float | None
    sums_limit_z: float | None
    share_of_newest: float | None
    average_limit_z: float | None
    false_alarm_doses: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatureSeen:
    """The weights since the last turn began to look like something, or like something else.

    Parameters
    ----------
    container : int
        Last one weighed then.
    readings : int
        Weights looked at.
    kinds : tuple of str
        What is named in one breath.
    is_at_once : bool
        True where several are at work at once, False where they cannot be told apart.
    stated_probability : float
        Probability of what is named.
    runner_up : str
        The next kind.
    change_low, change_high : int or None
        Containers between which the change lies with 80 %.
    size_g, size_low_g, size_high_g : float or None
        How large it is, with its 80 % range.
    words : str
        As the page said it.
    """

    kind: ClassVar[str] = "signature seen"
    version: ClassVar[int] = 1
    container: int
    readings: int
    kinds: tuple[str, ...]
    is_at_once: bool
    stated_probability: float
    runner_up: str
    change_low: int | None
    change_high: int | None
    size_g: float | None
    size_low_g: float | None
    size_high_g: float | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HopperRead:
    """How high the product stood in the hopper after a container, in the person's own unit.

    Parameters
    ----------
    after_container : int
        Last one filled then.
    value : Decimal
        What was read.
    unit : str
        What it was read in, where the person says so.
    """

    kind: ClassVar[str] = "hopper level read"
    version: ClassVar[int] = 1
    after_container: int
    value: Decimal
    unit: str = ""
