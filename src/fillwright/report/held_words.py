"""Held containers on the batch record: each hold, what became of it, and all of them counted."""

from __future__ import annotations

from fillwright.records.sheets import BatchRecordSheet
from fillwright.records.sheets_held import HeldLine, OutcomeLine
from fillwright.report.blocks import Block, head, para, rows
from fillwright.report.wording import counted, exact, moment, plural

__all__ = ["held_blocks"]

_MEANS = {
    "released": "went out, never held",
    "settled": "held once and good; go out",
    "topped up": "filled up by hand, weighed anew; go out",
    "re-labelled": "go out as lots of their own",
    "held": "wait to be settled",
    "emptied back": "product used again",
    "scrapped": "thrown away",
    "kept": "kept as samples",
    "not released": "the lot was closed",
    "waiting": "wait for the release",
}


def held_blocks(sheet: BatchRecordSheet, word: str) -> list[Block]:
    """Return what was held, what became of it, the counts of all, and the lots re-labelled."""
    many = plural(word)
    found: list[Block] = [head("Held")]
    if sheet.held:
        cells = [row for line in sheet.held for row in _rows(line, sheet.zone, word)]
        titles = (many.capitalize(), "Trays", "How many", "Held because", "What became of them")
        found.append(rows(titles, cells, widths=(1.7, 1.3, 1.3, 2.7, 6), right=(2,)))
    else:
        found += para(f"No {word} was held.")
    if not sheet.held and not sheet.relabelled:
        return found
    filled = sum(line.containers for line in sheet.fates)
    counts = [
        (line.fate.capitalize(), str(line.containers), line.numbers, _MEANS[line.fate])
        for line in sheet.fates
    ]
    counts.append(("Together", str(filled), f"all {counted(filled, word)} filled", ""))
    found += [
        head(f"What became of all {many}"),
        rows(("", "How many", "Which", ""), counts, widths=(2.2, 1.9, 4.6, 4.3), right=(1,)),
    ]
    if sheet.relabelled:
        found += [head("Re-labelled: lots of their own"), _relabelled(sheet, many)]
    return found


def _relabelled(sheet: BatchRecordSheet, many: str) -> Block:
    """Return the lots of their own that came of new labels."""
    cells = [
        (
            line.lot_code,
            f"{line.containers}: {line.numbers}",
            f"{exact(line.nominal)} {line.unit}",
            f"least {exact(line.least_label_unit)}, average {exact(line.mean)} {line.unit}",
            f"{line.because} {line.rules}, {line.edition}",
        )
        for line in sheet.relabelled
    ]
    titles = ("Lot", many.capitalize(), "Label", "Content", "Why they may carry it")
    return rows(titles, cells, widths=(2, 2.2, 1.4, 2.6, 5))


def _rows(line: HeldLine, zone: str, word: str) -> list[tuple[str, ...]]:
    """Return what was held for one reason, all that was said of it, and what is held still."""
    told = [_told(one, zone, word) for one in line.outcomes]
    if line.still:
        told.append(f"Still held: {_which(line.still, line.still_containers, word)}")
    if not told:
        told.append("None of them was left to hold")
    which = (line.numbers, line.trays, str(line.containers), line.reason)
    return [(*(which if i == 0 else ("",) * len(which)), words) for i, words in enumerate(told)]


def _which(numbers: str, containers: int, word: str) -> str:
    """Return the numbers of containers, and how many they are where it is not plain."""
    return numbers if containers == 1 else f"{counted(containers, word)}, numbers {numbers}"


def _told(one: OutcomeLine, zone: str, word: str) -> str:
    """Return what was said of held containers in one sentence, and its strike-out."""
    parts = [f"{_which(one.numbers, one.containers, word)}: {one.outcome}", one.more, one.reason]
    words = ", ".join(part for part in parts if part)
    at = moment(one.at, zone)
    if one.until is not None and (until := moment(one.until, zone)) != at:
        at = f"{at} to {until}"
    said = f"{words} ({one.person or 'nobody named'}, {at})"
    return f"{said}. Struck out: {one.struck}" if one.struck else said
