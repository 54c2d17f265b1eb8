"""The question interface: one table behind command line, HTTP and Python.

`answer` takes and gives dicts ready for JSON, `answer_json` takes a text and gives a status
and a text, `schema` describes both sides.
"""

from __future__ import annotations

from fillwright.questions.asking import Reply, answer, answer_json, find, names, schema
from fillwright.questions.table import QUESTIONS, Question

__all__ = ["QUESTIONS", "Question", "Reply", "answer", "answer_json", "find", "names", "schema"]
