"""The blocks that a paper is made of; the template draws each kind in one way.

A block is plain data for the template: every text in it is text, none is markup.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final, TypeAlias

from fillwright.language import PLAIN, Way, page
from fillwright.language.charted import chart_in_us, named_in_us
from fillwright.language.measures import US
from fillwright.records.charts import Chart
from fillwright.report.charts import describe, draw
from fillwright.report.marks import mark

__all__ = [
    "Block",
    "Line",
    "Pictures",
    "facts",
    "formula",
    "head",
    "lines",
    "notes",
    "pair",
    "para",
    "rows",
    "title",
    "verdict",
]

Block: TypeAlias = dict[str, object]
Line: TypeAlias = dict[str, str | bool]
# Lines of a list that stay together: one engraved tick of ten in each column.
_TOGETHER: Final = 10


class Pictures:
    """The drawings of a paper by file name, and the words in them as they were given."""

    def __init__(self, way: Way = PLAIN) -> None:
        self._way = way
        self.files: dict[str, bytes] = {}
        self.words = ""

    def chart(self, spec: Chart | None, caption: str) -> list[Block]:
        """Return a block with a chart, or nothing where there is none."""
        if spec is None:
            return []
        name = f"chart-{len(self.files)}.svg"
        drawn, words, told = self._drawn(spec)
        self.files[name] = page(drawn, self._way).encode("utf-8")
        self.words += page(words, self._way)
        return [{"kind": "picture", "file": name, "alt": told, "caption": caption}]

    def _drawn(self, spec: Chart) -> tuple[str, str, str]:
        """Return a chart for paper, with its letters as given, and in words."""
        if self._way.measures == US:
            spec = chart_in_us(spec)
            drawn = (draw(spec, for_print=True), draw(spec, for_print=False), describe(spec))
            return tuple(map(named_in_us, drawn))  # type: ignore[return-value]
        return draw(spec, for_print=True), draw(spec, for_print=False), describe(spec)

    def mark(self, name: str) -> str:
        """Return the file of a mark."""
        file = f"mark-{name}.svg"
        self.files[file] = mark(name, for_print=True).encode("utf-8")
        return file


def title(words: str, below: Sequence[str]) -> Block:
    """Return the title with the lines below it."""
    return {"kind": "title", "text": words, "below": list(below)}


def verdict(mark_file: str, words: str, below: Iterable[str], *, strong: Iterable[str]) -> Block:
    """Return the verdict in its frame; `strong` lines are what must not be overlooked."""
    return {
        "kind": "verdict",
        "mark": mark_file,
        "text": words,
        "below": [line for line in below if line],
        "strong": [line for line in strong if line],
    }


def head(words: str) -> Block:
    """Return a heading; it stays with what follows."""
    return {"kind": "head", "text": words}


def para(words: str, *, stays: bool = False) -> list[Block]:
    """Return a paragraph, or nothing for no words; one that `stays` is never left behind."""
    return [{"kind": "para", "text": words, "stays": stays}] if words else []


def notes(items: Iterable[str]) -> list[Block]:
    """Return sentences as a list, or nothing."""
    kept = [item for item in items if item]
    return [{"kind": "notes", "items": kept}] if kept else []


def formula(steps: Iterable[str]) -> Block:
    """Return a calculation, a step a line."""
    return {"kind": "formula", "steps": list(steps)}


def facts(pairs: Iterable[tuple[str, str]]) -> Block:
    """Return names with what they are; those without words are left out."""
    return {"kind": "facts", "pairs": [[name, words] for name, words in pairs if words]}


def pair(left: list[Block], right: list[Block]) -> Block:
    """Return two columns side by side."""
    return {"kind": "pair", "left": left, "right": right}


def rows(
    heads: Sequence[str],
    cells: Iterable[Sequence[str]],
    *,
    widths: Sequence[float],
    right: Sequence[int] = (),
) -> Block:
    """Return a table; `widths` are shares, `right` the columns of figures."""
    return {
        "kind": "table",
        "head": list(heads),
        "rows": [list(row) for row in cells],
        "widths": list(widths),
        "right": list(right),
    }


def lines(items: Sequence[Line], *, columns: int, unit: str = "") -> list[Block]:
    """Return a long list as text in columns, ten of a column kept together.

    Columns are read downwards, group after group; a group never crosses a page. `unit` is that
    of figures that stand bare in the lines, which their heading tells.
    """
    group = columns * _TOGETHER
    found: list[Block] = []
    for start in range(0, len(items), group):
        part = items[start : start + group]
        high = -(-len(part) // columns)
        cut = [list(part[at : at + high]) for at in range(0, len(part), high)]
        found.append({"kind": "lines", "columns": cut, "count": columns, "unit": unit})
    return found
