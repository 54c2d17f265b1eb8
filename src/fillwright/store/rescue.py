"""Reads a damaged store as far as it can be read, and says plainly what is lost.

The entries whose chain is whole from the first on become a store of their own; what can be
read beyond a gap is written beside it as JSON lines. The damaged file is only read.
"""

from __future__ import annotations

import json
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from fillwright.errors import BadInput
from fillwright.store.chain import Row
from fillwright.store.connections import Connection
from fillwright.store.damaged import COLUMNS, Salvage, salvage, spans
from fillwright.store.places import place
from fillwright.store.schema import bring_up_to_date
from fillwright.store.sqlite_file import SqliteFile
from fillwright.store.statements import compiled

__all__ = ["Rescued", "rescue"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescued:
    """What could be read of a damaged store.

    Parameters
    ----------
    path : Path
        The new store, with the entries that are whole from the first on.
    whole : int
        How many those are.
    rest : Path or None
        File with what could be read beyond the first gap.
    beyond : int
        How many entries that file holds.
    lost : tuple of str
        Places that could not be read, as spans.
    lost_count : int
        How many places those are.
    words : tuple of str
        The report, one sentence each.
    """

    path: Path
    whole: int
    rest: Path | None
    beyond: int
    lost: tuple[str, ...]
    lost_count: int
    words: tuple[str, ...]


def rescue(where: str | Path, to: str | Path) -> Rescued:
    """Read a damaged store as far as possible into new files.

    Parameters
    ----------
    where : str or Path
        The damaged file; it is only read.
    to : str or Path
        File to make; never overwritten, nor is the one beside it.

    Returns
    -------
    Rescued
        What was saved and what is lost.

    Raises
    ------
    BadInput
        If `to` is there already, or `where` is no file.
    JournalError
        If nothing at all can be read.
    """
    source = place(where)
    target = Path(to).expanduser().absolute()
    rest = target.with_name(f"{target.name}.rest.jsonl")
    if not isinstance(source, SqliteFile) or not source.path.is_file():
        message = f"There is no file at {source.name}. Name the damaged journal."
        raise BadInput(message, field="--store", given=source.name, code="missing")
    for path in (target, rest):
        if path.exists():
            message = f"{path} is there already, and nothing is overwritten: give a new name."
            raise BadInput(message, field="to", given=str(path), allowed="a new name")
    found = salvage(source.path)
    whole, beyond = found.rows[: found.whole], found.rows[found.whole :]
    _write_store(target, whole)
    if beyond:
        with rest.open("x", encoding="utf-8") as file:
            for row in beyond:
                file.write(json.dumps(dict(zip(COLUMNS, row, strict=True)), default=str) + "\n")
    told = tuple(spans(found.lost))
    return Rescued(
        path=target,
        whole=len(whole),
        rest=rest if beyond else None,
        beyond=len(beyond),
        lost=told,
        lost_count=len(found.lost),
        words=_words(found, told, target, rest),
    )


def _write_store(target: Path, rows: tuple[Row, ...]) -> None:
    """Make a store of rows whose chain is whole, and close it to writing."""
    made = SqliteFile(target)
    bring_up_to_date(made)
    ours = compiled(made.dialect)
    with closing(made.writer()) as writing:
        writing.execute(made.begin)
        writing.cursor().executemany(ours.insert, rows)
        if rows:
            head = {"head_seq": rows[-1][0], "head_hash": rows[-1][-1]}
            writing.execute(ours.move_head, head)
        writing.execute("COMMIT")
        _to_one_file(writing)
    target.chmod(0o444)


def _to_one_file(writing: Connection) -> None:
    """Leave one file without companions."""
    writing.execute("PRAGMA journal_mode = DELETE")


def _words(found: Salvage, lost: tuple[str, ...], target: Path, rest: Path) -> tuple[str, ...]:
    """Return the report, one sentence each."""
    whole, beyond = found.rows[: found.whole], found.rows[found.whole :]
    said = [
        f"{len(whole)} of {found.last} entries are whole from the first on; they are in {target}."
    ]
    if whole:
        said.append(f"The last of them is of {whole[-1][6]}.")
    if lost:
        said.append(f"{len(found.lost)} entries cannot be read: {', '.join(lost[:10])}.")
        if len(lost) > len(lost[:10]):
            said.append(f"And {len(lost) - 10} spans more.")
    if beyond:
        jobs = sorted({str(row[3]) for row in beyond})
        said.append(
            f"{len(beyond)} entries beyond the first damage can be read but no longer proved; "
            f"they are in {rest}, of {', '.join(jobs[:8])}."
        )
    if not lost and not beyond:
        said.append("Nothing is lost.")
    said.append(f"Look at it with: fillwright serve --look-only --store {target}")
    return tuple(said)
