"""The dose chart: a row of containers in their trays, the weighed ones standing up to their fill.

Ticks and trays are the picture, the band is background. A run longer than the row shows its
last containers in the row and the whole of itself as a thinned line above; the size of the
drawing does not grow with the batch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from fillwright.records.charts import DoseChart, LimitMark, Post
from fillwright.report.marks import shape
from fillwright.report.svg import Anchor, Board, Tone, chamfered, num, plain

__all__ = ["draw_doses", "shown_from"]

_MOST_SHOWN: Final = 200
_COLUMNS: Final = 600
_LEAST_STEP: Final = 3.0
_PLOT_HIGH: Final = 150.0
_WHOLE_HIGH: Final = 46.0
_BEYOND: Final = 0.4
_ROWS_OF_FLAGS: Final = 2
_TENTH: Final = 10
_LEAST_PLACES: Final = 24
_NARROW: Final = 500
_TRAY_HIGH: Final = 38.0
_MARK_SIZE: Final = 17.0
_TONES: Final[dict[str, Tone]] = {
    "low": "warn",
    "high": "warn",
    "short": "stop",
    "far-short": "stop",
    "overfull": "stop",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Where things stand in the drawing."""

    left: float
    right: float
    top: float
    floor: float
    low: float
    high: float
    first: int
    last: int

    @property
    def step(self) -> float:
        """Room of one container."""
        return (self.right - self.left) / max(self.last - self.first + 1, 1)

    def x(self, container: float) -> float:
        """Return the middle of a container's place."""
        return self.left + (container - self.first + 0.5) * self.step

    def y(self, weight: float) -> float:
        """Return the height of a weight, kept inside the drawing."""
        share = (weight - self.low) / (self.high - self.low)
        return self.floor - min(max(share, 0.0), 1.0) * (self.floor - self.top)


def draw_doses(spec: DoseChart, *, for_print: bool, width: float, size: float, name: str) -> str:
    """Return the drawing; `width` and `size` of letters are in its own units."""
    first = shown_from(spec, room=width * 0.86)
    has_whole = first > 1
    low, high = _reach(spec)
    board = Board(width, 0, for_print, size)
    labels = _axis_labels(spec, low, high, is_narrow=width < _NARROW)
    left = max((board.wide(words) for _, words, _ in labels), default=0) + 12
    top = (_WHOLE_HIGH + 1.6 * size if has_whole else 0) + 8
    top += _ROWS_OF_FLAGS * 1.35 * size if spec.posts else 0.4 * size
    frame = _Frame(
        left=left,
        right=width - 6,
        top=top,
        floor=top + _PLOT_HIGH,
        low=low,
        high=high,
        first=first,
        last=_last_place(spec, first),
    )
    if has_whole:
        _whole_run(board, spec, frame)
    _ground(board, spec, frame, labels)
    _trays(board, spec, frame)
    _posts(board, spec, frame)
    _stems_and_marks(board, spec, frame)
    _held(board, spec, frame)
    board.height = frame.floor + _TRAY_HIGH + 10 + 2.9 * size
    return board.finish(name, "dose-chart")


def shown_from(spec: DoseChart, *, room: float) -> int:
    """Return the first container of the row: the start of a tray, at most 200 from the last."""
    most = max(min(_MOST_SHOWN, int(room / _LEAST_STEP)), 1)
    if spec.filled <= most:
        return 1
    first = spec.filled - most + 1
    if 0 < spec.tray_size <= most // 2:
        first += -(first - 1) % spec.tray_size
    return first


def _last_place(spec: DoseChart, first: int) -> int:
    """Return the last place of the row: the tray in hand is drawn whole, a short row has room."""
    last = spec.filled
    if spec.tray_size:
        last += -last % spec.tray_size
    return max(last, first + _LEAST_PLACES - 1)


def _reach(spec: DoseChart) -> tuple[float, float]:
    """Return the weights at the floor and the top: band and T1 always, strays clipped."""
    ends = [float(spec.low_g), float(spec.high_g)]
    ends += [float(limit.limit_g) for limit in spec.limits if limit.name == "T1"]
    low, high = min(ends), max(ends)
    span = (high - low) or max(abs(high), 1.0) * 0.01
    weights = [float(dose.net_g) for dose in spec.doses]
    least = max(min(weights, default=low), low - _BEYOND * span)
    most = min(max(weights, default=high), high + _BEYOND * span)
    return min(low, least) - 0.06 * span, max(high, most) + 0.08 * span


