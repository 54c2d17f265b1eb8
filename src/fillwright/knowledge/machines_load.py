"""Read the invented machines that a description may start from, and check that they can be.

A file that fails is refused with its name, the line and what would do; nothing is repaired.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, NoReturn

from fillwright.errors import KnowledgeError
from fillwright.knowledge.faults_lines import LineBook
from fillwright.knowledge.machine_types import (
    AirRow,
    ControlRow,
    HopperRow,
    MachineProfile,
    NozzleRow,
    PieceRow,
    PlateRow,
    ValveRow,
)

__all__ = ["machine_profiles", "parse_machines"]

Row = dict[str, Any]
_KINDS: Final = {
    "nozzles": ("plain", "suck-back pin", "cut-off"),
    "suction": (
        "straight", "hose", "bend", "wide bend", "tee", "valve turning", "valve straight",
        "narrowing",
    ),
    "valves": ("rotary", "spool", "check"),
}  # fmt: skip
_KINDS["outward"] = _KINDS["suction"]
_MAY_BE_BELOW: Final = {"rise_mm"}
_MAY_BE_ZERO: Final = {"rod_mm", "length_mm", "low_above_mm", "lost_motion_marks", "valve_s"}


@cache
def machine_profiles() -> Mapping[str, MachineProfile]:
    """Return the invented machines, by size.

    Returns
    -------
    Mapping of str to MachineProfile
        Small, medium, large; read once.

    Raises
    ------
    KnowledgeError
        If the file does not hold machines that can be.
    """
    file = files("fillwright.knowledge") / "data" / "machines.toml"
    return parse_machines(file.read_text("utf-8"), file=file.name)


def parse_machines(text: str, *, file: str) -> Mapping[str, MachineProfile]:
    """Return the machines that a TOML text holds.

    Parameters
    ----------
    text : str
        Content of the file.
    file : str
        Name of the file, for messages.

    Returns
    -------
    Mapping of str to MachineProfile
        In the order of the file.

    Raises
    ------
    KnowledgeError
        For a missing or unknown name, a figure that cannot be, or parts that do not go
        together; says file, line and what would do.
    """
    try:
        data: Row = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise KnowledgeError(f"{file}: not readable as TOML: {error}.") from error
    reader = _Reader(text, file)
    found = {key: reader.machine(key, rows) for key, rows in data.items() if key != "meta"}
    if not found:
        raise KnowledgeError(f"{file}, line 1: no machine in it; add a table such as [small].")
    return MappingProxyType(found)


class _Reader:
    """Reads rows and knows the line of each."""

    def __init__(self, text: str, file: str) -> None:
        self._lines = LineBook(text)
        self._text = text.splitlines()
        self._file = file

    def machine(self, key: str, row: Row) -> MachineProfile:
        """Return one machine."""
        if not isinstance(row, dict):
            self._refuse((key,), 0, f"{key} is no table; write [{key}] above its figures")
        places = {
            "cylinders": tuple, "nozzles": NozzleRow, "suction": PieceRow, "outward": PieceRow,
            "hoppers": HopperRow, "valves": ValveRow,
        }  # fmt: skip
        parts = {name: self._list(key, row, name) for name in places}
        air = self._record(AirRow, (key, "air"), self._table(key, row, "air"))
        if air.rod_mm >= air.bore_mm:
            self._refuse(
                (key, "air", "rod_mm"), 0,
                f"rod_mm is {air.rod_mm}, no thinner than bore_mm of {air.bore_mm}; give the "
                "diameter of the rod",
            )  # fmt: skip
        figures = {
            name: self._number((key, name), 0, row, name)
            for name in (
                "last_mark", "step_marks", "marks_per_turn", "lost_motion_marks", "stroke_mm",
                "rise_mm",
            )
        }  # fmt: skip
        return MachineProfile(
            key=key,
            name=self._words((key, "name"), 0, row, "name"),
            says=self._words((key, "says"), 0, row, "says"),
            clockwise_raises=bool(row.get("clockwise_raises", True)),
            cylinder_bores_mm=tuple(
                self._number((key, "cylinders"), place, one, "bore_mm")
                for place, one in enumerate(parts["cylinders"], start=1)
            ),
            nozzles=self._records(NozzleRow, key, "nozzles", parts),
            suction=self._records(PieceRow, key, "suction", parts),
            outward=self._records(PieceRow, key, "outward", parts),
            hoppers=self._records(HopperRow, key, "hoppers", parts),
            valves=self._records(ValveRow, key, "valves", parts),
            air=air,
            fill=self._control(key, row, "fill"),
            recharge=self._control(key, row, "recharge"),
            plate=self._record(PlateRow, (key, "plate"), self._table(key, row, "plate")),
            **figures,
        )

    def _records(self, kind: type[Any], key: str, name: str, parts: dict[str, list[Row]]) -> Any:  # noqa: ANN401
        """Return the rows of a list as records."""
        return tuple(
            self._record(kind, (key, name), one, place)
            for place, one in enumerate(parts[name], start=1)
        )

    def _record(self, kind: type[Any], where: tuple[str, ...], row: Row, place: int = 0) -> Any:  # noqa: ANN401
        """Return one row as its record, every figure checked."""
        names = kind.__dataclass_fields__
        for name in row:
            if name not in names:
                self._refuse(
                    where, place, f"{name} is not known here; known are {', '.join(names)}"
                )
        found: Row = {}
        for name in names:
            if name == "kind":
                found[name] = self._kind(where, place, row)
            elif name == "name":
                found[name] = self._words(where, place, row, name)
            elif name == "rated_bar" and name not in row:
                found[name] = None
            else:
                found[name] = self._number((*where, name), place, row, name)
        if kind is NozzleRow and found["bore_mm"] >= found["outside_mm"]:
            self._refuse(
                where, place,
                f"bore_mm is {found['bore_mm']}, no narrower than outside_mm of "
                f"{found['outside_mm']}; measure both again",
            )  # fmt: skip
        return kind(**found)

    def _control(self, key: str, row: Row, name: str) -> ControlRow:
        """Return a flow control: more turns pass more air."""
        rows = self._table(key, row, name)
        ratio = self._number((key, name, "ratio"), 0, rows, "ratio")
        found: dict[Decimal, Decimal] = {}
        for turns in rows:
            if turns == "ratio":
                continue
            try:
                place = Decimal(turns)
            except InvalidOperation:
                self._refuse((key, name, turns), 0, f"{turns!r} is no number of turns")
            value = self._number((key, name, turns), 0, rows, turns)
            if found and (place <= max(found) or value <= max(found.values())):
                self._refuse(
                    (key, name, turns), 0,
                    f"{turns} turns passes {value}, no more than fewer turns do; sort the rows "
                    "from shut to open",
                )  # fmt: skip
            found[place] = value
        if ratio >= 1:
            self._refuse((key, name, "ratio"), 0, f"ratio is {ratio}; give 0.1 to 0.6, below 1")
        if not found:
            self._refuse((key, name), 0, f"{name} has no row of turns; add one such as '1' = 0.1")
        return ControlRow(ratio=ratio, c_by_turns=MappingProxyType(found))

    def _table(self, key: str, row: Row, name: str) -> Row:
        """Return a table of a machine."""
        rows = row.get(name)
        if not isinstance(rows, dict):
            self._refuse((key,), 0, f"[{key}.{name}] is missing; add it")
        return rows

    def _list(self, key: str, row: Row, name: str) -> list[Row]:
        """Return a list of a machine that has a row at least."""
        rows = row.get(name)
        if not isinstance(rows, list) or not rows or not all(isinstance(r, dict) for r in rows):
            self._refuse((key, name), 0, f"{name} needs a row at least, such as {{ ... }}")
        return rows

    def _kind(self, where: tuple[str, ...], place: int, row: Row) -> str:
        """Return the kind of a part."""
        allowed = _KINDS[where[-1]]
        if row.get("kind") not in allowed:
            self._refuse(
                where, place, f"kind is {row.get('kind')!r}; give one of {', '.join(allowed)}"
            )
        return str(row["kind"])

    def _words(self, where: tuple[str, ...], place: int, row: Row, name: str) -> str:
        """Return a text that must be there."""
        words = row.get(name)
        if not isinstance(words, str) or not words.strip():
            self._refuse(where, place, f"{name} is missing; give it some words")
        return words

    def _number(self, where: tuple[str, ...], place: int, row: Row, name: str) -> Decimal:
        """Return a figure that can be a length, volume, pressure or time."""
        value = row.get(name)
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            self._refuse(where, place, f"{name} is {value!r}; give a number")
        number = Decimal(value)
        low = number < 0 if name in _MAY_BE_ZERO else number <= 0
        if not number.is_finite() or (low and name not in _MAY_BE_BELOW):
            allowed = "zero or more" if name in _MAY_BE_ZERO else "above zero"
            self._refuse(where, place, f"{name} is {value}; give a number {allowed}")
        return number

    def _refuse(self, where: tuple[str, ...], place: int, words: str) -> NoReturn:
        """Raise the error that names the line."""
        line = self._lines.find(*where)
        rows = [
            number
            for number, text in enumerate(self._text[line:], start=line + 1)
            if text.lstrip().startswith("{")
        ]
        line = rows[place - 1] if place and len(rows) >= place else line
        raise KnowledgeError(f"{self._file}, line {line}: {words}.")
