"""The practice record of a person, as it is printed."""

from __future__ import annotations

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.people.course import course_of, practised
from fillwright.records.sheets_practice import CourseLine, CourseSheet

__all__ = ["course_sheet"]


def course_sheet(desk: Desk, initials: str) -> CourseSheet:
    """Return the practice record of a person.

    Raises
    ------
    BadInput
        If nobody of these initials is on the list of names.
    """
    site = desk.book.site()
    person = site.people.get(initials)
    if person is None:
        message = f"{initials[:8] or 'Nobody'} is not on the list of names. Pick one."
        raise BadInput(message, field="initials", given=initials[:8], code="choice")
    return CourseSheet(
        person=f"{person.initials} {person.name}",
        lines=tuple(
            CourseLine(
                task=look.task.name,
                mark=look.task.mark,
                is_passed=look.is_passed,
                words="" if look.latest is None else look.latest.words,
                job="" if look.latest is None else look.latest.job,
                at=None if look.latest is None else look.latest.at,
            )
            for look in course_of(practised(desk), initials)
        ),
        made_at=desk.clock.now(),
        zone=desk.clock.zone(),
        program=desk.program,
        is_invented=site.settings.is_invented,
    )