def _axis_labels(
    spec: DoseChart, low: float, high: float, *, is_narrow: bool
) -> list[tuple[float, str, Tone]]:
    """Return weight, words and tone of each label of the axis, the most needed first."""
    limits: list[tuple[float, str, Tone]] = [
        (float(limit.limit_g), f"{limit.name} {plain(limit.limit_g, spec.decimals)}", "stop")
        for limit in sorted(spec.limits, key=lambda limit: limit.name != "T1")
        if not is_narrow or limit.name in ("T1", "T2")
    ]
    band: list[tuple[float, str, Tone]] = [
        (float(spec.high_g), plain(spec.high_g, spec.decimals), "ink"),
        (float(spec.low_g), plain(spec.low_g, spec.decimals), "ink"),
    ]
    word = "" if is_narrow else "aim "
    aim = float(spec.aim_g), word + plain(spec.aim_g, spec.decimals)
    labels: list[tuple[float, str, Tone]] = [*limits[:1], *band, *limits[1:], (*aim, "ink_2")]
    return [label for label in labels if low <= label[0] <= high]


def _ground(
    board: Board, spec: DoseChart, frame: _Frame, labels: list[tuple[float, str, Tone]]
) -> None:
    """Draw band, middle, limits and the labels of the axis that have room."""
    top, bottom, aim = (frame.y(float(w)) for w in (spec.high_g, spec.low_g, spec.aim_g))
    wide = frame.right - frame.left
    board.path(chamfered(frame.left, top, wide, bottom - top, 0), stroke="none", fill="on_tint")
    across = "H" + num(frame.right)
    start = "M" + num(frame.left) + " "
    for y in (top, bottom):
        board.path(f"{start}{num(y)}{across}", stroke="on", width=2)
    board.path(f"{start}{num(aim)}{across}", stroke="ink", width=1, dash="6 5")
    for limit in _limits_in(spec, frame):
        y = frame.y(float(limit.limit_g))
        board.path(f"{start}{num(y)}{across}", stroke="stop", width=2.5, dash="14 6")
    taken: list[float] = []
    for weight, words, tone in labels:
        tries = (frame.y(weight) + shift * board.size for shift in (0, -0.3, 0.3, -0.55, 0.55))
        free = [at for at in tries if all(abs(at - other) >= board.size for other in taken)]
        for at in free[:1]:
            taken.append(at)
            board.text(frame.left - 8, at, words, tone=tone, anchor="end", is_bold=tone == "stop")


def _limits_in(spec: DoseChart, frame: _Frame) -> Iterator[LimitMark]:
    """Yield the limits that stand inside the drawing."""
    for limit in spec.limits:
        if frame.low <= float(limit.limit_g) <= frame.high:
            yield limit


def _trays(board: Board, spec: DoseChart, frame: _Frame) -> None:
    """Draw the row: a tick for each container, a box for each tray, numbers below."""
    floor = frame.floor + _TRAY_HIGH - 6
    long_ticks, ticks = "", ""
    for container in range(frame.first, min(spec.filled, frame.last) + 1):
        at = num(frame.x(container))
        if not spec.tray_size and container % _TENTH == 0:
            long_ticks += f"M{at} {num(floor)}v-26"
        else:
            ticks += f"M{at} {num(floor)}v-18"
    thick = min(2.0, max(frame.step * 0.4, 1.0))
    board.path(ticks, stroke="line", width=thick)
    board.path(long_ticks, stroke="line", width=thick)
    below = floor + 8 + board.size * 0.7
    if not spec.tray_size:
        _numbers_without_trays(board, spec, frame, floor, below)
        return
    boxes = ""
    clear = frame.left - 20
    tray = (frame.first - 1) // spec.tray_size + 1
    while (tray - 1) * spec.tray_size < spec.filled:
        start = (tray - 1) * spec.tray_size + 1
        end = min(tray * spec.tray_size, frame.last)
        x, wide = frame.x(start) - frame.step / 2, (end - start + 1) * frame.step
        gap = min(1.2, wide / 8)
        boxes += chamfered(x + gap, floor - 24, wide - 2 * gap, 29, min(8, wide / 3))
        words = f"tray {tray}" if clear < frame.left else str(tray)
        room = board.wide(words) + 6
        if max(x, clear) + room <= x + max(wide, room) and max(x, clear) + room < frame.right:
            board.text(max(x + gap, clear), below, words, tone="ink_2")
            clear = max(x, clear) + room
        tray += 1
    board.path(boxes, stroke="line", width=1.5)


