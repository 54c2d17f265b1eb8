"""The papers as PDF: batch record, lot paper, proof paper, job card.

The same sheet gives the same bytes; text typed by people is data, never markup; only the
shipped letters are used, and a character that they lack is printed as its code and named.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Final

from fillwright.errors import FillwrightError
from fillwright.records.sheets import (
    BatchRecordSheet,
    JobCardSheet,
    LotSheet,
    Paper,
    ProofSheet,
)
from fillwright.report.batch_words import batch_blocks
from fillwright.report.blocks import Block, Pictures, head, para
from fillwright.report.card_words import card_words
from fillwright.report.file_words import lot_blocks, proof_blocks
from fillwright.report.letters import fonts_folder, missing_characters, printable

__all__ = ["PrintFailed", "batch_record", "job_card", "lot_paper", "proof_paper"]

_STANDARD: Final = ["a-2b"]
_INVENTED: Final = "Invented data, not a real lot"


class PrintFailed(FillwrightError):
    """A paper could not be made; nothing was printed half."""


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
    return _compile("card.typ", words, {}, at=sheet.made_at, paper=paper)


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
    return _compile("paper.typ", data, pictures.files, at=at, paper=paper)


def _lost_words(lost: tuple[str, ...]) -> str:
    """Return which characters are printed as their code."""
    if not lost:
        return ""
    codes = ", ".join(f"[U+{ord(character):04X}]" for character in lost)
    return f"The letters of this paper lack some characters; their code stands for each: {codes}."


def _compile(
    template: str,
    data: dict[str, object],
    files: dict[str, bytes],
    *,
    at: datetime,
    paper: Paper,
) -> bytes:
    """Run the printer over a template with its data, without the network or other letters."""
    import typst  # noqa: PLC0415  most commands never print

    folder = Path(__file__).parent / "templates"
    sources = {name: (folder / name).read_bytes() for name in ("house.typ", template)}
    sources["main.typ"] = sources.pop(template)
    try:
        # The stubs of the printer do not know that it takes files by name.
        result, warnings = typst.compile_with_warnings(  # type: ignore[call-overload]
            sources | files,
            font_paths=[str(fonts_folder())],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(_printable({**data, "paper": paper.value}))},
            pdf_standards=_STANDARD,
            format="pdf",
            timestamp=int(at.timestamp()),
        )
    except typst.TypstError as error:
        message = f"The paper could not be made: {error}."
        raise PrintFailed(message) from error
    if warnings or not isinstance(result, bytes):
        told = "; ".join(str(warning) for warning in warnings)
        message = f"The paper could not be made as it should look: {told}."
        raise PrintFailed(message)
    return result


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


def _printable(data: object) -> object:
    """Return the data of a paper with every text as it can be printed."""
    if isinstance(data, str):
        return printable(data)
    if isinstance(data, dict):
        # A digest stays whole, so that it can be searched for.
        return {k: v if k == "digest" else _printable(v) for k, v in data.items()}
    if isinstance(data, list | tuple):
        return [_printable(value) for value in data]
    return data
