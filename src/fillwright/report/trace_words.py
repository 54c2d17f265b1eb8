"""The recall sheet, and what the record says of one container, with a letter."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_trace import (
    ComplaintSheet,
    FateLine,
    FromLine,
    JarsLine,
    LetterSheet,
    LotTrace,
    TraceSheet,
)
from fillwright.report.blocks import Block, facts, head, notes, para, rows, title
from fillwright.report.wording import counted, moment, plural, spans, stamped

__all__ = ["complaint_blocks", "letter_blocks", "recall_blocks"]

_NAMES: Final = {
    "lot": "lot",
    "relabelled": "lot re-labelled out of another",
    "batch": "batch of product",
    "drum": "drum",
    "container": "carton of containers",
    "lid": "carton of lids",
}
_FIRST: Final = (
    "Stop what is still here: held, waiting and kept ones go nowhere.",
    "Hold it against the list of deliveries: the record does not know who was sent what.",
    "Tell whom local law says must be told, within its time. It goes before this sheet.",
    "Write beside each lot what came back and what was destroyed, with date and name.",
)
_PRACTICE: Final = "The order of these four is common practice, no source."


def recall_blocks(sheet: TraceSheet) -> list[Block]:
    """Return the blocks of the recall sheet: all containers concerned, then the lots whole."""
    kinds = " and ".join(_NAMES[kind] for kind in sheet.traced_as)
    total = sum(line.containers for line in sheet.jars)
    called = {line.word for line in sheet.jars}
    word = called.pop() if len(called) == 1 else "container"
    return [
        title(
            f"Recall sheet, {sheet.code}",
            [
                f"Code of a {kinds}",
                f"{counted(total, word)} in {counted(len(sheet.jars), 'lot')} concerned",
            ],
        ),
        head("Concerned"),
        rows(
            ("lot", "product", "which", "trays", "how many", "what became of them"),
            [_jars(line) for line in sheet.jars],
            widths=(1.6, 2.2, 2.2, 1.8, 1.0, 3.4),
            right=(4,),
        ),
        *(
            [head("May be concerned too: holes in the record"), *notes(sheet.holes)]
            if sheet.holes
            else []
        ),
        head("What to do"),
        *notes((*_FIRST, _PRACTICE)),
        *(block for lot in sheet.lots for block in _lot(lot, sheet.zone)),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def complaint_blocks(sheet: ComplaintSheet) -> list[Block]:
    """Return the blocks of a complaint: what the record says, what not, and the letter."""
    return [
        title(
            sheet.name,
            [f"{sheet.product}, job {sheet.job}", sheet.jar],
        ),
        head("The record can say"),
        *notes(sheet.can_say),
        head("The record cannot say"),
        *notes(sheet.cannot_say),
        head("On record"),
        facts([(line.name, line.words) for line in sheet.facts]),
        head("A letter to adapt"),
        *(block for words in sheet.letter for block in para(words)),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def letter_blocks(sheet: LetterSheet) -> list[Block]:
    """Return the blocks of the letter alone: whose, of what, and its paragraphs."""
    about = sheet.sheet
    return [
        title(sheet.maker or "[Your name and address]", [f"{about.name}, {about.product}"]),
        *(block for words in about.letter for block in para(words)),
    ]


def _jars(line: JarsLine) -> tuple[str, ...]:
    """Return the row of one lot."""
    return (
        line.lot_code,
        line.product,
        f"{line.word} {line.numbers}",
        line.trays,
        str(line.containers),
        _fates(line.fates),
    )


def _fates(lines: tuple[FateLine, ...]) -> str:
    """Return what became of containers in words."""
    return (
        "; ".join(f"{one.containers} {one.fate}: {one.numbers}" for one in lines) or "none filled"
    )


def _lot(lot: LotTrace, zone: str) -> list[Block]:
    """Return everything that is on record of one lot."""
    closed = "open" if lot.closed_at is None else f"closed {moment(lot.closed_at, zone)}"
    opened = "" if lot.opened_at is None else f"opened {moment(lot.opened_at, zone)}, "
    people = [
        (
            line.initials,
            line.name,
            str(line.entries),
            moment(line.first_at, zone),
            moment(line.last_at, zone),
        )
        for line in lot.people
    ]
    return [
        head(f"Lot {lot.lot_code}"),
        facts(
            [
                ("Job", f"{lot.job}, {opened}{closed}"),
                ("Product", lot.product),
                ("Filled", f"{counted(lot.filled, lot.word)}, {lot.container}, {lot.machine}"),
                ("Became", _fates(lot.fates)),
                ("Weighed", lot.weighings),
                *((line.name, line.words) for line in lot.parts),
                ("Kept sample", "; ".join(lot.kept)),
            ]
        ),
        rows(
            (plural(lot.word), "from", "code", "batch", "noted"),
            [_from(line, zone) for line in lot.filled_from],
            widths=(1.6, 1.8, 2.4, 2.0, 2.4),
        ),
        rows(
            ("who", "name", "entries", "first", "last"),
            people,
            widths=(1.0, 2.2, 1.0, 2.4, 2.4),
            right=(2,),
        ),
        *(
            [head(f"Holes in the record of lot {lot.lot_code}"), *notes((*lot.holes, *lot.clock))]
            if lot.holes or lot.clock
            else []
        ),
        *(
            [head(f"Complaints about lot {lot.lot_code}"), *notes(lot.complaints)]
            if lot.complaints
            else []
        ),
        *([head("Changes, looks, checks")] if lot.looks or lot.checks else []),
        *notes(lot.looks),
        *notes(f"Scale check {words}." for words in lot.checks),
    ]


def _from(line: FromLine, zone: str) -> tuple[str, ...]:
    """Return containers with what they came from; a hole is named."""
    noted = "" if line.at is None else f"{line.person}, {moment(line.at, zone)}"
    code = line.code or "not on record"
    return spans(line.first, line.last), _NAMES[line.what], code, line.batch, noted
