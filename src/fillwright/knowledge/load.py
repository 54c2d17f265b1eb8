"""Read the rule sets for net contents from their data files.

Files are checked twice: against the schema, and for sense (tables without gap or overlap, every
source named).  A file that fails is refused with its name and row; nothing is repaired.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from fillwright.errors import BadInput, KnowledgeError
from fillwright.knowledge.check import check
from fillwright.knowledge.types import (
    Basis,
    LotGap,
    PlanKind,
    PlanRow,
    RoundingRow,
    RuleSet,
    ScaleRule,
    Scope,
    SecondLimit,
    ShortageRow,
    Source,
)

__all__ = ["parse_rule_set", "rule_set", "rule_sets"]

Row = dict[str, Any]


@cache
def rule_sets() -> Mapping[str, RuleSet]:
    """Return the rule sets that come with the program, by name.

    Returns
    -------
    Mapping of str to RuleSet
        In the order of their names; read once.

    Raises
    ------
    KnowledgeError
        If a file does not follow its schema, or its tables do not make sense.
    """
    folder = files("fillwright.knowledge") / "data" / "rules"
    texts = sorted(
        (file for file in folder.iterdir() if file.name.endswith(".toml")), key=_file_name
    )
    found = [parse_rule_set(text.read_text("utf-8"), file=text.name) for text in texts]
    return MappingProxyType({rules.name: rules for rules in sorted(found, key=_rule_name)})


def rule_set(name: str) -> RuleSet:
    """Return one rule set by name.

    Parameters
    ----------
    name : str
        Name, such as ``EU-76/211``.

    Returns
    -------
    RuleSet
        The rule set.

    Raises
    ------
    BadInput
        If there is none of that name; the message lists the names.
    """
    known = rule_sets()
    if name not in known:
        names = ", ".join(known)
        raise BadInput(
            f"rules: there is no rule set {name!r}; choose one of {names}.",
            field="rules",
            given=name,
            allowed=names,
            code="choice",
        )
    return known[name]


def parse_rule_set(text: str, *, file: str) -> RuleSet:
    """Return the rule set that a TOML text holds.

    Parameters
    ----------
    text : str
        Content of the file.
    file : str
        Name of the file, for messages.

    Returns
    -------
    RuleSet
        The rule set, checked.

    Raises
    ------
    KnowledgeError
        If the text is not TOML, does not follow the schema or does not make sense.
    """
    try:
        data: Row = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise KnowledgeError(f"{file}: not readable as TOML: {error}.") from error
    check(data, _schema(), file=file)
    rules = _rule_set(data)
    _check_sense(rules, file)
    return rules


@cache
def _schema() -> Mapping[str, object]:
    """Return the schema of a rule set."""
    text = (files("fillwright.knowledge") / "schema" / "rules.json").read_text("utf-8")
    schema: Mapping[str, object] = json.loads(text)
    return schema


def _rule_set(data: Row) -> RuleSet:
    """Turn checked data into the record."""
    scope, scale = data["scope"], data["scale"]
    return RuleSet(
        name=data["name"],
        title=data["title"],
        edition=data["edition"],
        shortage_word=data["shortage_word"],
        table_units=tuple(data["table_units"]),
        may_supply=data["may_supply"],
        second_limit=SecondLimit(data["second_limit"]),
        second_allowed=data["second_allowed"],
        sample_error_limit=data["sample_error_limit"],
        mean_quantile=Decimal(data["mean_quantile"]),
        mean_population=data["mean_population"],
        default_plan=PlanKind(data["default_plan"]),
        plans=tuple(PlanKind(kind) for kind in data["plans"]),
        share_below_t1=_decimal(data, "share_below_t1"),
        share_below_t2=_decimal(data, "share_below_t2"),
        share_basis=Basis(data["share_basis"]),
        scope=Scope(
            low=Decimal(scope["low"]),
            low_included=scope["low_included"],
            high=Decimal(scope["high"]),
            basis=Basis(scope["basis"]),
            source=scope["source"],
        ),
        shortages=tuple(map(_shortage_row, data["shortage"])),
        roundings=tuple(map(_rounding_row, data.get("rounding", []))),
        plan_rows=tuple(map(_plan_row, data["plan"])),
        gaps=tuple(LotGap(**gap) for gap in data.get("gap", [])),
        scale=ScaleRule(
            uncertainty_share=_decimal(scale, "uncertainty_share"),
            divisions_in_shortage=scale.get("divisions_in_shortage"),
            divisions_at_least=scale.get("divisions_at_least"),
            basis=Basis(scale["basis"]),
            source=scale["source"],
        ),
        notes=tuple(data["notes"]),
        sources=tuple(Source(**source) for source in data["source"]),
    )


def _shortage_row(row: Row) -> ShortageRow:
    """Turn one row of the shortage table into its record."""
    return ShortageRow(
        above=Decimal(row["above"]),
        up_to=_decimal(row, "up_to"),
        percent=_decimal(row, "percent"),
        amount=_decimal(row, "amount"),
        basis=Basis(row["basis"]),
        source=row["source"],
    )


def _rounding_row(row: Row) -> RoundingRow:
    """Turn one row of the rounding rule into its record."""
    return RoundingRow(
        above=Decimal(row["above"]),
        up_to=_decimal(row, "up_to"),
        step=Decimal(row["step"]),
        basis=Basis(row["basis"]),
        source=row["source"],
    )


def _plan_row(row: Row) -> PlanRow:
    """Turn one row of the table of plans into its record."""
    return PlanRow(
        kind=PlanKind(row["kind"]),
        lot_from=row["lot_from"],
        lot_to=row.get("lot_to"),
        n=row.get("n"),
        n_mean=row.get("n_mean"),
        k=_decimal(row, "k"),
        accept=row.get("accept"),
        accept_percent=_decimal(row, "accept_percent"),
        reject=row.get("reject"),
        n_second=row.get("n_second"),
        accept_total=row.get("accept_total"),
        reject_total=row.get("reject_total"),
        basis=Basis(row["basis"]),
        source=row["source"],
    )


def _check_sense(rules: RuleSet, file: str) -> None:
    """Raise if tables have gaps, rows contradict themselves or a source is not listed."""
    for table, rows in (("shortage", rules.shortages), ("rounding", rules.roundings)):
        _check_ladder(rows, f"{file}, {table}")
    for number, row in enumerate(rules.shortages, start=1):
        if (row.percent is None) == (row.amount is None):
            raise KnowledgeError(
                f"{file}, shortage row {number}: give either percent or amount, not both."
            )
    for number, plan in enumerate(rules.plan_rows, start=1):
        _check_plan(plan, f"{file}, plan row {number}")
    keys = {source.key for source in rules.sources}
    used = [rules.scope.source, rules.scale.source]
    used += [row.source for row in rules.shortages]
    used += [row.source for row in rules.roundings]
    used += [row.source for row in rules.plan_rows]
    for key in used:
        if key not in keys:
            raise KnowledgeError(f"{file}: source {key!r} is used but not listed.")


def _check_ladder(rows: Sequence[ShortageRow | RoundingRow], where: str) -> None:
    """Raise unless each row starts where the one before it ends."""
    for number, (row, after) in enumerate(pairwise(rows), start=1):
        if row.up_to is None or row.up_to != after.above or row.above >= row.up_to:
            raise KnowledgeError(
                f"{where} row {number + 1}: starts at {after.above}, but the row before it "
                f"ends at {row.up_to}; close the gap."
            )


def _check_plan(plan: PlanRow, where: str) -> None:
    """Raise if the figures of a plan contradict each other."""
    if plan.lot_to is not None and plan.lot_to < plan.lot_from:
        raise KnowledgeError(f"{where}: lot_to {plan.lot_to} is below lot_from {plan.lot_from}.")
    if (plan.n is None) != (plan.kind is PlanKind.CENSUS):
        raise KnowledgeError(f"{where}: n is left out for a census and given for other plans.")
    if plan.n is not None and plan.n_mean is not None and plan.n_mean > plan.n:
        raise KnowledgeError(f"{where}: n_mean {plan.n_mean} is above n {plan.n}.")
    second = (plan.n_second, plan.accept_total, plan.reject_total)
    if any((figure is None) == (plan.kind is PlanKind.DOUBLE) for figure in second):
        raise KnowledgeError(
            f"{where}: n_second, accept_total and reject_total belong to a double plan, all three."
        )
    if plan.kind is not PlanKind.CENSUS and (plan.accept is None or plan.k is None):
        raise KnowledgeError(f"{where}: accept and k are missing; only a census may lack them.")


def _decimal(row: Row, name: str) -> Decimal | None:
    """Return an exact decimal, or None where the row leaves it out."""
    return Decimal(row[name]) if name in row else None


def _file_name(file: Traversable) -> str:
    """Return the name by which files are sorted."""
    return file.name


def _rule_name(rules: RuleSet) -> str:
    """Return the name by which rule sets are sorted."""
    return rules.name
