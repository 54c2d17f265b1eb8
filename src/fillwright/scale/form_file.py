"""The line format of a scale as a small TOML file, written by hand or by what was learnt.

The form is our own and described on the page of scale formats in the reference.
"""

from __future__ import annotations

import json
import re
import tomllib
from decimal import Decimal, InvalidOperation
from typing import Any, Final, NoReturn

from fillwright.errors import BadInput
from fillwright.scale.check_marks import CheckRule
from fillwright.scale.lines import UNITS
from fillwright.scale.shapes import LineShape, ShapedForm, Words, parts_of

__all__ = ["form_from_toml", "form_to_toml"]

_TOP: Final = ("title", "ends", "longest", "decimal", "unit", "line", "words", "check", "ask")
_WORD_LISTS: Final = ("still", "moving", "gross", "net", "tare", "over", "under")
_REST: Final = ("", "still", "moving")
_BASIS: Final = ("", "gross", "net", "tare")
_SAYS: Final = ("", "over", "under")
_KINDS: Final = ("xor", "sum", "negative-sum")
_MOST_SHAPES: Final = 40
_LONGEST_FILE: Final = 20_000
_FEWEST_BYTES, _MOST_BYTES = 4, 1000
_LEAST_S, _MOST_S = Decimal("0.05"), Decimal(60)
_MARK: Final = re.compile(r"[!-~]{1,20}")


def form_from_toml(text: str) -> ShapedForm:
    """Return the format that a file describes.

    Parameters
    ----------
    text : str
        TOML, as the reference page of scale formats says.

    Returns
    -------
    ShapedForm
        Ready to read lines.

    Raises
    ------
    BadInput
        If anything in it is not known or cannot be right; the message names the place.
    """
    if len(text) > _LONGEST_FILE:
        _refuse("format", "", f"at most {_LONGEST_FILE} letters", "The format is too long.")
    try:
        given = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        _refuse("format", "", "TOML", f"The format is no TOML: {error}.")
    _only(given, _TOP, "format")
    ask = _table(given, "ask")
    _only(ask, ("request", "every_s"), "ask")
    form = ShapedForm(
        title=_text(given, "title", "a scale's lines"),
        shapes=_shapes(given),
        terminators=_bytes(given, "ends", "\r\n"),
        longest=_whole(given, "longest", 80),
        decimal="," if _one_of(given, "decimal", ("point", "comma"), "point") == "comma" else ".",
        unit_if_absent=_unit(given),
        words=_words(_table(given, "words")),
        check=_check(given),
        request=_bytes(ask, "request", ""),
        every_s=_seconds(ask),
    )
    if not form.terminators:
        _refuse("ends", "", "at least one character", "A line must end in something.")
    return form


def form_to_toml(form: ShapedForm) -> str:
    """Return a format as the text of a file that gives the very same format."""
    lines = [
        f"title = {_quoted(form.title)}",
        f"ends = {_quoted(form.terminators.decode('latin-1'))}",
        f"longest = {form.longest}",
        f"decimal = {_quoted('comma' if form.decimal == ',' else 'point')}",
    ]
    if form.unit_if_absent:
        lines.append(f"unit = {_quoted(form.unit_if_absent)}")
    for shape in form.shapes:
        lines += ["", "[[line]]", f"shape = {_quoted(shape.shape)}"]
        for name in ("rest", "basis", "says"):
            if getattr(shape, name):
                lines.append(f"{name} = {_quoted(getattr(shape, name))}")
    lines += ["", "[words]"]
    for name in _WORD_LISTS:
        words = ", ".join(_quoted(word) for word in sorted(getattr(form.words, name)))
        lines.append(f"{name} = [{words}]")
    if form.check is not None:
        lines += ["", "[check]", f"kind = {_quoted(form.check.kind)}"]
        lines += [f"written = {_quoted(form.check.written)}", f"skip = {form.check.skip}"]
    if form.request:
        lines += ["", "[ask]", f"request = {_quoted(form.request.decode('latin-1'))}"]
        lines.append(f"every_s = {form.every_s}")
    return "\n".join(lines) + "\n"


def _shapes(given: dict[str, Any]) -> tuple[LineShape, ...]:
    """Return the shapes of a file."""
    tables = given.get("line")
    if not isinstance(tables, list) or not 0 < len(tables) <= _MOST_SHAPES:
        _refuse("line", tables, f"1 to {_MOST_SHAPES} tables", "Give each shape as a [[line]].")
    made = []
    for table in tables:
        if not isinstance(table, dict):
            _refuse("line", table, "a table", "Give each shape as a [[line]].")
        _only(table, ("shape", "rest", "basis", "says"), "line")
        shape = _text(table, "shape", "")
        if not shape.isascii() or not shape.strip():
            _refuse("shape", shape, "plain letters", "A shape is written in plain letters.")
        parts_of(shape)
        made.append(
            LineShape(
                shape=shape,
                rest=_one_of(table, "rest", _REST, ""),  # type: ignore[arg-type]  # one of them
                basis=_one_of(table, "basis", _BASIS, ""),  # type: ignore[arg-type]  # one of them
                says=_one_of(table, "says", _SAYS, ""),  # type: ignore[arg-type]  # one of them
            )
        )
    if not any(("slot", "value") in parts_of(shape.shape) for shape in made):
        _refuse("shape", "", "{value}", "No shape holds {value}, so no line is a weight.")
    return tuple(made)


