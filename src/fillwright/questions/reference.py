"""The reference page of questions, made from the table.

``python -m fillwright.questions.reference`` prints it; ``docs/reference/questions.md`` holds it,
and a test says when that is old.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from typing import Any, Final

from fillwright.questions.asking import schema
from fillwright.questions.table import QUESTIONS, Question

__all__ = ["page"]

_HEAD: Final = """\
# Questions

Every calculation can be asked by name, in three equal ways that share one table:

- `fillwright ask QUESTION < input.json`, see [commands](commands.md)
- `POST /api/v1/ask/QUESTION` with the same JSON
- `from fillwright import ask`, then `ask("lot-test", {...})` with the same dicts

Names end in their unit; a name without a unit holds a share, a count, \
or a figure in the unit of the label.
A number given as text in quotes is read as that exact decimal, \
a JSON number by its shortest decimal text.
`null` is the same as left out.
A field that the question does not know is refused by name, \
as are infinity and what is not a number.
The codes are on the page of [errors](errors.md).
Exact figures of the answer come as text in quotes, computed ones as numbers; \
`null` means not applicable.
Every answer also carries `because` (one sentence), `assumptions`, `sources` and `version`.
"""
_COMMON: Final = ("because", "assumptions", "sources", "version")


def page() -> str:
    """Return the page.

    Returns
    -------
    str
        Markdown, one section a question.
    """
    parts = [_HEAD]
    group = ""
    for question in QUESTIONS.values():
        if question.group != group:
            group = question.group
            parts.append(f"## {group}\n")
        parts.append("\n".join(_section(question)) + "\n")
    return "\n".join(parts)


def _section(question: Question) -> Iterator[str]:
    """Yield the lines of one question."""
    both = schema(question.name)
    given, found = both["input"], both["output"]
    yield f"### `{question.name}`\n"
    yield f"{question.line}.\n"
    yield "| field | kind | meaning |"
    yield "| --- | --- | --- |"
    yield from _rows(given, given.get("$defs", {}), prefix="")
    yield ""
    yield "Answers with:\n"
    yield "| field | kind |"
    yield "| --- | --- |"
    for name, form in found["properties"].items():
        if name not in _COMMON:
            yield from _answer_rows(name, form, found.get("$defs", {}))
    yield ""
    yield "```json"
    yield json.dumps(question.example, ensure_ascii=False)
    yield "```"


def _rows(model: dict[str, Any], defs: dict[str, Any], *, prefix: str) -> Iterator[str]:
    """Yield a row for each field of the input, inner ones by their path."""
    required = model.get("required", [])
    for name, form in model["properties"].items():
        kind = _kind(form, defs)
        words = form.get("description", "")
        if name not in required:
            kind = kind.removesuffix(" or `null`")
            default = form.get("default")
            told = "" if default is None else f", {_plain(default)} when left out"
            kind = f"{kind}; optional{told}"
        yield f"| `{prefix}{name}` | {kind} | {words} |"
        inner = _inner(form, defs)
        if inner is not None:
            many = "[]" if "a list" in kind else ""
            yield from _rows(inner, defs, prefix=f"{prefix}{name}{many}.")


def _answer_rows(name: str, form: dict[str, Any], defs: dict[str, Any]) -> Iterator[str]:
    """Yield a row for a field of the answer, inner ones by their path."""
    inner = _inner(form, defs)
    if inner is None:
        yield f"| `{name}` | {_kind(form, defs)} |"
        return
    for below, part in inner["properties"].items():
        yield f"| `{name}.{below}` | {_kind(part, defs)} |"


def _inner(form: dict[str, Any], defs: dict[str, Any]) -> dict[str, Any] | None:
    """Return the fields inside a field, or None where it holds none."""
    if "$ref" in form:
        return _inner(defs[form["$ref"].rpartition("/")[2]], defs)
    if "properties" in form:
        return form
    for part in (*form.get("anyOf", []), *([form["items"]] if "items" in form else [])):
        found = _inner(part, defs)
        if found is not None:
            return found
    return None


def _kind(form: dict[str, Any], defs: dict[str, Any]) -> str:
    """Return in words what a field holds."""
    if "$ref" in form:
        return _kind(defs[form["$ref"].rpartition("/")[2]], defs)
    if "enum" in form or "const" in form:
        return " / ".join(f"`{_plain(value)}`" for value in form.get("enum", [form.get("const")]))
    if "anyOf" in form:
        return _either(form["anyOf"], defs)
    kind = form.get("type")
    if kind == "string" and "pattern" in form:
        return "an exact figure, as text"
    if kind == "array":
        if "prefixItems" in form:
            return "[low, high]"
        return f"a list of: {_kind(form['items'], defs)}"
    if kind in {"number", "integer"}:
        return ("a number" if kind == "number" else "a whole number") + _limits(form)
    names = {
        "string": "text",
        "boolean": "`true` / `false`",
        "object": "an object",
        "null": "`null`",
    }
    return names[str(kind)]


def _either(forms: list[dict[str, Any]], defs: dict[str, Any]) -> str:
    """Return the words of a choice; a number that may also come as text is a number."""
    numeric = any(form.get("type") in {"number", "integer"} for form in forms)
    kinds = [_kind(form, defs) for form in forms if not (numeric and form.get("type") == "string")]
    return " or ".join(dict.fromkeys(kinds))


def _limits(form: dict[str, Any]) -> str:
    """Return the limits of a number in words."""
    words = {
        "exclusiveMinimum": "above",
        "minimum": "from",
        "exclusiveMaximum": "below",
        "maximum": "up to",
    }
    parts = [f"{words[word]} {_plain(form[word])}" for word in words if word in form]
    return f" {' '.join(parts)}" if parts else ""


def _plain(value: object) -> str:
    """Return a value of a schema as it is written in JSON, without quotes."""
    return value if isinstance(value, str) else json.dumps(value)


if __name__ == "__main__":
    sys.stdout.write(page())
