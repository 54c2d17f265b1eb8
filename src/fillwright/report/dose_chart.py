"""The dose chart: a row of containers in their trays, the weighed ones standing up to their fill.

Ticks and trays are the picture, the band is background. A run longer than the row shows its
last containers in the row and the whole of itself as a thinned line above; the size of the
drawing does not grow with the batch.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from fillwright.records.charts import Dose, DoseChart, LimitMark, Post
from fillwright.report.marks import shape
from fillwright.report.svg import Anchor, Board, Tone, chamfered, num, plain
from fillwright.report.whole_run import WHOLE_HIGH, Frame, draw_whole, room_for

__all__ = ["draw_doses", "row_of"]

_MOST_SHOWN: Final = 200
_LEAST_STEP: Final = 3.0
_PLOT_HIGH: Final = 150.0
_BEYOND: Final = 0.4
_ROWS_OF_FLAGS: Final = 2
_TENTH: Final = 10
_TICK: Final = 18.0
_PART: Final = 30
"""Containers whose stems are one part of the drawing, about."""
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


def draw_doses(spec: DoseChart, *, for_print: bool, width: float, size: float, name: str) -> str:
    """Return the drawing; `width` and `size` of letters are in its own units."""
    first, last = row_of(spec, room=width * 0.86, for_print=for_print)
    has_whole = first > 1
    low, high = _reach(spec)
    board = Board(width, 0, for_print, size)
    labels = _axis_labels(spec, low, high, is_narrow=width < _NARROW)
    left = max((board.wide(words) for _, words, _ in labels), default=0) + 12
    top = (WHOLE_HIGH + 1.6 * size if has_whole else 0) + 8
    top += _ROWS_OF_FLAGS * 1.35 * size if spec.posts else 0.4 * size
    frame = Frame(
        left=left,
        right=width - 6,
        top=top,
        floor=top + _PLOT_HIGH,
        low=low,
        high=high,
        first=first,
        last=last,
    )
    if has_whole:
        draw_whole(board, spec, frame)
    with board.part("ground"):
        _ground(board, spec, frame, labels)
    with board.part("trays"):
        _trays(board, spec, frame)
    with board.part("posts"):
        _posts(board, spec, frame)
    _row(board, spec, frame)
    with board.part("marks"):
        _marks(board, spec, frame)
    with board.part("held"):
        _held(board, spec, frame)
    board.height = frame.floor + _TRAY_HIGH + 10 + 2.9 * size
    return board.finish(name, "dose-chart")


def row_of(spec: DoseChart, *, room: float, for_print: bool) -> tuple[int, int]:
    """Return the first and the last place of the row, at most 200 of them, the last filled one in.

    It starts with a tray, and the tray in hand is drawn whole. In the page there is room for
    more, and a long run moves on by a quarter of the row: what moved with every container, or
    every tray, would be drawn anew as often.
    """
    most = max(min(_MOST_SHOWN, int(room / _LEAST_STEP)), 1)
    tray = spec.tray_size if spec.tray_size <= most // 2 else 0
    most -= most % (tray or 1)
    if spec.filled > most:
        step = 1 if for_print else most // 4
        step += -step % (tray or 1)
        first = 1 - (most - spec.filled) // step * step
        return first, first + most - 1
    last = spec.filled if for_print else room_for(spec.filled)
    last += -last % (spec.tray_size or 1)
    return 1, max(min(last, most) if tray else last, _LEAST_PLACES)


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
    board: Board, spec: DoseChart, frame: Frame, labels: list[tuple[float, str, Tone]]
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


def _limits_in(spec: DoseChart, frame: Frame) -> Iterator[LimitMark]:
    """Yield the limits that stand inside the drawing."""
    for limit in spec.limits:
        if frame.low <= float(limit.limit_g) <= frame.high:
            yield limit


def _trays(board: Board, spec: DoseChart, frame: Frame) -> None:
    """Draw a box for each tray, and numbers below."""
    floor = frame.floor + _TRAY_HIGH - 6
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
    board: Board, spec: DoseChart, frame: Frame, floor: float, below: float
) -> None:
    """Draw a plain floor with the first and the last number."""
    board.path(f"M{num(frame.left)} {num(floor)}H{num(frame.right)}", stroke="line", width=2)
    if not spec.filled:
        return
    board.text(frame.left, below, f"{spec.word} {frame.first}", tone="ink_2")
    if frame.x(spec.filled) > frame.left + board.wide(f"{spec.word} {frame.first} {spec.filled}"):
        x = frame.x(spec.filled)
        board.text(x, below, str(spec.filled), tone="ink_2", anchor="end")


def _row(board: Board, spec: DoseChart, frame: Frame) -> None:
    """Draw a tick for each container, the weighed ones standing up to their fill.

    A few trays are a part of the drawing, so that a page keeps those that are done.
    """
    _ticks(board, spec, frame)
    tray = spec.tray_size or _TENTH
    stretch = tray * max(_PART // tray, 1)
    doses = _by_stretch(_shown(spec, frame), stretch)
    for place in range((frame.first - 1) // stretch, (frame.last - 1) // stretch + 1):
        with board.part(f"row-{place}"):
            _stems(board, frame, doses.get(place, []))


def _shown(spec: DoseChart, frame: Frame) -> list[Dose]:
    """Return the weighed containers of the row."""
    return [dose for dose in spec.doses if frame.first <= dose.container <= frame.last]


def _by_stretch(doses: list[Dose], stretch: int) -> dict[int, list[Dose]]:
    """Return the doses of each stretch of so many containers."""
    found: dict[int, list[Dose]] = {}
    for dose in doses:
        found.setdefault((dose.container - 1) // stretch, []).append(dose)
    return found


def _ticks(board: Board, spec: DoseChart, frame: Frame) -> None:
    """Draw a tick for each container, as one broken line; without trays each tenth is longer."""
    if spec.filled < frame.first:
        return
    floor = frame.floor + _TRAY_HIGH - 6
    thick = min(2.0, max(frame.step * 0.4, 1.0))
    ends = frame.x(frame.first) - thick / 2, frame.x(spec.filled) + thick / 2
    line = f"M{ends[0]:.2f} {num(floor - _TICK / 2)}H{ends[1]:.2f}"
    dash = f"{thick:.3f} {frame.step - thick:.3f}"
    board.path(line, stroke="line", width=_TICK, dash=dash, name="ticks")
    if not spec.tray_size:
        tenths = range(frame.first + -frame.first % _TENTH, spec.filled + 1, _TENTH)
        longer = "".join(f"M{num(frame.x(one))} {num(floor)}v-26" for one in tenths)
        board.path(longer, stroke="line", width=thick, name="tenths")


def _stems(board: Board, frame: Frame, doses: list[Dose]) -> None:
    """Let weighed containers stand up to their fill, the ordinary ones with a dot at the top."""
    floor = frame.floor + _TRAY_HIGH - 6
    stems = ""
    ordinary: list[tuple[float, float]] = []
    for dose in doses:
        x, y = frame.x(dose.container), frame.y(float(dose.net_g))
        stems += f"M{num(x)} {num(floor)}V{num(y)}"
        if dose.state == "on":
            ordinary.append((x, y))
    board.path(stems, stroke="ink_2", width=min(1.6, max(frame.step * 0.5, 0.8)))
    board.dots(ordinary, size=8, tone="ink")


def _marks(board: Board, spec: DoseChart, frame: Frame) -> None:
    """Draw the mark of each weighed container that is not an ordinary one."""
    for dose in _shown(spec, frame):
        if dose.state != "on":
            inner = shape(dose.state, ink=board.tone(_TONES[dose.state]), cut=board.tone("sheet"))
            weight = float(dose.net_g)
            board.place(inner, frame.x(dose.container), frame.y(weight), _MARK_SIZE)
            if not frame.low <= weight <= frame.high:
                _stray(board, frame, dose.container, plain(dose.net_g, spec.decimals))


def _stray(board: Board, frame: Frame, container: int, words: str) -> None:
    """Write the weight of a mark that the drawing had to clip."""
    x = frame.x(container)
    is_late = x > (frame.left + frame.right) / 2
    anchor: Anchor = "end" if is_late else "start"
    shift = -_MARK_SIZE * 0.7 if is_late else _MARK_SIZE * 0.7
    board.text(
        x + shift, frame.floor, words, tone="stop", anchor=anchor, is_bold=True, has_ground=True
    )


def _posts(board: Board, spec: DoseChart, frame: Frame) -> None:
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


def _held(board: Board, spec: DoseChart, frame: Frame) -> None:
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
