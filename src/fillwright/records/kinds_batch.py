"""Kinds of entry that a batch makes: the run, what is held, the lot test, the release.

Past-tense facts, typed and versioned; `entries` lists all kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

from fillwright.records.entities import Person

__all__ = [
    "AdjustmentMade",
    "ContainersHeld",
    "ContainersSettled",
    "LotJudged",
    "LotJudgedElsewhere",
    "ReleaseReopened",
    "Released",
    "RunFinished",
    "RunPaused",
    "RunPausedFirst",
    "RunStarted",
    "SampleDrawn",
    "SignalRaised",
    "Signed",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class AdjustmentMade:
    """The wheel was turned in the run, after the container named."""

    kind: ClassVar[str] = "adjustment made"
    version: ClassVar[int] = 1
    after_container: int
    from_marks: Decimal
    to_marks: Decimal
    advised_marks: Decimal
    mean_deviation_g: float
    believed_share: float
    is_locked: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class RunStarted:
    """The run was started."""

    kind: ClassVar[str] = "run started"
    version: ClassVar[int] = 1
    first_container: int
    sd_g: float | None
    sd_readings: int
    without_proof: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalRaised:
    """A weight, or a row of them, said that something has changed."""

    kind: ClassVar[str] = "signal raised"
    version: ClassVar[int] = 1
    weighing_id: str
    signal: str
    side: Literal["low", "high"]
    container: int
    limit_g: float | None
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainersHeld:
    """Containers were held."""

    kind: ClassVar[str] = "containers held"
    version: ClassVar[int] = 1
    first: int
    last: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainersSettled:
    """Held containers were settled: what became of them, and why."""

    kind: ClassVar[str] = "containers settled"
    version: ClassVar[int] = 1
    first: int
    last: int
    outcome: Literal["weighed-good", "scrapped", "released-with-reason"]
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPaused:
    """The run was interrupted; it goes on with a look at the next container, and its weight."""

    kind: ClassVar[str] = "run paused"
    version: ClassVar[int] = 2
    asks_look: ClassVar[bool] = True
    reason: Literal["pause", "refill", "fault"]
    after_container: int
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPausedFirst(RunPaused):
    """An interruption as it was kept when no look was asked for after one."""

    version: ClassVar[int] = 1
    asks_look: ClassVar[bool] = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFinished:
    """The last container was filled."""

    kind: ClassVar[str] = "run finished"
    version: ClassVar[int] = 1
    filled: int
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleDrawn:
    """Containers for the lot test were drawn by chance; the order is the drawing order."""

    kind: ClassVar[str] = "sample drawn"
    version: ClassVar[int] = 1
    seed: int
    first_sample: int
    containers: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotJudged:
    """The lot was judged under the rule set; holds every figure for a check by hand.

    After a second sample the counts and limits are those of both samples together, and
    `first_sample_n` and `first_sample_below_t1` those of the first.
    """

    kind: ClassVar[str] = "lot judged"
    version: ClassVar[int] = 1
    verdict: str
    is_compliant: bool | None
    rules: str
    edition: str
    plan: str
    basis: tuple[str, ...]
    lot_size: int
    n: int
    mean_n: int
    nominal: str
    unit: str
    shortage: str
    t1_limit: str
    t2_limit: str
    mean: float | None
    mean_error: float | None
    sd: float | None
    k: str | None
    limit: float | None
    margin: float | None
    count_below_t1: int
    count_below_t2: int
    acceptance_number: int | None
    rejection_number: int | None
    individual_test: str | None
    is_mean_ok: bool | None
    because: str
    first_sample_n: int = 0
    first_sample_below_t1: int | None = None
    notes: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    program: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LotJudgedElsewhere:
    """The lot was judged for its other market too; the verdict that decides stands before it."""

    kind: ClassVar[str] = "lot judged for another market"
    version: ClassVar[int] = 1
    judgement: LotJudged


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """Somebody put their name to the lot."""

    kind: ClassVar[str] = "signed"
    version: ClassVar[int] = 1
    role: Literal["filled", "checked"]
    signed_by: Person


@dataclass(frozen=True, slots=True, kw_only=True)
class Released:
    """The lot was released, or closed without release."""

    kind: ClassVar[str] = "released"
    version: ClassVar[int] = 1
    outcome: Literal["released", "not-released"]
    containers: int
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseReopened:
    """A release no longer holds: something was found that all its containers wait for.

    Parameters
    ----------
    reason : str
        What was found, such as a piece of the machine that is missing.
    containers : int
        How many had been released.
    """

    kind: ClassVar[str] = "release reopened"
    version: ClassVar[int] = 1
    reason: str
    containers: int
