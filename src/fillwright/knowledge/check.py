"""Hold a data file against its schema and say which row is wrong.

The schemas are JSON Schema, draft 2020-12; the words used here are `type`, `properties`,
`required`, `additionalProperties`, `items`, `enum`, `pattern` (of the whole string),
`minimum` and `$ref` into `$defs`.  Other words are refused, so that none is silently ignored.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from fillwright.errors import KnowledgeError

__all__ = ["check"]

_WORDS: Final = frozenset(
    {
        "$defs",
        "$ref",
        "$schema",
        "additionalProperties",
        "description",
        "enum",
        "items",
        "minimum",
        "pattern",
        "properties",
        "required",
        "title",
        "type",
    }
)
_TYPES: Final[Mapping[str, type | tuple[type, ...]]] = {
    "object": dict,
    "array": list,
    "string": str,
    "boolean": bool,
    "integer": int,
    "number": (int, float),
}


def check(data: object, schema: Mapping[str, object], *, file: str) -> None:
    """Raise if the content of a data file does not follow its schema.

    Parameters
    ----------
    data : object
        What the file holds, as read.
    schema : Mapping
        The schema, as read.
    file : str
        Name of the file, for the message.

    Raises
    ------
    KnowledgeError
        At the first thing that does not fit; names the file, the row and what is allowed.
    """
    _check(data, schema, _mapping(schema.get("$defs")), file, "")


def _check(
    data: object,
    schema: Mapping[str, object],
    defs: Mapping[str, object],
    file: str,
    place: str,
) -> None:
    """Check one value and go down into what it holds."""
    unknown = sorted(set(schema) - _WORDS)
    if unknown:
        raise KnowledgeError(f"{file}: the schema uses {unknown[0]}, which is not supported.")
    if "$ref" in schema:
        key = str(schema["$ref"]).removeprefix("#/$defs/")
        _check(data, _mapping(defs[key]), defs, file, place)
        return
    _check_value(data, schema, file, place)
    if isinstance(data, dict):
        _check_object(data, schema, defs, file, place)
    elif isinstance(data, list):
        for number, item in enumerate(data, start=1):
            _check(item, _mapping(schema.get("items")), defs, file, f"{place} row {number}")


def _check_value(data: object, schema: Mapping[str, object], file: str, place: str) -> None:
    """Check a value against `type`, `enum`, `pattern` and `minimum`."""
    kind = schema.get("type")
    if isinstance(kind, str):
        fits = isinstance(data, _TYPES[kind])
        if not fits or (isinstance(data, bool) and kind != "boolean"):
            raise _wrong(file, place, data, f"a value of type {kind}")
    allowed = schema.get("enum")
    if isinstance(allowed, list) and data not in allowed:
        raise _wrong(file, place, data, "one of " + ", ".join(map(str, allowed)))
    pattern = schema.get("pattern")
    if isinstance(pattern, str) and not (isinstance(data, str) and re.fullmatch(pattern, data)):
        raise _wrong(file, place, data, f"text of the form {pattern}")
    minimum = schema.get("minimum")
    if isinstance(minimum, int) and isinstance(data, (int, float)) and data < minimum:
        raise _wrong(file, place, data, f"at least {minimum}")


def _check_object(
    data: dict[str, object],
    schema: Mapping[str, object],
    defs: Mapping[str, object],
    file: str,
    place: str,
) -> None:
    """Check the names of a table, then each value."""
    properties = _mapping(schema.get("properties"))
    required = schema.get("required")
    for name in required if isinstance(required, list) else ():
        if name not in data:
            raise KnowledgeError(f"{file}{place}: {name} is missing; add it.")
    for name, value in data.items():
        if name in properties:
            inner = f"{place}, {name}"
            _check(value, _mapping(properties[name]), defs, file, inner)
        elif schema.get("additionalProperties") is False:
            names = ", ".join(sorted(properties))
            raise KnowledgeError(f"{file}{place}: {name} is not known here; known are {names}.")


def _wrong(file: str, place: str, data: object, allowed: str) -> KnowledgeError:
    """Return the error for one value that does not fit."""
    return KnowledgeError(f"{file}{place}: found {data!r}, expected {allowed}.")


def _mapping(value: object) -> Mapping[str, object]:
    """Return a schema's part as a mapping; nothing is an empty one."""
    return value if isinstance(value, dict) else {}
