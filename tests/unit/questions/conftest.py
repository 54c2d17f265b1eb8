"""A small reader of JSON Schema, so that schemas are held against what they describe."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

ANNOTATIONS = {"$schema", "$defs", "title", "description", "default", "examples", "type"}
KINDS: dict[str, Callable[[Any], bool]] = {
    "object": lambda v: isinstance(v, dict),
    "array": lambda v: isinstance(v, list),
    "string": lambda v: isinstance(v, str),
    "boolean": lambda v: isinstance(v, bool),
    "null": lambda v: v is None,
    "number": lambda v: isinstance(v, (int, float)) and not isinstance(v, bool),
    "integer": lambda v: isinstance(v, int) and not isinstance(v, bool),
}
RULES: dict[str, Callable[[Any, Any], bool]] = {
    "enum": lambda v, among: any(v == one and type(v) is type(one) for one in among),
    "const": lambda v, one: v == one,
    "minimum": lambda v, low: not KINDS["number"](v) or v >= low,
    "maximum": lambda v, high: not KINDS["number"](v) or v <= high,
    "exclusiveMinimum": lambda v, low: not KINDS["number"](v) or v > low,
    "exclusiveMaximum": lambda v, high: not KINDS["number"](v) or v < high,
    "pattern": lambda v, shape: not isinstance(v, str) or re.search(shape, v) is not None,
    "minLength": lambda v, low: not isinstance(v, str) or len(v) >= low,
    "maxLength": lambda v, high: not isinstance(v, str) or len(v) <= high,
    "minItems": lambda v, low: not isinstance(v, list) or len(v) >= low,
    "maxItems": lambda v, high: not isinstance(v, list) or len(v) <= high,
    "maxProperties": lambda v, high: not isinstance(v, dict) or len(v) <= high,
    "required": lambda v, names: not isinstance(v, dict) or set(names) <= set(v),
}
NESTED = {
    "properties",
    "additionalProperties",
    "propertyNames",
    "items",
    "prefixItems",
    "anyOf",
    "$ref",
}


@pytest.fixture(scope="session")
def misfits() -> Callable[[dict[str, Any], Any], list[str]]:
    """Tells where a value does not fit a schema; a word of a schema unknown here is an error."""

    def look(schema: dict[str, Any], value: Any) -> list[str]:
        return list(_misfits(schema, value, schema.get("$defs", {}), "$"))

    return look


def _misfits(schema, value, defs, at):
    """Yield each place where a value does not fit."""
    unknown = set(schema) - ANNOTATIONS - set(RULES) - NESTED
    assert not unknown, f"{at}: words that are no JSON Schema here: {unknown}"
    if "$ref" in schema:
        name = schema["$ref"].removeprefix("#/$defs/")
        yield from _misfits(defs[name], value, defs, at)
    if "type" in schema and not KINDS[schema["type"]](value):
        yield f"{at}: {value!r} is not of type {schema['type']}"
    yield from (
        f"{at}: {value!r} breaks {word} {schema[word]!r}"
        for word, fits in RULES.items()
        if word in schema and not fits(value, schema[word])
    )
    if "anyOf" in schema and all(
        list(_misfits(part, value, defs, at)) for part in schema["anyOf"]
    ):
        yield f"{at}: {value!r} fits none of {len(schema['anyOf'])} forms"
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _misfits(schema.get("propertyNames", {}), name, defs, f"{at}.{name}")
            if name in schema.get("properties", {}):
                yield from _misfits(schema["properties"][name], inner, defs, f"{at}.{name}")
            elif schema.get("additionalProperties") is False:
                yield f"{at}: unknown {name}"
    if isinstance(value, list):
        for place, inner in enumerate(value):
            forms = schema.get("prefixItems", [])
            form = forms[place] if place < len(forms) else schema.get("items", {})
            yield from _misfits(form, inner, defs, f"{at}[{place}]")
