"""A plain table on its way to a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

__all__ = ["Cell", "Table"]

Cell: TypeAlias = str | int | Decimal | None
"""Text, a count, an exact figure, or nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table whose rows are read while it is written.

    Parameters
    ----------
    name : str
        Of the sheet.
    headers : tuple of str
        One for each column, with its unit.
    rows : iterable of tuple
        As many cells as there are headers.
    """

    name: str
    headers: tuple[str, ...]
    rows: Iterable[tuple[Cell, ...]]
