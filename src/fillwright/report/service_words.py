"""The papers of service: the record of a strip and rebuild, and the shelf list."""

from __future__ import annotations

from itertools import groupby
from typing import Final

from fillwright.records.sheets_service import ShelfListSheet, StepLine, StripRecordSheet
from fillwright.report.blocks import Block, facts, head, notes, para, rows, title
from fillwright.report.wording import moment, stamped

__all__ = ["shelf_blocks", "strip_blocks"]

_CAUTION: Final = (
    "Air off and vented, gauge at 0, before hands go in; never a finger in a port. The machine's "
    "manual and local rules go before this paper."
)
_CONFIRM: Final = "Confirm every seal with the seal maker for its compound, product and cleaner."
_NOT_DONE: Final = "not done"


def strip_blocks(sheet: StripRecordSheet) -> list[Block]:
    """Return the blocks of the record of a strip."""
    found: list[Block] = [
        title(
            f"Strip and rebuild, {sheet.machine}",
            [f"After job {sheet.job}, {sheet.product}", sheet.verdict or "Not finished yet"],
        ),
    ]
    if sheet.held:
        found += [head("Held"), *para(sheet.held)]
    for procedure, steps in groupby(sheet.steps, key=lambda step: step.procedure):
        found += [
            head(procedure),
            rows(
                ("step", "done", "who", "read, counted, photo"),
                [_step(step, sheet.zone) for step in steps],
                widths=(4.6, 1.8, 0.8, 2.6),
            ),
        ]
    if not sheet.steps:
        found += para("No step was ticked: done by the machine's manual, or not begun.")
    if sheet.seals:
        cells = [
            (line.position, line.what, line.state, line.action, moment(line.at, sheet.zone))
            for line in sheet.seals
        ]
        found += [
            head("Seals"),
            rows(
                ("position", "what", "found", "then", "when"), cells, widths=(2.4, 2.4, 1.4, 2, 2)
            ),
        ]
    order = f"Order of steps by the profile {sheet.profile}." if sheet.profile else ""
    return [
        *found,
        *notes([line for line in (order, _CONFIRM, _CAUTION) if line]),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def shelf_blocks(sheet: ShelfListSheet) -> list[Block]:
    """Return the blocks of the shelf list."""
    lots = [
        (
            line.seal_lot,
            line.what,
            str(line.pieces),
            line.cured_on,
            line.until or "no limit set",
            line.words if line.is_usable else f"{line.words}!",
            line.certificate or "none on file",
        )
        for line in sheet.lots
    ]
    spares = [
        (line.machine, line.position, line.life, line.advice, line.spares) for line in sheet.spares
    ]
    return [
        title("Shelf list", ["Seals by lot and date, and what to keep."]),
        head("On the shelf"),
        rows(
            ("lot", "what", "pieces", "cured", "fit until", "", "certificate"),
            lots,
            widths=(1.4, 1.8, 0.8, 1.5, 1.5, 1.7, 1.7),
            right=(2,),
        )
        if lots
        else para("Nothing is on the shelf list yet.")[0],
        head("What to change, and what to keep"),
        rows(
            ("machine", "position", "life", "advice", "spares"),
            spares,
            widths=(1.5, 2.0, 3.0, 2.4, 1.4),
        )
        if spares
        else para("No seal has been looked at in a strip yet.")[0],
        head("Reckoned with"),
        facts([(line.name, line.words) for line in sheet.reckoned]),
        *notes((*sheet.sources, _CONFIRM)),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def _step(step: StepLine, zone: str) -> tuple[str, str, str, str]:
    """Return one row of the steps."""
    done = _NOT_DONE if step.at is None else moment(step.at, zone)
    evidence = step.evidence if step.is_good else f"not good, repeated: {step.evidence}"
    return step.words, done, step.person, evidence
