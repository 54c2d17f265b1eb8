"""What each paper needs, ready to print: filled by those who know the job, drawn by `report`.

A sheet holds facts as they were put on record; the paper decides nothing and leaves nothing out.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import StrEnum

from fillwright.records.charts import DoseChart, LotChart, ProbabilityPlot, ProofChart
from fillwright.records.entities import JobFacts
from fillwright.records.entries import (
    AdjustmentMade,
    CheckTaken,
    LotJudged,
    ProofJudged,
    ProofPlanned,
    Released,
    RunPaused,
    SampleDrawn,
    SettingMoved,
    Signed,
    TareSet,
    TrimJudged,
    WeighingTaken,
)
from fillwright.records.sheets_checks import CheckLine, CheckPlace
from fillwright.records.sheets_held import FateLine, HeldLine, OutcomeLine, RelabelledLine

__all__ = [
    "BatchRecordSheet",
    "CheckLine",
    "CheckPlace",
    "FactLine",
    "HeldLine",
    "JobCardSheet",
    "LotLine",
    "LotSheet",
    "OutcomeLine",
    "Paper",
    "ProofLine",
    "ProofSheet",
    "ScaleCheckLine",
    "SignatureLine",
    "StruckLine",
    "TurnLine",
    "WeighedLine",
    "WeightLimit",
]


class Paper(StrEnum):
    """Sizes of paper."""

    A4 = "a4"
    LETTER = "us-letter"


@dataclass(frozen=True, slots=True, kw_only=True)
class FactLine:
    """A fact by its name, both as people read them."""

    name: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeightLimit:
    """A limit as a weight on the scale; `note` says what it means."""

    name: str
    limit_g: Decimal
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedLine:
    """A weighing with who and when; `struck` is the reason when it was struck out."""

    at: datetime
    person: str
    fact: WeighingTaken
    struck: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StruckLine:
    """A strike-out: what was struck out in words, by whom, when and why."""

    at: datetime
    person: str
    what: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnLine:
    """A turn of the hand wheel."""

    at: datetime
    person: str
    fact: SettingMoved | AdjustmentMade


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleCheckLine:
    """A check of the weighing scale."""

    at: datetime
    person: str
    fact: CheckTaken


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatureLine:
    """A name put to the lot."""

    at: datetime
    fact: Signed


@dataclass(frozen=True, slots=True, kw_only=True)
class LotLine:
    """A weight of a lot test: where it stood, what was shown, what was made of it.

    Parameters
    ----------
    row : str
        Such as ``"row 7"`` or ``"jar 181"``.
    shown : str
        What the file or the scale had, with its unit.
    content : str
        Content in the unit of the label, where it differs from the net weight.
    sample : int
        1 for the first sample, 2 for the second.
    state : str
        ``"short"``, ``"far-short"`` or empty.
    left_out : str
        Reason, where the row was not used.
    """

    row: str
    shown: str
    net_g: Decimal
    content: str = ""
    sample: int = 1
    state: str = ""
    left_out: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchRecordSheet:
    """The whole record of a job, for the file.

    Parameters
    ----------
    facts : JobFacts
        The job as it stands.
    maker : str
        Who fills, as the site settings have it; may be empty.
    made_at : datetime
        Time of the last entry; it dates the paper, so that the same record gives the same bytes.
    zone : str
        Name of the bench's own time zone; times are printed in it.
    lot : LotJudged or None
        The lot test; None while it was not judged.
    released : Released or None
        None while the lot is open.
    limits : tuple of WeightLimit
        Label, T1, T2, band, brim as weights.
    content_formula : str
        How a weight becomes a content of the label, with the numbers filled in; empty for a
        label in grams.
    weighings : tuple of WeighedLine
        All of them in journal order, struck-out and set-aside ones included.
    turns, pauses : tuple of TurnLine, tuple of RunPaused
        Turns of the wheel, and pauses and refills of the run, in order.
    course : tuple of str
        Watch, signatures and hopper levels of the run.
    held : tuple of HeldLine
        Held containers and what became of them.
    fates : tuple of FateLine
        What became of every container filled; each is counted once.
    relabelled : tuple of RelabelledLine
        Lots of their own that came of new labels.
    checks : tuple of ScaleCheckLine
        Checks of the weighing scale.
    tare : TareSet or None
        The average empty.
    trim, proof, proof_plan : entries or None
        The results of the earlier stages.
    samples : tuple of SampleDrawn
        Draws by chance for the lot test, with their seeds.
    sample_lines : tuple of LotLine
        The weights that the lot test used, in drawing order.
    signatures : tuple of SignatureLine
        One or two.
    signatures_wanted : int
        How many the site asks for.
    strikes : tuple of StruckLine
        All strike-outs.
    notes : tuple of str
        Anything else that belongs on record, a sentence each.
    dose_chart, proof_chart, proof_plot, lot_chart : charts or None
        Pictures, the same as on the page.
    entries : int
        Entries of the job at the time of printing.
    last_hash : str
        Hash of the last of them.
    program : str
        Name and version of the software that prints.
    """

    facts: JobFacts
    made_at: datetime
    zone: str
    lot: LotJudged | None
    released: Released | None
    entries: int
    last_hash: str
    program: str
    maker: str = ""
    limits: tuple[WeightLimit, ...] = ()
    content_formula: str = ""
    weighings: tuple[WeighedLine, ...] = ()
    turns: tuple[TurnLine, ...] = ()
    pauses: tuple[RunPaused, ...] = ()
    course: tuple[str, ...] = ()
    held: tuple[HeldLine, ...] = ()
    fates: tuple[FateLine, ...] = ()
    relabelled: tuple[RelabelledLine, ...] = ()
    checks: tuple[ScaleCheckLine, ...] = ()
    tare: TareSet | None = None
    trim: TrimJudged | None = None
    proof: ProofJudged | None = None
    proof_plan: ProofPlanned | None = None
    samples: tuple[SampleDrawn, ...] = ()
    sample_lines: tuple[LotLine, ...] = ()
    signatures: tuple[SignatureLine, ...] = ()
    signatures_wanted: int = 1
    strikes: tuple[StruckLine, ...] = ()
    notes: tuple[str, ...] = ()
    dose_chart: DoseChart | None = None
    proof_chart: ProofChart | None = None
    proof_plot: ProbabilityPlot | None = None
    lot_chart: LotChart | None = None
    other_lot: LotJudged | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSheet:
    """The judgement of a lot whose weights came from a file, without a job.

    Parameters
    ----------
    title, source : str
        Product or lot as the person called it, and the name of the file.
    made_at : datetime
        When it was judged.
    lot : LotJudged
        The judgement with every figure.
    lines : tuple of LotLine
        All weights in the order of the file.
    facts : tuple of FactLine
        What was given: label, density, tare.
    content_formula : str
        How a weight becomes a content, with the numbers filled in.
    zone, program, is_invented
        As on the other papers.
    """

    title: str
    source: str
    made_at: datetime
    zone: str
    lot: LotJudged
    lines: tuple[LotLine, ...]
    program: str
    facts: tuple[FactLine, ...] = ()
    content_formula: str = ""
    chart: LotChart | None = None
    is_invented: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofLine:
    """A reading of a proving run; `set_aside` is the reason when it does not count."""

    row: str
    shown: str
    net_g: Decimal
    set_aside: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofSheet:
    """The proof of repeatability by itself: a claim about doses around `aim_g`.

    Parameters
    ----------
    claim_pct, content_pct, confidence_pct : Decimal
        The claim: so many in a hundred doses within so much, at this confidence.
    lines : tuple of ProofLine
        All readings in order.
    title, source, made_at, zone, facts, program, is_invented
        As on the lot paper.
    """

    title: str
    source: str
    made_at: datetime
    zone: str
    proof: ProofJudged
    aim_g: Decimal
    claim_pct: Decimal
    content_pct: Decimal
    confidence_pct: Decimal
    lines: tuple[ProofLine, ...]
    program: str
    facts: tuple[FactLine, ...] = ()
    chart: ProofChart | None = None
    plot: ProbabilityPlot | None = None
    is_invented: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCardSheet:
    """The one sheet that stands beside the machine.

    Parameters
    ----------
    facts : JobFacts
        The job.
    made_at, zone, program
        As on the batch record.
    next_order : str
        What to do next, as the page says it.
    setting_marks : Decimal or None
        Setting of the volume scale; None before Trim, then there is a line to write on.
    low_g, high_g : Decimal
        Ends of the band.
    limits : tuple of WeightLimit
        Label, T1, T2, brim, empty.
    settings : tuple of FactLine
        Air, fill and recharge times, whatever is known; at most three are shown large.
    parts : tuple of FactLine
        What is fitted, with the material of the seals.
    nozzle_gap_mm : Decimal or None
        Height of the nozzle above the lip, drawn at true size.
    weigh_words : str
        When to weigh, in a sentence or two.
    cautions : tuple of str
        Cautions that hold for this job; air and ports are always printed.
    checks : tuple of CheckLine
        What to look at first, with the numbers of its checks.
    places : tuple of CheckPlace
        Every check by its number, for the back; without any there is no back.
    revision : int
        Entries of the job at the time of printing.
    """

    facts: JobFacts
    made_at: datetime
    zone: str
    next_order: str
    setting_marks: Decimal | None
    low_g: Decimal
    high_g: Decimal
    revision: int
    program: str
    limits: tuple[WeightLimit, ...] = ()
    settings: tuple[FactLine, ...] = ()
    parts: tuple[FactLine, ...] = ()
    nozzle_gap_mm: Decimal | None = None
    weigh_words: str = ""
    cautions: tuple[str, ...] = ()
    checks: tuple[CheckLine, ...] = ()
    places: tuple[CheckPlace, ...] = ()
