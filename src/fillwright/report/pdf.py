"""The papers as PDF: batch record, lot paper, proof paper, job card.

The same sheet gives the same bytes; text typed by people is data, never markup.
"""

from __future__ import annotations

from fillwright.records.sheets import (
    BatchRecordSheet,
    JobCardSheet,
    LotSheet,
    Paper,
    ProofSheet,
)

__all__ = ["batch_record", "job_card", "lot_paper", "proof_paper"]


def batch_record(sheet: BatchRecordSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the whole record of a job as a PDF."""
    raise NotImplementedError


def lot_paper(sheet: LotSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the judgement of a lot whose weights came from a file as a PDF."""
    raise NotImplementedError


def proof_paper(sheet: ProofSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the proof of repeatability as a PDF."""
    raise NotImplementedError


def job_card(sheet: JobCardSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the one page that stands beside the machine as a PDF."""
    raise NotImplementedError
