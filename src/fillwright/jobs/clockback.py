"""Where the clock of the bench went backwards within a job: shown, never put right."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC
from itertools import pairwise
from typing import Final

from fillwright.records.entries import Entry

__all__ = ["clock_went_back"]

_STAMP: Final = "%Y-%m-%d %H:%M:%S"


def clock_went_back(entries: Iterable[Entry]) -> tuple[str, ...]:
    """Return a sentence for each place where an entry is older than the one before it.

    Parameters
    ----------
    entries : iterable of Entry
        Of one job, in the order of the journal.
    """
    return tuple(
        f"Between entries {one.revision} and {other.revision} the clock went back from "
        f"{one.at.astimezone(UTC).strftime(_STAMP)} to "
        f"{other.at.astimezone(UTC).strftime(_STAMP)} UTC; the order of entries holds, times "
        "there may not."
        for one, other in pairwise(entries)
        if other.at < one.at
    )
