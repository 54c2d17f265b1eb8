"""Draw the pictures of the explanation pages: ``python docs/make_pictures.py``.

Every dose in them is invented, drawn by chance from a fixed seed; every limit is computed.
"""

# ruff: noqa: INP001  the folder of pages is no package

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np

from fillwright.report.svg import Board, chamfered, num
from fillwright.science.tolerance import tolerance_factor

__all__ = ["FOLDER", "PICTURES"]

FOLDER: Final = Path(__file__).parent / "shots"
_WIDE: Final = 720
_SIZE: Final = 15
_LIMIT: Final = 5.0
"""Of the running sums; with k 0.5 one false alarm in 465."""


def _board(high: float) -> Board:
    """Return an empty white board."""
    board = Board(width=_WIDE, height=high, for_print=True, size=_SIZE)
    board.path(chamfered(0, 0, _WIDE, high, 0), stroke="none", fill="sheet")
    return board


def four_readings() -> str:
    """Draw twenty sets of four doses of one machine, with what each set can promise."""
    board = _board(420)
    rng = np.random.default_rng(7)
    factor = tolerance_factor(4, content=0.99, confidence=0.95)
    middle, scale = 420.0, 90.0

    def across(percent: float) -> float:
        return min(max(middle + scale * percent, 170.0), 690.0)

    for edge in (-1.0, 1.0):
        board.path(f"M{num(across(edge))} 46V384", stroke="hair", dash="6 4")
        board.text(across(edge), 30, f"{_signed(edge)} %", anchor="middle")
    board.text(across(0.0), 30, "aim", anchor="middle")
    board.path(f"M{num(across(0.0))} 46V384", stroke="hair", width=1)
    for row in range(20):
        y = 58 + 16.6 * row
        doses = rng.normal(0.0, 0.25, 4)
        mean, sd = float(doses.mean()), float(doses.std(ddof=1))
        low, high = across(mean - factor * sd), across(mean + factor * sd)
        board.path(f"M{num(low)} {num(y)}H{num(high)}", stroke="line", width=1.5)
        board.dots([(across(float(dose)), y) for dose in doses], size=6, tone="ink")
        board.text(20, y, f"s {sd:.2f} %", size=13)
    board.text(
        middle, 404, "dots: four doses; line: where 99 in 100 may lie", anchor="middle", size=13
    )
    return board.finish(
        "Twenty times four doses of the same steady machine, whose true spread is 0.25 %. The "
        "four lie close together by luck now and then; what they can promise of the next doses "
        "reaches past plus and minus 1 % nearly every time.",
        "explains",
    )


def slow_creep() -> str:
    """Draw a creep of a fiftieth of a spread a dose: unseen by limits, seen by a running sum."""
    board = _board(430)
    rng = np.random.default_rng(11)
    count, begins = 120, 30
    z = rng.normal(0.0, 1.0, count) + 0.02 * np.maximum(np.arange(count) - begins, 0)
    sums = np.empty(count)
    total = 0.0
    for place, value in enumerate(z):
        total = max(0.0, total + float(value) - 0.5)
        sums[place] = total

    def x_at(place: float) -> float:
        return 90.0 + 5.1 * place

    _band(board, "spreads", 120.0, 26.0, (-3.0, 0.0, 3.0), x_at(0), x_at(count))
    board.dots([(x_at(k), 120.0 - 26.0 * float(v)) for k, v in enumerate(z)], size=5, tone="ink")
    _band(board, "sum", 395.0, 16.0, (0.0, 5.0), x_at(0), x_at(count))
    line = "".join(
        f"{'M' if k == 0 else 'L'}{num(x_at(k))} {num(395.0 - 16.0 * min(float(v), 10.0))}"
        for k, v in enumerate(sums)
    )
    board.path(line, stroke="ink", width=2)
    alarm = int(np.argmax(sums > _LIMIT))
    board.path(f"M{num(x_at(alarm))} 20V410", stroke="line", dash="3 4", width=1.5)
    board.text(x_at(alarm) + 6, 226, f"the sum speaks at dose {alarm + 1}", size=13)
    board.path(f"M{num(x_at(begins))} 20V410", stroke="hair", dash="8 4", width=1.5)
    board.text(x_at(begins) + 6, 16, "the creep begins", size=13)
    return board.finish(
        f"A hundred and twenty invented doses that creep by a fiftieth of a spread each from dose "
        f"{begins + 1} on. None is far outside three spreads when the sum of small deviations "
        f"passes its limit at dose {alarm + 1}.",
        "explains",
    )


