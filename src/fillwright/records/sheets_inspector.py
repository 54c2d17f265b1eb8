"""What the paper for an inspector needs: lots, scales, density and tare, cleaning, a rehearsal."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

__all__ = [
    "CleanLine",
    "ComplaintLine",
    "InspectorSheet",
    "RehearsalLine",
    "RehearsalSheet",
    "ScaleLine",
    "StockLine",
    "TestedLotLine",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class TestedLotLine:
    """One of the last lots: what it was, how it was judged, what became of it."""

    job: str
    what: str
    lot_code: str
    at: datetime
    rules: str
    found: str
    outcome: str
    is_good: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleLine:
    """A weighing scale: calibration and when it is due, and its last checks with a weight."""

    scale: str
    step: str
    calibrated_on: str
    due_on: str
    is_due: bool
    checks: str
    is_good: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLine:
    """What is on file of a product in its container: density and average empty."""

    product: str
    density: str
    container: str
    tare: str
    job: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanLine:
    """A clean or a strip between two jobs."""

    machine: str
    at: datetime
    person: str
    words: str
    is_good: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplaintLine:
    """A complaint about a container: of which lot, in a sentence, and whether it is closed."""

    complaint: int
    lot_code: str
    words: str
    is_closed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsalLine:
    """One container of the rehearsal: its number, where it stands, its net weight if known."""

    container: int
    place: str
    net: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsalSheet:
    """A rehearsal of the inspector's sample on a lot; ours, and no official test.

    Parameters
    ----------
    job, lot_code, what : str
        Which lot.
    seed : int
        Seed of the draw, so that it can be drawn again.
    plan : str
        What the rule set draws from such a lot.
    lines : tuple of RehearsalLine
        In drawing order.
    next_container : int or None
        The next one to fetch; None where all are weighed.
    missing : int
        How many are still to be weighed.
    verdicts : tuple of str
        One sentence for each market, once all are weighed.
    state : str
        ``"on"``, ``"stop"``, ``"warn"``, or ``"wait"`` while some are missing.
    headline : str
        The first words.
    """

    job: str
    lot_code: str
    what: str
    seed: int
    plan: str
    lines: tuple[RehearsalLine, ...]
    next_container: int | None
    missing: int
    verdicts: tuple[str, ...]
    state: str
    headline: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectorSheet:
    """Everything that an inspector at the door is shown, on one page.

    Parameters
    ----------
    maker : str
        As papers print it.
    lots : tuple of TestedLotLine
        The last lots, the latest first.
    scales : tuple of ScaleLine
        Every weighing scale on file.
    stock : tuple of StockLine
        Density and tare by product and container, the latest first.
    cleans : tuple of CleanLine
        The last cleans, the latest first.
    complaints : tuple of ComplaintLine
        Complaints on record, the latest first.
    rehearsal : RehearsalSheet or None
        A rehearsal of his sample; None where nothing was filled.
    made_at, zone, program, is_invented
        As on the batch record.
    """

    maker: str
    lots: tuple[TestedLotLine, ...]
    scales: tuple[ScaleLine, ...]
    stock: tuple[StockLine, ...]
    cleans: tuple[CleanLine, ...]
    rehearsal: RehearsalSheet | None
    made_at: datetime
    zone: str
    program: str
    complaints: tuple[ComplaintLine, ...] = ()
    is_invented: bool = False
