"""What the papers of the technician need: an enquiry held against machines, a trial fill."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from fillwright.records.sheets import FactLine

__all__ = ["AskedLine", "EnquirySheet", "SuitsLine", "TrialSheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedLine:
    """A question to the enquirer: what was told so far, and why it is asked."""

    question: str
    told: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SuitsLine:
    """A machine held against an enquiry: how it came out, with which parts, and why."""

    machine: str
    word: str
    parts: str
    why: str
    expects: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EnquirySheet:
    """What to ask an enquirer, and what suits as far as it is known.

    Parameters
    ----------
    enquiry : int
        Its number.
    wanted : tuple of FactLine
        Product, container, dose.
    machines : tuple of SuitsLine
        Best first.
    asked : tuple of AskedLine
        What to ask; what was told already stands beside it.
    cautions : tuple of str
        What this product brings.
    note : str
        What else was said.
    made_at, zone, program
        As on the batch record.
    is_invented : bool
        Whether any of it is of the demo.
    """

    enquiry: int
    wanted: tuple[FactLine, ...]
    machines: tuple[SuitsLine, ...]
    asked: tuple[AskedLine, ...]
    cautions: tuple[str, ...]
    note: str
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the sheet is called on each page."""
        return f"Enquiry {self.enquiry}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialSheet:
    """A trial fill: how the machine stood, what each shot weighed, what that says.

    Parameters
    ----------
    trial : int
        Its number.
    facts : tuple of FactLine
        Machine, product, fitting, setting.
    shots : tuple of tuple of str
        Number, net, and how far off what was asked for.
    says : tuple of str
        Mean and spread, and how little a few shots prove.
    note : str
        What was seen.
    person : str
        Who filled.
    made_at, zone, program
        As on the batch record.
    is_invented : bool
        Whether any of it is of the demo.
    """

    trial: int
    facts: tuple[FactLine, ...]
    shots: tuple[tuple[str, str, str], ...]
    says: tuple[str, ...]
    note: str
    person: str
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the sheet is called on each page."""
        return f"Trial fill {self.trial}"
