"""Moments that a sender names, read and refused with words."""

from __future__ import annotations

from datetime import datetime

from fillwright.errors import BadInput

__all__ = ["moment"]


def moment(text: str) -> datetime | None:
    """Return a moment from its ISO 8601 text; None for an empty one.

    Parameters
    ----------
    text : str
        For instance ``2026-03-04T09:41:00Z``.

    Returns
    -------
    datetime or None
        With its zone.

    Raises
    ------
    BadInput
        If it is no moment, or has no zone.
    """
    if not text:
        return None
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = None
    if at is None or at.tzinfo is None:
        message = f"{text[:40]!r} is not a moment. Send it as 2026-03-04T09:41:00Z."
        raise BadInput(message, field="time", given=text[:40], allowed="ISO 8601", code="type")
    return at