def _numbers_without_trays(
    board: Board, spec: DoseChart, frame: _Frame, floor: float, below: float
) -> None:
    """Draw a plain floor with the first and the last number."""
    board.path(f"M{num(frame.left)} {num(floor)}H{num(frame.right)}", stroke="line", width=2)
    if not spec.filled:
        return
    board.text(frame.left, below, f"{spec.word} {frame.first}", tone="ink_2")
    if frame.x(spec.filled) > frame.left + board.wide(f"{spec.word} {frame.first} {spec.filled}"):
        x = frame.x(spec.filled)
        board.text(x, below, str(spec.filled), tone="ink_2", anchor="end")


def _stems_and_marks(board: Board, spec: DoseChart, frame: _Frame) -> None:
    """Let each weighed container stand up to its fill, with its mark at the top."""
    floor = frame.floor + _TRAY_HIGH - 6
    shown = [d for d in spec.doses if frame.first <= d.container <= frame.last]
    stems = ""
    ordinary: list[tuple[float, float]] = []
    for dose in shown:
        x, y = frame.x(dose.container), frame.y(float(dose.net_g))
        stems += f"M{num(x)} {num(floor)}V{num(y)}"
        if dose.state == "on":
            ordinary.append((x, y))
    board.path(stems, stroke="ink_2", width=min(1.6, max(frame.step * 0.5, 0.8)))
    board.dots(ordinary, size=8, tone="ink")
    for dose in shown:
        if dose.state != "on":
            inner = shape(dose.state, ink=board.tone(_TONES[dose.state]), cut=board.tone("sheet"))
            weight = float(dose.net_g)
            board.place(inner, frame.x(dose.container), frame.y(weight), _MARK_SIZE)
            if not frame.low <= weight <= frame.high:
                _stray(board, frame, dose.container, plain(dose.net_g, spec.decimals))


def _stray(board: Board, frame: _Frame, container: int, words: str) -> None:
    """Write the weight of a mark that the drawing had to clip."""
    x = frame.x(container)
    is_late = x > (frame.left + frame.right) / 2
    anchor: Anchor = "end" if is_late else "start"
    shift = -_MARK_SIZE * 0.7 if is_late else _MARK_SIZE * 0.7
    board.text(
        x + shift, frame.floor, words, tone="stop", anchor=anchor, is_bold=True, has_ground=True
    )


def _posts(board: Board, spec: DoseChart, frame: _Frame) -> None:
    """Draw a post with its flag after a container; words only where a row has room."""
    size = board.size
    base = frame.top - 8
    rows = [frame.left for _ in range(_ROWS_OF_FLAGS)]
    posts, flags = "", ""
    labels: list[tuple[float, float, str, Anchor]] = []
    for post in sorted(spec.posts, key=lambda post: post.after_container):
        if not frame.first <= post.after_container <= frame.last:
            continue
        x = frame.x(post.after_container) + frame.step / 2
        words = _short(post, most=28)
        room = board.wide(words) + 16
        way = -1 if x + room > frame.right else 1
        start = x - room if way < 0 else x
        row = next((i for i in range(_ROWS_OF_FLAGS) if rows[i] <= start), None)
        # Posts without room for words end below the rows, so that they cross no words.
        y = base + size * 1.1 if row is None else base - row * size * 1.35
        posts += f"M{num(x)} {num(frame.floor + _TRAY_HIGH)}V{num(y - size * 0.5)}"
        flags += f"M{num(x)} {num(y - size * 0.5)}l{8 * way} {num(size * 0.35)}"
        flags += f"l{-8 * way} {num(size * 0.35)}Z"
        if row is not None:
            labels.append((x + 12 * way, y, words, "end" if way < 0 else "start"))
            rows[row] = start + room
    board.path(posts, stroke="ink", width=2)
    board.path(flags, stroke="none", fill="ink")
    for at, y, words, anchor in labels:
        board.text(at, y, words, anchor=anchor, has_ground=True)


