"""The journal's entries: drafts, stored entries, and the table of all their kinds.

A stored kind is a promise: a new shape gets a new version beside the old one, and every old
one keeps its reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final, TypeAlias, get_args

from fillwright.records.kinds_again import MachineChanged, ProofChecked, ProofCheckPlanned
from fillwright.records.kinds_batch import (
    AdjustmentMade,
    ContainersHeld,
    ContainersSettled,
    LotJudged,
    LotJudgedElsewhere,
    Released,
    ReleaseReopened,
    RunFinished,
    RunPaused,
    RunPausedFirst,
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
from fillwright.records.kinds_cleaning import CleanDone, ProductTraits
from fillwright.records.kinds_complaints import (
    ComplaintAnswered,
    ComplaintClosed,
    ComplaintReopened,
    ComplaintTaken,
)
from fillwright.records.kinds_costs import LossesNoted, PricesKept
from fillwright.records.kinds_fault import (
    FaultAnswered,
    FaultCaseCounted,
    FaultClosed,
    FaultLearningSet,
    FaultOpened,
    RepairTried,
)
from fillwright.records.kinds_field import (
    CaseBegan,
    CaseEnded,
    CaseReceived,
    CaseReplied,
    EnquiryTaken,
    FieldMachineKept,
    FieldVisited,
    FieldVisitStruck,
    TrialFilled,
)
from fillwright.records.kinds_files import (
    ColumnsChosen,
    FileTaken,
    JobBrought,
    WeighingFromFile,
)
from fillwright.records.kinds_held import (
    ContainersEmptied,
    ContainersRelabelled,
    ContainersToppedUp,
    SettlingStruck,
)
from fillwright.records.kinds_lots import (
    DensityTaken,
    FirstJarLooked,
    LotTaken,
    PersonChanged,
    PhotoKept,
    SampleKept,
    TareCarriedOn,
)
from fillwright.records.kinds_people import ComplaintPractised, PersonAllowed
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
from fillwright.records.kinds_service import (
    MachinePhotoKept,
    SealSeen,
    SealsShelved,
    StripBegan,
    StripTicked,
)
from fillwright.records.kinds_start import RechargeEdgeJudged, RechargeTimed, StrokesTimed

__all__ = [
    "KINDS",
    "AdjustmentMade",
    "CaseBegan",
    "CaseEnded",
    "CaseReceived",
    "CaseReplied",
    "CheckTaken",
    "CleanDone",
    "ColumnsChosen",
    "ComplaintAnswered",
    "ComplaintClosed",
    "ComplaintPractised",
    "ComplaintReopened",
    "ComplaintTaken",
    "ContainerKept",
    "ContainersEmptied",
    "ContainersHeld",
    "ContainersRelabelled",
    "ContainersSettled",
    "ContainersToppedUp",
    "DensityTaken",
    "Draft",
    "EnquiryTaken",
    "Entry",
    "FactsChanged",
    "FaultAnswered",
    "FaultCaseCounted",
    "FaultClosed",
    "FaultLearningSet",
    "FaultOpened",
    "FieldMachineKept",
    "FieldVisitStruck",
    "FieldVisited",
    "FileTaken",
    "FirstJarLooked",
    "HopperRead",
    "JobBrought",
    "JobOpened",
    "LearntStart",
    "LossesNoted",
    "LotJudged",
    "LotJudgedElsewhere",
    "LotTaken",
    "MachineChanged",
    "MachineKept",
    "MachinePhotoKept",
    "MatchJudged",
    "Payload",
    "PersonAllowed",
    "PersonChanged",
    "PersonListed",
    "PhotoKept",
    "PricesKept",
    "PrimingJudged",
    "ProductKept",
    "ProductTraits",
    "ProofCheckPlanned",
    "ProofChecked",
    "ProofJudged",
    "ProofJudgedFirst",
    "ProofPlanned",
    "ProofPlannedFirst",
    "Purpose",
    "RechargeEdgeJudged",
    "RechargeTimed",
    "ReleaseReopened",
    "Released",
    "RepairTried",
    "RunFinished",
    "RunPaused",
    "RunPausedFirst",
    "RunStarted",
    "SampleDrawn",
    "SampleKept",
    "ScaleKept",
    "ScaleLineKept",
    "SealSeen",
    "SealsShelved",
    "SettingMoved",
    "SettlingStruck",
    "SignalRaised",
    "SignatureSeen",
    "Signed",
    "SiteSettingsChanged",
    "Source",
    "StepDone",
    "StripBegan",
    "StripTicked",
    "StrokesTimed",
    "StruckOut",
    "TareCarriedOn",
    "TareSet",
    "TrialFilled",
    "TrimJudged",
    "WatchChosen",
    "WeighingFromFile",
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
    | ContainersToppedUp
    | ContainersEmptied
    | ContainersRelabelled
    | SettlingStruck
    | RunPausedFirst
    | RunPaused
    | RunFinished
    | SampleDrawn
    | LotJudged
    | LotJudgedElsewhere
    | Signed
    | Released
    | ReleaseReopened
    | StripBegan
    | StripTicked
    | MachinePhotoKept
    | SealSeen
    | SealsShelved
    | CleanDone
    | ProductTraits
    | FaultAnswered
    | FaultCaseCounted
    | FaultClosed
    | FaultLearningSet
    | FaultOpened
    | RepairTried
    | FieldMachineKept
    | FieldVisited
    | FieldVisitStruck
    | EnquiryTaken
    | TrialFilled
    | CaseBegan
    | CaseReceived
    | CaseReplied
    | CaseEnded
    | PersonAllowed
    | ComplaintPractised
    | StrokesTimed
    | RechargeTimed
    | RechargeEdgeJudged
    | ColumnsChosen
    | FileTaken
    | WeighingFromFile
    | JobBrought
    | PricesKept
    | LossesNoted
    | MachineChanged
    | ProofCheckPlanned
    | ProofChecked
    | LotTaken
    | DensityTaken
    | TareCarriedOn
    | PersonChanged
    | FirstJarLooked
    | SampleKept
    | PhotoKept
    | ComplaintTaken
    | ComplaintAnswered
    | ComplaintClosed
    | ComplaintReopened
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
