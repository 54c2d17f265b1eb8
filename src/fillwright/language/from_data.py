"""Gathers the texts of the knowledge and of the scripts of the pages.

Of the knowledge every text is taken that has several words or a capital, but sources and keys;
of a script every text that is handed to its function ``inWords``.
"""

from __future__ import annotations

import ast
import re
import tomllib
from typing import Final

from fillwright.language.gathered import Gathered, is_text, is_word

__all__ = ["gather_knowledge", "gather_script"]

_NOT_SHOWN: Final = frozenset({
    "source", "basis", "status", "kind", "id", "key", "model",
    "motion_causes", "confirm", "findings", "implies_absent", "needs",
    "checks", "classes", "suspects", "undoes", "proof", "group", "size", "direction",
})  # fmt: skip
_WORDS: Final = re.compile(r"\binWords\(\s*(\"(?:[^\"\\]|\\.)*\"|'(?:[^'\\]|\\.)*')", re.DOTALL)


def gather_knowledge(source: str, place: str, into: Gathered) -> None:
    """Gather the texts of a file of the knowledge."""
    lines = source.splitlines()
    for text in _texts(tomllib.loads(source), ""):
        start = text[:30]
        line = next((n for n, words in enumerate(lines, start=1) if start in words), 1)
        into.add(text, f"{place}:{line}")


def _texts(data: object, key: str) -> list[str]:
    """Return the texts of a table, in order."""
    if isinstance(data, str):
        shown = key not in _NOT_SHOWN and (
            is_text(data) or (key in {"name", "says", "part", "word"} and is_word(data))
        )
        return [data] if shown else []
    if isinstance(data, dict):
        return [text for name, value in data.items() for text in _texts(value, name)]
    if isinstance(data, list):
        return [text for value in data for text in _texts(value, key)]
    return []


def gather_script(source: str, place: str, into: Gathered) -> None:
    """Gather the texts of a script."""
    for found in _WORDS.finditer(source):
        line = source.count("\n", 0, found.start()) + 1
        into.add(str(ast.literal_eval(found[1])), f"{place}:{line}", is_whole=True)
