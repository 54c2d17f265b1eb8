"""The options by which a file of weights is read, shared by the commands that read one."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from fillwright.cli import files
from fillwright.cli.units import in_metric
from fillwright.errors import BadInput
from fillwright.report.proof_words import seen_sd

if TYPE_CHECKING:
    from fillwright.records.figures import Mark
    from fillwright.records.weights import Weights

__all__ = [
    "ColumnOption",
    "DecimalMark",
    "DecimalOption",
    "Empties",
    "NetOption",
    "Reading",
    "TareFileOption",
    "TareOption",
    "exact",
    "share_of_percent",
]

LIGHTEST: Final = Decimal("0.01")
DENSEST: Final = Decimal(25)
_MOST_G: Final = Decimal(1_000_000)


class DecimalMark(StrEnum):
    """How a person names the decimal mark."""

    POINT = "point"
    COMMA = "comma"


ColumnOption = Annotated[
    str | None,
    typer.Option("--column", metavar="NAME", help="Header of the column of weights."),
]
NetOption = Annotated[
    bool, typer.Option("--net", help="The weights are net, though the header does not say so.")
]
TareOption = Annotated[
    str | None,
    typer.Option("--tare", metavar="G", help="Average empty in g, taken off gross weights."),
]
TareFileOption = Annotated[
    Path | None,
    typer.Option("--tare-file", metavar="FILE", help="File of empties; their mean is taken off."),
]
DecimalOption = Annotated[
    DecimalMark | None,
    typer.Option("--decimal", help="The decimal mark, where the file can mean either."),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Empties:
    """The average empty: its weight; scatter, step and number where they were weighed."""

    mean_g: Decimal
    sd_g: Decimal | None = None
    step_g: Decimal = Decimal(0)
    count: int | None = None

    def words(self) -> str:
        """Return the average empty in words."""
        if self.count is None:
            return f"{self.mean_g} g, as given"
        words = f"{self.mean_g} g, mean of {self.count} empties"
        if self.sd_g is None:
            return words
        return f"{words}, sd {seen_sd(float(self.sd_g), self.step_g)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """How a file of weights is to be read."""

    column: str | None = None
    is_net: bool = False
    tare: str | None = None
    tare_file: Path | None = None
    decimal: DecimalMark | None = None

    def empties(self) -> Empties | None:
        """Return the average empty that the options give, or None.

        Raises
        ------
        BadInput
            If both options are given, or one cannot be used.
        """
        if self.tare is not None and self.tare_file is not None:
            message = "--tare and --tare-file are both given; give one of them."
            raise BadInput(message, field="--tare", given=self.tare, code="inconsistent")
        if self.tare is not None:
            return Empties(mean_g=exact(self.tare, "--tare", above=0, most=_MOST_G, unit="g"))
        if self.tare_file is None:
            return None
        from fillwright.records.columns import grid_from_bytes  # noqa: PLC0415  loaded when asked
        from fillwright.records.weights import empties  # noqa: PLC0415  loaded when asked

        grid = grid_from_bytes(files.bytes_of(self.tare_file), source=str(self.tare_file))
        return _averaged(empties(grid, decimal=self._mark()))

    def weights(self, source: Path, empty: Empties | None) -> Weights:
        """Return the net weights of a file.

        Parameters
        ----------
        source : Path
            The file; ``-`` is standard input.
        empty : Empties or None
            The average empty.

        Returns
        -------
        Weights
            Row by row.

        Raises
        ------
        BadInput
            If the file or a cell cannot be used; the message names file, row and column.
        """
        from fillwright.records.columns import grid_from_bytes  # noqa: PLC0415  loaded when asked
        from fillwright.records.weights import weights  # noqa: PLC0415  loaded when asked

        name = files.name_of(source)
        return weights(
            grid_from_bytes(files.bytes_of(source), source=name),
            column=self.column or "",
            tare_g=None if empty is None else empty.mean_g,
            is_net=self.is_net,
            decimal=self._mark(),
        )

    def _mark(self) -> Mark | None:
        """Return the decimal mark as the parser knows it."""
        from fillwright.records.figures import Mark as Known  # noqa: PLC0415  loaded when asked

        if self.decimal is None:
            return None
        return Known.COMMA if self.decimal is DecimalMark.COMMA else Known.POINT


def exact(
    text: str,
    option: str,
    *,
    above: Decimal | int | None = None,
    least: Decimal | int | None = None,
    most: Decimal | int | None = None,
    unit: str = "",
) -> Decimal:
    """Return the number that an option gives, with a decimal point or comma.

    Parameters
    ----------
    text : str
        What was typed.
    option : str
        Name of the option, for the message.
    above, least, most : Decimal or int, optional
        What it must be above, at least and at most.
    unit : str
        Metric unit of the option: a figure may be typed in US customary units too.

    Returns
    -------
    Decimal
        The number, exactly.

    Raises
    ------
    BadInput
        If it is no number, or outside.
    """
    from fillwright.records.figures import Mark, Writing, figure  # noqa: PLC0415  when asked

    text = in_metric(text, unit) if unit else text
    mark = Mark.COMMA if "," in text and "." not in text else Mark.POINT
    found = figure(text, writing=Writing(mark=mark, groups=False))
    grouped = figure(text, writing=Writing(mark=Mark.POINT, groups=True))
    if mark is Mark.COMMA and grouped is not None and (most is None or grouped.value <= most):
        point = text.replace(",", ".")
        plain = text.replace(",", "")
        raise BadInput(
            f"{option} is {text}, which can be two numbers; give {point} or {plain}.",
            field=option,
            given=text,
            allowed=f"{point} or {plain}",
            code="inconsistent",
        )
    if found is None or found.unit:
        raise BadInput(
            f"{option} is {text!r}; give a number such as 18.2.",
            field=option,
            given=text,
            allowed="a number",
            code="type",
        )
    value = found.value
    if (
        (above is not None and value <= above)
        or (least is not None and value < least)
        or (most is not None and value > most)
    ):
        parts = [
            f"above {above}" if above is not None else "",
            f"{least} or more" if least is not None else "",
            f"{most} or less" if most is not None else "",
        ]
        allowed = " and ".join(part for part in parts if part)
        raise BadInput(
            f"{option} is {text}; give {allowed}.", field=option, given=text, allowed=allowed
        )
    return value


def share_of_percent(text: str, option: str) -> Decimal:
    """Return the percentage that an option gives, above 0 and below 100.

    Parameters
    ----------
    text : str
        What was typed.
    option : str
        Name of the option, for the message.

    Returns
    -------
    Decimal
        The percentage.

    Raises
    ------
    BadInput
        If it is no percentage.
    """
    return exact(text.rstrip("% "), option, least=1, most=Decimal("99.999"))


def _averaged(weights: tuple[Decimal, ...]) -> Empties:
    """Return mean and sd of empties, to one digit more than they were read with."""
    places = max(-int(value.as_tuple().exponent) for value in weights)
    step = Decimal(1).scaleb(-max(places, 0) - 1)
    mean = sum(weights, Decimal(0)) / len(weights)
    sd = None
    if len(weights) > 1:
        squares = sum(((value - mean) ** 2 for value in weights), Decimal(0))
        sd = (squares / (len(weights) - 1)).sqrt().quantize(step, ROUND_HALF_EVEN)
    return Empties(
        mean_g=mean.quantize(step, ROUND_HALF_EVEN), sd_g=sd, step_g=10 * step, count=len(weights)
    )
