"""What the call sheet of a fault needs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from fillwright.records.sheets import FactLine

__all__ = ["CallSheet", "DoneLine"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneLine:
    """A check or a repair that was made, and what came of it."""

    at: datetime
    name: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CallSheet:
    """What is read over the phone, or handed to the technician.

    Parameters
    ----------
    job, sign : str
        Job number, and what was seen.
    phone : tuple of str
        Short sentences to be read out.
    facts : tuple of FactLine
        Machine and job.
    done : tuple of DoneLine
        What was done, in order.
    causes, ruled_out : tuple of tuple of str
        What it can be with its word; what it is not and by what.
    step, why : str
        What comes next, and why.
    doses_g : tuple of Decimal
        The last doses as the scale showed them.
    made_at, zone, program
        As on the batch record.
    is_invented : bool
        Whether any of it is of the demo.
    """

    job: str
    sign: str
    phone: tuple[str, ...]
    facts: tuple[FactLine, ...]
    done: tuple[DoneLine, ...]
    causes: tuple[tuple[str, str], ...]
    ruled_out: tuple[tuple[str, str], ...]
    step: str
    why: str
    doses_g: tuple[Decimal, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the sheet is called on each page."""
        return f"Call sheet, {self.whose}"

    @property
    def whose(self) -> str:
        """Return what the sheet is of: a job, or a case beside the jobs."""
        return self.job if self.job.startswith("case ") else f"job {self.job}"
