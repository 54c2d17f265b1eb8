"""The description of the interface for programs, as OpenAPI: one path for each question."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, get_args

from fillwright.questions import QUESTIONS, schema
from fillwright.records.entries import Purpose, Source

__all__ = ["describe_interface"]

_ERROR: Final = {
    "type": "object",
    "required": ["error"],
    "properties": {
        "error": {
            "type": "object",
            "required": ["code", "field", "given", "allowed", "message"],
            "properties": {
                "code": {"type": "string"},
                "field": {"type": "string"},
                "given": {"type": ["string", "null"]},
                "allowed": {"type": "string"},
                "message": {"type": "string"},
            },
        }
    },
}
_WEIGHT: Final = {
    "type": "object",
    "required": ["id", "value"],
    "additionalProperties": False,
    "properties": {
        "id": {"type": "string", "format": "uuid", "description": "Made at the source."},
        "value": {
            "type": ["string", "number"],
            "description": "What the scale showed, taken by its decimal text.",
        },
        "unit": {"type": "string", "default": "g"},
        "basis": {"enum": ["gross", "net"]},
        "container": {"type": "integer", "minimum": 1},
        "filled_to": {"type": "integer", "minimum": 1},
        "time": {"type": "string", "format": "date-time"},
        "source": {"enum": list(get_args(Source)), "default": "http"},
        "purpose": {"enum": list(get_args(Purpose))},
        "person": {"type": "string"},
        "sender": {
            "type": "string",
            "description": "What the program calls itself: a page that weighs lets it in by it.",
        },
        "set_aside": {"type": "string", "description": "Reason, where the weight is spoilt."},
    },
}
_JOB: Final = {
    "name": "job",
    "in": "path",
    "required": True,
    "schema": {"type": "string"},
    "description": "Job number.",
}


def describe_interface(version: str) -> dict[str, Any]:
    """Return the description.

    Parameters
    ----------
    version : str
        Version of the program.

    Returns
    -------
    dict
        OpenAPI 3.1, ready for JSON.
    """
    weighings = _operation(
        "Keep one weight; the same id again gets the same answer.",
        _WEIGHT,
        {"200": "kept and judged", "404": "no such job", "409": "the id was used before",
         "422": "not a weight of this job", "423": "a page weighs and did not let it in",
         "507": "not kept: the disk is full"},
    )  # fmt: skip
    state = {
        "summary": "Where a job stands, and the next act.",
        "responses": _responses({"200": "the state", "404": "no such job"}),
    }
    return {
        "openapi": "3.1.0",
        "info": {"title": "Fillwright", "version": version},
        "paths": {
            "/api/v1/jobs/{job}/weighings": {"parameters": [_JOB], "post": weighings},
            "/api/v1/jobs/{job}": {"parameters": [_JOB], "get": state},
            **{f"/api/v1/ask/{name}": {"post": _question(name)} for name in QUESTIONS},
        },
    }


def _question(name: str) -> dict[str, Any]:
    """Return one question of the question interface."""
    both = schema(name)
    told = _operation(
        str(both["line"]),
        _local(name, "input", both["input"]),
        {"200": "the answer", "422": "a bad input"},
    )
    told["responses"]["200"]["content"] = {
        "application/json": {"schema": _local(name, "output", both["output"])}
    }
    return told


def _local(name: str, side: str, found: Mapping[str, Any]) -> dict[str, Any]:
    """Return a schema with a name of its own, so that its references stay inside it."""
    return {"$id": f"urn:fillwright:{name}:{side}"} | {
        key: value for key, value in found.items() if key != "$schema"
    }


def _operation(summary: str, body: Mapping[str, Any], told: Mapping[str, str]) -> dict[str, Any]:
    """Return something that takes JSON."""
    return {
        "summary": summary,
        "requestBody": {"required": True, "content": {"application/json": {"schema": body}}},
        "responses": _responses(told),
    }


def _responses(told: Mapping[str, str]) -> dict[str, Any]:
    """Return the statuses; a refusal has the one form of error."""
    return {
        status: {"description": words}
        if status == "200"
        else {"description": words, "content": {"application/json": {"schema": _ERROR}}}
        for status, words in told.items()
    }
