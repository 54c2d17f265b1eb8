"""Gathers the texts of Python files by their syntax trees.

Taken are literals and f-strings with several words or a capital, and single words where words
are shown (fields such as ``words``, tables named for words, answers of such functions). Left are
docstrings, keys, comparisons, patterns, addresses, annotations and what only programs read.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from itertools import product
from typing import Final, TypeAlias

from fillwright.language.gathered import Gathered, is_text, is_word

__all__ = ["gather_python"]

_NOT_SHOWN: Final = frozenset({
    "field", "code", "kind", "key", "what", "state", "mark", "shape", "media_type", "mode",
    "encoding", "errors", "dtype", "method", "path", "pattern", "format", "default_factory",
    "alias", "headers", "ink", "anchor", "css", "metavar", "file", "newline", "purpose",
    "source_code",
})  # fmt: skip
_SHOWN: Final = re.compile(
    r"(^|_)(words?|label|labels|title|name|names|small|hint|headline|caption|order|why|because|"
    r"says|said|say|told|text|unit_words|heads?|main|missing|asks|line|note|reason|term|terms)s?$"
)
_READ_ONLY: Final = frozenset({
    "compile", "search", "fullmatch", "match", "sub", "findall", "finditer", "getLogger",
    "Path", "open", "get", "pop", "setdefault", "getattr", "hasattr", "setattr",
    "startswith", "endswith", "split", "rsplit", "partition", "rpartition", "strip",
    "lstrip", "rstrip", "encode", "decode", "execute", "replace", "removeprefix",
    "removesuffix", "index", "find", "count", "ContextVar", "TypeVar", "import_module",
    "strftime", "strptime", "PackageLoader", "Route", "route", "Mount", "debug", "info",
    "warning", "exception", "critical", "exists", "joinpath", "glob", "rglob",
    "with_suffix", "with_name", "field_of", "AssertionError", "NotImplementedError",
    "RuntimeError", "TypeError", "add_middleware", "namedtuple", "set_cookie",
    "literal_column", "Column", "Index", "Table", "ForeignKey", "create_type", "version",
    "environ", "getenv",
})  # fmt: skip
_MOST_ALTERNATIVES: Final = 12
_MOST_PLACEHOLDER: Final = 70
_VAGUE: Final = frozenset({"name", "number", "word", "words", "value", "text", "title", "code"})

Piece: TypeAlias = str | ast.expr
Alternatives: TypeAlias = list[list[Piece]]


def gather_python(source: str, place: str, into: Gathered, *, commands: bool = False) -> None:
    """Gather the texts of one file.

    Parameters
    ----------
    source : str
        The file.
    place : str
        Its name in the catalogue.
    into : Gathered
        Takes the texts.
    commands : bool
        Whether the docstrings of its commands are shown as help.
    """
    _Reader(place, into, commands=commands).visit(ast.parse(source))


class _Reader(ast.NodeVisitor):
    """Walks one file."""

    def __init__(self, place: str, into: Gathered, *, commands: bool) -> None:
        self._place = place
        self._into = into
        self._commands = commands
        self._locals: list[dict[str, ast.expr]] = [{}]
        self._shows = [False]

    def visit_Module(self, node: ast.Module) -> None:
        self._body(node.body)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        self._body(node.body)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        if self._commands and "typer." in ast.unparse(node.args):
            docstring = ast.get_docstring(node)
            if docstring:
                for words in docstring.partition("\n\nParameters")[0].split("\n\n"):
                    self._into.add(words, f"{self._place}:{node.lineno}")
        for default in (*node.args.defaults, *node.args.kw_defaults):
            if default is not None:
                self.visit(default)
        for argument in (*node.args.args, *node.args.kwonlyargs):
            self._annotation(argument.annotation)
        self._locals.append(_assigned_once(node))
        self._shows.append(bool(_SHOWN.search(node.name)))
        self._body(node.body)
        self._shows.pop()
        self._locals.pop()

    def visit_AsyncFunctionDef(self, node: ast.AsyncFunctionDef) -> None:
        self._body(node.body)

    def _annotation(self, node: ast.expr | None) -> None:
        """Gather the help of an option, which stands in its annotation."""
        if node is not None:
            for call in ast.walk(node):
                if isinstance(call, ast.Call):
                    self.visit(call)

    def visit_Lambda(self, node: ast.Lambda) -> None:
        self.visit(node.body)

    def _body(self, body: Iterable[ast.stmt]) -> None:
        """Walk statements; an expression that is a literal alone is a docstring."""
        for statement in body:
            if not (isinstance(statement, ast.Expr) and _is_literal(statement.value)):
                self.visit(statement)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self._shown(node.value, ast.unparse(node.target))

    def visit_Assign(self, node: ast.Assign) -> None:
        if not (isinstance(node.targets[0], ast.Name) and node.targets[0].id == "__all__"):
            self._shown(node.value, ast.unparse(node.targets[0]))

    def _shown(self, value: ast.expr, name: str) -> None:
        """Walk a value; a table named for words holds words."""
        self._shows.append(bool(_SHOWN.search(name.strip("_").lower())))
        self.visit(value)
        self._shows.pop()

    def visit_Return(self, node: ast.Return) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Compare(self, node: ast.Compare) -> None:
        for part in (node.left, *node.comparators):
            if not _is_literal(part) and not isinstance(part, ast.Tuple | ast.Set | ast.List):
                self.visit(part)

    def visit_Subscript(self, node: ast.Subscript) -> None:
        self.visit(node.value)
        if self._commands:
            self._annotation(node.slice)

    def visit_Dict(self, node: ast.Dict) -> None:
        for key, value in zip(node.keys, node.values, strict=True):
            if key is not None and (not _is_literal(key) or _is_sentence(key)):
                self.visit(key)
            if isinstance(key, ast.Constant) and key.value in _NOT_SHOWN:
                continue
            shown = isinstance(key, ast.Constant) and bool(_SHOWN.search(str(key.value)))
            self._shows.append(self._shows[-1] or shown)
            self.visit(value)
            self._shows.pop()

    def visit_match_case(self, node: ast.match_case) -> None:
        if node.guard is not None:
            self.visit(node.guard)
        self._body(node.body)

    def visit_Raise(self, node: ast.Raise) -> None:
        if node.exc is not None:
            self.visit(node.exc)

    def visit_Call(self, node: ast.Call) -> None:
        name = node.func.attr if isinstance(node.func, ast.Attribute) else ""
        name = node.func.id if isinstance(node.func, ast.Name) else name
        if isinstance(node.func, ast.Attribute):
            owner = node.func.value
            if name == "format" and isinstance(owner, ast.Constant):
                self._literal(owner)
            elif not _is_literal(owner):
                self.visit(owner)
        shows = self._shows[-1]
        for at, argument in enumerate(node.args):
            is_read = name in _READ_ONLY and (at == 0 or name in {"replace", "get", "sub"})
            if not (is_read and (_is_literal(argument) or isinstance(argument, ast.Tuple))):
                self._shows.append(bool(shows or _SHOWN.search(name)))
                self.visit(argument)
                self._shows.pop()
        for keyword in node.keywords:
            if keyword.arg in _NOT_SHOWN and not _is_sentence(keyword.value):
                continue
            self._shown(keyword.value, keyword.arg or "")

    def visit_IfExp(self, node: ast.IfExp) -> None:
        self.visit(node.test)
        # Two words of which one is shown are words, whatever they stand in.
        both = all(
            isinstance(part, ast.Constant) and is_word(str(part.value))
            for part in (node.body, node.orelse)
        )
        self._shows.append(self._shows[-1] or both)
        self.visit(node.body)
        self.visit(node.orelse)
        self._shows.pop()

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if isinstance(node.op, ast.Add) and any(_is_literal(part) for part in _summed(node)):
            self._literal(node)
        else:
            self.generic_visit(node)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        self._literal(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, str):
            self._literal(node)

    def _literal(self, node: ast.expr) -> None:
        """Keep a literal in each of its forms."""
        place = f"{self._place}:{node.lineno}"
        for pieces in self._forms(node):
            text, notes = _with_names(pieces)
            alone = len(pieces) == 1 and isinstance(pieces[0], str)
            if is_text(text) or (alone and self._shows[-1] and is_word(text)):
                self._into.add(_formatted(text), place, notes=notes)
        for part in ast.walk(node):
            if isinstance(part, ast.FormattedValue) and not isinstance(part.value, ast.IfExp):
                self.visit(part.value)
            elif isinstance(part, ast.IfExp):
                self.visit(part)

    def _forms(self, node: ast.expr) -> Alternatives:
        """Return every form of a literal; where there are too many, what varies is a place."""
        forms = self._expanded(node)
        return forms if len(forms) <= _MOST_ALTERNATIVES else [_flat(node)]

    def _expanded(self, node: ast.expr, depth: int = 0) -> Alternatives:
        """Return the forms of an expression: each a row of texts and placeholders."""
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            return [[node.value]]
        if isinstance(node, ast.JoinedStr):
            return _joined(self._expanded(part, depth) for part in node.values)
        if isinstance(node, ast.FormattedValue):
            return self._expanded(node.value, depth + 1)
        if (
            isinstance(node, ast.BinOp)
            and isinstance(node.op, ast.Add)
            and any(_is_literal(part) for part in _summed(node))
        ):
            return _joined(self._expanded(part, depth) for part in _summed(node))
        if isinstance(node, ast.IfExp) and all(map(_may_stand, (node.body, node.orelse))):
            return [*self._expanded(node.body, depth), *self._expanded(node.orelse, depth)]
        if isinstance(node, ast.Name) and depth:
            value = self._locals[-1].get(node.id)
            if value is not None:
                return self._expanded(value, depth + 1)
        if (
            isinstance(node, ast.BoolOp)
            and isinstance(node.op, ast.And)
            and isinstance(node.values[-1], ast.Constant)
            and isinstance(node.values[-1].value, str)
        ):
            return [[""], [node.values[-1].value]]
        return [[node]]


def _assigned_once(node: ast.FunctionDef) -> dict[str, ast.expr]:
    """Return the names of a function that stand for one of a few short words."""
    found: dict[str, list[ast.expr]] = {}
    for part in ast.walk(node):
        if isinstance(part, ast.Assign) and isinstance(part.targets[0], ast.Name):
            found.setdefault(part.targets[0].id, []).append(part.value)
        elif isinstance(part, ast.Assign) and isinstance(part.targets[0], ast.Tuple):
            for one in part.targets[0].elts:
                found.setdefault(ast.unparse(one), []).extend([part.value] * 2)
        elif isinstance(part, ast.AugAssign):
            found.setdefault(ast.unparse(part.target), []).extend([part.value] * 2)
    return {
        name: values[0]
        for name, values in found.items()
        if len(values) == 1
        and isinstance(values[0], ast.IfExp)
        and all(map(_may_stand, (values[0].body, values[0].orelse)))
    }


def _may_stand(node: ast.expr) -> bool:
    """Return whether a branch is a literal, or a choice among literals."""
    if isinstance(node, ast.IfExp):
        return _may_stand(node.body) and _may_stand(node.orelse)
    return _is_literal(node)


def _is_literal(node: ast.expr) -> bool:
    """Return whether an expression is a text that stands in the code."""
    return isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.Constant) and isinstance(node.value, str)
    )


def _is_sentence(node: ast.expr) -> bool:
    """Return whether a literal starts with a capital and goes on for some words."""
    first = node.values[0] if isinstance(node, ast.JoinedStr) and node.values else node
    words = str(first.value) if isinstance(first, ast.Constant) else ""
    return words[:1].isupper() and words.count(" ") > 1


def _summed(node: ast.expr) -> Iterator[ast.expr]:
    """Yield the parts of a sum."""
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add):
        yield from _summed(node.left)
        yield from _summed(node.right)
    else:
        yield node


def _joined(parts: Iterable[Alternatives]) -> Alternatives:
    """Return every way to take one form of each part."""
    kept = list(parts)
    total = 1
    for forms in kept:
        total *= len(forms)
    if total > _MOST_ALTERNATIVES:
        kept = [forms if len(forms) == 1 else [max(forms, key=len)] for forms in kept]
    return [[piece for form in row for piece in form] for row in product(*kept)]


def _flat(node: ast.expr) -> list[Piece]:
    """Return a literal with a placeholder for whatever is no plain text."""
    if isinstance(node, ast.JoinedStr):
        return [
            piece.value if isinstance(piece, ast.FormattedValue) else str(ast.literal_eval(piece))
            for piece in node.values
        ]
    return [node]


def _with_names(pieces: list[Piece]) -> tuple[str, list[str]]:
    """Return a row as a text with named placeholders, and what each of them holds."""
    used: dict[str, str] = {}
    words: list[str] = []
    for piece in pieces:
        if isinstance(piece, str):
            words.append(piece)
            continue
        code = ast.unparse(piece)
        name = _name(piece)
        number = 1
        key = name
        while used.get(key, code) != code:
            number += 1
            key = f"{name}{number}"
        used[key] = code
        words.append(f"{{{key}}}")
    notes = [f"{{{key}}}: {code[:_MOST_PLACEHOLDER]}" for key, code in used.items()]
    return "".join(words), [" ".join(note.split()) for note in notes]


def _name(node: ast.expr) -> str:
    """Return a name for what an expression gives."""
    found = ""
    if isinstance(node, ast.Name):
        found = node.id
    elif isinstance(node, ast.Subscript | ast.BinOp | ast.BoolOp | ast.IfExp):
        found = _name(_chief(node))
    elif isinstance(node, ast.Attribute):
        found = node.attr
        if found in _VAGUE and isinstance(node.value, ast.Name | ast.Attribute):
            owner = _name(node.value)
            found = found if owner in {"self", "it", "x", "n"} else f"{owner}_{found}"
    elif isinstance(node, ast.Call):
        if node.args and not isinstance(node.args[0], ast.Constant | ast.Starred):
            found = _name(node.args[0])
        elif isinstance(node.func, ast.Attribute):
            found = node.func.attr if node.func.attr != "join" else "several"
        elif isinstance(node.func, ast.Name):
            found = node.func.id
    found = re.sub(r"[^a-z0-9]+", "_", found.lower()).strip("_0123456789")
    return found or "it"


def _chief(node: ast.Subscript | ast.BinOp | ast.BoolOp | ast.IfExp) -> ast.expr:
    """Return the part of an expression that names it."""
    match node:
        case ast.Subscript():
            return node.value
        case ast.BinOp():
            return node.left
        case ast.BoolOp():
            return node.values[0]
        case ast.IfExp():
            return node.body


_FORMAT: Final = re.compile(r"\{([a-z_]\w*)(?:\.\w+)*(?:![rsa])?(?::[^{}]*)?\}")


def _formatted(text: str) -> str:
    """Return a text whose places for ``format`` have plain names."""
    return _FORMAT.sub(lambda found: f"{{{found[1].strip('_').lower()}}}", text)
