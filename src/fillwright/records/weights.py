"""From the columns of a file to net weights in grams, row by row, exactly.

Which column is meant, whether it is gross or net, and what the empties weigh is asked for
and never guessed; a cell that does not fit stops with its row and column.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.columns import Column, Grid, Role, Row, columns
from fillwright.records.figures import Mark, Writing, figure, looks_like_figure, writing_of
from fillwright.records.summaries import end_of_numbered, ends_with_sum
from fillwright.records.units import GRAMS_PER, grams

__all__ = ["Weight", "Weights", "empties", "weights"]

_MOST_G: Final = Decimal(1_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight:
    """A weighing of a file: its row, what stood there, and the net weight."""

    row: int
    shown: str
    net_g: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """All weighings of a file, and in one sentence how they were read."""

    source: str
    weights: tuple[Weight, ...]
    how: str

    @property
    def net_g(self) -> tuple[Decimal, ...]:
        """The net weights in the order of the file."""
        return tuple(weight.net_g for weight in self.weights)


def weights(
    grid: Grid,
    *,
    column: str = "",
    tare_g: Decimal | None = None,
    is_net: bool = False,
    decimal: Mark | None = None,
) -> Weights:
    """Return the net weights that a file holds.

    Parameters
    ----------
    grid : Grid
        The file as rows of cells.
    column : str
        Header of the column that is meant; found by its words when left out.
    tare_g : Decimal or None
        Average empty, taken off every gross weight; None where the file has a tare column,
        or the weights are net.
    is_net : bool
        True where the person says that a column without the word is net.
    decimal : Mark or None
        The decimal mark, where the person says it.

    Returns
    -------
    Weights
        One for each row that holds anything, with the rows they stand in.

    Raises
    ------
    BadInput
        If no column or more than one fits, it is not said whether they are net or gross, or
        a cell holds no weight.
    """
    chosen = _chosen(grid, column)
    tares = _only(grid, Role.TARE, besides=chosen)
    role = Role.NET if is_net else chosen.role
    if role is Role.NET and tare_g is not None:
        what = "the weights are net, so there is no tare to take off; leave the tare out"
        raise grid.refusal(what, column=chosen.name, given=tare_g, code="inconsistent")
    if role is not Role.NET and tare_g is None and tares is None:
        what = (
            "gross weights need a tare; give the average empty, or a tare column"
            if role is Role.GROSS
            else "the header does not say net or gross; give the tare if the container is in "
            "it, or say that it is net"
        )
        raise grid.refusal(what, column=chosen.name, code="missing", allowed="a tare, or net")
    shown = _cells(grid, chosen, decimal)
    _refuse_sums(grid, chosen, shown)
    if role is Role.NET:
        net = [value for _, value in shown]
        how = f"Column {chosen.name!r} read as net weights"
        _agree(grid, chosen, tares, net, decimal)
    elif tare_g is not None:
        net = [value - tare_g for _, value in shown]
        how = f"Column {chosen.name!r} read as gross weights, less an average empty of {tare_g} g"
    else:
        assert tares is not None  # noqa: S101  refused above
        empty = [value for _, value in _cells(grid, tares, decimal)]
        net = [value - tare for (_, value), tare in zip(shown, empty, strict=True)]
        how = f"Column {chosen.name!r} less column {tares.name!r}, row by row"
    unit = chosen.unit or "g, since no unit stands in the header"
    found = []
    for row, (text, _), value in zip(grid.rows, shown, net, strict=True):
        if value < 0 or value > _MOST_G:
            what = f"the net weight would be {value} g; check gross and tare"
            raise grid.refusal(
                what,
                row=row.number,
                column=chosen.name,
                given=text,
                code="range",
                allowed="0 g or more",
            )
        found.append(Weight(row=row.number, shown=text, net_g=value))
    return Weights(source=grid.source, weights=tuple(found), how=f"{how}, in {unit}.")


def empties(grid: Grid, *, column: str = "", decimal: Mark | None = None) -> tuple[Decimal, ...]:
    """Return the weights of empties that a file holds, in grams.

    Parameters
    ----------
    grid : Grid
        The file as rows of cells.
    column : str
        Header of the column that is meant; the tare column or the only one when left out.
    decimal : Mark or None
        The decimal mark, where the person says it.

    Returns
    -------
    tuple of Decimal
        In the order of the file.

    Raises
    ------
    BadInput
        If it is not clear which column is meant, or a cell holds no weight above zero.
    """
    known = columns(grid)
    chosen = _named(grid, known, column) if column else _only(grid, Role.TARE, besides=None)
    if chosen is None:
        chosen = known[0] if len(known) == 1 else _chosen(grid, "")
    found = _cells(grid, chosen, decimal)
    _refuse_sums(grid, chosen, found)
    for row, (text, value) in zip(grid.rows, found, strict=True):
        if value <= 0:
            what = f"{text!r} is no weight of an empty; give one above zero"
            raise grid.refusal(what, row=row.number, column=chosen.name, given=text, code="range")
    return tuple(value for _, value in found)


def _refuse_sums(grid: Grid, column: Column, shown: Sequence[tuple[str, Decimal]]) -> None:
    """Raise where the last rows sum up the weighings instead of being some."""
    row, (text, _) = grid.rows[-1], shown[-1]
    if ends_with_sum([value for _, value in shown]):
        what = f"{text!r} is the sum of all above it and not a weighing; take the row out"
        raise grid.refusal(what, row=row.number, column=column.name, given=text)
    for beside in columns(grid)[: column.index]:
        labels = [_cell(one, beside) for one in grid.rows]
        if not labels[0] or beside.role not in {Role.OTHER, Role.PLAIN}:
            continue
        end = end_of_numbered(labels)
        if end is not None:
            there = f"{labels[end]!r} is no number" if labels[end] else "nothing stands here"
            what = (
                f"{there} as in the rows above, so this looks like a sum or a mean; take the row "
                "out, or number it like the others"
            )
            row = grid.rows[end]
            raise grid.refusal(what, row=row.number, column=beside.name, given=labels[end])
        return


def _chosen(grid: Grid, column: str) -> Column:
    """Return the column of weights: the one named, else net, gross, or the one that weighs."""
    known = columns(grid)
    if column:
        return _named(grid, known, column)
    for role in (Role.NET, Role.GROSS, Role.PLAIN):
        found = [one for one in known if one.role is role]
        if len(found) == 1:
            return found[0]
        if found:
            names = ", ".join(one.name for one in found)
            what = f"more than one column could be meant ({names}); name one"
            raise grid.refusal(what, code="choice", allowed=names)
    numeric = [one for one in known if _is_numeric(grid, one) and one.role is Role.OTHER]
    names = ", ".join(one.name or f"column {one.index + 1}" for one in known)
    if len(known) == 1 and numeric:
        return numeric[0]
    what = (
        f"no column is headed net, gross or weight ({names}); name the one that is meant, or "
        "take out what stands above the header"
    )
    raise grid.refusal(what, code="missing", allowed=names)


def _named(grid: Grid, known: Sequence[Column], name: str) -> Column:
    """Return the column of that header, whatever its case."""
    wanted = name.strip().casefold()
    found = [one for one in known if one.name.casefold() == wanted]
    if not found:
        found = [one for one in known if wanted and one.name.casefold().startswith(wanted)]
    if len(found) != 1:
        names = ", ".join(one.name for one in known)
        many = "more than one column is" if found else "no column is"
        raise grid.refusal(
            f"{many} headed {name!r}; there are {names}", given=name, allowed=names, code="choice"
        )
    return found[0]


def _only(grid: Grid, role: Role, *, besides: Column | None) -> Column | None:
    """Return the column of a role, None where there is none."""
    found = [one for one in columns(grid) if one.role is role and one != besides]
    if len(found) > 1:
        names = ", ".join(one.name for one in found)
        what = f"more than one column is headed {role} ({names}); keep one"
        raise grid.refusal(what, code="choice", allowed=names)
    return found[0] if found else None


def _is_numeric(grid: Grid, column: Column) -> bool:
    """Say whether the first row has a number in a column."""
    return looks_like_figure(_cell(grid.rows[0], column))


def _cell(row: Row, column: Column) -> str:
    """Return the text of a cell, empty where the row is short."""
    return row.cells[column.index] if column.index < len(row.cells) else ""


def _cells(grid: Grid, column: Column, decimal: Mark | None) -> list[tuple[str, Decimal]]:
    """Return each cell of a column as written and in grams."""
    texts = [_cell(row, column) for row in grid.rows]
    writing = writing_of(texts, comma_means_decimal=grid.between == ";")
    if decimal is not None:
        writing = Writing(mark=decimal, groups=writing.groups)
    if writing.mark in {Mark.UNCLEAR, Mark.MIXED}:
        at = next(number for number, text in enumerate(texts) if "," in text)
        what = (
            f"{texts[at]!r} can be two numbers here"
            if writing.mark is Mark.UNCLEAR
            else f"{texts[at]!r} has a comma where other rows have a decimal point"
        )
        raise grid.refusal(
            f"{what}; say which decimal mark is meant",
            row=grid.rows[at].number,
            column=column.name,
            given=texts[at],
            allowed="one decimal mark, point or comma",
            code="inconsistent",
        )
    return [
        (text, _grams(grid, row, column, text, writing))
        for row, text in zip(grid.rows, texts, strict=True)
    ]


def _grams(grid: Grid, row: Row, column: Column, text: str, writing: Writing) -> Decimal:
    """Return the weight that a cell holds, in grams."""
    found = figure(text, writing=writing)
    if found is None:
        what = "the cell is empty" if not text else f"{text[:40]!r} is not a weight"
        raise grid.refusal(
            f"{what}; correct it or take the whole row out",
            row=row.number,
            column=column.name,
            given=text[:40] or None,
            allowed="a number",
            code="type" if text else "missing",
        )
    unit = found.unit.lower() or column.unit or "g"
    if (found.unit and column.unit and unit != column.unit) or unit not in GRAMS_PER:
        raise grid.refusal(
            f"the unit {unit!r} does not fit; give weights in one of {', '.join(GRAMS_PER)}",
            row=row.number,
            column=column.name,
            given=text[:40],
            allowed=", ".join(GRAMS_PER),
            code="unit",
        )
    return grams(found.value, unit)


def _agree(
    grid: Grid,
    net: Column,
    tares: Column | None,
    values: Sequence[Decimal],
    decimal: Mark | None,
) -> None:
    """Raise where a file has gross, tare and net, and they do not fit together in a row."""
    gross = [one for one in columns(grid) if one.role is Role.GROSS]
    if tares is None or len(gross) != 1 or net.role is not Role.NET:
        return
    full, empty = _cells(grid, gross[0], decimal), _cells(grid, tares, decimal)
    for row, value, (_, above), (_, below) in zip(grid.rows, values, full, empty, strict=True):
        if above - below != value:
            raise BadInput(
                f"{grid.source}, row {row.number}: gross less tare is {above - below} g, but "
                f"net says {value} g; correct the row.",
                field=f"{grid.source}, row {row.number}, column {net.name}",
                given=value,
                allowed=f"{above - below} g",
                code="inconsistent",
            )
