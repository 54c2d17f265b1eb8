"""A small drawing board for SVG: escaped text, two palettes, marks of the house.

In the page every colour is a custom property of the style sheet, so that day, night and glare
work; on paper it is a literal value. No style attributes, no scripts; an id only where a part
of a drawing stays the same while the rest goes on, so that a page can keep it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html import escape
from typing import Final, Literal

from fillwright.report.letters import printable

__all__ = ["PAGE", "PRINT", "Board", "Palette", "num", "plain"]

Tone = Literal[
    "ink", "ink_2", "line", "hair", "hand", "hand_tint", "on", "on_tint", "warn", "warn_tint",
    "stop", "wait", "sheet", "steel", "sunk", "none",
]  # fmt: skip
Anchor = Literal["start", "middle", "end"]
# Widest mean advance of the faces we meet, as a share of the size; labels keep clear by it.
_ADVANCE: Final = 0.63
_BASELINE: Final = 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Values for the tones; the same names as in the style sheet."""

    face: str
    ink: str
    ink_2: str
    line: str
    hair: str
    hand: str
    hand_tint: str
    on: str
    on_tint: str
    warn: str
    warn_tint: str
    stop: str
    wait: str
    sheet: str
    steel: str
    sunk: str
    none: str = "none"


PAGE: Final = Palette(
    face="var(--face)",
    ink="var(--ink)",
    ink_2="var(--ink-2)",
    line="var(--line)",
    hair="var(--hair)",
    hand="var(--hand)",
    hand_tint="var(--hand-tint)",
    on="var(--on)",
    on_tint="var(--on-tint)",
    warn="var(--warn)",
    warn_tint="var(--warn-tint)",
    stop="var(--stop)",
    wait="var(--wait)",
    sheet="var(--sheet)",
    steel="var(--steel)",
    sunk="var(--sunk)",
)
PRINT: Final = Palette(
    face="DejaVu Sans",
    ink="#000",
    ink_2="#222",
    line="#444",
    hair="#888",
    hand="#000",
    hand_tint="#fff",
    on="#000",
    on_tint="#f1f1f1",
    warn="#000",
    warn_tint="#fff",
    stop="#000",
    wait="#000",
    sheet="#fff",
    steel="#e6e6e6",
    sunk="#f1f1f1",
)


def num(value: float) -> str:
    """Return a coordinate with at most one digit after the point."""
    text = f"{value:.1f}"
    return text.removesuffix(".0")


def plain(value: object, decimals: int) -> str:
    """Return a figure with so many digits after the point and a true minus sign."""
    return f"{float(str(value)):.{decimals}f}".replace("-", "\u2212")


