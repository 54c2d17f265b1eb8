"""From a row of a file to one weight, exactly; what does not fit is named and not guessed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, NamedTuple

from fillwright.errors import BadInput
from fillwright.records.columns import Row
from fillwright.records.figures import Mark, Writing, figure
from fillwright.records.filefields import Choice, unit_of
from fillwright.records.filerows import FileRows
from fillwright.records.filetimes import Stamps, clock_of, moment_of
from fillwright.records.summaries import is_summary
from fillwright.records.units import GRAMS_PER

__all__ = ["FileWeight", "Refusal", "WeightReader", "figure_in", "marked"]

_PLAIN: Final = {
    Mark.POINT: re.compile(r"-?[0-9]{1,12}(?:\.[0-9]{1,9})?"),
    Mark.COMMA: re.compile(r"-?[0-9]{1,12}(?:,[0-9]{1,9})?"),
}
_COUNT: Final = re.compile(r"[0-9]{1,9}")
_NUMBERED: Final = 3
_SHOWN: Final = 40
_NAMED: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A row that cannot be used: its number, what was given, what is allowed, and why.

    Parameters
    ----------
    row : int
        Number in the file or sheet.
    column : str
        Heading of the column, where one is at fault.
    given : str
        What stood there.
    why : str
        One sentence.
    allowed : str
        What would do.
    """

    row: int
    column: str
    given: str
    why: str
    allowed: str = ""

    def words(self) -> str:
        """Return the refusal in one line."""
        place = f"row {self.row}" + (f", {self.column}" if self.column else "")
        given = f" {self.given!r}:" if self.given else ""
        return f"{place}:{given} {self.why}"


class FileWeight(NamedTuple):
    """What a row holds: weight and empty as written but with a point, number, moment.

    Parameters
    ----------
    row : int
        Number in the file or sheet.
    value, unit, tare : str
        The weight with its unit; the empty in the same one, or an empty text.
    container : int or None
        Number of the container.
    at : str
        When it was weighed, ISO 8601 in UTC; empty where the file does not say.
    """

    row: int
    value: str
    unit: str
    tare: str
    container: int | None
    at: str


def marked(file: FileRows, choice: Choice) -> Mark:
    """Return the decimal mark of a file.

    Raises
    ------
    BadInput
        If nobody said it and the file leaves it open.
    """
    if choice.decimal in _PLAIN:
        return choice.decimal
    message = (
        f"{file.name}: the figures can be read with a decimal point or with a decimal comma. "
        "Say which it is."
    )
    raise BadInput(message, field="decimal", allowed="point or comma", code="inconsistent")


def figure_in(text: str, mark: Mark) -> tuple[Decimal, str] | None:
    """Return the figure of a cell with the unit behind it, or None where it holds none."""
    found = figure(text, writing=Writing(mark=mark, groups=False))
    return None if found is None else (found.value, found.unit.lower())


