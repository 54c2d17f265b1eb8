"""The kinds of journal entry: past-tense facts, typed and versioned.

A stored kind is a promise: a new shape gets a new version beside the old one, and every old
one keeps its reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import ClassVar, Final, Literal, TypeAlias, get_args

from fillwright.records.entities import (
    Container,
    JobFacts,
    Machine,
    Person,
    Product,
    SiteSettings,
    WeighingScale,
)

__all__ = [
    "KINDS",
    "AdjustmentMade",
    "CheckTaken",
    "ContainerKept",
    "ContainersHeld",
    "ContainersSettled",
    "Draft",
    "Entry",
    "FactsChanged",
    "JobOpened",
    "LotJudged",
    "MachineKept",
    "MatchJudged",
    "Payload",
    "PersonListed",
    "ProductKept",
    "ProofJudged",
    "ProofPlanned",
    "Purpose",
    "Released",
    "RunFinished",
    "RunPaused",
    "RunStarted",
    "SampleDrawn",
    "ScaleKept",
    "SettingMoved",
    "SignalRaised",
    "Signed",
    "SiteSettingsChanged",
    "Source",
    "StepDone",
    "StruckOut",
    "TareSet",
    "TrimJudged",
    "WeighingTaken",
]

Purpose = Literal["tare", "purge", "shot", "proof", "dose", "held", "sample"]
Source = Literal["typed", "scale", "keys", "file", "http", "simulated"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteSettingsChanged:
    """The settings of the site were changed."""

    kind: ClassVar[str] = "site settings changed"
    version: ClassVar[int] = 1
    settings: SiteSettings


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonListed:
    """A person was put on the list of names."""

    kind: ClassVar[str] = "person listed"
    version: ClassVar[int] = 1
    listed: Person


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductKept:
    """A product was kept for next time."""

    kind: ClassVar[str] = "product kept"
    version: ClassVar[int] = 1
    product: Product


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerKept:
    """A container was kept for next time."""

    kind: ClassVar[str] = "container kept"
    version: ClassVar[int] = 1
    container: Container


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineKept:
    """A machine was kept for next time."""

    kind: ClassVar[str] = "machine kept"
    version: ClassVar[int] = 1
    machine: Machine


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleKept:
    """A weighing scale was kept for next time."""

    kind: ClassVar[str] = "weighing scale kept"
    version: ClassVar[int] = 1
    scale: WeighingScale


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOpened:
    """A job was opened with these facts."""

    kind: ClassVar[str] = "job opened"
    version: ClassVar[int] = 1
    facts: JobFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class FactsChanged:
    """The facts of a job were changed; `reopens` names the stages that must be done again."""

    kind: ClassVar[str] = "facts changed"
    version: ClassVar[int] = 1
    facts: JobFacts
    reason: str
    reopens: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchJudged:
    """Product, container and machine were held against each other and the parts taken."""

    kind: ClassVar[str] = "match judged"
    version: ClassVar[int] = 1
    verdict: str
    because: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDone:
    """A step of setting up was done, or could not be done for the reason given."""

    kind: ClassVar[str] = "step done"
    version: ClassVar[int] = 1
    step: str
    outcome: Literal["done", "cannot"]
    reading: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TareSet:
    """The average empty was fixed from the empties weighed."""

    kind: ClassVar[str] = "tare set"
    version: ClassVar[int] = 1
    tare_g: Decimal
    sd_g: float | None
    empties: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckTaken:
    """The weighing scale was checked with a known weight."""

    kind: ClassVar[str] = "scale check taken"
    version: ClassVar[int] = 1
    weight_g: Decimal
    reading_g: Decimal
    allowed_g: Decimal
    passed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighingTaken:
    """One weight was kept; its entry's id was made where the weight came from.

    Parameters
    ----------
    purpose : str
        What was weighed, and so where it counts.
    value : str
        Exactly what the scale showed.
    unit : str
        The unit it was shown in.
    basis : str
        ``"gross"`` or ``"net"``.
    tare_g : Decimal
        What was taken off; zero for a net reading.
    net_g : Decimal
        Net weight, exact.
    container : int or None
        Number of the container in the batch.
    filled_to : int or None
        Last container filled when this one was weighed.
    setting_marks : Decimal or None
        Where the volume scale stood.
    state : str
        How it was judged then: on, low, high, short, far-short, overfull, or empty.
    set_aside : str
        Reason, where the weight is spoilt: it stays on record and is not used.
    source : str
        Where it came from.
    """

    kind: ClassVar[str] = "weighing taken"
    version: ClassVar[int] = 1
    purpose: Purpose
    value: str
    unit: str
    basis: Literal["gross", "net"]
    tare_g: Decimal
    net_g: Decimal
    container: int | None = None
    filled_to: int | None = None
    setting_marks: Decimal | None = None
    state: str = ""
    set_aside: str = ""
    source: Source = "typed"


@dataclass(frozen=True, slots=True, kw_only=True)
class StruckOut:
    """An earlier entry of the same job was struck out, with a reason."""

    kind: ClassVar[str] = "struck out"
    version: ClassVar[int] = 1
    entry_id: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingMoved:
    """The wheel was turned to a setting and locked, or found unlocked."""

    kind: ClassVar[str] = "setting moved"
    version: ClassVar[int] = 1
    stage: Literal["setup", "trim"]
    from_marks: Decimal | None
    to_marks: Decimal
    via_marks: Decimal | None = None
    is_locked: bool = True


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
    weight: float
    is_locked: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimJudged:
    """The trim ended."""

    kind: ClassVar[str] = "trim judged"
    version: ClassVar[int] = 1
    verdict: Literal["trimmed", "taken-as-is", "gave-up"]
    setting_marks: Decimal
    shots: int
    p_within: float
    mean_g: float
    sd_g: float
    slope_g_per_mark: float
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofPlanned:
    """The number of shots of a proving run was fixed before the first."""

    kind: ClassVar[str] = "proof planned"
    version: ClassVar[int] = 1
    shots: int
    claim_pct: Decimal
    content_pct: Decimal
    confidence_pct: Decimal
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofJudged:
    """A proving run was judged."""

    kind: ClassVar[str] = "proof judged"
    version: ClassVar[int] = 1
    verdict: str
    shots: int
    set_aside: int
    mean_g: float
    sd_g: float
    k: float | None
    half_width_g: float | None
    half_width_pct: float | None
    content_provable_pct: float | None
    because: str
    equation: str
    assumptions: tuple[str, ...] = ()


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
    """The run was interrupted; it goes on with the next weight."""

    kind: ClassVar[str] = "run paused"
    version: ClassVar[int] = 1
    reason: Literal["pause", "refill", "fault"]
    after_container: int
    note: str = ""


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
    """The lot was judged under the rule set; holds every figure for a check by hand."""

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
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    program: str = ""


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


Payload: TypeAlias = (
    SiteSettingsChanged
    | PersonListed
    | ProductKept
    | ContainerKept
    | MachineKept
    | ScaleKept
    | JobOpened
    | FactsChanged
    | MatchJudged
    | StepDone
    | TareSet
    | CheckTaken
    | WeighingTaken
    | StruckOut
    | SettingMoved
    | AdjustmentMade
    | TrimJudged
    | ProofPlanned
    | ProofJudged
    | RunStarted
    | SignalRaised
    | ContainersHeld
    | ContainersSettled
    | RunPaused
    | RunFinished
    | SampleDrawn
    | LotJudged
    | Signed
    | Released
)

KINDS: Final[dict[tuple[str, int], type[Payload]]] = {
    (cls.kind, cls.version): cls for cls in get_args(Payload)
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """An entry before it is stored; `id` was made by the sender (UUID version 7)."""

    id: str
    stream: str
    at: datetime
    zone: str
    person: str
    bench: str
    payload: Payload


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A stored entry.

    Parameters
    ----------
    seq : int
        Place in the whole journal, from 1.
    revision : int
        Place in its stream, from 1.
    id : str
        Made by the sender.
    stream : str
        ``"job/0417"`` or ``"site"``.
    at : datetime
        In UTC.
    zone : str
        The bench's own time zone.
    person, bench : str
        Who and where.
    payload : Payload
        What happened.
    previous_hash, hash : str
        The chain.
    """

    seq: int
    revision: int
    id: str
    stream: str
    at: datetime
    zone: str
    person: str
    bench: str
    payload: Payload
    previous_hash: str
    hash: str
