"""Which column of a file holds what: the things that are looked for, and a first guess.

The guess goes by the words of the headings; a person says what is right, and that is kept for
the next file with the same headings.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Final, Literal

from fillwright.records.columns import Grid, Role, columns
from fillwright.records.figures import Mark, looks_like_figure, writing_of
from fillwright.records.filerows import FileRows
from fillwright.records.filetimes import DateOrder, date_order, has_date, is_clock
from fillwright.records.kinds_files import ColumnsChosen

__all__ = [
    "FIELDS",
    "HOLDS",
    "Choice",
    "FileField",
    "Holds",
    "chosen_before",
    "guess",
    "unit_of",
]

Holds = Literal["weighings", "products", "containers"]
HOLDS: Final[tuple[Holds, ...]] = ("weighings", "products", "containers")


@dataclass(frozen=True, slots=True, kw_only=True)
class FileField:
    """A thing that a column may hold.

    Parameters
    ----------
    key : str
        Its name in programs.
    name : str
        Its name for people.
    words : str
        Words of headings that mean it, in small letters, as one pattern.
    kind : str
        ``"figure"``, ``"count"``, ``"time"``, ``"clock"``, ``"text"`` or ``"flag"``.
    is_needed : bool
        True where no row can be without it.
    """

    key: str
    name: str
    words: str
    kind: Literal["figure", "count", "time", "clock", "text", "flag"]
    is_needed: bool = False


FIELDS: Final[Mapping[Holds, tuple[FileField, ...]]] = {
    "weighings": (
        FileField(
            key="weight",
            name="Weight",
            words=r"net|nett?o|gross|brutt?o|weight|gewicht|poids|peso|mass|dose|reading|fill",
            kind="figure",
            is_needed=True,
        ),
        FileField(
            key="tare", name="Empty (tare), row by row", words="tar[ea]|empty|leer", kind="figure"
        ),
        FileField(
            key="when",
            name="Date, or date and time",
            words="date|datum|time|zeit|when|weighed|fecha|data",
            kind="time",
        ),
        FileField(
            key="clock",
            name="Time of day, where it has its own column",
            words="time|uhrzeit|zeit|clock|heure|hora|ora",
            kind="clock",
        ),
        FileField(
            key="container",
            name="Number of the container",
            words="no|nr|num|number|nummer|jar|bottle|tub|pot|pack|package|container|item|sample",
            kind="count",
        ),
    ),
    "products": (
        FileField(
            key="name", name="Name", words="name|product|produkt|item", kind="text", is_needed=True
        ),
        FileField(
            key="density_g_per_ml",
            name="Density, g/mL (kg/L) or kg/m3",
            words="density|dichte|densit[eéàa]|densidad|sg",
            kind="figure",
            is_needed=True,
        ),
        FileField(
            key="density_c", name="Density holds at, °C", words="density.*(?:at|°c)", kind="figure"
        ),
        FileField(
            key="product_c", name="At the nozzle, °C", words="temp|nozzle|fill.*°c", kind="figure"
        ),
        FileField(
            key="runs_like",
            name="Runs like water, foamy, oil, cream, paste",
            words="runs|like|thick|texture",
            kind="text",
        ),
        FileField(
            key="is_flammable", name="Flammable, yes or no", words="flammable|burn", kind="flag"
        ),
        FileField(key="notes", name="Notes", words="note|remark|allergen|comment", kind="text"),
    ),
    "containers": (
        FileField(
            key="name",
            name="Name",
            words="name|container|jar|bottle|item",
            kind="text",
            is_needed=True,
        ),
        FileField(
            key="brim_ml",
            name="Holds to the brim, mL",
            words="brim|capacity|volume|holds",
            kind="figure",
            is_needed=True,
        ),
        FileField(
            key="mouth_mm",
            name="Mouth, mm",
            words="mouth|neck|opening|bore",
            kind="figure",
            is_needed=True,
        ),
        FileField(
            key="tare_sd_g",
            name="Empties differ by (1 s), g",
            words="sd|spread|differ|deviation",
            kind="figure",
        ),
        FileField(
            key="tare_g", name="Average empty, g", words="tare|tara|empty|weight", kind="figure"
        ),
        FileField(key="word", name="What it is called: jar, bottle", words="kind|type|word",
                  kind="text"),
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What the columns of a file hold, and what its headings do not say.

    Parameters
    ----------
    holds : str
        What the file holds.
    columns : mapping of str to int
        Place of the column of each field, from 0; a field that is not in the file is left out.
    unit : str
        Unit of the weights where heading and cell name none.
    basis : str
        ``"net"``, ``"gross"``, or empty where that is not said yet.
    decimal : Mark or None
        The decimal mark; None where the file leaves it open.
    order : DateOrder or None
        What stands first in a date; None where the file leaves it open.
    tare_g : Decimal or None
        One empty for all gross weights; None takes the job's own.
    """

    holds: Holds
    columns: Mapping[str, int] = field(default_factory=dict)
    unit: str = "g"
    basis: str = ""
    decimal: Mark | None = None
    order: DateOrder | None = None
    tare_g: Decimal | None = None

    def remembered(self, headings: Sequence[str]) -> ColumnsChosen:
        """Return the choice as it is kept for the next file with these headings."""
        options = {"unit": self.unit, "basis": self.basis}
        if self.order is not None:
            options["order"] = self.order.value
        return ColumnsChosen(
            holds=self.holds,
            headings=tuple(headings),
            columns=dict(self.columns),
            options=options,
        )