def _short(post: Post, *, most: int) -> str:
    """Return the words of a post, cut where they are longer than its flag."""
    words = " ".join(post.words.split()) or post.kind
    return words if len(words) <= most else words[: most - 1].rstrip() + "\u2026"


def _held(board: Board, spec: DoseChart, frame: _Frame) -> None:
    """Draw a bracket under held containers, with the mark and the numbers."""
    y = frame.floor + _TRAY_HIGH + 11 + board.size * 1.05
    below = y + board.size * 0.95
    clear = frame.left
    for span in sorted(spec.held, key=lambda span: span.first):
        first, last = max(span.first, frame.first), min(span.last, frame.last)
        if first > last:
            continue
        x0, x1 = frame.x(first) - frame.step / 2, frame.x(last) + frame.step / 2
        tone: Tone = "ink_2" if span.is_settled else "warn"
        for edge in (x0, x1):
            board.path(f"M{num(edge)} {num(y)}v-8", stroke=tone, width=2.5)
        board.path(f"M{num(x0)} {num(y)}H{num(x1)}", stroke=tone, width=4)
        words = _held_words(span.first, span.last, is_settled=span.is_settled)
        room = board.wide(words) + board.size + 14
        start = max(min(x0, frame.right - room), frame.left)
        if start < clear:
            continue
        if not span.is_settled:
            inner = shape("held", ink=board.tone("warn"), cut=board.tone("sheet"))
            board.place(inner, start + board.size * 0.5, below, board.size * 1.3)
        board.text(start + board.size * 1.4, below, words, tone=tone, is_bold=not span.is_settled)
        clear = start + room


def _held_words(first: int, last: int, *, is_settled: bool) -> str:
    """Return what a bracket says."""
    numbers = str(first) if first == last else f"{first} to {last}"
    return f"{numbers} settled" if is_settled else f"held {numbers}"


def _whole_run(board: Board, spec: DoseChart, frame: _Frame) -> None:
    """Draw the whole run as one line of columns from least to most, and what the row shows."""
    top, high = 1.5 * board.size, _WHOLE_HIGH
    wide = frame.right - frame.left
    columns = min(_COLUMNS, int(wide), spec.filled)

    def y(weight: float) -> float:
        share = (weight - frame.low) / (frame.high - frame.low)
        return top + high - min(max(share, 0.0), 1.0) * high

    def x(container: float) -> float:
        return frame.left + (container - 1) / spec.filled * wide

    y_high, y_low = y(float(spec.high_g)), y(float(spec.low_g))
    board.path(
        chamfered(frame.left, y_high, wide, y_low - y_high, 0), stroke="none", fill="on_tint"
    )
    for limit in spec.limits:
        if limit.name == "T1":
            line = f"M{num(frame.left)} {num(y(float(limit.limit_g)))}H{num(frame.right)}"
            board.path(line, stroke="stop", width=1.5, dash="14 6")
    board.path(_thinned(spec, columns, frame.left, wide, y), stroke="ink", width=1.4)
    held = ""
    for span in spec.held:
        begin = x(span.first)
        held += f"M{num(begin)} {num(top + high + 4)}H{num(max(x(span.last + 1), begin + 2))}"
    board.path(held, stroke="warn", width=4)
    window = chamfered(x(frame.first), top - 3, frame.right - x(frame.first), high + 6, 6)
    board.path(window, stroke="ink", width=2)
    words = f"whole run, {spec.word} 1 to {spec.filled}"
    board.text(frame.left, top - board.size * 0.85, words, tone="ink_2")
    below = f"below: {frame.first} to {spec.filled}"
    if board.wide(words + below) + 24 < wide:
        board.text(frame.right, top - board.size * 0.85, below, tone="ink_2", anchor="end")


def _thinned(
    spec: DoseChart, columns: int, left: float, wide: float, y: Callable[[float], float]
) -> str:
    """Return the path of least to most in each column."""
    least: dict[int, float] = {}
    most: dict[int, float] = {}
    for dose in spec.doses:
        column = min((dose.container - 1) * columns // spec.filled, columns - 1)
        weight = float(dose.net_g)
        least[column] = min(least.get(column, weight), weight)
        most[column] = max(most.get(column, weight), weight)
    data = ""
    for column in sorted(least):
        x = num(left + (column + 0.5) / columns * wide)
        top, bottom = y(most[column]), y(least[column])
        data += f"M{x} {num(top - 0.8)}V{num(bottom + 0.8)}"
    return data
