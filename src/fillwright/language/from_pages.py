"""Gathers the texts of page templates: sentences with their inline tags, attributes, strings.

A template is cut by the same rules as a page that leaves (`runs`). A place that is filled is a
placeholder; a choice within a sentence gives a text for each of its branches.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import Final

from jinja2 import Environment

from fillwright.language.gathered import Gathered, is_text, is_word
from fillwright.language.runs import Run, Token, runs_of, spoken_attributes, tokens_of

__all__ = ["gather_page"]

_SIGN: Final = re.compile("\x01(\\d+)\x02")
_STRING: Final = re.compile(r"^(['\"])(.*)\1$", re.DOTALL)
_CHOICE: Final = re.compile(
    r"""^\s*(['"])(?P<one>[^'"]*)\1\s+if\s.+?\selse\s+(['"])(?P<two>[^'"]*)\3\s*$""", re.DOTALL
)
_MACRO: Final = re.compile(r"^(?!describe|clock)[a-z_]\w*\(.*\)$", re.DOTALL)
_NO_WORDS: Final = frozenset({"page", "title_is", "main_class", "scale", "body_data"})
_NAMES: Final = re.compile(r"[a-z_]\w*")
_STRINGS: Final = re.compile(r"'[^']*'|\"[^\"]*\"")
_FILTERS: Final = re.compile(r"\|[^|]*$")
_NOT_NAMES: Final = frozenset({"if", "else", "and", "or", "not", "in", "is", "none"})
_VAGUE: Final = frozenset({"name", "number", "word", "words", "value", "text", "title", "code"})
_MOST: Final = 16
_MOST_NOTE: Final = 70


@dataclass(slots=True)
class _Signs:
    """What the signs in the flattened template stand for."""

    kinds: list[tuple[str, str]] = field(default_factory=list)

    def put(self, kind: str, code: str) -> str:
        """Return a sign for a place or a control of the template."""
        self.kinds.append((kind, code))
        return f"\x01{len(self.kinds) - 1}\x02"


def gather_page(source: str, place: str, into: Gathered) -> None:
    """Gather the texts of one template.

    Parameters
    ----------
    source : str
        The template.
    place : str
        Its name in the catalogue.
    into : Gathered
        Takes the texts.
    """
    signs = _Signs()
    flat, strings = _flattened(source, signs)
    line = 1
    for part in runs_of(tokens_of(flat)):
        tokens = [part] if isinstance(part, Token) else part.tokens
        where = f"{place}:{line}"
        line += sum(token.raw.count("\n") for token in tokens)
        for token in tokens:
            if token.name:
                for _, _, words in spoken_attributes(token.raw):
                    _keep_forms([Token(words)], signs, where, into)
        if isinstance(part, Run) and not part.is_closed:
            _keep_run(part.tokens, signs, where, into)
    for at, words, is_shown in strings:
        if is_text(words) or (is_shown and is_word(words)):
            into.add(words, f"{place}:{at}")


def _flattened(source: str, signs: _Signs) -> tuple[str, list[tuple[int, str, bool]]]:
    """Return a template with signs for all that is no text, and the strings in its code."""
    parts: list[str] = []
    strings: list[tuple[int, str, bool]] = []
    code: list[str] = []
    kind, silent = "", False
    for line, sort, value in Environment(autoescape=True).lex(source):
        if sort == "data" and not kind:
            parts.append("\n" * value.count("\n") if silent else value)
        elif sort in {"variable_begin", "block_begin"}:
            kind, code = sort.partition("_")[0], []
        elif sort in {"variable_end", "block_end"}:
            text = "".join(code).strip()
            word = _kind_of(kind, text)
            if word in {"block", "endblock"}:
                silent = word == "block" and text.split()[1] in _NO_WORDS
            # A line of code leaves its line breaks, so that places stay right.
            parts.append(signs.put(word, text) + "\n" * text.count("\n"))
            kind = ""
        elif kind:
            code.append(value)
            found = _STRING.match(value) if sort == "string" else None
            if found:
                strings.append((line, found[2], _is_shown("".join(code[:-1]).rstrip())))
        elif sort.startswith(("comment", "raw")):
            parts.append("\n" * value.count("\n"))
    return "".join(parts), strings


def _kind_of(kind: str, code: str) -> str:
    """Return what a piece of code is: the name of a control, a macro's mark-up, or a place."""
    if kind == "block":
        return code.split(maxsplit=1)[0] if code else "place"
    return "macro" if _MACRO.match(code) else "place"


def _is_shown(before: str) -> bool:
    """Return whether a string behind some code is handed on to be shown, not compared."""
    compared = before.endswith(("==", "!=", "in", "(", "[")) and not before.endswith(("((", "[("))
    return not compared and bool(re.search(r"(note|tag|pick|field|why_of)\($|=$|,$", before))


def _keep_run(tokens: Sequence[Token], signs: _Signs, place: str, into: Gathered) -> None:
    """Keep a run; where a control of it has its other end outside, the run ends there."""
    spread = list(_spread(tokens, signs))
    start = 0
    ends: list[int] = []
    opened: list[int] = []
    for at, token in enumerate(spread):
        word = _control(token, signs)
        if word == "if":
            opened.append(at)
        elif word == "endif" and opened:
            opened.pop()
        elif word == "place" or not word or (word in {"elif", "else"} and opened):
            continue
        else:
            ends.append(at)
    ends += opened
    for end in [*sorted(ends), len(spread)]:
        _keep_forms(spread[start:end], signs, place, into)
        if ends and any(token.name for token in spread[start:end]):
            # What the other control fills in stands in the same run, so texts may stand alone.
            for token in spread[start:end]:
                if not token.name:
                    _keep_forms([token], signs, place, into)
        start = end + 1


def _spread(tokens: Sequence[Token], signs: _Signs) -> Iterator[Token]:
    """Yield tokens with each control as a token of its own."""
    for token in tokens:
        if token.name:
            yield token
            continue
        at = 0
        for found in _SIGN.finditer(token.raw):
            if signs.kinds[int(found[1])][0] == "place":
                continue
            if found.start() > at:
                yield Token(token.raw[at : found.start()])
            yield Token(found[0])
            at = found.end()
        if at < len(token.raw):
            yield Token(token.raw[at:])


def _control(token: Token, signs: _Signs) -> str:
    """Return which control a token is; empty for text and tags."""
    found = _SIGN.fullmatch(token.raw)
    return signs.kinds[int(found[1])][0] if found and not token.name else ""


def _keep_forms(tokens: Sequence[Token], signs: _Signs, place: str, into: Gathered) -> None:
    """Keep every form of a sentence."""
    for form in _forms(list(_spread(tokens, signs)), signs):
        run = Run(_merged(form))
        if run.is_sentence():
            joint, _ = run.joint()
            _keep(joint, signs, place, into, is_whole=True)
        else:
            for token in run.tokens:
                if not token.name:
                    _keep(Run([token]).joint()[0], signs, place, into, is_whole=False)


def _forms(tokens: list[Token], signs: _Signs) -> list[list[Token]]:
    """Return each way to read tokens with choices in them."""
    parts: list[list[list[Token]]] = []
    at = 0
    while at < len(tokens):
        if _control(tokens[at], signs) != "if":
            if _control(tokens[at], signs) in {"", "place"}:
                parts.append([[tokens[at]]])
            at += 1
            continue
        depth, start, branches, has_else = 0, at + 1, [], False
        for end in range(at, len(tokens)):
            word = _control(tokens[end], signs)
            depth += {"if": 1, "endif": -1}.get(word, 0)
            if (word in {"elif", "else"} and depth == 1) or not depth:
                branches.append(tokens[start:end])
                start = end + 1
                has_else = has_else or word == "else"
            if not depth:
                break
        else:
            end = len(tokens) - 1
        forms = [form for branch in branches for form in _forms(branch, signs)]
        parts.append(forms if has_else else [*forms, []])
        at = end + 1
    total = 1
    for forms in parts:
        total *= len(forms)
    if total > _MOST:
        # Too many: the fullest form of each choice, and the choices by themselves.
        rows = [[max(forms, key=len) for forms in parts]]
        rows += [[form] for forms in parts if len(forms) > 1 for form in forms]
    else:
        rows = [list(row) for row in product(*parts)]
    return [[token for form in row for token in form] for row in rows]


def _merged(tokens: Sequence[Token]) -> list[Token]:
    """Return tokens with neighbouring texts as one."""
    found: list[Token] = []
    for token in tokens:
        if found and not token.name and not found[-1].name:
            found[-1] = Token(found[-1].raw + token.raw)
        else:
            found.append(token)
    return found


def _keep(text: str, signs: _Signs, place: str, into: Gathered, *, is_whole: bool) -> None:
    """Keep a text with its places named, in each form of a place that is a choice of two."""
    numbers = [int(number) for number in _SIGN.findall(text)]
    choices = [found for n in numbers if (found := _CHOICE.match(signs.kinds[n][1]))]
    forms = product(*[(0, 1)] * len(choices)) if len(choices) <= 3 else [()]  # noqa: PLR2004
    for form in forms:
        words, used = _named(text, signs, form)
        if not re.search(r"[^\W\d_]{2,}", re.sub(r"\{\w+\}", "", words)):
            continue
        notes = [f"{{{key}}}: {' '.join(code.split())[:_MOST_NOTE]}" for key, code in used.items()]
        into.add(words, place, notes=notes, is_whole=is_whole)


def _named(text: str, signs: _Signs, form: Sequence[int]) -> tuple[str, dict[str, str]]:
    """Return a text with its places named, its choices taken, and what each place holds."""
    used: dict[str, str] = {}
    picked = iter(form)

    def named(found: re.Match[str]) -> str:
        code = signs.kinds[int(found[1])][1]
        choice = _CHOICE.match(code)
        if choice and form:
            return choice["two" if next(picked) else "one"]
        name = key = _name(code)
        number = 1
        while used.get(key, code) != code:
            number += 1
            key = f"{name}{number}"
        used[key] = code
        return f"{{{key}}}"

    return _SIGN.sub(named, text), used


def _name(code: str) -> str:
    """Return a name for what a place is filled with."""
    plain = code
    while "|" in _STRINGS.sub("", plain):
        shorter = _FILTERS.sub("", plain)
        if shorter == plain:
            break
        plain = shorter
    plain = _STRINGS.sub("", plain.partition(" if ")[0]).partition("(")[0].partition("[")[0]
    parts = [part for part in _NAMES.findall(plain.lower()) if part not in _NOT_NAMES]
    if not parts:
        return "it"
    name = parts[-1].strip("_0123456789")
    if name in _VAGUE and len(parts) > 1:
        name = f"{parts[-2].strip('_0123456789')}_{name}"
    return name or "it"
