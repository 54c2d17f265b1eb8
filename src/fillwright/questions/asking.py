"""Ask a question by name: from dict to dict, from JSON text to JSON text.

Heavy parts are imported when a question is asked, so that a list of names costs nothing.
"""

from __future__ import annotations

import json
import logging
import math
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from fillwright.errors import BadInput, FillwrightError
from fillwright.questions.table import QUESTIONS, Question

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic.json_schema import JsonSchemaMode

__all__ = ["Reply", "answer", "answer_json", "find", "names", "schema"]

OK: Final = 200
NOT_FOUND: Final = 404
UNUSABLE: Final = 422
FAILED: Final = 500
_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_log = logging.getLogger(__name__)


class Reply(NamedTuple):
    """An HTTP status and a body of JSON text."""

    status: int
    body: str


def names() -> tuple[str, ...]:
    """Return the names of all questions.

    Returns
    -------
    tuple of str
        In the order of the reference.
    """
    return tuple(QUESTIONS)


def schema(name: str) -> dict[str, Any]:
    """Return the JSON Schema of both sides of a question.

    Parameters
    ----------
    name : str
        Name of the question.

    Returns
    -------
    dict
        ``question``, ``line``, and a JSON Schema each under ``input`` and ``output``.

    Raises
    ------
    BadInput
        If there is no question of that name.
    """
    question = find(name)
    return {
        "question": question.name,
        "line": question.line,
        "input": _schema_of(question.takes, "validation", example=question.example),
        "output": _schema_of(question.gives, "serialization"),
    }


def answer(name: str, given: object) -> dict[str, Any]:
    """Answer one question.

    Parameters
    ----------
    name : str
        Name of the question.
    given : dict
        The input, by the names of its schema.

    Returns
    -------
    dict
        The answer, ready for JSON: exact figures as strings, computed ones as numbers.

    Raises
    ------
    BadInput
        If the question is not known, or a field is missing, unknown or outside what is
        allowed.
    """
    from fillwright.questions.reading import read  # noqa: PLC0415  keeps the list of names light

    question = find(name)
    try:
        found = question.function(read(question.takes, given))
    except BadInput as error:
        raise _in_words_of(question, error) from None
    return {
        field: _finite(value)
        for field, value in found.model_dump(mode="json", by_alias=True).items()
    }


def answer_json(name: str, text: str) -> Reply:
    """Answer one question from JSON text, whatever the text is.

    Parameters
    ----------
    name : str
        Name of the question.
    text : str
        The input as JSON.

    Returns
    -------
    Reply
        200 with the answer, 404 for an unknown question, 422 for a bad input, 500 where the
        fault is ours; the body is JSON always.
    """
    from fillwright.questions.reading import parse  # noqa: PLC0415  keeps the list of names light

    try:
        found = answer(name, parse(text))
        return Reply(OK, json.dumps(found, ensure_ascii=False, allow_nan=False))
    except BadInput as error:
        status = NOT_FOUND if name not in QUESTIONS else UNUSABLE
        return Reply(status, json.dumps(error.as_dict(), ensure_ascii=False))
    except FillwrightError as error:
        return Reply(FAILED, json.dumps(_our_fault(str(error)), ensure_ascii=False))
    except Exception as error:  # noqa: BLE001  the outermost edge of HTTP: no traceback leaves it
        _log.exception("question %s failed", name)
        sentence = f"{name} failed in itself ({type(error).__name__}); the input is not at fault."
        return Reply(FAILED, json.dumps(_our_fault(sentence)))


def find(name: str) -> Question:
    """Return a question by its name.

    Parameters
    ----------
    name : str
        Name of the question.

    Returns
    -------
    Question
        Its row of the table.

    Raises
    ------
    BadInput
        If there is none of that name; the message suggests the nearest.
    """
    if name not in QUESTIONS:
        from difflib import get_close_matches  # noqa: PLC0415  needed for a wrong name only

        near = get_close_matches(str(name), QUESTIONS, n=1)
        hint = f"did you mean {near[0]}?" if near else "`fillwright ask --list` prints all."
        raise BadInput(
            f"There is no question {str(name)[:60]!r}; {hint}",
            field="question",
            given=str(name)[:60],
            allowed=", ".join(QUESTIONS),
            code="choice",
        )
    return QUESTIONS[name]


def _schema_of(
    model: type[BaseModel],
    mode: JsonSchemaMode,
    *,
    example: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """Return the JSON Schema of one side."""
    found = {"$schema": _DIALECT, **model.model_json_schema(mode=mode, by_alias=True)}
    if example is not None:
        found["examples"] = [example]
    return found


def _in_words_of(question: Question, error: BadInput) -> BadInput:
    """Return an error of science with the name that the field has in the question."""
    fields = [field.alias or name for name, field in question.takes.model_fields.items()]
    root = error.field.split("[")[0].split(".")[0].split(" ")[0]
    if root in fields or not root:
        return error
    near = [name for name in fields if name.startswith(f"{root}_")]
    if len(near) == 1:
        error.field = near[0] + error.field[len(root) :]
    return error


def _finite(value: Any) -> Any:  # noqa: ANN401  any JSON value
    """Return a value with null for every figure that is not finite."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {name: _finite(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_finite(inner) for inner in value]
    return value


def _our_fault(sentence: str) -> dict[str, Any]:
    """Return the body where the fault is ours."""
    return {
        "error": {
            "code": "failure",
            "field": "",
            "given": None,
            "allowed": "",
            "message": sentence,
        }
    }
