"""Kinds of entry that the site and a job make up to the proof, and every weighing.

Past-tense facts, typed and versioned; `entries` lists all kinds.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar, Literal

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
    "CheckTaken",
    "ContainerKept",
    "FactsChanged",
    "JobOpened",
    "MachineKept",
    "MatchJudged",
    "PersonListed",
    "ProductKept",
    "Purpose",
    "ScaleKept",
    "SettingMoved",
    "SiteSettingsChanged",
    "Source",
    "StepDone",
    "StruckOut",
    "TareSet",
    "TrimJudged",
    "WeighingTaken",
]

Purpose = Literal[
    "tare", "purge", "recharge", "shot", "proof", "dose", "held", "sample", "elsewhere"
]
Source = Literal["typed", "scale", "keys", "file", "http", "broker", "simulated"]


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
    expected: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    not_judged: str = ""


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
    """The wheel was turned to a setting and locked, or found unlocked.

    `is_from_above` tells that the setting was come to from above on purpose, so that the next
    shot shows the play of the wheel.
    """

    kind: ClassVar[str] = "setting moved"
    version: ClassVar[int] = 1
    stage: Literal["setup", "trim"]
    from_marks: Decimal | None
    to_marks: Decimal
    via_marks: Decimal | None = None
    is_locked: bool = True
    is_from_above: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimJudged:
    """The trim ended.

    `lost_motion_marks` is what the play of the wheel is likely to stay under; None where no
    setting from above has shown it.
    """

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
    lost_motion_marks: float | None = None
