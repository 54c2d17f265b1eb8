"""Learn how the lines of a scale look from lines that were seen while things were put on it.

Every line is reduced to its shape, numbers taken out; which number is the weight, and which
mark means rest, follow from how they changed when the load did. Opens nothing.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise
from typing import Final, Literal

from fillwright.scale.check_marks import CheckRule, find_check
from fillwright.scale.learnt_words import in_words
from fillwright.scale.lines import UNITS
from fillwright.scale.loads import Plateau, loads_in, plateaus
from fillwright.scale.shapes import LineShape, ShapedForm

__all__ = ["LOADS", "Learnt", "SeenLine", "learn"]

LOADS: Final = 3
"""Things that must be put on the pan before a form is believed."""

_MOST_SHAPES: Final = 12
_FEWEST: Final = 2
_STILL_AT_MOST: Final = 0.1
_MOVING_AT_LEAST: Final = 0.3
_READABLE: Final = 0.9
_TOKEN: Final = re.compile(
    r"(?P<number>\d+(?:[.,]\d+|\.(?!\S))?|(?<![\d.])\.\d+)"
    r"|(?P<blank> +)|(?P<word>[A-Za-z]+)|(?P<text>.)"
)
_CONTROL: Final = bytes.maketrans(bytes((*range(32), 127)), b" " * 33)
_BASIS: Final[dict[str, Literal["gross", "net", "tare"]]] = {
    **dict.fromkeys(("G", "GS", "GR", "GROSS", "BRUTTO", "BRUT"), "gross"),
    **dict.fromkeys(("N", "NT", "NET", "NETTO"), "net"),
    **dict.fromkeys(("T", "TR", "TARE", "TARA"), "tare"),
}
_REST: Final[dict[str, Literal["still", "moving"]]] = {
    **dict.fromkeys(("ST", "STABLE", "STEADY", "SETTLED", "STABIL", "REST"), "still"),
    **dict.fromkeys(("US", "UNSTABLE", "UNSTEADY", "MOVING", "INSTABIL", "DYN"), "moving"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenLine:
    """A line without its terminator, and when it came (any count that goes forward)."""

    seconds: float
    raw: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """What is known of a scale's lines so far.

    Parameters
    ----------
    form : ShapedForm or None
        How to read them, once enough was seen.
    needs : str
        What to do next, in one sentence; empty when nothing is missing.
    loads : int
        Things put on the pan so far.
    words : tuple of str
        How the lines are understood, in plain sentences.
    per_s : float
        Lines a second.
    lacks_unit : bool
        True when no line names a unit, so that a person must.
    """

    form: ShapedForm | None = None
    needs: str = ""
    loads: int = 0
    words: tuple[str, ...] = ()
    per_s: float = 0.0
    lacks_unit: bool = False


@dataclass(frozen=True, slots=True)
class _Token:
    """A piece of a line: its kind and its text."""

    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class _Cut:
    """A line in tokens, with the skeleton that lines of its kind share."""

    seconds: float
    tokens: tuple[_Token, ...]
    skeleton: tuple[str, ...]

    def place(self, nth: int) -> int:
        """Return where the n-th number stands; blanks before it differ from line to line."""
        return [at for at, token in enumerate(self.tokens) if token.kind == "number"][nth]

    def value(self, nth: int) -> Decimal:
        """Return the n-th number with its sign."""
        place = self.place(nth)
        before = [token for token in self.tokens[:place] if token.kind != "blank"][-1:]
        number = _decimal(self.tokens[place].text)
        return -number if before and before[0].text == "-" else number

    def unit(self, nth: int) -> str:
        """Return the unit behind the n-th number, or nothing."""
        return _unit_at(self.tokens, self.place(nth))


def learn(
    lines: Sequence[SeenLine],
    *,
    on_key: bool = False,
    unit: str = "",
    terminators: bytes = b"\r\n",
) -> Learnt:
    """Return what the lines seen so far teach.

    Parameters
    ----------
    lines : sequence of SeenLine
        In the order of the line. The pan was empty at first.
    on_key : bool
        True for a scale that sends one line for each press of its key.
    unit : str
        What a person says the unit is, for lines that name none.
    terminators : bytes
        What the lines ended with.

    Returns
    -------
    Learnt
        With a form, or with what is still to be done.
    """
    readable = [line for line in lines if line.raw.strip()]
    if not readable:
        return Learnt(needs="Nothing has come yet. Switch the weighing scale on.")
    per_s = _rate(readable)
    plain = [line for line in readable if line.raw.isascii()]
    if len(plain) < _READABLE * len(readable):
        needs = "What comes is not plain text. The speed or the parity is another one."
        return Learnt(needs=needs, per_s=per_s)
    check = find_check([line.raw for line in plain])
    cuts = [_cut(line, check) for line in plain]
    shapes = _common(cuts)
    if not shapes:
        needs = "No line holds a number that could be a weight. Set the scale to send weights."
        return Learnt(needs=needs, per_s=per_s)
    chosen = _weight_places(shapes)
    values = [(cut, cut.value(chosen[cut.skeleton])) for cut in cuts if cut.skeleton in chosen]
    series = [(cut.seconds, value) for cut, value in values]
    levels = plateaus(series, on_key=on_key)
    loads = loads_in(levels, on_key=on_key)
    lacks_unit = not any(cut.unit(chosen[cut.skeleton]) for cut, _ in values)
    if loads < LOADS:
        return Learnt(needs=_next_step(loads, levels), loads=loads, per_s=per_s)
    rests = {} if on_key else _rests(values)
    form = _form(shapes, chosen, rests, check, unit=unit, terminators=terminators)
    if lacks_unit and not unit:
        needs = "No line names a unit. Say which one the scale shows."
        return Learnt(needs=needs, loads=loads, per_s=per_s, lacks_unit=True)
    last, value = values[-1]
    words = in_words(
        form,
        value=value,
        unit=last.unit(chosen[last.skeleton]),
        per_s=0.0 if on_key else per_s,
    )
    return Learnt(form=form, loads=loads, words=words, per_s=per_s, lacks_unit=lacks_unit)


def _next_step(loads: int, levels: Sequence[Plateau]) -> str:
    """Return what the person does next."""
    if not levels:
        return "Take everything off the pan and wait until the figure stands still."
    if loads == 0:
        return "Put something on the pan and wait a moment."
    left = LOADS - loads
    times = "once more" if left == 1 else f"{left} times more"
    return f"Take it off, and put something on {times}."


def _rate(lines: Sequence[SeenLine]) -> float:
    """Return lines a second."""
    gone_s = lines[-1].seconds - lines[0].seconds
    return (len(lines) - 1) / gone_s if gone_s > 0 else 0.0


def _cut(line: SeenLine, check: CheckRule | None) -> _Cut:
    """Return a line in tokens."""
    text = (check.body(line.raw) if check else line.raw).translate(_CONTROL).decode("ascii")
    tokens = tuple(
        _Token(str(found.lastgroup), found.group()) for found in _TOKEN.finditer(text.strip())
    )
    skeleton = []
    for place, token in enumerate(tokens):
        if token.kind == "number":
            skeleton.append("#")
        elif token.kind != "blank" and not _is_sign(tokens, place):
            skeleton.append(token.text)
    return _Cut(line.seconds, tokens, tuple(skeleton))


def _is_sign(tokens: Sequence[_Token], place: int) -> bool:
    """Return whether a token is the sign of the number behind it."""
    if tokens[place].text not in ("+", "-"):
        return False
    # A date such as 2031-03-05 has no signs in it.
    if place and tokens[place - 1].kind in ("number", "word"):
        return False
    behind = [token for token in tokens[place + 1 : place + 3] if token.kind != "blank"]
    return bool(behind) and behind[0].kind == "number"


def _common(cuts: Sequence[_Cut]) -> dict[tuple[str, ...], list[_Cut]]:
    """Return the kinds of line that came more than once and hold a number, most first."""
    counts = Counter(cut.skeleton for cut in cuts)
    kept = [
        skeleton
        for skeleton, count in counts.most_common(_MOST_SHAPES)
        if "#" in skeleton and (count >= _FEWEST or len(cuts) < LOADS * _FEWEST)
    ]
    return {skeleton: [cut for cut in cuts if cut.skeleton == skeleton] for skeleton in kept}


def _weight_places(shapes: dict[tuple[str, ...], list[_Cut]]) -> dict[tuple[str, ...], int]:
    """Return for each kind of line which of its numbers is the weight, from 0."""
    return {
        skeleton: nth for skeleton, cuts in shapes.items() if (nth := _weight_in(cuts)) is not None
    }


def _weight_in(cuts: Sequence[_Cut]) -> int | None:
    """Return the number that is the weight: one that names a unit, net before gross."""
    cut = cuts[0]
    count = sum(token.kind == "number" for token in cut.tokens)
    # A weight that has only been put on so far grows like a counter; its unit tells it apart.
    steady = [nth for nth in range(count) if not _only_counts(cuts, nth)] or list(range(count))
    with_unit = [nth for nth in range(count) if cut.unit(nth)]
    with_mark = [nth for nth in steady if not cut.tokens[cut.place(nth)].text.isdigit()]
    choice = with_unit or with_mark or steady
    for wanted in ("net", "gross"):
        for nth in choice:
            if _basis_before(cut, nth) == wanted:
                return nth
    return choice[0] if choice else None


def _only_counts(cuts: Sequence[_Cut], nth: int) -> bool:
    """Return whether a number only ever grows, as a counter or a time of day does."""
    values = [_decimal(cut.tokens[cut.place(nth)].text) for cut in cuts]
    steps = [b - a for a, b in pairwise(values)]
    return len(steps) >= LOADS and all(step >= 0 for step in steps) and values[-1] > values[0]


def _basis_before(cut: _Cut, nth: int) -> Literal["", "gross", "net", "tare"]:
    """Return what the word before a number says it is."""
    words = [token.text.upper() for token in cut.tokens[: cut.place(nth)] if token.kind == "word"]
    return _BASIS.get(words[-1], "") if words else ""


def _unit_at(tokens: Sequence[_Token], place: int) -> str:
    """Return the unit that stands behind a number, or nothing."""
    behind = [token for token in tokens[place + 1 : place + 3] if token.kind != "blank"]
    return UNITS.get(behind[0].text.lower(), "") if behind else ""


def _decimal(text: str) -> Decimal:
    """Return a number as it was sent."""
    return Decimal(text.replace(",", "."))


def _rests(
    values: Sequence[tuple[_Cut, Decimal]],
) -> dict[tuple[str, ...], Literal["still", "moving"]]:
    """Return which kinds of line mean rest and which mean movement.

    A kind that never comes while the figure changes means rest, where another kind comes
    mostly then. Known words decide only where too few lines were seen.
    """
    moved: dict[tuple[str, ...], list[bool]] = {}
    for (_, before), (cut, value) in pairwise(values):
        step = Decimal((0, (1,), int(value.as_tuple().exponent)))
        moved.setdefault(cut.skeleton, []).append(abs(before - value) > step)
    share = {skeleton: sum(told) / len(told) for skeleton, told in moved.items()}
    still = {s for s, p in share.items() if p <= _STILL_AT_MOST and len(moved[s]) >= LOADS}
    moving = {s for s, p in share.items() if p >= _MOVING_AT_LEAST}
    if not still or not moving:
        named = {s: kind for s in share for kind in [_rest_named(s)] if kind}
        return named if "still" in named.values() else {}
    return {**dict.fromkeys(still, "still"), **dict.fromkeys(moving, "moving")}


def _rest_named(skeleton: tuple[str, ...]) -> Literal["still", "moving"] | None:
    """Return what the words of a kind of line say of rest."""
    return next((_REST[part.upper()] for part in skeleton if part.upper() in _REST), None)


def _form(
    shapes: dict[tuple[str, ...], list[_Cut]],
    chosen: dict[tuple[str, ...], int],
    rests: dict[tuple[str, ...], Literal["still", "moving"]],
    check: CheckRule | None,
    *,
    unit: str,
    terminators: bytes,
) -> ShapedForm:
    """Return the form that the kinds of line make."""
    made: list[LineShape] = []
    other: Literal["", "moving"] = "moving" if "still" in rests.values() else ""
    for skeleton, cuts in shapes.items():
        nth = chosen.get(skeleton)
        shape = LineShape(
            shape=_shape(cuts[0].tokens, None if nth is None else cuts[0].place(nth))
        )
        if nth is not None:
            rest: Literal["", "still", "moving"] = rests.get(skeleton, other)
            shape = replace(shape, rest=rest, basis=_basis_before(cuts[0], nth))
        if all(shape.shape != known.shape for known in made):
            made.append(shape)
    used = [(shapes[skeleton][0], nth) for skeleton, nth in chosen.items()]
    units = [cut.unit(nth) for cut, nth in used]
    named = sorted(set(units) - {""})
    # Some scales leave the unit out while the figure moves; it is the one they name at rest.
    left_out = named[0] if len(named) == 1 and "" in units else None
    longest = max(
        len(token.text) for cuts in shapes.values() for cut in cuts for token in cut.tokens
    )
    widest = max(len(cut.tokens) for cuts in shapes.values() for cut in cuts)
    return ShapedForm(
        title="learnt from the scale",
        shapes=tuple(made),
        terminators=terminators,
        longest=max(80, longest * widest),
        decimal="," if any("," in cut.tokens[cut.place(nth)].text for cut, nth in used) else ".",
        unit_if_absent=unit or left_out,
        check=check,
    )


def _shape(tokens: Sequence[_Token], place: int | None) -> str:
    """Return a line's tokens as a shape."""
    parts = []
    unit_place = None
    if place is not None and _unit_at(tokens, place):
        unit_place = place + 1 if tokens[place + 1].kind != "blank" else place + 2
    for at, token in enumerate(tokens):
        if at == place:
            parts.append(" {value}")
        elif at == unit_place:
            parts.append(" {unit}")
        elif token.kind == "number":
            parts.append("{number}")
        elif token.kind == "blank":
            parts.append(" ")
        elif not _is_sign(tokens, at):
            parts.append(token.text)
    return re.sub(" +", " ", "".join(parts)).strip()
