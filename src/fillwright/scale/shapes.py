"""Lines described by their shape: ``"ST {basis} {value} {unit}"`` reads them back.

A shape is literal text with named slots between braces; a blank stands for any number of
blanks, none too. Nothing here opens anything; a line that fits no shape is a `BadLine`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Final, Literal, TypeAlias

from fillwright.errors import BadInput
from fillwright.scale.check_marks import CheckRule
from fillwright.scale.lines import UNITS, BadLine, RawWeighing, Read, ReadLine, Remark

__all__ = ["SLOTS", "LineShape", "ShapedForm", "Words", "parts_of"]

SLOTS: Final = ("value", "unit", "rest", "basis", "number", "word", "any")
"""What may stand between braces in a shape."""

_MOST_DIGITS: Final = 15
_MOST_SURROUNDINGS: Final = 256
_Around: TypeAlias = tuple[str, str, bool | None, Literal["gross", "net"] | None]
_CONTROL: Final = bytes.maketrans(bytes((*range(32), 127)), b" " * 33)
_PART: Final = re.compile(r"\{(\w*)\}|( +)|([^{} ]+)|(.)")
_UNIT: Final = "|".join(sorted(UNITS, key=len, reverse=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """What the marks of a scale mean, in capitals.

    Parameters
    ----------
    still, moving : frozenset of str
        In the slot ``{rest}``: the load is at rest, or it still moves.
    gross, net, tare : frozenset of str
        In the slot ``{basis}``.
    over, under : frozenset of str
        Anywhere on a line that fits no shape: the load is beyond the range of the scale.
    """

    still: frozenset[str] = frozenset()
    moving: frozenset[str] = frozenset()
    gross: frozenset[str] = frozenset()
    net: frozenset[str] = frozenset()
    tare: frozenset[str] = frozenset()
    over: frozenset[str] = frozenset({"OL", "OVER", "OVERLOAD"})
    under: frozenset[str] = frozenset({"UL", "UNDER", "UNDERLOAD"})


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShape:
    """One shape that lines have, and what having it says.

    Parameters
    ----------
    shape : str
        Text and slots. One without ``{value}`` is read and says nothing of a load.
    rest : str
        ``"still"``, ``"moving"``, or empty where the shape alone does not say.
    basis : str
        ``"gross"``, ``"net"``, ``"tare"``, or empty.
    says : str
        ``"over"`` or ``"under"`` where the load is beyond the range of the scale; or empty.
    """

    shape: str
    rest: Literal["", "still", "moving"] = ""
    basis: Literal["", "gross", "net", "tare"] = ""
    says: Literal["", "over", "under"] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapedForm:
    """How the lines of one weighing scale look, by their shapes.

    Parameters
    ----------
    title : str
        What people call the format.
    shapes : tuple of LineShape
        Tried in this order.
    terminators : bytes
        Each of these bytes ends a line.
    longest : int
        Most bytes of a line.
    decimal : str
        ``"."`` or ``","``, the decimal mark; the other one is no part of a number then.
    unit_if_absent : str or None
        Unit of a line that names none. None: such a line is bad.
    words : Words
        What the marks mean.
    check : CheckRule or None
        How the end of a line follows from the rest of it.
    request : bytes
        What a scale that answers only when asked is sent; empty for one that sends by itself.
    every_s : Decimal
        Time between two requests.
    """

    title: str
    shapes: tuple[LineShape, ...]
    terminators: bytes = b"\r\n"
    longest: int = 80
    decimal: Literal[".", ","] = "."
    unit_if_absent: str | None = None
    words: Words = Words()
    check: CheckRule | None = None
    request: bytes = b""
    every_s: Decimal = Decimal("0.5")

    def reader(self) -> ReadLine:
        """Return what reads one line without its terminator."""
        reading = _Reading(self)
        return reading.read_soon if _has_one_number(self) else reading.read


class _Reading:
    """Reads lines by the shapes of one form."""

    def __init__(self, form: ShapedForm) -> None:
        self._form = form
        self._shapes = [(shape, _pattern(shape.shape, form.decimal)) for shape in form.shapes]
        mark = re.escape(form.decimal)
        self._figure = re.compile(rf"\d+(?:{mark}\d*)?|{mark}\d+".encode("ascii"))
        self._known: dict[tuple[bytes, bytes], _Around] = {}
        words = form.words
        self._rest = dict.fromkeys(words.still, True) | dict.fromkeys(words.moving, False)
        self._basis: dict[str, str] = {
            **dict.fromkeys(words.gross, "gross"),
            **dict.fromkeys(words.net, "net"),
            **dict.fromkeys(words.tare, "tare"),
        }

    def read_soon(self, raw: bytes) -> Read | None:
        """Read one line, at once where the same stood around another number before.

        Only for a form in which nothing but the weight is a number.
        """
        found = self._figure.search(raw)
        if found is None:
            return self.read(raw)
        start, end = found.span()
        around = raw[:start], raw[end:]
        told = self._known.get(around)
        if told is not None and end - start <= _MOST_DIGITS:
            digits = told[0] + raw[start:end].decode("ascii").replace(",", ".")
            return RawWeighing(Decimal(digits), told[1], told[2], told[3], raw)
        line = self.read(raw)
        if type(line) is RawWeighing:
            if len(self._known) >= _MOST_SURROUNDINGS:
                self._known.clear()
            sign = "-" if line.value.is_signed() else ""
            self._known[around] = sign, line.unit, line.is_stable, line.basis
        return line

    def read(self, raw: bytes) -> Read | None:
        """Read one line."""
        text = raw
        check = self._form.check
        if check is not None:
            if not raw.strip():
                return None
            if not check.holds(raw):
                return BadLine(raw=raw, why="The check character does not fit the line.")
            text = check.body(raw)
        text = text.translate(_CONTROL)
        why = "The line has no shape that is known."
        for shape, pattern in self._shapes:
            found = pattern.fullmatch(text)
            if found is not None:
                line = self._fitted(raw, shape, found.groupdict())
                if not isinstance(line, str):
                    return line
                why = line
        return self._beyond(raw, text, why)

    def _fitted(self, raw: bytes, shape: LineShape, found: dict[str, bytes | None]) -> Read | str:
        """Return what a line of a shape says, or why it does not say it after all."""
        if shape.says:
            return Remark(raw=raw, says=shape.says)
        value = found.get("value")
        if value is None:
            return Remark(raw=raw, says="aside")
        rest = found.get("rest")
        is_stable = {"still": True, "moving": False}.get(shape.rest)
        if rest is not None:
            is_stable = self._rest.get(_word(rest))
            if is_stable is None:
                return f"{_word(rest)!r} is no mark of rest that is known."
        named = found.get("basis")
        basis: str = shape.basis
        if named is not None:
            basis = self._basis.get(_word(named), "")
            if not basis:
                return f"{_word(named)!r} is neither gross nor net nor tare."
        if basis == "tare":
            return Remark(raw=raw, says="tare")
        unit = found.get("unit")
        meant = self._form.unit_if_absent if unit is None else UNITS[_word(unit).lower()]
        if meant is None:
            return "The line names no unit."
        digits = value.decode("ascii").replace(" ", "").replace(",", ".")
        if len(digits) > _MOST_DIGITS + 1:
            return f"The number has more than {_MOST_DIGITS} digits."
        return RawWeighing(Decimal(digits), meant, is_stable, basis or None, raw)  # type: ignore[arg-type]  # gross or net

    def _beyond(self, raw: bytes, text: bytes, why: str) -> Read | None:
        """Return what a line that fits no shape may still say: beyond the range, or nothing."""
        if not text.strip():
            return None
        if not raw.isascii():
            return BadLine(raw=raw, why="The line holds bytes that are not plain text.")
        told = set(re.findall(r"[A-Z]+", text.decode("ascii").upper()))
        if told & self._form.words.over:
            return Remark(raw=raw, says="over")
        if told & self._form.words.under:
            return Remark(raw=raw, says="under")
        return BadLine(raw=raw, why=why)


def parts_of(shape: str) -> tuple[tuple[str, str], ...]:
    """Return the parts of a shape: ``("slot", name)``, ``("blank", …)`` or ``("text", …)``.

    Raises
    ------
    BadInput
        If a slot is not known, a brace is left open, or the weight is there more than once.
    """
    parts: list[tuple[str, str]] = []
    for slot, blank, text, stray in _PART.findall(shape):
        if stray or (not slot and not blank and not text):
            message = f"The shape {shape!r} holds a brace without a slot. Use " + "{value}."
            raise BadInput(message, field="shape", given=shape, code="type")
        if slot and slot not in SLOTS:
            allowed = ", ".join("{" + name + "}" for name in SLOTS)
            message = f"The shape {shape!r} holds {{{slot}}}, which is no slot. Use {allowed}."
            raise BadInput(message, field="shape", given=slot, allowed=allowed, code="choice")
        parts.append(("slot", slot) if slot else ("blank", blank) if blank else ("text", text))
    for once in ("value", "unit", "rest", "basis"):
        if parts.count(("slot", once)) > 1:
            message = f"The shape {shape!r} holds {{{once}}} twice. Use it once."
            raise BadInput(message, field="shape", given=shape, code="inconsistent")
    return tuple(parts)


def _has_one_number(form: ShapedForm) -> bool:
    """Return whether a line that fits holds no figure but those of the weight."""
    parts = [part for shape in form.shapes for part in parts_of(shape.shape)]
    return form.check is None and not any(
        text in ("number", "any") if kind == "slot" else any(map(str.isdigit, text))
        for kind, text in parts
    )


@cache
def _pattern(shape: str, decimal: str) -> re.Pattern[bytes]:
    """Return the pattern of a shape; blanks at both ends never matter."""
    mark = re.escape(decimal)
    bare = rf"(?:\d+(?:{mark}\d*)?|{mark}\d+)"
    slots = {
        "value": rf"(?P<value>(?:[+-] *)?{bare})",
        "unit": rf"(?P<unit>{_UNIT})",
        "rest": r"(?P<rest>[^\s\d]+?)",
        "basis": r"(?P<basis>[^\s\d]+?)",
        "number": r"(?:[+-] *)?\d+(?:[.,]\d*)?",
        "word": r"[^\s\d]+",
        "any": r".*",
    }
    pattern = "".join(
        slots[text] if kind == "slot" else " *" if kind == "blank" else re.escape(text)
        for kind, text in parts_of(shape)
    )
    return re.compile(f" *{pattern} *".encode("ascii"), re.IGNORECASE)


def _word(text: bytes) -> str:
    """Return a mark in capitals."""
    return text.decode("ascii", errors="replace").upper()
