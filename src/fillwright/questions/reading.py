"""From JSON text to a question's input, and from everything that can be wrong to one sentence.

Nothing that comes in from outside may end in a traceback: size, depth and repeats are looked
at before the fields are.
"""

from __future__ import annotations

import difflib
import json
from collections import Counter
from typing import Any, Final, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from fillwright.errors import CODES, BadInput
from fillwright.questions.fields import LONGEST_SHOWN, Given, shown

__all__ = ["MOST_CHARACTERS", "parse", "read"]

MOST_CHARACTERS: Final = 8_000_000
_DEEPEST: Final = 12
_MOST_VALUES: Final = 500_000
_LONGEST_INTEGER: Final = 40
_KINDS: Final = {
    "list_type": "a list",
    "tuple_type": "a list",
    "dict_type": "an object with named fields",
    "model_type": "an object with named fields",
    "model_attributes_type": "an object with named fields",
    "string_type": "text in quotes",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
}

_G = TypeVar("_G", bound=Given)


def parse(text: str) -> object:
    """Return what a JSON text holds.

    Parameters
    ----------
    text : str
        One JSON value.

    Returns
    -------
    object
        Dicts, lists, strings, numbers, True, False and None.

    Raises
    ------
    BadInput
        If the text is not JSON, too long, too deep, or names a field twice. NaN and Infinity
        are let through to be refused by the name of their field.
    """
    if len(text) > MOST_CHARACTERS:
        raise _whole(f"has {len(text)} characters", f"up to {MOST_CHARACTERS} characters", "range")
    try:
        found = json.loads(
            text,
            object_pairs_hook=_object,
            parse_int=_integer,
        )
        if "\\u" in text:
            # Half of a sign can be written escaped, and can then be printed nowhere.
            json.dumps(found, ensure_ascii=False).encode()
    except UnicodeEncodeError as error:
        raise _whole("holds half of a sign", "whole signs", "type") from error
    except json.JSONDecodeError as error:
        what = f"is not JSON ({error.msg} at line {error.lineno}, column {error.colno})"
        raise _whole(what, "one JSON object", "type") from error
    except RecursionError as error:
        raise _whole("is nested too deep", f"up to {_DEEPEST} levels", "range") from error
    return found


def read(model: type[_G], given: object) -> _G:
    """Return the input of a question, checked.

    Parameters
    ----------
    model : type of Given
        What the question takes.
    given : object
        What came in.

    Returns
    -------
    Given
        The input.

    Raises
    ------
    BadInput
        If a field is missing, unknown or outside what is allowed.
    """
    if not isinstance(given, dict):
        raise _whole("is not an object with named fields", "an object, as {...}", "type")
    _check_size(given)
    try:
        return model.model_validate(given)
    except ValidationError as error:
        raise _refusal(model, error) from None


def _check_size(given: dict[Any, Any]) -> None:
    """Refuse what is too deep or too much, without recursion."""
    level: list[Any] = [given]
    values = 0
    for _ in range(_DEEPEST + 1):
        below: list[Any] = []
        for thing in level:
            if isinstance(thing, dict):
                if not all(isinstance(name, str) for name in thing):
                    raise _whole("has a field name that is not text", "names in quotes", "type")
                values += len(thing)
                below.extend(thing.values())
            elif isinstance(thing, (list, tuple)):
                values += len(thing)
                if thing and isinstance(thing[0], (dict, list, tuple)):
                    below.extend(thing)
                else:
                    below.extend(v for v in thing if isinstance(v, (dict, list, tuple)))
            if values > _MOST_VALUES:
                raise _whole("holds too many values", f"up to {_MOST_VALUES} values", "range")
        if not below:
            return
        level = below
    raise _whole("is nested too deep", f"up to {_DEEPEST} levels", "range")


def _refusal(model: type[Given], error: ValidationError) -> BadInput:
    """Return the one error to report: an unknown field first, then the first in order."""
    found = error.errors(include_url=False)
    unknown = [one for one in found if one["type"] == "extra_forbidden"]
    return _sentence(model, (unknown or found)[0])