@dataclass(slots=True)
class Board:
    """A drawing in the making.

    Parameters
    ----------
    width, height : float
        Size of the drawing in its own units.
    for_print : bool
        Whether it goes to paper.
    size : float
        Size of ordinary text.
    parts : list of str
        What is drawn so far.
    has_parts : bool
        Whether some of it is gathered into parts that a page can keep.
    """

    width: float
    height: float
    for_print: bool
    size: float
    parts: list[str] = field(default_factory=list)
    has_parts: bool = False

    def tone(self, tone: Tone) -> str:
        """Return the value of a tone for page or paper."""
        value: str = getattr(PRINT if self.for_print else PAGE, tone)
        return value

    def path(
        self,
        data: str,
        *,
        stroke: Tone = "ink",
        fill: Tone = "none",
        width: float = 2,
        dash: str = "",
        is_round: bool = False,
        name: str = "",
    ) -> None:
        """Draw a path; an empty one draws nothing, but for one with a name that a page keeps."""
        name = self._own(name, "own")
        if not data and not name:
            return
        more = f' stroke-dasharray="{dash}"' if dash else ""
        more += ' stroke-linecap="round"' if is_round else ""
        line = (
            ""
            if stroke == "none"
            else f' stroke="{self.tone(stroke)}" stroke-width="{num(width)}"'
        )
        self.parts.append(f'<path{name} d="{data}" fill="{self.tone(fill)}"{line}{more}/>')

    def dots(self, places: Iterable[tuple[float, float]], *, size: float, tone: Tone) -> None:
        """Draw round dots, all in one path."""
        # Not of no length at all: the printer leaves out a path that has no extent.
        data = "".join(f"M{num(x)} {num(y)}h.01" for x, y in places)
        self.path(data, stroke=tone, width=size, is_round=True)

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        tone: Tone = "ink",
        anchor: Anchor = "start",
        is_bold: bool = False,
        size: float | None = None,
        has_ground: bool = False,
        name: str = "",
    ) -> None:
        """Write words with their middle at `y`; `has_ground` clears what lies behind them.

        A page keeps those with a name while they stand in the same place.
        """
        size = size or self.size
        shown = printable(words, may_break=False) if self.for_print else words
        if has_ground:
            wide = self.wide(shown, size)
            left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
            self.path(
                chamfered(left - 3, y - size * 0.6, wide + 6, size * 1.2, 0),
                stroke="none",
                fill="sheet",
            )
        ink = tone.replace("_", "-")
        more = ' font-weight="700"' if is_bold else ""
        more += "" if anchor == "start" else f' text-anchor="{anchor}"'
        self.parts.append(
            f'<text{self._own(name, "text")} x="{num(x)}" y="{num(y + size * _BASELINE)}"'
            f' class="{ink}" fill="{self.tone(tone)}" font-size="{num(size)}"{more}>'
            f"{escape(shown)}</text>"
        )

    def wide(self, words: str, size: float | None = None) -> float:
        """Return the room that words may take, on the safe side."""
        return len(words) * (size or self.size) * _ADVANCE

    def place(self, inner: str, x: float, y: float, size: float) -> None:
        """Draw a mark of 100 by 100 units with its middle at a place."""
        self.parts.append(
            f'<g transform="translate({num(x - size / 2)} {num(y - size / 2)})'
            f' scale({size / 100:.4f})">{inner}</g>'
        )

    def _own(self, name: str, kind: str) -> str:
        """Return the attributes of an element that is a part of its own, for a page."""
        if not name or self.for_print:
            return ""
        self.has_parts = True
        return f' id="{name}-{num(self.width)}" data-{kind}=""'

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """Gather what is drawn meanwhile, be it nothing, into a part that a page can keep."""
        before = len(self.parts)
        yield
        inside = "".join(self.parts[before:])
        if not self.for_print:
            self.parts[before:] = [f"<g{self._own(name, 'part')}>{inside}</g>"]

    def finish(self, name: str, kind: str) -> str:
        """Return the SVG; `name` is the sentence that says what it shows."""
        if self.for_print:
            name = printable(name, may_break=False)
        own = f' id="{kind}-{num(self.width)}" data-own=""' if self.has_parts else ""
        weight = "" if self.for_print else ' font-weight="600"'
        size = f' width="{num(self.width)}" height="{num(self.height)}"' if self.for_print else ""
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg"{own} class="draw chart {kind}" role="img"'
            f' aria-label="{escape(name)}" viewBox="0 0 {num(self.width)} {num(self.height)}"'
            f'{size} font-family="{self.tone_face()}"{weight} direction="ltr">'
            + "".join(self.parts)
            + "</svg>"
        )

    def tone_face(self) -> str:
        """Return the family of the letters."""
        return PRINT.face if self.for_print else PAGE.face


def chamfered(x: float, y: float, wide: float, high: float, cut: float) -> str:
    """Return the path of a box whose end-top corner is broken like that of a machined part."""
    return (
        f"M{num(x)} {num(y)}H{num(x + wide - cut)}L{num(x + wide)} {num(y + cut)}"
        f"V{num(y + high)}H{num(x)}Z"
    )
