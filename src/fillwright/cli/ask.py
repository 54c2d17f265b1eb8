"""``fillwright ask``: a question by name, JSON in, JSON out."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, BinaryIO, Final

import typer

from fillwright.cli import files, terminal
from fillwright.errors import BadInput

__all__ = ["ask"]

_LONGEST_LINE: Final = 8_000_000
_UTF_16: Final = (b"\xff\xfe", b"\xfe\xff")
_STATUS: Final = {200: 0, 404: 2, 422: 2, 500: 1}


def ask(
    question: Annotated[str | None, typer.Argument(help="Name of the question.")] = None,
    *,
    source: Annotated[
        Path | None,
        typer.Option("--input", metavar="FILE", help="Read the JSON from a file; - is stdin."),
    ] = None,
    listed: Annotated[bool, typer.Option("--list", help="List the questions.")] = False,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of input and output.")
    ] = False,
    many: Annotated[
        bool, typer.Option("--many", help="Read JSON Lines, write one line for each.")
    ] = False,
) -> None:
    """Answer a question by name, JSON in and JSON out.

    Reads standard input unless --input names a file. Ends with 0 for an answer, 2 for a bad
    input, 1 where the fault is ours.
    """
    if listed:
        _list()
        return
    try:
        raise typer.Exit(_answered(question, source, schema=schema, many=many))
    except BadInput as error:
        terminal.say_json(error.as_dict())
        terminal.complain(error.message)
        raise typer.Exit(2) from None


def _answered(question: str | None, source: Path | None, *, schema: bool, many: bool) -> int:
    """Do what was asked for; return the status."""
    from fillwright import questions  # noqa: PLC0415  loaded when asked

    if question is None:
        message = "Name a question; `fillwright ask --list` prints all."
        raise BadInput(message, field="question", code="missing", allowed="a name")
    if schema:
        terminal.say_json(questions.schema(question))
        return 0
    questions.find(question)
    if many:
        return _answer_lines(question, source)
    return _answer_one(question, files.text_of(source))


def _list() -> None:
    """Print the questions by group, one line each."""
    from fillwright.questions.table import QUESTIONS  # noqa: PLC0415  loaded when asked

    widest = max(len(name) for name in QUESTIONS)
    group = ""
    for question in QUESTIONS.values():
        if question.group != group:
            terminal.say(f"{'' if not group else chr(10)}{question.group}")
            group = question.group
        terminal.say(f"  {question.name:<{widest}}  {question.line}")


def _answer_one(question: str, text: str) -> int:
    """Print the answer to one input; return the status."""
    from fillwright.questions import answer_json  # noqa: PLC0415  loaded when asked

    reply = answer_json(question, text)
    document = json.loads(reply.body)
    terminal.say_json(document)
    if "error" in document:
        terminal.complain(document["error"]["message"])
    return _STATUS[reply.status]


def _answer_lines(question: str, source: Path | None) -> int:
    """Print one line for each line of input, in order; return the worst status."""
    from fillwright.questions import answer_json  # noqa: PLC0415  loaded when asked

    worst = 0
    with files.opened(source) as lines:
        for number, text in enumerate(_texts(lines), start=1):
            if isinstance(text, BadInput):
                document, status = text.as_dict(), 2
            else:
                reply = answer_json(question, text)
                document, status = json.loads(reply.body), _STATUS[reply.status]
            terminal.say_json(document, indent=None)
            terminal.flush()
            if status:
                terminal.complain(f"line {number}: {document['error']['message']}")
                worst = 1 if 1 in {worst, status} else 2
    return worst


def _texts(stream: BinaryIO) -> Iterator[str | BadInput]:
    """Yield each line as text, or as the error where it cannot be one."""
    started = False
    while line := stream.readline(_LONGEST_LINE):
        if not started and line[:2] in _UTF_16:
            yield from _utf_16(line + stream.read())
            return
        started = True
        if len(line) == _LONGEST_LINE and not line.endswith(b"\n"):
            while (rest := stream.readline(_LONGEST_LINE)) and not rest.endswith(b"\n"):
                continue
            yield _unreadable(f"has over {_LONGEST_LINE} bytes", "a shorter line", "range")
            continue
        try:
            yield line.decode("utf-8-sig")
        except UnicodeDecodeError:
            yield _unreadable("is not UTF-8 text", "UTF-8", "type")


def _utf_16(data: bytes) -> Iterator[str | BadInput]:
    """Yield the lines of a whole file that was saved as UTF-16."""
    try:
        text = data.decode("utf-16")
    except UnicodeDecodeError:
        yield _unreadable("is not UTF-16 text", "UTF-8 or UTF-16", "type")
        return
    yield from io.StringIO(text)


def _unreadable(what: str, allowed: str, code: str) -> BadInput:
    """Return the error for a line that cannot be looked into."""
    return BadInput(f"The line {what}; give {allowed}.", field="input", allowed=allowed, code=code)
