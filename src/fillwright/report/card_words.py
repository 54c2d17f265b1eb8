"""The job card: one page beside the machine, for the day the tablet is flat."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets import JobCardSheet
from fillwright.report.wording import counted, exact, moment

__all__ = ["card_words"]

_BOXES: Final = 20
_MOST_SETTINGS: Final = 3
# They hold on every bench; the page never says that the machine is safe.
_ALWAYS: Final = (
    "Before hands go in: air off and vented, gauge reads 0. Fingers stay out of the ports.",
    "Before the first stroke: guard on, hands clear of rod and nozzle, foot switch away.",
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
        "container": f"{exact(job.nominal)} {job.unit} in {job.container.name}",
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
        "weigh": sheet.weigh_words,
        "boxes": _BOXES,
        "word": job.container.word,
        "checks": [[str(line.number), line.words] for line in sheet.checks],
        "cautions": [*sheet.cautions, *_ALWAYS],
        "printed": (
            f"Printed from job {job.number} as of {moment(sheet.made_at, sheet.zone)},"
            f" revision {sheet.revision}, {sheet.program}"
        ),
    }
