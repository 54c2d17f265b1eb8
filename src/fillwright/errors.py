"""The tree of errors; every folder may raise from it.

FillwrightError
  BadInput, OutsideModel, KnowledgeError (an input, an equation's range, a data file)
  JournalError: Conflict, BrokenChain, StoreFull
  LineError: PortGone, SilentScale
  PrintFailed, of `report`: a paper could not be made
"""

from __future__ import annotations

from typing import Any, Final

__all__ = [
    "CODES",
    "BadInput",
    "BrokenChain",
    "Conflict",
    "FillwrightError",
    "JournalError",
    "KnowledgeError",
    "LineError",
    "OutsideModel",
    "PortGone",
    "SilentScale",
    "StoreFull",
]

CODES: Final = (
    "missing",
    "unknown-field",
    "type",
    "range",
    "unit",
    "choice",
    "not-finite",
    "inconsistent",
    "outside-model",
    "not-available",
)


class FillwrightError(Exception):
    """The root: anything that Fillwright raises on purpose, with one clear sentence."""


class BadInput(FillwrightError):
    """Something given cannot be used; says which field, what was given, what is allowed.

    Parameters
    ----------
    message : str
        One sentence for the person: what is wrong and what to do.
    field : str
        Name of the field, or the place in a file (file, row, column).
    given : object
        What was given, as the person would recognise it.
    allowed : str
        What would do.
    code : str
        One of ``CODES``.
    """

    def __init__(
        self,
        message: str,
        *,
        field: str = "",
        given: object = None,
        allowed: str = "",
        code: str = "range",
    ) -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        self.given = given
        self.allowed = allowed
        self.code = code

    def as_dict(self) -> dict[str, dict[str, str | None]]:
        """Return the error in the form that every way of asking gives."""
        given = None if self.given is None else str(self.given)
        return {
            "error": {
                "code": self.code,
                "field": self.field,
                "given": given,
                "allowed": self.allowed,
                "message": self.message,
            }
        }


class OutsideModel(BadInput):
    """An equation was asked beyond its range; says which equation and what range."""

    def __init__(self, message: str, *, field: str, given: object, allowed: str) -> None:
        super().__init__(message, field=field, given=given, allowed=allowed, code="outside-model")


class KnowledgeError(FillwrightError):
    """A data file cannot be used; the message names the file and the row."""


class JournalError(FillwrightError):
    """The journal could not do what was asked; nothing was half-written."""


class Conflict(JournalError):
    """Somebody else changed the job first, or an id was used again for something else.

    Parameters
    ----------
    message : str
        One sentence for the person.
    since : tuple
        The stored entries that the sender had not seen, in order.
    """

    def __init__(self, message: str, *, since: tuple[Any, ...] = ()) -> None:
        super().__init__(message)
        self.since = since


class BrokenChain(JournalError):
    """An entry was changed, removed or reordered; the message names it."""


class StoreFull(JournalError):
    """The entry was not kept: the disk is full or cannot be written."""


class LineError(FillwrightError):
    """The line to a weighing scale failed."""


class PortGone(LineError):
    """The port is not there any more."""


class SilentScale(LineError):
    """The weighing scale sends nothing."""
