"""The quote, and what a job cost."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_costs import CostPaperLine, CostSheet, QuoteSheet
from fillwright.report.blocks import Block, facts, head, notes, para, rows, title
from fillwright.report.wording import plural, stamped

__all__ = ["cost_blocks", "quote_blocks"]

_HOW: Final = (
    (
        "Every earlier job is reckoned at the new lot size: what it cost whatever its size "
        "(setting up, purge, clean), and what it cost for each one (run, giveaway, rejects, air). "
        "Label quantity and container are those of the new job."
    ),
    (
        "The range is a prediction interval on the logarithm of the cost; it holds for one job "
        "to come, made as the earlier ones were."
    ),
    (
        "A reckoning from the record at the prices below, and no offer: freight, tax and profit "
        "are not in it."
    ),
)


def quote_blocks(sheet: QuoteSheet) -> list[Block]:
    """Return the blocks of a quote: the lot sizes, what it rests on, the prices."""
    below = [
        f"{sheet.label} {sheet.product}, {sheet.container}",
        f"As of {stamped(sheet.made_at, sheet.zone)}",
    ]
    cells = [
        (
            f"{line.lot_size} {plural(sheet.word)}",
            line.each,
            line.each_range,
            line.whole,
            line.whole_range,
        )
        for line in sheet.lines
    ]
    return [
        title("Quote", [words for words in (sheet.maker, *below) if words]),
        rows(
            ("lot", "each", "each, range", "the lot", "the lot, range"),
            cells,
            widths=(1.8, 1.4, 2.4, 1.6, 2.6),
            right=(1, 2, 3, 4),
        ),
        head("What it rests on"),
        *para(sheet.why),
        *para(
            f"{'Job' if len(sheet.rests_on) == 1 else 'Jobs'} {', '.join(sheet.rests_on)}; as for "
            f"a job like {sheet.job}."
        ),
        *notes(_HOW),
        head("Prices"),
        facts([(line.name, line.words) for line in sheet.prices]),
        *notes(sheet.missing),
        *para(f"Printed by {sheet.program}."),
    ]


def cost_blocks(sheet: CostSheet) -> list[Block]:
    """Return the blocks of what a job cost: the dearest first, then what is behind it."""
    return [
        title(
            sheet.headline,
            [
                f"Job {sheet.job}, lot {sheet.lot_code}: {sheet.product}, {sheet.container}",
                sheet.why,
            ],
        ),
        *_table("Where the money goes, the dearest first", sheet.lines, sheet.word),
        *_table("What the buyer gets", sheet.sold, sheet.word),
        *_table("What the held ones cost, counted above too", sheet.held, sheet.word),
        *([head("Not counted, so it costs more than this")] if sheet.missing else []),
        *notes(sheet.missing),
        *([head("What less scatter is worth")] if sheet.scatter else []),
        *para(sheet.scatter),
        head("Behind it"),
        facts([(line.name, line.words) for line in sheet.facts]),
        *notes(sheet.notes),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def _table(name: str, lines: tuple[CostPaperLine, ...], word: str) -> list[Block]:
    """Return parts of the costs as a table, or nothing."""
    if not lines:
        return []
    cells = [
        (line.name[:1].upper() + line.name[1:], line.amount, line.cost, line.each)
        for line in lines
    ]
    return [
        head(name),
        rows(
            ("part", "how much", "cost", f"for one {word}"),
            cells,
            widths=(3, 3.4, 1.6, 1.6),
            right=(2, 3),
        ),
    ]
