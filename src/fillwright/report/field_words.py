"""The papers of the technician: the enquiry sheet, and the record of a trial fill."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_field import EnquirySheet, TrialSheet
from fillwright.report.blocks import Block, facts, head, notes, para, rows, title
from fillwright.report.wording import stamped

__all__ = ["enquiry_blocks", "trial_blocks"]

_CAUTION: Final = (
    "The machine's manual, local rules and licensed practice go before this sheet; a flammable "
    "product is filled only where the papers of machine and place allow it."
)
_HANDS: Final = (
    "Air off and vented, gauge at 0, before hands go in; never a finger in a port; guard on, "
    "hands clear of rod and nozzle while it strokes."
)
_NO_MACHINE: Final = "No machine is described yet, so nothing was held against this enquiry."


def enquiry_blocks(sheet: EnquirySheet) -> list[Block]:
    """Return the blocks of the enquiry sheet."""
    machines = [
        (line.machine, line.word, line.parts, line.expects, line.why) for line in sheet.machines
    ]
    return [
        title(f"Enquiry {sheet.enquiry}", ["What to ask, and which machine suits so far."]),
        facts([(line.name, line.words) for line in sheet.wanted]),
        head("Ask"),
        rows(
            ("question", "told so far", "why"),
            [(line.question, line.told or "..............", line.why) for line in sheet.asked],
            widths=(3.2, 2.2, 3.2),
        ),
        head("Machines"),
        rows(
            ("machine", "", "parts", "to expect", "why"),
            machines,
            widths=(1.3, 1.3, 1.9, 2.0, 3.4),
        )
        if machines
        else para(_NO_MACHINE)[0],
        *(para(sheet.note) if sheet.note else []),
        *notes((*sheet.cautions, _CAUTION)),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def trial_blocks(sheet: TrialSheet) -> list[Block]:
    """Return the blocks of the record of a trial fill."""
    return [
        title(f"Trial fill {sheet.trial}", ["A few shots to see how it fills; no proof."]),
        facts([(line.name, line.words) for line in sheet.facts]),
        head("Shots"),
        rows(
            ("shot", "net, g", "off what was asked, g"),
            list(sheet.shots),
            widths=(0.6, 1.0, 1.4),
            right=(0, 1, 2),
        ),
        head("What they say"),
        *notes(sheet.says),
        *([head("Seen"), *para(sheet.note)] if sheet.note else []),
        *notes((_HANDS, _CAUTION)),
        *para(f"By {sheet.person}, {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]