def chosen_before(kept: ColumnsChosen, file: FileRows) -> Choice:
    """Return the choice for a file whose headings were seen before.

    The decimal mark is found anew: it belongs to the file and not to its headings.
    """
    found = guess(file, kept.holds)  # type: ignore[arg-type]
    order = kept.options.get("order")
    return replace(
        found,
        columns=dict(kept.columns),
        unit=kept.options.get("unit", "g"),
        basis=kept.options.get("basis", ""),
        decimal=_mark(file, kept.columns.get("weight")),
        order=found.order or (DateOrder(order) if order else None),
    )


def guess(file: FileRows, holds: Holds) -> Choice:
    """Return a first guess at the columns, from headings and first rows.

    Parameters
    ----------
    file : FileRows
        The file.
    holds : str
        What the person says that it holds.

    Returns
    -------
    Choice
        What is not clear is left out.
    """
    found: dict[str, int] = {}
    for one in FIELDS[holds]:
        fits = [
            at
            for at, heading in enumerate(file.headings)
            if at not in found.values() and _fits(one, heading, file, at)
        ]
        if fits:
            found[one.key] = fits[0]
    if holds == "weighings":
        _weight_column(file, found)
    column = found.get("weight")
    role = Role.OTHER if column is None else _role(file, column)
    basis = {Role.NET: "net", Role.GROSS: "gross"}.get(role, "")
    if not basis and "tare" in found:
        basis = "gross"
    if basis == "net":
        found.pop("tare", None)
    figures = column if column is not None else found.get("density_g_per_ml", found.get("brim_ml"))
    when = found.get("when")
    return Choice(
        holds=holds,
        columns=found,
        basis=basis,
        unit=(unit_of(file, column) if column is not None else "") or "g",
        decimal=_mark(file, figures),
        order=None if when is None else date_order(_cells(file, when)),
    )


def unit_of(file: FileRows, column: int) -> str:
    """Return the unit that the heading of a column names, or an empty text."""
    return _known(file)[column].unit if file.header and column < len(file.header) else ""


def _known(file: FileRows) -> tuple:  # type: ignore[type-arg]
    """Return the columns with what their headings say."""
    return columns(Grid(source=file.name, between=file.between, header=file.header, rows=()))


def _role(file: FileRows, column: int) -> Role:
    """Return what the heading says that a column of weights holds."""
    if not file.header or column >= len(file.header):
        return Role.PLAIN
    found: Role = _known(file)[column].role
    return found


def _weight_column(file: FileRows, found: dict[str, int]) -> None:
    """Prefer a net column to a gross one, and take the only column of figures where none is."""
    if file.header:
        for role in (Role.NET, Role.GROSS):
            fits = [one.index for one in _known(file) if one.role is role]
            if fits:
                found["weight"] = fits[0]
                break
    if "weight" not in found:
        free = [
            at
            for at in range(len(file.headings))
            if at not in found.values() and _are_figures(file, at)
        ]
        if len(free) == 1:
            found["weight"] = free[0]


def _fits(one: FileField, heading: str, file: FileRows, at: int) -> bool:
    """Say whether heading and cells of a column fit a field."""
    if re.search(rf"(?<![^\W_\d])(?:{one.words})", heading.lower()) is None:
        return False
    fits = {"time": has_date, "clock": is_clock, "count": _is_count}.get(one.kind)
    if fits is not None:
        return _mostly(_cells(file, at), fits)
    if one.kind == "figure":
        return _are_figures(file, at)
    return True


def _are_figures(file: FileRows, at: int) -> bool:
    """Say whether the first cells of a column are figures."""
    return _mostly(_cells(file, at), looks_like_figure)


def _is_count(cell: str) -> bool:
    """Say whether a cell is a whole number."""
    return cell.isascii() and cell.isdigit()


def _mostly(cells: Sequence[str], fits: Callable[[str], bool]) -> bool:
    """Say whether more than half of the cells that hold anything fit."""
    filled = [cell for cell in cells if cell]
    return bool(filled) and sum(map(fits, filled)) * 2 > len(filled)


def _cells(file: FileRows, at: int) -> list[str]:
    """Return the first cells of a column."""
    return [row.cells[at] if at < len(row.cells) else "" for row in file.preview(400)]


def _mark(file: FileRows, column: int | None) -> Mark | None:
    """Return the decimal mark of a column, or None where it can be either."""
    places = range(len(file.headings)) if column is None else (column,)
    cells = [cell for at in places for cell in _cells(file, at)]
    mark = writing_of(cells, comma_means_decimal=file.between == ";").mark
    return None if mark in {Mark.UNCLEAR, Mark.MIXED} else mark
