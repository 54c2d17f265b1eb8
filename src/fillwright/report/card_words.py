"""The job card: one sheet beside the machine, for the day the tablet is flat.

Its back has the checks by number, as they are said over the phone.
"""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets import JobCardSheet
from fillwright.records.sheets_checks import CheckLine
from fillwright.report.wording import counted, exact, stamped

__all__ = ["card_words"]

_BOXES: Final = 20
_MOST_SETTINGS: Final = 3
# They hold on every bench; the page never says that the machine is safe.
_ALWAYS: Final = (
    "Before hands go in: air off and vented, gauge reads 0. Fingers stay out of the ports.",
    "Before the first stroke: guard on, hands clear of rod and nozzle, foot switch away.",
)
_MARKS: Final = (
    ("vented", "Air off and vented, gauge reads 0, before you begin."),
    ("moving", "The machine moves: guard fitted and closed, stay outside it."),
    ("standing", "Stop the cycle first. Look with the machine standing."),
)
_BEFORE: Final = (
    (
        "Before hands go in: air off and vented, gauge reads 0. Fingers never into a port, a "
        "valve or the cylinder mouth; no palm on a port with the air on."
    ),
    (
        "Emergency stop: leave it in until you know why it was pressed and everyone is clear. "
        "Never tie an interlock down. Eyes away from exhausts, no hands in the hopper."
    ),
    (
        "Nip points at carriage, valve arm and nozzle. Hot product: wait, or gloves and sleeve. "
        "Flammable product: no telephone and no spark near it."
    ),
    "The machine's manual, local rules and a qualified technician go before this sheet.",
)
_HAND_OVER: Final = (
    "Hand over to a qualified technician: anything electrical or in the control box, a cracked "
    "guard or cylinder, three repairs without a cure, or when you are not sure. Stop, air off "
    "and vented, and hand over what was checked and found."
)
_HOW: Final = (
    "Said over the phone as a number: find it, do first what its mark says, and answer yes or "
    "no. On the screen, Fault shows how it is done: type the number at Check number."
)


def card_words(sheet: JobCardSheet) -> dict[str, object]:
    """Return what the template of the card needs."""
    job = sheet.facts
    setting = "" if sheet.setting_marks is None else exact(sheet.setting_marks)
    settings = [[line.name, line.words] for line in sheet.settings]
    band = f"{exact(sheet.low_g)} to {exact(sheet.high_g)}"
    gap = sheet.nozzle_gap_mm
    return {
        "product": job.product.name,
        "container": f"{job.label_words} in {job.container.name}",
        "job": f"Job {job.number}, {job.machine.name}",
        "lot": f"Lot code {job.lot_code}, {counted(job.lot_size, job.container.word)}",
        "order": sheet.next_order,
        "setting": setting,
        "aim": f"{exact(job.aim_g)} g",
        "band": f"band {band} g",
        "big": settings[:_MOST_SETTINGS],
        "more": settings[_MOST_SETTINGS:],
        "limits": [[line.name, f"{exact(line.limit_g)} g"] for line in sheet.limits],
        "parts": [[line.name, line.words] for line in sheet.parts],
        "gap_mm": "" if gap is None else exact(gap.normalize()),
        "gap_title": "" if gap is None else f"Nozzle above the lip: {exact(gap.normalize())} mm",
        "gap_bar": ""
        if gap is None
        else (
            f"This bar is {exact(gap.normalize())} mm tall at full size. Hold it beside the lip."
        ),
        "weigh": sheet.weigh_words,
        "boxes": _BOXES,
        "word": job.container.word,
        "checks": [[_named(line), line.words] for line in sheet.checks],
        "cautions": [*sheet.cautions, *_ALWAYS],
        "printed": (
            f"Printed from job {job.number} as of {stamped(sheet.made_at, sheet.zone)},"
            f" revision {sheet.revision}, {sheet.program}"
        ),
        **_back(sheet),
    }


def _named(line: CheckLine) -> str:
    """Return the checks of a line by their numbers; nothing where it has none."""
    numbers = ", ".join(str(number) for number in line.numbers)
    if not numbers:
        return ""
    return f"Check {numbers}:" if len(line.numbers) == 1 else f"Checks {numbers}:"


def _back(sheet: JobCardSheet) -> dict[str, object]:
    """Return what the back of the card needs."""
    return {
        "back_how": _HOW,
        "back_cautions": [*_BEFORE, *sheet.cautions],
        "hand_over": _HAND_OVER,
        "legend": [{"mark": name, "words": words} for name, words in _MARKS],
        "places": [
            {
                "name": place.name,
                "rows": [
                    {
                        "number": str(row.number),
                        "marks": [{"mark": name} for name in row.marks],
                        "words": row.words,
                        "first": ", ".join(row.first),
                    }
                    for row in place.checks
                ],
            }
            for place in sheet.places
        ],
    }
