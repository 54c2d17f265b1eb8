"""Where an entry of a TOML file stands, so that a message can name its line."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["LineBook"]

_HEADER: Final = re.compile(r"^\s*\[+\s*([^\]]+?)\s*\]+")
_KEY: Final = re.compile(r"^\s*([A-Za-z0-9_\"'.-]+)\s*=")


class LineBook:
    """Lines of tables and keys.

    Parameters
    ----------
    text : str
        Content of a TOML file that was read without error.
    """

    def __init__(self, text: str) -> None:
        self._at: dict[tuple[str, ...], int] = {}
        table: tuple[str, ...] = ()
        for number, line in enumerate(text.splitlines(), start=1):
            if header := _HEADER.match(line):
                table = _parts(header[1])
                self._at.setdefault(table, number)
            elif key := _KEY.match(line):
                self._at.setdefault((*table, *_parts(key[1])), number)

    def find(self, *where: str) -> int:
        """Return the line of an entry, or of the nearest table around it, else 1.

        Parameters
        ----------
        *where : str
            Names from the outermost table inwards.

        Returns
        -------
        int
            Line, from 1.
        """
        for length in range(len(where), 0, -1):
            if where[:length] in self._at:
                return self._at[where[:length]]
        return 1


def _parts(name: str) -> tuple[str, ...]:
    """Return the parts of a dotted name."""
    return tuple(part.strip().strip("\"'") for part in name.split("."))
