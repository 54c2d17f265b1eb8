"""Check characters at the end of a line: how they are worked out, and which one a scale uses.

The sums are the plain ones of serial lines (longitudinal redundancy as in ISO 1155, from memory,
and sums of the bytes): common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from operator import xor
from typing import Final, Literal

__all__ = ["CheckRule", "find_check"]

Kind = Literal["xor", "sum", "negative-sum"]
Written = Literal["byte", "hex"]
_KINDS: Final[tuple[Kind, ...]] = ("xor", "sum", "negative-sum")
_WRITTEN: Final[tuple[Written, ...]] = ("hex", "byte")
_ENOUGH: Final = 8
_BYTE: Final = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRule:
    """How the last characters of a line follow from those before them.

    Parameters
    ----------
    kind : str
        ``"xor"``: all bytes by exclusive or. ``"sum"``: their sum. ``"negative-sum"``: what the
        sum lacks to a multiple of 256.
    written : str
        ``"hex"``: two hexadecimal digits. ``"byte"``: one byte of that value.
    skip : int
        So many bytes at the beginning of the line do not count.
    """

    kind: Kind
    written: Written
    skip: int = 0

    @property
    def length(self) -> int:
        """Return how many characters the check takes."""
        return 2 if self.written == "hex" else 1

    def holds(self, raw: bytes) -> bool:
        """Return True when the last characters of a line follow from the others."""
        body, told = raw[self.skip : -self.length], raw[-self.length :]
        number = self._number(body)
        return told.upper() == b"%02X" % number if self.written == "hex" else told[0] == number

    def body(self, raw: bytes) -> bytes:
        """Return a line without its check."""
        return raw[: -self.length]

    def _number(self, body: bytes) -> int:
        """Return what the check must be."""
        if self.kind == "xor":
            return reduce(xor, body, 0)
        total = sum(body)
        return (total if self.kind == "sum" else -total) % _BYTE


def find_check(lines: Sequence[bytes]) -> CheckRule | None:
    """Return the rule by which every line ends in a check, or None where there is none.

    Parameters
    ----------
    lines : sequence of bytes
        Lines that were seen, without their terminators.

    Returns
    -------
    CheckRule or None
        One that holds for all of at least eight lines that differ, and whose check is not the
        same on all of them. A wrong rule agrees with eight by chance once in 256 to the eighth.
    """
    seen = {line for line in lines if line}
    if len(seen) < _ENOUGH:
        return None
    for written in _WRITTEN:
        for kind in _KINDS:
            for skip in (0, 1):
                rule = CheckRule(kind=kind, written=written, skip=skip)
                whole = [line for line in seen if len(line) > rule.length + skip]
                ends = {line[-rule.length :] for line in whole}
                if len(whole) == len(seen) and len(ends) > 1 and all(map(rule.holds, whole)):
                    return rule
    return None
