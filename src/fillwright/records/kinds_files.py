"""Kinds of entry that a file from outside makes: what was taken in, and by which columns.

Past-tense facts, typed and versioned; `entries` lists all kinds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from fillwright.records.kinds_bench import WeighingTaken

__all__ = ["ColumnsChosen", "FileTaken", "JobBrought", "WeighingFromFile"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnsChosen:
    """A person said what the columns of files with these headings hold.

    Parameters
    ----------
    holds : str
        ``"weighings"``, ``"products"`` or ``"containers"``.
    headings : tuple of str
        As they stand above the columns, in order.
    columns : dict of str to int
        Place of the column for each thing that was found, counted from 0.
    options : dict of str to str
        What the headings do not say: unit, decimal mark, net or gross, order of dates.
    """

    kind: ClassVar[str] = "columns chosen"
    version: ClassVar[int] = 1
    holds: str
    headings: tuple[str, ...]
    columns: dict[str, int] = field(default_factory=dict)
    options: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class FileTaken:
    """A file from outside was taken in; what came out of it follows, or names this entry.

    Parameters
    ----------
    holds : str
        ``"weighings"``, ``"products"`` or ``"containers"``.
    name : str
        Of the file, without its folder.
    sheet : str
        Of the workbook; empty for a text.
    sha256 : str
        Of its bytes.
    how : str
        How it was read, in one sentence.
    purpose : str
        What was weighed; empty for things of the catalogue.
    good, refused : int
        Rows that could be used, and rows that could not.
    refusals : tuple of str
        The first of the refused rows, each with its reason.
    """

    kind: ClassVar[str] = "file taken in"
    version: ClassVar[int] = 1
    holds: str
    name: str
    sheet: str
    sha256: str
    how: str
    purpose: str
    good: int
    refused: int
    refusals: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighingFromFile(WeighingTaken):
    """One weight was kept that stood in a row of a file.

    Parameters
    ----------
    weighed_at : str
        When it was weighed, ISO 8601 in UTC, where the file says so; the entry itself says when
        it was kept.
    file_id : str
        Id of the entry of the file.
    file_row : int
        Its row there.
    """

    version: ClassVar[int] = 2
    weighed_at: str = ""
    file_id: str = ""
    file_row: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobBrought:
    """A whole job was opened here from a file that another copy of the program wrote.

    Parameters
    ----------
    number : str
        Its number there.
    bench, maker, program : str
        Where it comes from, as its file says.
    entries : int
        Entries of the file; all of them were checked.
    last_hash : str
        Hash of its last entry there, as its papers print it.
    seal : str
        Hash over the whole file.
    signatures : int
        Signatures that were asked for there.
    """

    kind: ClassVar[str] = "job brought"
    version: ClassVar[int] = 1
    number: str
    bench: str
    maker: str
    program: str
    entries: int
    last_hash: str
    seal: str
    signatures: int = 1
