"""Bytes of a weighing scale in, weighings out.

Nothing here opens anything or knows the time. A line is a weighing only when every part of
it was understood; all else is a `BadLine` that keeps its bytes, and noise never raises.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

__all__ = ["DEFAULT", "BadLine", "LineForm", "LineReader", "RawWeighing", "read_line"]

_UNITS: Final = {
    "g": "g",
    "gram": "g",
    "grams": "g",
    "kg": "kg",
    "mg": "mg",
    "oz": "oz",
    "lb": "lb",
    "lbs": "lb",
}
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


DEFAULT: Final = LineForm()


@dataclass(frozen=True, slots=True, kw_only=True)
class RawWeighing:
    """One line of a weighing scale, understood.

    Parameters
    ----------
    value : Decimal
        Exactly what the scale sent, in `unit`.
    unit : str
        ``"g"``, ``"kg"``, ``"mg"``, ``"oz"`` or ``"lb"``.
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


class LineReader:
    """Cut what arrives into lines and read them; any cut of the bytes gives the same.

    Parameters
    ----------
    form : LineForm
        How the lines look.
    """

    def __init__(self, form: LineForm = DEFAULT) -> None:
        self._form = form
        self._ends = re.compile(b"[" + re.escape(form.terminators) + b"]")
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

    def feed(self, data: bytes) -> list[RawWeighing | BadLine]:
        """Take what arrived and return the lines that it completes.

        Parameters
        ----------
        data : bytes
            Any piece of the stream, also an empty one.

        Returns
        -------
        list of RawWeighing or BadLine
            In the order of the line; a bad line is a value, never an error.
        """
        found: list[RawWeighing | BadLine] = []
        *ended, rest = self._ends.split(data)
        for piece in ended:
            self._keep(piece, found)
            if self._partial:
                line = read_line(bytes(self._partial), self._form)
                if line is not None:
                    found.append(line)
            self.restart(is_mid_line=False)
        self._keep(rest, found)
        self._bad_count += sum(isinstance(line, BadLine) for line in found)
        return found

    def _keep(self, piece: bytes, found: list[RawWeighing | BadLine]) -> None:
        """Add a piece to the line that has begun, as far as a line may go."""
        if self._is_skipping:
            return
        room = self._form.longest - len(self._partial)
        self._partial += piece[:room]
        if len(piece) > room:
            why = f"The line is longer than {self._form.longest} bytes."
            found.append(BadLine(raw=bytes(self._partial), why=why))
            self.restart(is_mid_line=True)


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
        return RawWeighing(
            value=self._value, unit=unit, is_stable=self._is_stable, basis=self._basis, raw=raw
        )

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
        if word in _UNITS:
            if self._last != "number":
                return "The unit does not stand behind the number."
            self._unit = _UNITS[word]
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
