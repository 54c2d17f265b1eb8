"""The machine card: what to set for a product that ran here before."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_machine import MachineCardSheet, WorkedLine
from fillwright.report.blocks import Block, notes, para, rows, title
from fillwright.report.wording import exact, moment, stamped

__all__ = ["machine_blocks"]

_CAUTION: Final = (
    "Air off and vented, gauge at 0, before hands go in; the machine's manual and local rules go "
    "before this card."
)


def machine_blocks(sheet: MachineCardSheet) -> list[Block]:
    """Return the blocks of the card."""
    return [
        title(
            f"Machine card, {sheet.machine.name}",
            ["What last worked for each product: a starting point, never the last word."],
        ),
        rows(
            ("product", "fitted", "setting", "aim", "one mark", "read then", "proved", "job"),
            [_cells(line, sheet) for line in sheet.lines],
            widths=(1.9, 1.4, 0.9, 1.1, 1.0, 1.7, 1.8, 1.4),
            right=(2, 3, 4),
        ),
        *para(f"Guesses, where marked: {sheet.changed}" if sheet.changed else "", stays=True),
        *notes(
            (
                "Come up to the setting from below, weigh a shot, and trim in as ever.",
                "After a repair, a new cylinder, rings or volume scale, every setting is a guess.",
                _CAUTION,
            )
        ),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def _cells(line: WorkedLine, sheet: MachineCardSheet) -> tuple[str, ...]:
    """Return one row; a setting from before the machine was changed is marked as a guess."""
    is_guess = sheet.changed_at is not None and line.at <= sheet.changed_at
    return (
        f"{line.product}; {line.container}",
        f"cylinder {exact(line.cylinder_ml)} mL, nozzle {exact(line.nozzle_mm)} mm",
        f"{exact(line.setting_marks)}{' guess' if is_guess else ''}",
        f"{exact(line.aim_g)} g",
        f"{line.slope_g_per_mark:.3g} g",
        "; ".join(f"{one.name} {one.words}" for one in line.readings),
        line.proved or "not proved",
        f"{line.job}, {moment(line.at, sheet.zone)[:10]}",
    )
