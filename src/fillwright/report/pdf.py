"""The papers as PDF: each kind of sheet in its own blocks, all by one function.

The same sheet gives the same bytes; text typed by people is data, never markup; only the
shipped letters are used, and a character that they lack is printed as its code and named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any, Final, TypeAlias

from fillwright.language import PLAIN, Way, said
from fillwright.records.book import names_practice
from fillwright.records.sheets import (
    BatchRecordSheet,
    JobCardSheet,
    LotSheet,
    Paper,
    ProofSheet,
)
from fillwright.records.sheets_costs import CostSheet, QuoteSheet
from fillwright.records.sheets_fault import CallSheet
from fillwright.records.sheets_field import EnquirySheet, TrialSheet
from fillwright.records.sheets_inspector import InspectorSheet
from fillwright.records.sheets_machine import MachineCardSheet
from fillwright.records.sheets_practice import CourseSheet
from fillwright.records.sheets_service import ShelfListSheet, StripRecordSheet
from fillwright.records.sheets_trace import ComplaintSheet, LetterSheet, TraceSheet
from fillwright.report.batch_words import batch_blocks
from fillwright.report.blocks import Block, Pictures, head, para
from fillwright.report.card_words import card_words
from fillwright.report.cost_words import cost_blocks, quote_blocks
from fillwright.report.fault_words import call_blocks
from fillwright.report.field_words import enquiry_blocks, trial_blocks
from fillwright.report.file_words import lot_blocks, proof_blocks
from fillwright.report.inspector_words import inspector_blocks
from fillwright.report.letters import missing_characters
from fillwright.report.machine_words import machine_blocks
from fillwright.report.practice_words import course_blocks
from fillwright.report.printer import PrintFailed, run_printer
from fillwright.report.service_words import shelf_blocks, strip_blocks
from fillwright.report.spoken import blocks_of, in_the_way
from fillwright.report.trace_words import complaint_blocks, letter_blocks, recall_blocks

__all__ = ["PrintFailed", "Sheet", "print_sheet"]

Sheet: TypeAlias = (
    BatchRecordSheet
    | LotSheet
    | ProofSheet
    | JobCardSheet
    | MachineCardSheet
    | CallSheet
    | EnquirySheet
    | TrialSheet
    | CourseSheet
    | StripRecordSheet
    | ShelfListSheet
    | InspectorSheet
    | TraceSheet
    | ComplaintSheet
    | LetterSheet
    | QuoteSheet
    | CostSheet
)

_INVENTED: Final = "Invented data, not a real lot"
_PRACTICE: Final = "Practice, not a real lot"
_BLOCKS: Final[dict[type, Callable[[Any, Pictures], list[Block]]]] = {
    BatchRecordSheet: batch_blocks,
    LotSheet: lot_blocks,
    ProofSheet: proof_blocks,
    MachineCardSheet: lambda sheet, _: machine_blocks(sheet),
    CallSheet: lambda sheet, _: call_blocks(sheet),
    EnquirySheet: lambda sheet, _: enquiry_blocks(sheet),
    TrialSheet: lambda sheet, _: trial_blocks(sheet),
    CourseSheet: lambda sheet, _: course_blocks(sheet),
    StripRecordSheet: lambda sheet, _: strip_blocks(sheet),
    ShelfListSheet: lambda sheet, _: shelf_blocks(sheet),
    InspectorSheet: lambda sheet, _: inspector_blocks(sheet),
    TraceSheet: lambda sheet, _: recall_blocks(sheet),
    ComplaintSheet: lambda sheet, _: complaint_blocks(sheet),
    LetterSheet: lambda sheet, _: letter_blocks(sheet),
    QuoteSheet: lambda sheet, _: quote_blocks(sheet),
    CostSheet: lambda sheet, _: cost_blocks(sheet),
}


def print_sheet(sheet: Sheet, *, paper: Paper = Paper.A4, way: Way = PLAIN) -> bytes:
    """Return a sheet as a PDF.

    Parameters
    ----------
    sheet : one of the sheets of the records
        What the paper says; its kind decides which paper it is. A job card has a front and a back.
    paper : Paper
        Size of the paper.
    way : Way
        Language and measures of the paper.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    PrintFailed
        If the printer warns or fails.
    """
    name, is_invented = _name(sheet)
    banner = _banner(sheet, name, is_invented=is_invented)
    if isinstance(sheet, JobCardSheet):
        return _card(sheet, name=name, banner=banner, paper=paper, way=way)
    pictures = Pictures(way)
    blocks = _BLOCKS[type(sheet)](sheet, pictures)
    return _paper(
        blocks, pictures, name=name, at=sheet.made_at, paper=paper, banner=banner, way=way
    )


def _name(sheet: Sheet) -> tuple[str, bool]:
    """Return what a paper is called on each page, and whether its data are invented."""
    match sheet:
        case BatchRecordSheet():
            return f"Batch record, job {sheet.facts.number}", sheet.facts.is_invented
        case JobCardSheet():
            return f"Job card, job {sheet.facts.number}", sheet.facts.is_invented
        case LotSheet():
            return f"Lot test, {sheet.title}", sheet.is_invented
        case ProofSheet():
            return f"Proof of repeatability, {sheet.title}", sheet.is_invented
        case MachineCardSheet():
            return f"Machine card, {sheet.machine.name}", sheet.is_invented
        case (
            CallSheet()
            | EnquirySheet()
            | TrialSheet()
            | CourseSheet()
            | TraceSheet()
            | ComplaintSheet()
            | LetterSheet()
            | QuoteSheet()
            | CostSheet()
        ):
            return sheet.name, sheet.is_invented
        case StripRecordSheet():
            return f"Strip and rebuild record, job {sheet.job}", sheet.is_invented
        case ShelfListSheet():
            return "Shelf list", sheet.is_invented
        case InspectorSheet():
            return "For the inspector", sheet.is_invented


def _banner(sheet: Sheet, name: str, *, is_invented: bool) -> str:
    """Return what stands on top of each page; the number of a practice job is its mark."""
    source = sheet.source if isinstance(sheet, ProofSheet) else ""
    if names_practice(f"{name} {source}"):
        return _PRACTICE
    return _INVENTED if is_invented else ""


def _card(sheet: JobCardSheet, *, name: str, banner: str, paper: Paper, way: Way) -> bytes:
    """Return the one sheet that stands beside the machine."""
    words = {**card_words(sheet), "invented": banner, "name": name}
    words = in_the_way(words, way)
    lost = missing_characters("".join(_texts(words)))
    words["lost"] = said(_lost_words(lost), way)
    return run_printer("card.typ", words, {}, at=sheet.made_at, paper=paper, way=way)


def _paper(
    blocks: list[Block],
    pictures: Pictures,
    *,
    name: str,
    at: datetime,
    paper: Paper,
    banner: str,
    way: Way,
) -> bytes:
    """Return blocks as a PDF, with a note on characters that could not be printed."""
    said_data = in_the_way({"name": name, "invented": banner, "blocks": blocks}, way)
    lost = missing_characters("".join(_texts(said_data)) + pictures.words)
    if lost:
        more: dict[str, object] = {"blocks": [head("Characters"), *para(_lost_words(lost))]}
        said_data["blocks"] = [*blocks_of(said_data), *blocks_of(in_the_way(more, way))]
    return run_printer("paper.typ", said_data, pictures.files, at=at, paper=paper, way=way)


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
