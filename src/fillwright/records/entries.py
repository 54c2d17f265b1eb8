"""The journal's entries: drafts, stored entries, and the table of all their kinds.

A stored kind is a promise: a new shape gets a new version beside the old one, and every old
one keeps its reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final, TypeAlias, get_args

from fillwright.records.kinds_batch import (
    AdjustmentMade,
    ContainersHeld,
    ContainersSettled,
    LotJudged,
    Released,
    RunFinished,
    RunPaused,
    RunStarted,
    SampleDrawn,
    SignalRaised,
    Signed,
)
from fillwright.records.kinds_bench import (
    CheckTaken,
    ContainerKept,
    FactsChanged,
    JobOpened,
    MachineKept,
    MatchJudged,
    PersonListed,
    ProductKept,
    Purpose,
    ScaleKept,
    SettingMoved,
    SiteSettingsChanged,
    Source,
    StepDone,
    StruckOut,
    TareSet,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.kinds_fault import (
    FaultAnswered,
    FaultCaseCounted,
    FaultClosed,
    FaultLearningSet,
    FaultOpened,
    RepairTried,
)
from fillwright.records.kinds_proof import (
    LearntStart,
    PrimingJudged,
    ProofJudged,
    ProofJudgedFirst,
    ProofPlanned,
    ProofPlannedFirst,
)
from fillwright.records.kinds_run import HopperRead, SignatureSeen, WatchChosen
from fillwright.records.kinds_scale import ScaleLineKept
from fillwright.records.kinds_service import SealSeen, SealsShelved, StripBegan, StripTicked

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
    "FaultAnswered",
    "FaultCaseCounted",
    "FaultClosed",
    "FaultLearningSet",
    "FaultOpened",
    "HopperRead",
    "JobOpened",
    "LearntStart",
    "LotJudged",
    "MachineKept",
    "MatchJudged",
    "Payload",
    "PersonListed",
    "PrimingJudged",
    "ProductKept",
    "ProofJudged",
    "ProofJudgedFirst",
    "ProofPlanned",
    "ProofPlannedFirst",
    "Purpose",
    "Released",
    "RepairTried",
    "RunFinished",
    "RunPaused",
    "RunStarted",
    "SampleDrawn",
    "ScaleKept",
    "ScaleLineKept",
    "SealSeen",
    "SealsShelved",
    "SettingMoved",
    "SignalRaised",
    "SignatureSeen",
    "Signed",
    "SiteSettingsChanged",
    "Source",
    "StepDone",
    "StripBegan",
    "StripTicked",
    "StruckOut",
    "TareSet",
    "TrimJudged",
    "WatchChosen",
    "WeighingTaken",
]

Payload: TypeAlias = (
    SiteSettingsChanged
    | PersonListed
    | ProductKept
    | ContainerKept
    | MachineKept
    | ScaleKept
    | ScaleLineKept
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
    | PrimingJudged
    | ProofPlannedFirst
    | ProofPlanned
    | ProofJudgedFirst
    | ProofJudged
    | WatchChosen
    | RunStarted
    | SignalRaised
    | SignatureSeen
    | HopperRead
    | ContainersHeld
    | ContainersSettled
    | RunPaused
    | RunFinished
    | SampleDrawn
    | LotJudged
    | Signed
    | Released
    | StripBegan
    | StripTicked
    | SealSeen
    | SealsShelved
    | FaultAnswered
    | FaultCaseCounted
    | FaultClosed
    | FaultLearningSet
    | FaultOpened
    | RepairTried
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
