"""Say who may turn, settle and release, by name."""

from __future__ import annotations

from collections.abc import Sequence

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.jobs.people.allowed import may, stranger
from fillwright.records.entries import PersonAllowed

__all__ = ["allow"]


def allow(desk: Desk, wanted: Sequence[PersonAllowed], press: Press) -> int:
    """Keep what people may do by name; those who may release change the list once one is named.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    wanted : sequence of PersonAllowed
        What each person may do from now on; who is not in it stays as they were.
    press : Press
        Who pressed.

    Returns
    -------
    int
        How many were changed.

    Raises
    ------
    BadInput
        If the person may not change the list, or somebody is not on the list of names.
    """
    with desk.book.lock:
        site = desk.book.site()
        if not may(site, press.person, "releases"):
            raise stranger(site, press.person, "releases")
        unknown = next((one.initials for one in wanted if one.initials not in site.people), None)
        if unknown is not None:
            message = f"{unknown[:8]} is not on the list of names. Add the name first."
            raise BadInput(message, field="initials", given=unknown[:8], code="choice")
        none = {"turns": False, "settles": False, "releases": False}
        fresh = [
            one
            for one in wanted
            if site.allowed.get(one.initials, PersonAllowed(initials=one.initials, **none)) != one
        ]
        if fresh:
            keep_on_site(desk, fresh, press)
        return len(fresh)
