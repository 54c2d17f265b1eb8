"""The papers as PDF: batch record, lot paper, proof paper, job card, machine card.

The same sheet gives the same bytes; text typed by people is data, never markup; only the
shipped letters are used, and a character that they lack is printed as its code and named.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Final

from fillwright.records.sheets import (
    BatchRecordSheet,
    JobCardSheet,
    LotSheet,
    Paper,
    ProofSheet,
)
from fillwright.records.sheets_fault import CallSheet
from fillwright.records.sheets_machine import MachineCardSheet
from fillwright.report.batch_words import batch_blocks
from fillwright.report.blocks import Block, Pictures, head, para
from fillwright.report.card_words import card_words
from fillwright.report.fault_words import call_blocks
from fillwright.report.file_words import lot_blocks, proof_blocks
from fillwright.report.letters import missing_characters
from fillwright.report.machine_words import machine_blocks
from fillwright.report.printer import PrintFailed, run_printer

__all__ = [
    "PrintFailed",
    "batch_record",
    "call_sheet",
    "job_card",
    "lot_paper",
    "machine_card",
    "proof_paper",
]

_INVENTED: Final = "Invented data, not a real lot"


def batch_record(sheet: BatchRecordSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the whole record of a job as a PDF.

    Parameters
    ----------
    sheet : BatchRecordSheet
        The record.
    paper : Paper
        Size of the paper.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    pictures = Pictures()
    job = sheet.facts
    return _paper(
        batch_blocks(sheet, pictures),
        pictures,
        name=f"Batch record, job {job.number}",
        at=sheet.made_at,
        paper=paper,
        is_invented=job.is_invented,
    )


def lot_paper(sheet: LotSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the judgement of a lot whose weights came from a file as a PDF.

    Parameters
    ----------
    sheet : LotSheet
        The judgement.
    paper : Paper
        Size of the paper.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    pictures = Pictures()
    return _paper(
        lot_blocks(sheet, pictures),
        pictures,
        name=f"Lot test, {sheet.title}",
        at=sheet.made_at,
        paper=paper,
        is_invented=sheet.is_invented,
    )


def proof_paper(sheet: ProofSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the proof of repeatability as a PDF.

    Parameters
    ----------
    sheet : ProofSheet
        The proof.
    paper : Paper
        Size of the paper.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    pictures = Pictures()
    return _paper(
        proof_blocks(sheet, pictures),
        pictures,
        name=f"Proof of repeatability, {sheet.title}",
        at=sheet.made_at,
        paper=paper,
        is_invented=sheet.is_invented,
    )


def job_card(sheet: JobCardSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the one page that stands beside the machine as a PDF.

    Parameters
    ----------
    sheet : JobCardSheet
        The card.
    paper : Paper
        Size of the paper.

    Returns
    -------
    bytes
        The file, of one page.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    words = card_words(sheet)
    lost = missing_characters("".join(_texts(words)))
    words["lost"] = _lost_words(lost)
    words["invented"] = _INVENTED if sheet.facts.is_invented else ""
    words["name"] = f"Job card, job {sheet.facts.number}"
    return run_printer("card.typ", words, {}, at=sheet.made_at, paper=paper)


def machine_card(sheet: MachineCardSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the card that hangs on a machine as a PDF.

    Parameters
    ----------
    sheet : MachineCardSheet
        The card.
    paper : Paper
        Size of the paper.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    return _paper(
        machine_blocks(sheet),
        Pictures(),
        name=f"Machine card, {sheet.machine.name}",
        at=sheet.made_at,
        paper=paper,
        is_invented=sheet.is_invented,
    )


def call_sheet(sheet: CallSheet, *, paper: Paper = Paper.A4) -> bytes:
    """Return the call sheet of a fault as a PDF.

    Parameters
    ----------
    sheet : CallSheet
        What is read out, what was done, what it can be.
    paper : Paper
        Size of the paper.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    return _paper(
        call_blocks(sheet),
        Pictures(),
        name=f"Call sheet, job {sheet.job}",
        at=sheet.made_at,
        paper=paper,
        is_invented=sheet.is_invented,
    )


def _paper(
    blocks: list[Block],
    pictures: Pictures,
    *,
    name: str,
    at: datetime,
    paper: Paper,
    is_invented: bool,
) -> bytes:
    """Return blocks as a PDF, with a note on characters that could not be printed."""
    lost = missing_characters("".join(_texts([*blocks, name])) + pictures.words)
    if lost:
        blocks = [*blocks, head("Characters"), *para(_lost_words(lost))]
    data: dict[str, object] = {
        "name": name,
        "invented": _INVENTED if is_invented else "",
        "blocks": blocks,
    }
    return run_printer("paper.typ", data, pictures.files, at=at, paper=paper)


def _lost_words(lost: tuple[str, ...]) -> str:
    """Return which characters are printed as their code."""
    if not lost:
        return ""
    codes = ", ".join(f"[U+{ord(character):04X}]" for character in lost)
    return f"The letters of this paper lack some characters; their code stands for each: {codes}."


def _texts(data: object) -> Iterator[str]:
    """Yield every text in the data of a paper."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        for value in data.values():
            yield from _texts(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _texts(value)
