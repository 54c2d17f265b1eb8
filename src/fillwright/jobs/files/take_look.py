"""Look a file of weights over: what it would bring, and which rows cannot be used.

Every row passes the checks that every weight passes; nothing is kept here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.files.row_ids import FILE_MARK, ids_of, named
from fillwright.jobs.files.take_check import RowCheck
from fillwright.jobs.files.take_judged import rehearsed
from fillwright.jobs.traveller import purpose_now
from fillwright.records.book import stream_of
from fillwright.records.columns import Row
from fillwright.records.entities import JobFacts
from fillwright.records.entries import FileTaken, Purpose
from fillwright.records.filecells import FileWeight, Refusal, WeightReader
from fillwright.records.filefields import Choice, unit_of
from fillwright.records.filerows import FileRows
from fillwright.records.filespool import FileSpool
from fillwright.records.fold import JobState

__all__ = [
    "AT_ONCE",
    "MOST_JUDGED",
    "Looked",
    "Progress",
    "job_for_file",
    "look_over",
    "purposes_for",
]

AT_ONCE: Final = 20_000
"""So many weights go in by one transaction; a longer file goes in piece by piece."""
MOST_JUDGED: Final = 5_000
"""So many weights of a file can be judged as if they were weighed here and now."""
_TOLD: Final = 200
_TOLD_EVERY: Final = 5_000
_ON_RECORD: Final = 20
_SAMPLE: Final = 3
_FEWEST_SUMMED: Final = 3
Progress = Callable[[float, int], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What a file would bring, before anything of it is kept.

    Parameters
    ----------
    number : str
        Job that the weights are for.
    like : str
        Job whose facts a new job gets; empty where the job is there.
    purpose : str
        What was weighed.
    choice : Choice
        Which column holds what.
    fact : FileTaken
        How the file goes on record.
    refusals : tuple of Refusal
        The first of the rows that cannot be used.
    identity : str
        Digest of all good rows.
    spool : FileSpool
        The good rows.
    sample : tuple of FileWeight
        The first of them.
    mean_g : Decimal or None
        Mean of the net weights.
    least_g, most_g : Decimal or None
        The lightest and the heaviest.
    was_here : bool
        True where this very file was taken in before.
    facts : JobFacts
        Facts of the job.
    """

    number: str
    like: str
    purpose: Purpose
    choice: Choice
    fact: FileTaken
    refusals: tuple[Refusal, ...]
    identity: str
    spool: FileSpool
    sample: tuple[FileWeight, ...]
    mean_g: Decimal | None
    least_g: Decimal | None
    most_g: Decimal | None
    was_here: bool
    facts: JobFacts

    @property
    def is_in_pieces(self) -> bool:
        """Return True when it is too long for one transaction."""
        return self.fact.good > AT_ONCE


def purposes_for(desk: Desk, number: str) -> tuple[Purpose, ...]:
    """Return what the weights of a file may be: weighed elsewhere, or what the job waits for."""
    state = desk.book.job(number)
    if state is None or state.released is not None:
        return ("elsewhere",)
    now = purpose_now(state)
    return ("elsewhere",) if now in (None, "purge", "held") else ("elsewhere", now)


def look_over(
    desk: Desk,
    file: FileRows,
    choice: Choice,
    number: str,
    *,
    purpose: Purpose = "elsewhere",
    like: str = "",
    progress: Progress | None = None,
) -> Looked:
    """Read a whole file and say what it would bring; nothing is kept.

    Parameters
    ----------
    desk : Desk
        Where the job is.
    file : FileRows
        The file.
    choice : Choice
        Which column holds what.
    number : str
        Job that the weights are for.
    purpose : str
        What was weighed.
    like : str
        Job whose facts a new job `number` would get; empty where the job is there.
    progress : callable
        Told how far it is, from 0 to 1, and how many rows were read.

    Returns
    -------
    Looked
        Close its spool when done.

    Raises
    ------
    BadInput
        If there is no such job, its lot is closed, or the choice leaves something open.
    """
    state = job_for_file(desk, number, like)
    looking = _Looking(desk, state, file, choice, purpose)
    try:
        for row in file.rows():
            looking.see(row)
            if progress is not None and not looking.rows % _TOLD_EVERY:
                progress(file.share(), looking.rows)
        looking.end()
        identity = looking.spool.identity()
        # A file that was struck out may come again; its weights are others then.
        while (old := state.files.files.get(named(identity, FILE_MARK))) and old.struck:
            identity = looking.spool.come_again()
        refused_here = 0
        if purpose != "elsewhere":
            refused_here = looking.ask_stage(identity)
    except BaseException:
        looking.spool.close()
        raise
    if progress is not None:
        progress(1.0, looking.rows)
    spool, check = looking.spool, looking.check
    fact = FileTaken(
        holds="weighings",
        name=file.name[:_TOLD],
        sheet=file.sheet if len(file.sheets) > 1 else "",
        sha256=file.digest(),
        how=_how(file, choice, check.tare_words),
        purpose=purpose,
        good=spool.count - refused_here,
        refused=looking.refused,
        refusals=tuple(one.words()[:_TOLD] for one in looking.refusals[:_ON_RECORD]),
    )
    return Looked(
        number=number,
        like=like,
        purpose=purpose,
        choice=choice,
        fact=fact,
        refusals=tuple(looking.refusals[:_TOLD]),
        identity=identity,
        spool=spool,
        sample=tuple(looking.sample),
        mean_g=check.total_g / spool.count if spool.count else None,
        least_g=check.least_g,
        most_g=check.most_g,
        was_here=desk.journal.entry(named(identity, FILE_MARK)) is not None,
        facts=state.known,
    )