def what_the_law_tests() -> str:
    """Draw the contents of a lot against label, T1 and T2."""
    board = _board(300)
    label, shortage, mean, sd = 250.0, 9.0, 252.0, 4.6
    left, right = 226.0, 264.0

    def across(content: float) -> float:
        return 40.0 + (content - left) / (right - left) * 640.0

    grid = np.linspace(left, right, 160)
    curve = 190.0 * np.exp(-0.5 * ((grid - mean) / sd) ** 2)
    line = "".join(
        f"{'M' if k == 0 else 'L'}{num(across(float(g)))} {num(240.0 - float(c))}"
        for k, (g, c) in enumerate(zip(grid, curve, strict=True))
    )
    board.path(line, stroke="ink", width=2.5)
    board.path(f"M40 240H{num(680)}", stroke="line", width=1.5)
    short = grid[grid <= label - shortage]
    tail = "".join(
        f"L{num(across(float(g)))} {num(240.0 - 190.0 * math.exp(-0.5 * ((g - mean) / sd) ** 2))}"
        for g in short
    )
    board.path(f"M{num(across(left))} 240{tail}V240Z", stroke="none", fill="steel")
    for content, words in (
        (label, "label 250"),
        (label - shortage, "T1 241"),
        (label - 2 * shortage, "T2 232"),
    ):
        board.path(f"M{num(across(content))} 40V252", stroke="ink", dash="6 4", width=1.5)
        board.text(across(content), 270, words, anchor="middle")
    board.path(f"M{num(across(mean))} 54V240", stroke="hair", width=1.5)
    board.text(across(mean) + 6, 46, "average of the lot", size=13)
    return board.finish(
        "The contents of a lot as a hill, in millilitres. Its middle must not lie below the "
        "label; few may lie below T1, one tolerable shortage under the label; none, or almost "
        "none, below T2, two under it.",
        "explains",
    )


def from_below() -> str:
    """Draw the dose against the number on the volume scale, turning up and turning down."""
    board = _board(330)
    play = 0.8

    def x_at(mark: float) -> float:
        return 90.0 + (mark - 44.0) * 52.0

    def y_at(dose: float) -> float:
        return 280.0 - (dose - 215.0) * 4.4

    for mark in (46, 48, 50, 52, 54):
        board.path(f"M{num(x_at(mark))} 280v6", stroke="line", width=1.5)
        board.text(x_at(mark), 300, str(mark), anchor="middle")
    board.path("M90 280H650", stroke="line", width=1.5)
    board.path("M90 40V280", stroke="line", width=1.5)
    board.text(20, 24, "dose, g", size=13)
    board.text(370, 320, "volume scale", anchor="middle", size=13)
    up = [(mark, 5.0 * mark) for mark in (44.5, 54.0)]
    down = [(54.0, 270.0), (54.0 - play, 270.0), (44.5, 5.0 * (44.5 + play))]
    for points, dash in ((up, ""), (down, "7 4")):
        path = "".join(
            f"{'M' if k == 0 else 'L'}{num(x_at(m))} {num(y_at(d))}"
            for k, (m, d) in enumerate(points)
        )
        board.path(path, stroke="ink", width=2.5, dash=dash)
    board.path(f"M{num(x_at(50))} 280V{num(y_at(5.0 * (50 + play)))}", stroke="hair", dash="3 4")
    board.dots([(x_at(50), y_at(250.0)), (x_at(50), y_at(5.0 * (50 + play)))], size=9, tone="ink")
    board.text(x_at(50) + 10, y_at(247.6), "come to from below: 250 g", size=13)
    board.text(x_at(50) - 10, y_at(258.0), "from above: 254 g", anchor="end", size=13)
    return board.finish(
        "The same number on the volume scale gives two doses: 250 g come to from below, 254 g "
        "from above, because the wheel turns a little before the stop follows. An invented "
        "machine with 0.8 marks of play and 5 g a mark.",
        "explains",
    )


def _signed(level: float) -> str:
    """Return a level with its sign; nought has none."""
    return f"{level:+.0f}".replace("-", "\u2212") if level else "0"


def _band(
    board: Board,
    words: str,
    zero: float,
    scale: float,
    levels: tuple[float, ...],
    left: float,
    right: float,
) -> None:
    """Draw the levels of one row of a chart, with their figures."""
    for level in levels:
        y = zero - scale * level
        board.path(f"M{num(left)} {num(y)}H{num(right)}", stroke="hair", dash="6 4" * bool(level))
        board.text(left - 8, y, _signed(level), anchor="end", size=13)
    board.text(8, zero - scale * levels[-1] - 22, words, size=13)


PICTURES: Final[dict[str, Callable[[], str]]] = {
    "four-readings.svg": four_readings,
    "slow-creep.svg": slow_creep,
    "what-the-law-tests.svg": what_the_law_tests,
    "from-below.svg": from_below,
}


if __name__ == "__main__":
    for name, drawn in PICTURES.items():
        (FOLDER / name).write_text(drawn() + "\n", encoding="utf-8", newline="\n")
