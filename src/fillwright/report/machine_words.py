"""The machine card: what to set for a product that ran here before."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_machine import MachineCardSheet, WorkedLine
from fillwright.report.blocks import Block, notes, para, rows, title
from fillwright.report.wording import exact, moment

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
            [_cells(line, sheet.zone) for line in sheet.lines],
            widths=(2.3, 1.4, 1.0, 1.0, 0.9, 1.7, 1.3, 1.6),
            right=(2, 3, 4),
        ),
        *notes(
            (
                "Come up to the setting from below, weigh a shot, and trim in as ever.",
                "After a repair, a new cylinder, rings or volume scale, every setting is a guess.",
                _CAUTION,
            )
        ),
        *para(f"As of {moment(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def _cells(line: WorkedLine, zone: str) -> tuple[str, ...]:
    """Return one row."""
    return (
        f"{line.product}; {line.container}",
        f"cylinder {exact(line.cylinder_ml)} mL, nozzle {exact(line.nozzle_mm)} mm",
        exact(line.setting_marks),
        f"{exact(line.aim_g)} g",
        f"{line.slope_g_per_mark:.3g} g",
        "; ".join(f"{one.name} {one.words}" for one in line.readings),
        line.proved or "not proved",
        f"{line.job}, {moment(line.at, zone)[:10]}",
    )
