"""What each chart shows: one frozen definition a chart, for the page, the paper and a notebook.

Filled by those who know the job, drawn by `report.charts`; nothing here has a size or a colour.
Figures may be exact decimals or floats: a picture compares nothing with a limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, TypeAlias

from fillwright.records.flowplot import FlowPlot
from fillwright.records.mapplot import NozzleMap, RechargeMap
from fillwright.records.wetsketch import WetSketch

__all__ = [
    "Chart",
    "CylinderLane",
    "CylinderLanes",
    "Dose",
    "DoseChart",
    "DoseState",
    "HeldSpan",
    "LimitMark",
    "LotChart",
    "Post",
    "PostKind",
    "ProbabilityPlot",
    "ProofChart",
    "ProofShot",
    "RankedBar",
    "RankedBars",
    "VolumeScale",
    "Wheel",
]

PostKind = Literal["turn", "refill", "pause", "fault", "container", "lid", "drum", "person"]
DoseState = Literal["on", "low", "high", "short", "far-short", "overfull"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """A weighed container of the run and how it was judged then."""

    container: int
    net_g: Decimal
    state: DoseState = "on"


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitMark:
    """A limit that the law or the container sets, by the name people call it."""

    name: str
    limit_g: Decimal | float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldSpan:
    """Containers `first` to `last` are held; settled ones stay in the picture."""

    first: int
    last: int
    is_settled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A labelled post after a container: a turn, a refill, a new carton, another person."""

    after_container: int
    kind: PostKind
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseChart:
    """The row of containers in their trays, the weighed ones marked.

    Parameters
    ----------
    filled : int
        Last container filled.
    tray_size : int
        Containers on a tray; 0 where there are no trays.
    doses : tuple of Dose
        Weighed containers in order of their number; struck-out and set-aside ones are not here.
    aim_g : Decimal or float
        Middle of the band.
    low_g, high_g : Decimal or float
        Ends of the band.
    weighed : int or None
        How many were weighed, where `doses` holds only the least and the greatest of the early
        ones; None where it holds all.
    limits : tuple of LimitMark
        T1 and others; the picture always reaches down to the one named ``"T1"``.
    held : tuple of HeldSpan
        Held containers.
    posts : tuple of Post
        Turns, refills, pauses.
    decimals : int
        Digits after the point, as on the weighing scale.
    word, words : str
        What a container is called, one and many.
    """

    filled: int
    tray_size: int
    doses: tuple[Dose, ...]
    aim_g: Decimal | float
    low_g: Decimal | float
    high_g: Decimal | float
    weighed: int | None = None
    limits: tuple[LimitMark, ...] = ()
    held: tuple[HeldSpan, ...] = ()
    posts: tuple[Post, ...] = ()
    decimals: int = 1
    word: str = "jar"
    words: str = "jars"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofShot:
    """A shot of a proving run; one that was set aside is drawn open and not counted."""

    net_g: Decimal
    is_set_aside: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofChart:
    """Every shot of a proving run against what is claimed.

    Parameters
    ----------
    shots : tuple of ProofShot
        In the order they were filled.
    planned : int
        Shots fixed before the first.
    aim_g : Decimal or float
        What the claim is about.
    claim_low_g, claim_high_g : Decimal or float
        Ends of the claim.
    claim_pct : Decimal
        Half width of the claim, as a share of the aim.
    within_low_g, within_high_g : float or None
        Where the doses stay, known only after the last shot.
    decimals : int
        Digits after the point, as on the weighing scale.
    """

    shots: tuple[ProofShot, ...]
    planned: int
    aim_g: Decimal | float
    claim_low_g: Decimal | float
    claim_high_g: Decimal | float
    claim_pct: Decimal
    within_low_g: float | None = None
    within_high_g: float | None = None
    decimals: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbabilityPlot:
    """Weights in order of size against the normal line, with the envelope of chance.

    Parameters
    ----------
    values_g : tuple of float
        The weights, smallest first.
    scores_z : tuple of float
        Where a normal sample would have them, in sds from the middle.
    low_g, high_g : tuple of float
        Ends of the envelope at each.
    mean_g, sd_g : float
        Middle and slope of the line.
    outside : tuple of int
        Places outside the envelope, counted from 0.
    runs : int
        Runs that the envelope was drawn from.
    seed : int or None
        What draws the same envelope again; None where nobody kept it.
    words : str
        What the picture says.
    decimals : int
        Digits after the point, as on the weighing scale.
    """

    values_g: tuple[float, ...]
    scores_z: tuple[float, ...]
    low_g: tuple[float, ...]
    high_g: tuple[float, ...]
    mean_g: float
    sd_g: float
    outside: tuple[int, ...] = ()
    runs: int = 0
    seed: int | None = None
    words: str = ""
    decimals: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedBar:
    """A part with its size and the words at its end."""

    name: str
    size_share: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedBars:
    """Parts of a whole, the biggest first; `title` says of what."""

    title: str
    bars: tuple[RankedBar, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeScale:
    """The machine's own volume scale around the setting.

    Parameters
    ----------
    now_marks : Decimal or float or None
        Where the pointer stands; None before it was read.
    set_marks : Decimal or float or None
        Where it shall stand; None when it may stay.
    likely_low_marks, likely_high_marks : Decimal or float or None
        Where the right setting lies 19 times in 20.
    via_marks : Decimal or float or None
        Where to go first when it must be approached from below.
    step_marks : Decimal
        Distance between engraved ticks.
    number_every_marks : Decimal
        Distance between engraved numbers.
    last_mark : Decimal
        Highest number; never wind past it.
    rises_upwards : bool
        True where the bigger numbers are above the smaller ones.
    """

    now_marks: Decimal | float | None
    set_marks: Decimal | float | None = None
    likely_low_marks: Decimal | float | None = None
    likely_high_marks: Decimal | float | None = None
    via_marks: Decimal | float | None = None
    step_marks: Decimal = Decimal("0.2")
    number_every_marks: Decimal = Decimal(1)
    last_mark: Decimal = Decimal(100)
    rises_upwards: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderLane:
    """One cylinder against the dose, with what is said of it in a few words."""

    capacity_ml: Decimal
    words: str
    is_taken: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderLanes:
    """The cylinders owned, each from a tenth to the whole of its volume, and the dose."""

    dose_ml: Decimal
    lanes: tuple[CylinderLane, ...]
    unit: str = "mL"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotChart:
    """The weights of a lot test against label, T1 and T2.

    Parameters
    ----------
    values_label_unit : tuple of Decimal or float
        The sample.
    nominal : Decimal or float
        What the label declares, in the unit of the chart.
    mean : float or None
        Average of the sample.
    limit : float or None
        Least average that passes.
    t1_label_unit, t2_label_unit : Decimal or float or None
        Limits of a single container; None where the rule set has none.
    unit : str
        What the figures are in: ``"g"`` or ``"mL"``, or the unit that a chart was turned to.
    decimals : int
        Digits after the point.
    words : str
        What containers are called.
    """

    values_label_unit: tuple[Decimal | float, ...]
    nominal: Decimal | float
    mean: float | None
    limit: float | None
    t1_label_unit: Decimal | float | None
    t2_label_unit: Decimal | float | None
    unit: str
    decimals: int = 1
    words: str = "jars"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """A turn of the hand wheel."""

    size_turns: float
    is_clockwise: bool


Chart: TypeAlias = (
    DoseChart
    | ProofChart
    | ProbabilityPlot
    | RankedBars
    | VolumeScale
    | CylinderLanes
    | LotChart
    | Wheel
    | WetSketch
    | RechargeMap
    | NozzleMap
    | FlowPlot
)
