"""The practice record: a person's tasks with their pass marks and what is on record."""

from __future__ import annotations

from typing import Final

from fillwright.records.sheets_practice import CourseLine, CourseSheet
from fillwright.report.blocks import Block, notes, para, rows, title
from fillwright.report.wording import moment, stamped

__all__ = ["course_blocks"]

_JUDGED: Final = (
    "Judged from what the person kept in practice jobs, on a simulated machine or with water; "
    "pass marks are judgement, no source."
)
_NO_LICENCE: Final = (
    "No licence: whoever answers for the bench says who works alone. The machine's manual and "
    "local rules go before this paper."
)


def course_blocks(sheet: CourseSheet) -> list[Block]:
    """Return the blocks of the practice record."""
    passed = sum(line.is_passed for line in sheet.lines)
    return [
        title(
            f"Practice record, {sheet.person}", [f"{passed} of {len(sheet.lines)} tasks passed."]
        ),
        rows(
            ("task", "pass mark", "", "on record", "job, when"),
            [_cells(line, sheet.zone) for line in sheet.lines],
            widths=(1.7, 2.8, 0.9, 2.3, 1.8),
        ),
        *notes((_JUDGED, _NO_LICENCE)),
        *para(f"As of {stamped(sheet.made_at, sheet.zone)}, {sheet.program}"),
    ]


def _cells(line: CourseLine, zone: str) -> tuple[str, ...]:
    """Return one row."""
    when = "" if line.at is None else f"{line.job}, {moment(line.at, zone)}"
    return (line.task, line.mark, "Passed" if line.is_passed else "Not yet", line.words, when)
