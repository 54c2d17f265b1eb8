"""The paper for an inspector at the door, in the order in which he asks."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_inspector import InspectorSheet, RehearsalSheet
from fillwright.report.blocks import Block, head, lines, notes, para, rows, title
from fillwright.report.wording import moment, stamped

__all__ = ["inspector_blocks"]

_OURS: Final = (
    "A rehearsal of ours: the plan of the rule set, drawn by seed over today's lot. It is no "
    "official test and binds nobody."
)
_DUE: Final = "Calibration is asked for at least once a year (OIML G 21)."
_COLUMNS: Final = 3


def inspector_blocks(sheet: InspectorSheet) -> list[Block]:
    """Return the blocks of the paper."""
    zone = sheet.zone
    lots = [
        (
            f"{line.job}, {moment(line.at, zone)[:10]}",
            f"{line.what}, lot {line.lot_code}",
            line.rules,
            line.found,
            line.outcome,
        )
        for line in sheet.lots
    ]
    scales = [
        (
            f"{line.scale}, {line.step}",
            line.calibrated_on,
            f"{line.due_on}, due" if line.is_due else line.due_on,
            line.checks,
        )
        for line in sheet.scales
    ]
    stock = [(s.product, s.density, s.container, s.tare, s.job) for s in sheet.stock]
    cleans = [(c.machine, moment(c.at, zone), c.person, c.words) for c in sheet.cleans]
    return [
        title(
            "For the inspector",
            [words for words in (sheet.maker, f"As of {stamped(sheet.made_at, zone)}") if words],
        ),
        head("The last lots"),
        rows(("job", "what", "rules", "found", "became"), lots, widths=(1.5, 2.4, 1.9, 3, 1.5))
        if lots
        else para("No lot has been judged yet.")[0],
        *para("The batch record of each holds every weight, with the hash of its last entry."),
        head("Weighing scales"),
        rows(("scale", "calibrated", "due", "last checks"), scales, widths=(2.2, 1.3, 1.5, 5))
        if scales
        else para("No weighing scale is on file.")[0],
        *para(_DUE),
        head("Density and tare on file"),
        rows(
            ("product", "density", "container", "average empty", "job"),
            stock,
            widths=(2.2, 2.2, 2, 2.6, 0.8),
        )
        if stock
        else para("Nothing is on file.")[0],
        head("Cleaning and changing over"),
        rows(("machine", "when", "who", "what"), cleans, widths=(1.6, 1.8, 0.8, 5.6))
        if cleans
        else para("No clean is on record.")[0],
        head("Complaints"),
        *(notes(f"Lot {c.lot_code}. {c.words}" for c in sheet.complaints) or para("None.")),
        *_rehearsal(sheet.rehearsal),
        *para(f"Printed by {sheet.program}."),
    ]


def _rehearsal(found: RehearsalSheet | None) -> list[Block]:
    """Return the rehearsal of his sample."""
    if found is None:
        return []
    left = f"{found.missing} of them are not weighed yet." if found.missing else ""
    return [
        head("A rehearsal of your sample, ours"),
        *para(f"{found.what}, lot {found.lot_code}, job {found.job}: {found.plan}.", stays=True),
        *(para(found.headline, stays=True) if not found.missing else []),
        *notes(found.verdicts),
        *para(left, stays=True),
        *lines(
            [
                {
                    "lead": f"{line.container}:",
                    "text": line.net or "to be weighed",
                    "after": "",
                    "is_reason": False,
                    "is_struck": False,
                }
                for line in found.lines
            ],
            columns=_COLUMNS,
        ),
        *notes((_OURS,)),
    ]
