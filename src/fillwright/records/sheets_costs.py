"""What the papers of costs need: a quote at several lot sizes, and what a job cost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fillwright.records.sheets import FactLine

__all__ = ["CostPaperLine", "CostSheet", "QuotePaperLine", "QuoteSheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotePaperLine:
    """The quote for one lot size in words, with its range; "no range" where none can be told."""

    lot_size: int
    each: str
    each_range: str
    whole: str
    whole_range: str


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteSheet:
    """A quote for another job like one on record.

    Parameters
    ----------
    job : str
        The job that the new one is like.
    product, container, label, word : str
        What is quoted, and what a container is called.
    maker : str
        Who quotes, as the site settings have it; may be empty.
    lines : tuple of QuotePaperLine
        One for each lot size.
    rests_on : tuple of str
        Numbers of the earlier jobs.
    why : str
        What the range is, and which jobs speak for it.
    prices : tuple of FactLine
        What things cost today.
    missing : tuple of str
        Prices that nobody said.
    made_at, zone, program, is_invented
        As on the other papers.
    """

    job: str
    product: str
    container: str
    label: str
    word: str
    maker: str
    lines: tuple[QuotePaperLine, ...]
    rests_on: tuple[str, ...]
    why: str
    prices: tuple[FactLine, ...]
    missing: tuple[str, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the paper is called on each page."""
        return f"Quote, {self.product}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CostPaperLine:
    """One part of the costs: its name, how much, what it cost, and for one container."""

    name: str
    amount: str
    cost: str
    each: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CostSheet:
    """What a job cost, and where the money went.

    Parameters
    ----------
    job, product, container, lot_code, word : str
        Which job, and what a container is called.
    headline, why : str
        What one costs, and how much of that the buyer gets.
    lines, sold, held : tuple of CostPaperLine
        What comes on top, the dearest first; what the buyer gets; what became of held ones.
    scatter : str
        What less scatter is worth; empty where it is not known.
    missing : tuple of str
        What could not be counted.
    facts : tuple of FactLine
        Amounts and minutes behind it, and the prices of today.
    notes : tuple of str
        How the amounts were come by.
    made_at, zone, program, is_invented
        As on the other papers.
    """

    job: str
    product: str
    container: str
    lot_code: str
    word: str
    headline: str
    why: str
    lines: tuple[CostPaperLine, ...]
    sold: tuple[CostPaperLine, ...]
    held: tuple[CostPaperLine, ...]
    scatter: str
    missing: tuple[str, ...]
    facts: tuple[FactLine, ...]
    notes: tuple[str, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the paper is called on each page."""
        return f"Costs, job {self.job}"
