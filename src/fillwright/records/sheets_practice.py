"""What the paper of the practice course needs: a person's tasks as they stand on record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

__all__ = ["CourseLine", "CourseSheet"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseLine:
    """A task: its pass mark, and what is on record of it; `at` is None where nothing is."""

    task: str
    mark: str
    is_passed: bool
    words: str
    job: str
    at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseSheet:
    """The course as it stands for one person.

    Parameters
    ----------
    person : str
        Initials and name.
    lines : tuple of CourseLine
        The tasks, in order.
    made_at, zone, program
        As on the batch record.
    is_invented : bool
        Whether it is of the demo.
    """

    person: str
    lines: tuple[CourseLine, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False

    @property
    def name(self) -> str:
        """Return what the sheet is called on each page."""
        return f"Practice record, {self.person}"
