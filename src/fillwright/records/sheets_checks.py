"""The checks by number, as the back of the job card shows them."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CheckLine", "CheckPlace", "CheckRow"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """What to look at first for a sign, with the numbers of its checks."""

    numbers: tuple[int, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """A check in one short line.

    Parameters
    ----------
    number : int
        As it is said over the phone.
    words : str
        What to look at, as a question.
    marks : tuple of str
        State of the machine that it wants: ``vented``, ``moving`` or ``standing``; two where
        it is got ready in one and done in the other.
    first : tuple of str
        What else has to be done before it, each in a few words.
    """

    number: int
    words: str
    marks: tuple[str, ...]
    first: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPlace:
    """The checks of one place at the machine, in the order of their numbers."""

    name: str
    checks: tuple[CheckRow, ...]
