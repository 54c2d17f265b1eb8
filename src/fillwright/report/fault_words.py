"""The call sheet of a fault: what is read out, what was done, what it can be."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_fault import CallSheet
from fillwright.report.blocks import Block, head, notes, para, rows, title
from fillwright.report.wording import exact, moment, stamped

__all__ = ["call_blocks"]

_CAUTION: Final = (
    "Air off and vented, gauge at 0, before hands go in; never a finger in a port. The machine's "
    "manual, local rules and a qualified technician go before this sheet."
)


def call_blocks(sheet: CallSheet) -> list[Block]:
    """Return the blocks of the sheet."""
    done = [(moment(line.at, sheet.zone), line.name, line.words) for line in sheet.done]
    doses = ", ".join(exact(dose) for dose in sheet.doses_g)
    return [
        title(f"Call sheet, {sheet.whose}", [sheet.sign]),
        head("Read this out"),
        *(block for sentence in sheet.phone for block in para(sentence)),
        head("Next"),
        *para(f"{sheet.step} {sheet.why}"),
        head("What it can be"),
        rows(("cause", "how likely"), list(sheet.causes), widths=(4.0, 1.5)),
        *(
            [head("Ruled out"), rows(("cause", "by"), list(sheet.ruled_out), widths=(4.0, 1.5))]
            if sheet.ruled_out
            else []
        ),
        *(
            [head("Done so far"), rows(("when", "what", "found"), done, widths=(1.5, 2.5, 3.0))]
            if done
            else []
        ),
        head("Machine and job"),
        rows(
            ("fact", "as recorded"),
            [(line.name, line.words) for line in sheet.facts],
            widths=(1.5, 4.0),
        ),
        *(para(f"Last doses as shown, g: {doses}") if doses else []),
        *notes((_CAUTION,)),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]