def _sentence(model: type[Given], one: ErrorDetails) -> BadInput:
    """Turn one finding into code, field, what was given, what is allowed, and a sentence."""
    field = _field(one["loc"])
    kind, context = one["type"], one.get("ctx", {})
    given = None if kind == "missing" else shown(one["input"])
    told = repr(given) if isinstance(one["input"], str) else given
    if kind == "extra_forbidden":
        return _unknown(model, one["loc"], given)
    if kind == "missing" or one["input"] is None:
        return BadInput(
            f"{field} is missing; add it.", field=field, allowed="a value", code="missing"
        )
    code, what, allowed = "range", f"{told} does not fit", ""
    if kind in CODES:
        code, what, allowed = kind, context["what"], context["allowed"]
    elif kind in {"literal_error", "enum"}:
        code = "unit" if field == "unit" else "choice"
        what, allowed = f"{told} is not known", context["expected"].replace("'", "")
    elif kind in {"too_short", "too_long"}:
        count = context["actual_length"]
        what = f"{count if count is not None else 'too many'} values"
        allowed = (
            f"at least {context['min_length']} values"
            if kind == "too_short"
            else f"at most {context['max_length']} values"
        )
    elif kind in {"string_too_short", "string_too_long"}:
        what = "the text is too long" if kind == "string_too_long" else "the text is empty"
        allowed = f"text of up to {context.get('max_length', 200)} characters"
    elif kind in _KINDS:
        code, what, allowed = "type", f"{told} is of the wrong kind", _KINDS[kind]
    return BadInput(
        f"{field}: {what}; give {allowed}.", field=field, given=given, allowed=allowed, code=code
    )


def _unknown(model: type[Given], place: tuple[int | str, ...], given: str | None) -> BadInput:
    """Return the error for a field that the question does not have."""
    name = str(place[-1])
    known = sorted(_fields_at(model, place[:-1]))
    near = difflib.get_close_matches(name, known, n=1)
    hint = f"did you mean {near[0]}?" if near else f"known are {', '.join(known)}."
    return BadInput(
        f"{_field(place)} is not a field of this question; {hint}",
        field=_field(place),
        given=given,
        allowed=", ".join(known),
        code="unknown-field",
    )


def _fields_at(model: type[Given], place: tuple[int | str, ...]) -> list[str]:
    """Return the names of the fields at a place inside the input."""
    for step in place:
        if isinstance(step, int):
            continue
        inner = next(
            (
                _model_in(field.annotation)
                for name, field in model.model_fields.items()
                if step in {name, field.alias}
            ),
            None,
        )
        if inner is None:
            break
        model = inner
    return [field.alias or name for name, field in model.model_fields.items()]


def _model_in(annotation: Any) -> type[Given] | None:  # noqa: ANN401  a type expression
    """Return the model inside a type such as ``list[Shot] | None``."""
    if isinstance(annotation, type) and issubclass(annotation, Given):
        return annotation
    for part in getattr(annotation, "__args__", ()):
        found = _model_in(part)
        if found is not None:
            return found
    return None


def _field(place: tuple[int | str, ...]) -> str:
    """Return a place inside the input as people write it, such as ``shots[0].g[2]``."""
    text = ""
    for step in place:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text or "input"


def _whole(what: str, allowed: str, code: str) -> BadInput:
    """Return the error for an input that cannot be looked into."""
    return BadInput(
        f"The input {what}; give {allowed}.", field="input", allowed=allowed, code=code
    )


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return the fields of an object; a name given twice is refused."""
    found = dict(pairs)
    if len(found) != len(pairs):
        twice = Counter(name for name, _ in pairs).most_common(1)[0][0]
        raise BadInput(
            f"{twice} is given twice; give it once.",
            field=twice[:LONGEST_SHOWN],
            allowed="each field once",
            code="inconsistent",
        )
    return found


def _integer(digits: str) -> int:
    """Return an integer of a sane length."""
    if len(digits) > _LONGEST_INTEGER:
        raise _whole("holds a number with too many digits", "numbers up to 1e15", "range")
    return int(digits)