class WeightReader:
    """Reads the rows of a file of weights by a choice of columns.

    Parameters
    ----------
    file : FileRows
        The file.
    choice : Choice
        Which column holds what.

    Raises
    ------
    BadInput
        If the choice leaves something open that the rows need.
    """

    def __init__(self, file: FileRows, choice: Choice) -> None:
        self._file = file
        self._columns = choice.columns
        if "weight" not in choice.columns:
            named = ", ".join(file.headings[:_NAMED])
            others = ", ".join(one for one in file.sheets if one != file.sheet)
            message = f"{file.name}: say which column holds the weights. There are: {named}."
            if others:
                message += f" This is the sheet {file.sheet}; there are also {others}."
            raise BadInput(message, field="weight", allowed=named, code="missing")
        if choice.basis not in ("net", "gross"):
            message = (
                f"{file.name}: say whether the weights are net, or gross with the container in "
                "them."
            )
            raise BadInput(message, field="basis", allowed="net or gross", code="missing")
        self._weight_at = choice.columns["weight"]
        self._mark = marked(file, choice)
        self._plain = _PLAIN[self._mark].fullmatch
        self._said = unit_of(file, self._weight_at)
        self._unit = self._said or choice.unit
        self._stamps = Stamps(choice.order)
        if "clock" in choice.columns and "when" not in choice.columns:
            message = f"{file.name}: a time of day needs its date; say which column holds that."
            raise BadInput(message, field="when", code="missing")
        self._check_order(choice)
        self._numbered = 0
        if self._unit not in GRAMS_PER:
            message = f"{file.name}: weights come in {', '.join(GRAMS_PER)}, not in {self._unit}."
            raise BadInput(
                message, field="unit", given=self._unit, allowed=", ".join(GRAMS_PER), code="unit"
            )

    def _check_order(self, choice: Choice) -> None:
        """Refuse dates that can be two days, unless the person said which."""
        at = choice.columns.get("when")
        if at is None or choice.order is not None:
            return
        first = [row.cells[at] for row in self._file.preview(400) if at < len(row.cells)]
        unclear = next((one for one in first if one and moment_of(one, None) is None), "")
        if unclear:
            message = (
                f"{self._file.name}: {unclear!r} can be two dates. Say what stands first, day or "
                "month."
            )
            raise BadInput(
                message,
                field="order",
                given=unclear,
                allowed="day or month first",
                code="inconsistent",
            )

    def read(self, row: Row) -> FileWeight | Refusal:
        """Return what a row holds, or why it cannot be used."""
        cells = row.cells
        try:
            value, unit = self._weight(cells)
            tare = self._tare(cells, unit) if "tare" in self._columns else ""
            number = self._number(cells) if "container" in self._columns else None
            at = self._moment(cells) if "when" in self._columns else ""
        except _NoUseError as error:
            column, given, why, allowed = error.said
            headings = self._file.headings
            heading = headings[column] if column < len(headings) else f"column {column + 1}"
            return Refusal(
                row=row.number, column=heading, given=given[:_SHOWN], why=why, allowed=allowed
            )
        return FileWeight(row.number, value, unit, tare, number, at)

    def refused_weight(self, one: FileWeight, error: BadInput) -> Refusal:
        """Return the refusal of a row whose weight the job cannot have."""
        return Refusal(
            row=one.row,
            column=self._file.headings[self._weight_at],
            given=f"{one.value} {one.unit}",
            why=error.message.rstrip("."),
            allowed=error.allowed,
        )

    def _weight(self, cells: tuple[str, ...]) -> tuple[str, str]:
        """Return the weight of a row with a decimal point, and its unit."""
        for at, cell in enumerate(cells):
            if cell[:1].isalpha() and is_summary(cell):
                why = "this looks like a sum or a mean, and not a weighing"
                raise _NoUseError(at, cell, why, "one weighing a row")
        at = self._weight_at
        text = cells[at] if at < len(cells) else ""
        if self._plain(text) is not None:
            return (text if self._mark is Mark.POINT else text.replace(",", ".")), self._unit
        found = figure_in(text, self._mark) if text else None
        if found is None:
            mark = "point" if self._mark is Mark.POINT else "comma"
            why = "this is no weight" if text else "the weight is missing"
            needs = "; a formula only with its result saved in the file"
            allowed = f"a number with a decimal {mark}"
            is_bare = not text and self._file.is_workbook
            raise _NoUseError(at, text, why, allowed + needs if is_bare else allowed)
        unit = found[1] or self._unit
        if unit not in GRAMS_PER or (found[1] and self._said and unit != self._said):
            why = f"the unit {unit!r} does not fit"
            raise _NoUseError(at, text, why, self._said or ", ".join(GRAMS_PER))
        return str(found[0]), unit

    def _tare(self, cells: tuple[str, ...], unit: str) -> str:
        """Return the empty of a row."""
        at = self._columns["tare"]
        told = cells[at] if at < len(cells) else ""
        empty = figure_in(told, self._mark) if told else None
        if empty is None or (empty[1] and empty[1] != unit):
            why = "this is no weight of an empty" if told else "the empty is missing"
            raise _NoUseError(at, told, why, f"a number in {unit}")
        return str(empty[0])

    def _number(self, cells: tuple[str, ...]) -> int | None:
        """Return the number of the container of a row, or None where the file numbers none."""
        at = self._columns["container"]
        told = cells[at] if at < len(cells) else ""
        if _COUNT.fullmatch(told) is not None:
            self._numbered += 1
            return int(told)
        if told or self._numbered >= _NUMBERED:
            why = (
                "this is no number of a container"
                if told
                else "no number stands here as in the rows above, so it may be a sum or a mean"
            )
            raise _NoUseError(at, told, why, "a whole number")
        return None

    def _moment(self, cells: tuple[str, ...]) -> str:
        """Return when the weight of a row was weighed, as it is stamped."""
        clock = None
        if "clock" in self._columns:
            at = self._columns["clock"]
            told = cells[at] if at < len(cells) else ""
            clock = clock_of(told)
            if clock is None:
                why = "this is no time of day" if told else "the time of day is missing"
                raise _NoUseError(at, told, why, "a time such as 08:31")
        at = self._columns["when"]
        told = cells[at] if at < len(cells) else ""
        moment = self._stamps.of(told, clock)
        if not moment:
            why = "this is no date" if told else "the date is missing"
            raise _NoUseError(at, told, why, "a date such as 2031-03-05, with its time")
        return moment


class _NoUseError(Exception):
    """A cell that cannot be used: its column, what stood there, why, and what is allowed."""

    def __init__(self, column: int, given: str, why: str, allowed: str) -> None:
        super().__init__(why)
        self.said = (column, given, why, allowed)
