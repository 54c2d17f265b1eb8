"""An answer as Python shows it: a dict that prints in lines, a table in a notebook."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from enum import Enum
from html import escape
from typing import Any, Final

__all__ = ["Answer", "as_table"]

_FIRST: Final = ("verdict", "because")
_LAST: Final = ("assumptions", "sources", "version")
_MOST: Final = 8
"""So many items of a list are shown; the dict holds all."""


class Answer(dict[str, Any]):
    """A dict of results by name; `print` shows it in lines, a notebook as a table."""

    def __str__(self) -> str:
        """Return the results in lines, what was found first and what it rests on last."""
        rows = self.rows()
        wide = max((len(name) for name, _ in rows), default=0)
        return "\n".join(f"{name:<{wide}}  {words}".rstrip() for name, words in rows)

    def _repr_html_(self) -> str:
        """Return the results as a table, for a notebook."""
        cells = "".join(
            f'<tr><th scope="row" style="text-align:start">{escape(name)}</th>'
            f'<td style="text-align:start">{escape(words)}</td></tr>'
            for name, words in self.rows()
        )
        return f"<table>{cells}</table>"

    def rows(self) -> list[tuple[str, str]]:
        """Return name and words of each result, in the order in which they are shown."""
        first = [name for name in _FIRST if name in self]
        last = [name for name in _LAST if name in self]
        middle = [name for name in self if name not in (*_FIRST, *_LAST)]
        return [(name, _words(self[name])) for name in (*first, *middle, *last)]

    def to_dict(self) -> dict[str, Any]:
        """Return the results as a plain dict."""
        return dict(self)


def as_table(result: object) -> Answer:
    """Return any result of the science as a dict that prints well.

    Parameters
    ----------
    result : object
        A dataclass, such as the functions of ``fillwright.science`` return, or a mapping.

    Returns
    -------
    Answer
        By field name; results inside it as dicts, arrays as lists, words for enums.

    Raises
    ------
    TypeError
        If it is neither.
    """
    if dataclasses.is_dataclass(result) and not isinstance(result, type):
        fields = [field.name for field in dataclasses.fields(result)]
        return Answer((name, _plain(getattr(result, name))) for name in fields)
    if isinstance(result, Mapping):
        return Answer((str(name), _plain(value)) for name, value in result.items())
    message = f"as_table takes a result or a dict, not {type(result).__name__}."
    raise TypeError(message)


def _plain(value: object) -> object:
    """Return a value as plain Python."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping) or (
        dataclasses.is_dataclass(value) and not isinstance(value, type)
    ):
        return as_table(value).to_dict()
    if isinstance(value, list | tuple | set | frozenset):
        return [_plain(item) for item in value]
    # Arrays and their scalars turn themselves into plain Python.
    listed = getattr(value, "tolist", None)
    return listed() if callable(listed) else value


def _words(value: object) -> str:
    """Return a value in words, long lists shortened."""
    if value is None:
        return "not applicable"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Mapping):
        return "; ".join(f"{name}: {_words(item)}" for name, item in value.items())
    if isinstance(value, list | tuple):
        shown = [_words(item) for item in value[:_MOST]]
        more = [f"and {len(value) - _MOST} more"] if len(value) > _MOST else []
        between = ", "
        if value and all(isinstance(item, str) for item in value):
            between = " " if all(str(item).endswith(".") for item in value) else "; "
        return between.join([*shown, *more])
    return str(value)