def job_for_file(desk: Desk, number: str, like: str) -> JobState:
    """Return the job that the weights are for, or what it would be once it is opened.

    Raises
    ------
    BadInput
        If there is no such job, or its lot is closed.
    """
    state = find_job(desk, like or number)
    if like:
        return JobState(number, facts=replace(state.known, number=number))
    if state.released is not None:
        message = f"The lot of job {number} is closed: it takes no more weights."
        raise BadInput(message, field="job", given=number, code="inconsistent")
    return state


class _Looking:
    """Sees one row after the other; the last is held back, for it may be the sum of all."""

    def __init__(
        self, desk: Desk, state: JobState, file: FileRows, choice: Choice, purpose: Purpose
    ) -> None:
        self._desk = desk
        self._number = state.number
        self._reader = WeightReader(file, choice)
        self._heading = file.headings[choice.columns["weight"]]
        self._before: tuple[FileWeight, Decimal] | None = None
        self.check = RowCheck(desk, state, choice, purpose)
        said = f"{stream_of(state.number)} {purpose} {choice.basis} {self.check.tare_words}"
        self.spool = FileSpool(said)
        self.refusals: list[Refusal] = []
        self.refused = self.rows = 0
        self.sample: list[FileWeight] = []

    def see(self, row: Row) -> None:
        """Take one row."""
        self.rows += 1
        one = self._reader.read(row)
        if isinstance(one, Refusal):
            self._refuse(one)
            return
        net_g = self.check.net_of(one, self._reader)
        if isinstance(net_g, Refusal):
            self._refuse(net_g)
            return
        if self._before is not None:
            self._lay_aside(*self._before)
        self._before = one, net_g

    def end(self) -> None:
        """Take the last row, unless it sums up all above it."""
        if self._before is None:
            return
        one, net_g = self._before
        if self.spool.count >= _FEWEST_SUMMED and net_g > 0 and net_g == self.check.total_g:
            why = "this is the sum of all above it, and not a weighing"
            self._refuse(
                Refusal(
                    row=one.row,
                    column=self._heading,
                    given=one.value,
                    why=why,
                    allowed="one weighing a row",
                )
            )
        else:
            self._lay_aside(one, net_g)

    def ask_stage(self, identity: str) -> int:
        """Try the weights on a copy of the job; return how many its stage would not take."""
        count = self.spool.count
        if count > MOST_JUDGED:
            message = (
                f"The file has {count:,} weights; at most {MOST_JUDGED:,} can be judged as "
                "weighed now. Take them in as weighed elsewhere, or split the file."
            )
            raise BadInput(message, field="purpose", given=count, allowed=str(MOST_JUDGED))
        rows = ids_of(self.spool, identity)
        file_id = named(identity, FILE_MARK)
        played = rehearsed(self._desk, self._number, self.check, rows, file_id)
        for one, error in played.refused:
            self._refuse(self._reader.refused_weight(one, error))
        return len(played.refused)

    def _lay_aside(self, one: FileWeight, net_g: Decimal) -> None:
        """Keep a good row for later."""
        self.spool.add(one)
        self.check.count(net_g)
        if len(self.sample) < _SAMPLE:
            self.sample.append(one)

    def _refuse(self, refusal: Refusal) -> None:
        """Count a row that cannot be used."""
        self.refused += 1
        if len(self.refusals) < _TOLD:
            self.refusals.append(refusal)


def _how(file: FileRows, choice: Choice, tare_words: str) -> str:
    """Return in one sentence how a file was read."""
    names = file.headings
    at = choice.columns["weight"]
    words = [
        f"{names[at]!r} read as {choice.basis} weights in {unit_of(file, at) or choice.unit}",
        f"decimal {'comma' if choice.decimal == ',' else 'point'}",
    ]
    if "tare" in choice.columns:
        words.append(f"less {names[choice.columns['tare']]!r} row by row")
    elif tare_words:
        words.append(f"less an empty of {tare_words} g")
    if "when" in choice.columns and choice.order is not None:
        words.append(f"dates with the {choice.order.value} first")
    return ", ".join(words) + "."
