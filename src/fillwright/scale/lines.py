"""Bytes of a weighing scale in, weighings out.

Nothing here opens anything or knows the time. A line is a weighing only when every part of
it was understood; all else is a `BadLine` that keeps its bytes, and noise never raises.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import Final, Literal, NamedTuple, Protocol, TypeAlias

__all__ = [
    "DEFAULT",
    "UNITS",
    "BadLine",
    "Form",
    "LineForm",
    "LineReader",
    "RawWeighing",
    "ReadLine",
    "Remark",
    "read_line",
]

UNITS: Final = {
    "g": "g",
    "gram": "g",
    "grams": "g",
    "kg": "kg",
    "mg": "mg",
    "oz": "oz",
    "lb": "lb",
    "lbs": "lb",
    "ml": "ml",
}
"""What a scale may call its unit, in small letters, and the unit meant."""
_FIGURE: Final = re.compile(rb"\d+(?:[.,]\d+|\.)?|\.\d+")
_MOST_SURROUNDINGS: Final = 256
# More digits than a weighing instrument has are noise; and so every sum of two stays exact.
_MOST_DIGITS: Final = 15
_CONTROL: Final = dict.fromkeys((*range(32), 127), " ")
_TOKEN: Final = re.compile(
    r"(?P<number>\d+(?:[.,]\d+|\.)?|\.\d+)"
    r"|(?P<word>[a-z]+)|(?P<sign>[+-])|(?P<mark>[:;=,])|(?P<space> +)|(?P<other>.)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineForm:
    """How the lines of one weighing scale look.

    Parameters
    ----------
    terminators : bytes
        Each of these bytes ends a line; empty lines count for nothing.
    longest : int
        Most bytes of a line; a longer one is cut, counted and skipped to its end.
    unit_if_absent : str or None
        Unit of a line that names none. None: such a line is bad, for a unit that is guessed
        is a weight that is guessed.
    stable_words, unstable_words : frozenset of str
        Words, in small letters, for a reading at rest and for one still moving.
    gross_words, net_words : frozenset of str
        Words for a gross and for a net reading.
    label_words : frozenset of str
        Words that say nothing. Any other word makes a line bad: it may say "tare" or "over".
    """

    terminators: bytes = b"\r\n"
    longest: int = 80
    unit_if_absent: str | None = None
    stable_words: frozenset[str] = frozenset({"stable", "steady", "settled", "rest", "stabil"})
    unstable_words: frozenset[str] = frozenset({"unstable", "unsteady", "moving", "instabil"})
    gross_words: frozenset[str] = frozenset({"gross", "brutto", "bruto", "brut"})
    net_words: frozenset[str] = frozenset({"net", "netto", "neto"})
    label_words: frozenset[str] = frozenset({"weight", "wt", "mass", "reading"})

    def reader(self) -> ReadLine:
        """Return what reads one line of this form, quicker where surroundings come again."""
        known: dict[tuple[bytes, bytes], _Surroundings] = {}
        slow = partial(read_line, form=self)

        def read(raw: bytes) -> Read | None:
            found = _FIGURE.search(raw)
            if found is None:
                return slow(raw)
            start, end = found.span()
            around = raw[:start], raw[end:]
            told = known.get(around)
            if told is not None and end - start <= _MOST_DIGITS:
                digits = told.sign + raw[start:end].decode("ascii").replace(",", ".")
                return RawWeighing(Decimal(digits), told.unit, told.is_stable, told.basis, raw)
            line = slow(raw)
            if type(line) is RawWeighing:
                if len(known) >= _MOST_SURROUNDINGS:
                    known.clear()
                sign = "-" if line.value.is_signed() else ""
                known[around] = _Surroundings(sign, line.unit, line.is_stable, line.basis)
            return line

        return read


DEFAULT: Final = LineForm()


class _Surroundings(NamedTuple):
    """What stands around the number of a line says, whatever the number."""

    sign: str
    unit: str
    is_stable: bool | None
    basis: Literal["gross", "net"] | None


class RawWeighing(NamedTuple):
    """One line of a weighing scale, understood.

    Parameters
    ----------
    value : Decimal
        Exactly what the scale sent, in `unit`.
    unit : str
        ``"g"``, ``"kg"``, ``"mg"``, ``"oz"``, ``"lb"``, or ``"ml"`` where a scale works
        volumes out by itself.
    is_stable : bool or None
        What the line says of rest; None when it says nothing.
    basis : str or None
        ``"gross"`` or ``"net"``; None when the line does not say.
    raw : bytes
        The line without its terminator.
    """

    value: Decimal
    unit: str
    is_stable: bool | None
    basis: Literal["gross", "net"] | None
    raw: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class BadLine:
    """A line that is no weighing, with its bytes and the reason."""

    raw: bytes
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """A line that was understood and is no reading of the load.

    Parameters
    ----------
    raw : bytes
        The line.
    says : str
        ``"over"`` or ``"under"``: the load is beyond the range of the scale. ``"tare"``: the
        line gives what was zeroed away. ``"aside"``: words that say nothing of a weight.
    """

    raw: bytes
    says: Literal["over", "under", "tare", "aside"]


Read: TypeAlias = RawWeighing | Remark | BadLine
ReadLine: TypeAlias = Callable[[bytes], Read | None]


class Form(Protocol):
    """How the lines of a scale look, whoever said so."""

    @property
    def terminators(self) -> bytes:
        """Return the bytes that each end a line."""
        ...

    @property
    def longest(self) -> int:
        """Return the most bytes of a line."""
        ...

    def reader(self) -> ReadLine:
        """Return what reads one line without its terminator; None where it holds nothing."""
        ...


class LineReader:
    """Cut what arrives into lines and read them; any cut of the bytes gives the same.

    Parameters
    ----------
    form : LineForm
        How the lines look.
    """

    def __init__(self, form: Form = DEFAULT) -> None:
        self._longest = form.longest
        self._read = form.reader()
        self._ends = re.compile(b"[" + re.escape(form.terminators) + b"]+")
        self._partial = bytearray()
        self._is_skipping = False
        self._bad_count = 0

    @property
    def bad_count(self) -> int:
        """How many bad lines there were since the beginning."""
        return self._bad_count

    @property
    def has_partial(self) -> bool:
        """True when a line has begun and its end has not come."""
        return bool(self._partial)

    def restart(self, *, is_mid_line: bool) -> None:
        """Forget the line that has begun; the bytes between were lost.

        Parameters
        ----------
        is_mid_line : bool
            True when what comes next may be the rest of a line: it is then dropped up to the
            next terminator, because the tail of a weight looks like a smaller weight.
        """
        self._partial.clear()
        self._is_skipping = is_mid_line

    def feed(self, data: bytes) -> list[Read]:
        """Take what arrived and return the lines that it completes.

        Parameters
        ----------
        data : bytes
            Any piece of the stream, also an empty one.

        Returns
        -------
        list of RawWeighing, Remark or BadLine
            In the order of the line; a bad line is a value, never an error.
        """
        found: list[Read] = []
        first, *others = self._ends.split(data)
        self._keep(first, found)
        if others:
            rest = others.pop()
            self._end(found)
            for piece in others:
                self._whole(piece, found)
            self._keep(rest, found)
        return found

    def _end(self, found: list[Read]) -> None:
        """Take the line that has begun: its end has come."""
        begun = bytes(self._partial)
        self.restart(is_mid_line=False)
        if begun:
            self._whole(begun, found)

    def _whole(self, piece: bytes, found: list[Read]) -> None:
        """Read a line that is all there."""
        if len(piece) > self._longest:
            found.append(self._too_long(piece))
            return
        line = self._read(piece)
        if line is not None:
            found.append(line)
            if type(line) is BadLine:
                self._bad_count += 1

    def _keep(self, piece: bytes, found: list[Read]) -> None:
        """Add a piece to the line that has begun, as far as a line may go."""
        if self._is_skipping:
            return
        room = self._longest - len(self._partial)
        self._partial += piece[: room + 1]
        if len(piece) > room:
            found.append(self._too_long(bytes(self._partial)))
            self.restart(is_mid_line=True)

    def _too_long(self, begun: bytes) -> BadLine:
        """Return a line that has gone on for too long, cut."""
        self._bad_count += 1
        why = f"The line is longer than {self._longest} bytes."
        return BadLine(raw=begun[: self._longest], why=why)


def read_line(raw: bytes, form: LineForm = DEFAULT) -> RawWeighing | BadLine | None:
    """Read one line without its terminator.

    Parameters
    ----------
    raw : bytes
        The line.
    form : LineForm
        How lines look.

    Returns
    -------
    RawWeighing, BadLine or None
        None when there is nothing on the line but blanks.
    """
    if not raw.isascii():
        return BadLine(raw=raw, why="The line holds bytes that are not plain text.")
    text = raw.decode("ascii").translate(_CONTROL).lower()
    if not text.strip():
        return None
    parts = _Parts(form)
    for token in _TOKEN.finditer(text):
        why = parts.take(str(token.lastgroup), token.group())
        if why:
            return BadLine(raw=raw, why=why)
    return parts.weighing(raw)


class _Parts:
    """What was understood of one line so far."""

    __slots__ = ("_basis", "_form", "_is_stable", "_last", "_sign", "_unit", "_value")

    def __init__(self, form: LineForm) -> None:
        self._form = form
        self._value: Decimal | None = None
        self._unit: str | None = None
        self._sign = ""
        self._is_stable: bool | None = None
        self._basis: Literal["gross", "net"] | None = None
        self._last = ""

    def take(self, kind: str, text: str) -> str:
        """Take one token; return why the line is bad, or nothing."""
        if kind == "space":
            return ""
        why = ""
        if self._last == "sign" and kind != "number":
            why = "A sign stands without a number."
        elif kind == "number":
            why = self._take_number(text)
        elif kind == "word":
            why = self._take_word(text)
        elif kind == "sign":
            why = self._take_sign(text)
        elif kind == "other":
            why = f"{text!r} is not known."
        self._last = kind
        return why

    def weighing(self, raw: bytes) -> RawWeighing | BadLine:
        """Return the weighing, if the line holds all of one."""
        if self._value is None:
            return BadLine(raw=raw, why="The line holds no number.")
        unit = self._unit or self._form.unit_if_absent
        if unit is None:
            return BadLine(raw=raw, why="The line names no unit.")
        return RawWeighing(self._value, unit, self._is_stable, self._basis, raw)

    def _take_number(self, text: str) -> str:
        """Take the one number of the line."""
        if self._value is not None:
            return "The line holds more than one number."
        if len(text) > _MOST_DIGITS:
            return f"The number has more than {_MOST_DIGITS} digits."
        self._value = Decimal(self._sign + text.replace(",", "."))
        return ""

    def _take_sign(self, text: str) -> str:
        """Take a sign, which must stand before the number."""
        if self._value is not None:
            return "A sign stands behind the number."
        self._sign = text
        return ""

    def _take_word(self, word: str) -> str:
        """Take a word: the unit behind the number, or one of those the form knows."""
        form = self._form
        if word in UNITS:
            if self._last != "number":
                return "The unit does not stand behind the number."
            self._unit = UNITS[word]
        elif word in form.stable_words | form.unstable_words:
            is_stable = word in form.stable_words
            if self._is_stable not in {None, is_stable}:
                return "The line says both at rest and moving."
            self._is_stable = is_stable
        elif word in form.gross_words | form.net_words:
            basis: Literal["gross", "net"] = "gross" if word in form.gross_words else "net"
            if self._basis not in {None, basis}:
                return "The line says both gross and net."
            self._basis = basis
        elif word not in form.label_words:
            return f"The word {word!r} is not known."
        return ""