def _words(table: dict[str, Any]) -> Words:
    """Return what the marks mean; lists left out keep what is usual."""
    _only(table, _WORD_LISTS, "words")
    lists: dict[str, frozenset[str]] = {}
    for name, words in table.items():
        fits = isinstance(words, list) and all(
            isinstance(word, str) and _MARK.fullmatch(word) for word in words
        )
        if not fits:
            _refuse(name, words, "a list of marks", f"{name} is a list of marks without blanks.")
        lists[name] = frozenset(word.upper() for word in words)
    return Words(**lists)


def _check(given: dict[str, Any]) -> CheckRule | None:
    """Return the check at the end of each line, where there is one."""
    table = _table(given, "check")
    if not table:
        return None
    _only(table, ("kind", "written", "skip"), "check")
    skip = table.get("skip", 0)
    if skip not in (0, 1, 2) or isinstance(skip, bool):
        _refuse("skip", skip, "0, 1 or 2", "skip counts bytes at the beginning of the line.")
    kind = _one_of(table, "kind", _KINDS, "xor")
    written = _one_of(table, "written", ("byte", "hex"), "hex")
    return CheckRule(kind=kind, written=written, skip=skip)  # type: ignore[arg-type]  # two of them


def _seconds(ask: dict[str, Any]) -> Decimal:
    """Return the time between two requests."""
    given = ask.get("every_s", "0.5")
    try:
        every_s = Decimal(str(given))
    except InvalidOperation:
        every_s = Decimal(0)
    if isinstance(given, bool) or not _LEAST_S <= every_s <= _MOST_S:
        allowed = f"{_LEAST_S} to {_MOST_S} s"
        _refuse("every_s", given, allowed, f"every_s is {given}; give {allowed}.")
    return every_s


def _unit(given: dict[str, Any]) -> str | None:
    """Return the unit of lines that name none."""
    if "unit" not in given:
        return None
    unit = UNITS.get(str(given["unit"]).lower())
    if unit is None:
        allowed = ", ".join(dict.fromkeys(UNITS.values()))
        _refuse("unit", given["unit"], allowed, f"The unit is {given['unit']!r}; give {allowed}.")
    return unit


def _bytes(given: dict[str, Any], name: str, usual: str) -> bytes:
    """Return characters of one byte each."""
    text = _text(given, name, usual)
    try:
        return text.encode("latin-1")
    except UnicodeEncodeError:
        _refuse(name, text, "single bytes", f"{name} holds a character that is no single byte.")


def _whole(given: dict[str, Any], name: str, usual: int) -> int:
    """Return the longest a line may be."""
    number = given.get(name, usual)
    if not isinstance(number, int) or not _FEWEST_BYTES <= number <= _MOST_BYTES:
        allowed = f"{_FEWEST_BYTES} to {_MOST_BYTES}"
        _refuse(name, number, allowed, f"{name} is {number}; give {allowed} bytes.")
    return number


def _text(given: dict[str, Any], name: str, usual: str) -> str:
    """Return a text."""
    text = given.get(name, usual)
    if not isinstance(text, str):
        _refuse(name, text, "a text between quotes", f"{name} is a text between quotes.")
    return text


def _one_of(given: dict[str, Any], name: str, allowed: tuple[str, ...], usual: str) -> str:
    """Return one of a few words."""
    word = given.get(name, usual)
    if word not in allowed:
        told = ", ".join(repr(choice) for choice in allowed if choice)
        _refuse(name, word, told, f"{name} is {word!r}; give one of {told}.")
    return str(word)


def _table(given: dict[str, Any], name: str) -> dict[str, Any]:
    """Return a table; an empty one where it was left out."""
    table = given.get(name, {})
    if not isinstance(table, dict):
        _refuse(name, table, f"a table [{name}]", f"{name} is a table: write [{name}] above it.")
    return table


def _only(given: dict[str, Any], allowed: tuple[str, ...], where: str) -> None:
    """Refuse a name that is not known."""
    for name in given:
        if name not in allowed:
            told = ", ".join(allowed)
            _refuse(name, name, told, f"{name!r} is not known in {where}. Use {told}.")


def _quoted(text: str) -> str:
    """Return a text as TOML writes it; JSON's escapes are among those of TOML."""
    return json.dumps(text, ensure_ascii=True).replace("\x7f", "\\u007f")


def _refuse(field: str, given: object, allowed: str, message: str) -> NoReturn:
    """Refuse a file."""
    raise BadInput(message, field=field, given=given, allowed=allowed, code="choice")
