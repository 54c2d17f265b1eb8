"""Read the fault data, shipped and the user's own.

A file that does not fit is refused with file, line and mend; the shipped data then keep
working beside it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from fillwright.errors import KnowledgeError
from fillwright.knowledge.faults_check import check_sense
from fillwright.knowledge.faults_lines import LineBook
from fillwright.knowledge.faults_types import (
    Cause,
    Check,
    Costs,
    FaultBook,
    FaultsUsed,
    Finding,
    Repair,
    Sign,
)

__all__ = ["MOST_BYTES", "fault_book", "faults_used", "parse_fault_book", "with_own"]

MOST_BYTES = 2_000_000
_Chance = Annotated[float, Field(gt=0, lt=1)]
_Above = Annotated[float, Field(gt=0, le=1e6)]
_Any = Annotated[float, Field(ge=0, le=1e6)]
_Words = Annotated[str, Field(min_length=1, max_length=400)]
_Note = Annotated[str, Field(max_length=400)]
_T = TypeVar("_T")


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class _Meta(_Row):
    schema_: Annotated[int, Field(alias="schema", ge=1, le=1)]
    source: _Words
    prior_strength: _Above
    link_strength: _Above
    expected_extra_faults: _Above
    after_window_cycles: Annotated[int, Field(ge=0)]
    after_outside_factor: _Above
    after_inside_factor: _Above


class _Cost(_Row):
    minute: _Above
    product_ml: _Any
    technician_call: _Above


class _Walk(_Row):
    checks: list[str]
    minutes: _Above


class _Sign(_Row):
    words: _Words
    group: _Words
    findings: Annotated[list[str], Field(min_length=1)]
    direction: Annotated[str, Field(pattern="^(up|down|)$")] = ""


class _Symptom(_Row):
    text: _Words
    leak: _Chance
    implies_absent: list[str] = []


class _Found(_Row):
    text: _Words
    leak: _Chance


class _Cause(_Row):
    group: _Words
    name: _Words
    weight: _Above
    qualified: bool
    explain: _Words
    after: Annotated[str, Field(pattern="^(rebuild|changeover|)$")] = ""
    links: dict[str, _Chance]


class _Check(_Row):
    number: Annotated[int, Field(ge=1, le=9999)]
    name: _Words
    ask: _Words
    minutes: _Above
    product_ml: _Any
    tools: _Note
    needs: list[str]
    caution: _Note
    steps: Annotated[list[_Words], Field(min_length=1, max_length=3)]
    finding: Annotated[dict[str, _Found], Field(min_length=1, max_length=6)]


class _Repair(_Row):
    name: _Words
    fixes: Annotated[dict[str, _Chance], Field(min_length=1)]
    minutes: _Above
    product_ml: _Any
    parts: _Note
    tools: _Note
    confirm: str
    needs: list[str]
    caution: _Note
    explain: _Words
    after: _Words


class _Signature(_Row):
    classes: list[str]
    smoothing: _Above
    motion_causes: list[str]
    row: dict[str, dict[str, _Above]]


class _File(_Row):
    meta: _Meta
    cost: _Cost
    walk_round: _Walk
    needs: dict[str, _Words]
    sign: dict[str, _Sign]
    symptom: dict[str, _Symptom]
    cause: dict[str, _Cause]
    check: dict[str, _Check]
    repair: dict[str, _Repair]
    signature: _Signature


@cache
def fault_book() -> FaultBook:
    """Return the fault data that come with the program; read once.

    Raises
    ------
    KnowledgeError
        If the file does not fit; the message names file, line and mend.
    """
    file = files("fillwright.knowledge") / "data" / "service" / "faults.toml"
    return parse_fault_book(file.read_text("utf-8"), file=file.name)


def with_own(text: str, *, file: str) -> tuple[FaultBook, str]:
    """Return the user's own data, or the shipped data and what is wrong with the user's.

    Parameters
    ----------
    text : str
        Content of the user's file.
    file : str
        Its name, for the message.

    Returns
    -------
    FaultBook
        What to work with.
    str
        What is wrong with the user's file; empty when nothing is.
    """
    try:
        return parse_fault_book(text, file=file), ""
    except KnowledgeError as error:
        return fault_book(), f"{error} The data of the program are used instead."


def faults_used(path: Path | None) -> FaultsUsed:
    """Return the data of a site's own file, or those of the program.

    Parameters
    ----------
    path : Path or None
        Where the file would be; none, or not there, is no fault.

    Returns
    -------
    FaultsUsed
        A file that cannot be used is named in `problem` and changes nothing.
    """
    if path is None or not path.is_file():
        return FaultsUsed(book=fault_book())
    try:
        if path.stat().st_size > MOST_BYTES:
            words = f"{path.name}: larger than {MOST_BYTES} bytes; take parts out."
            raise KnowledgeError(words)  # noqa: TRY301  told with the rest
        text = path.read_text("utf-8")
    except (KnowledgeError, OSError, UnicodeDecodeError) as error:
        words = str(error) if path.name in str(error) else f"{path.name}: {error}"
        problem = f"{words.rstrip('.')}. The data of the program are used instead."
        return FaultsUsed(book=fault_book(), problem=problem)
    book, problem = with_own(text, file=path.name)
    return FaultsUsed(book=book, file="" if problem else path.name, problem=problem)


def parse_fault_book(text: str, *, file: str) -> FaultBook:
    """Return the fault data that a TOML text holds.

    Parameters
    ----------
    text : str
        Content of the file.
    file : str
        Name of the file, for messages.

    Returns
    -------
    FaultBook
        The data, checked.

    Raises
    ------
    KnowledgeError
        If the text is too long, is not TOML, or does not make sense; with line and mend.
    """
    if len(text) > MOST_BYTES:
        raise KnowledgeError(f"{file}: larger than {MOST_BYTES} characters; take parts out.")
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise KnowledgeError(f"{file}: not readable as TOML: {error}.") from error
    lines = LineBook(text)
    try:
        read = _File.model_validate(data)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = tuple(str(part) for part in first["loc"])
        name = ".".join(where)
        raise KnowledgeError(
            f"{file}, line {lines.find(*where)}: {name}: {first['msg']}. Mend that entry."
        ) from error
    book = _book(read)
    wrong = check_sense(book, motion=tuple(read.signature.motion_causes), rows=read.signature.row)
    if wrong is not None:
        raise KnowledgeError(
            f"{file}, line {lines.find(*wrong.where)}: {wrong.what}. {wrong.mend}."
        )
    return book


def _fixed(rows: dict[str, _T]) -> Mapping[str, _T]:
    """Return rows that nobody changes."""
    return MappingProxyType(rows)


def _book(read: _File) -> FaultBook:
    """Return the data in the types of the program."""
    findings = {
        key: Finding(
            key=key, text=row.text, leak=row.leak, implies_absent=tuple(row.implies_absent)
        )
        for key, row in read.symptom.items()
    }
    for name, check in read.check.items():
        for key, found in check.finding.items():
            # The first owner stays; the check for sense tells of a key that comes twice.
            findings.setdefault(
                key, Finding(key=key, text=found.text, leak=found.leak, check=name)
            )
    return FaultBook(
        findings=_fixed(findings),
        causes=_fixed({key: _cause(key, row, read) for key, row in read.cause.items()}),
        checks=_fixed({key: _check(key, row) for key, row in read.check.items()}),
        repairs=_fixed({key: _repair(key, row) for key, row in read.repair.items()}),
        signs=_fixed(
            {
                key: Sign(
                    key=key,
                    words=row.words,
                    group=row.group,
                    findings=tuple(row.findings),
                    direction=row.direction,
                )
                for key, row in read.sign.items()
            }
        ),
        needs=_fixed(dict(read.needs)),
        costs=Costs(
            minute=read.cost.minute,
            product_ml=read.cost.product_ml,
            technician_call=read.cost.technician_call,
        ),
        walk_checks=tuple(read.walk_round.checks),
        walk_minutes=read.walk_round.minutes,
        classes=tuple(read.signature.classes),
        smoothing=read.signature.smoothing,
        prior_strength=read.meta.prior_strength,
        link_strength=read.meta.link_strength,
        expected_extra=read.meta.expected_extra_faults,
        after_cycles=read.meta.after_window_cycles,
        after_inside=read.meta.after_inside_factor,
        after_outside=read.meta.after_outside_factor,
    )


def _cause(key: str, row: _Cause, read: _File) -> Cause:
    """Return one cause with its row of dose signatures."""
    shared = "_motion" if key in read.signature.motion_causes else key
    return Cause(
        key=key,
        name=row.name,
        explain=row.explain,
        weight=row.weight,
        is_qualified=row.qualified,
        after=row.after,
        links=_fixed(dict(row.links)),
        signature=_fixed(dict(read.signature.row.get(shared, {}))),
    )


def _check(key: str, row: _Check) -> Check:
    """Return one check."""
    return Check(
        key=key,
        name=row.name,
        ask=row.ask,
        number=row.number,
        minutes=row.minutes,
        product_ml=row.product_ml,
        needs=tuple(row.needs),
        caution=row.caution,
        tools=row.tools,
        steps=tuple(row.steps),
        findings=tuple(row.finding),
    )


def _repair(key: str, row: _Repair) -> Repair:
    """Return one repair."""
    return Repair(
        key=key,
        name=row.name,
        explain=row.explain,
        fixes=_fixed(dict(row.fixes)),
        minutes=row.minutes,
        product_ml=row.product_ml,
        needs=tuple(row.needs),
        confirm=row.confirm,
        caution=row.caution,
        parts=row.parts,
        tools=row.tools,
        after=row.after,
    )
