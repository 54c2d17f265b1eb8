"""How much may one package be short: the tolerable shortage of a rule set.

Tables and rounding come from the rule set's data file; the arithmetic is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from fillwright.errors import BadInput
from fillwright.knowledge.types import Basis, RoundingRow, RuleSet, ShortageRow
from fillwright.science.quantity.exact import above_zero, as_decimal, ceiling

__all__ = ["Shortage", "ShortageVerdict", "SuppliedShortage", "tolerable_shortage"]

UNITS = ("g", "mL")
NOT_CHECKED = "table not checked against the source"


class ShortageVerdict(StrEnum):
    """Whether a rule set gives a tolerable shortage."""

    OK = "ok"
    OUT_OF_SCOPE = "out-of-scope"
    NOT_AVAILABLE = "not-available"


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliedShortage:
    """A tolerable shortage that the user read in the document.

    Attributes
    ----------
    value : Decimal
        The shortage. [g or mL]
    edition : str
        Edition of the document.
    page : str
        Page or table of the document.
    """

    value: Decimal
    edition: str
    page: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortage:
    """The tolerable shortage of one package.

    Attributes
    ----------
    verdict : ShortageVerdict
        Whether there is one.
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    t : Decimal or None
        Tolerable shortage, rounded as the rules say. [g or mL]
    t_raw : Decimal or None
        The same before rounding. [g or mL]
    t1_limit : Decimal or None
        Label quantity less the shortage. [g or mL]
    t2_limit : Decimal or None
        Label quantity less twice the shortage. [g or mL]
    row : str or None
        Row of the table.
    basis : Basis or None
        How the row is held.
    rounding_step : Decimal or None
        Step to which it was rounded up; None where the rules do not round. [g or mL]
    rounding_basis : Basis or None
        How the rounding rule is held.
    rule : str
        Name, title and edition of the rule set.
    notes : tuple of str
        What a report must say beside the figure.
    sources : tuple of str
        Documents behind the figure.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        One sentence.
    """

    verdict: ShortageVerdict
    nominal: Decimal
    unit: str
    t: Decimal | None
    t_raw: Decimal | None
    t1_limit: Decimal | None
    t2_limit: Decimal | None
    row: str | None
    basis: Basis | None
    rounding_step: Decimal | None
    rounding_basis: Basis | None
    rule: str
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    assumptions: tuple[str, ...]
    because: str


def tolerable_shortage(
    rules: RuleSet,
    nominal: Decimal,
    *,
    unit: str,
    supplied: SuppliedShortage | None = None,
) -> Shortage:
    """Return how much one package may be short under a rule set.

    Parameters
    ----------
    rules : RuleSet
        The rule set.
    nominal : Decimal
        Label quantity. [g or mL]
    unit : str
        ``g`` or ``mL``.
    supplied : SuppliedShortage, optional
        The figure from the document, where the rule set lets the user supply it; it then
        replaces the table.

    Returns
    -------
    Shortage
        The shortage, or why there is none.

    Raises
    ------
    BadInput
        If the label quantity is not above zero, the unit is neither ``g`` nor ``mL``, or a
        supplied figure is not allowed or says no edition and page.

    Notes
    -----
    The row that covers the label quantity gives a percentage of it or an amount; the result goes
    up to the next whole rounding step, and an exact step stays as it is.  Row and rounding each
    carry their source.
    """
    above_zero(nominal, "nominal")
    check_unit(unit)
    if supplied is not None:
        _check_supplied(rules, supplied)
    if not rules.scope.covers(nominal):
        return _out_of_scope(rules, nominal, unit)
    if supplied is not None:
        return _supplied(rules, nominal, unit, supplied)
    if unit not in rules.table_units:
        return _not_available(rules, nominal, unit)
    return _from_table(rules, nominal, unit)


def _check_supplied(rules: RuleSet, supplied: SuppliedShortage) -> None:
    """Refuse a supplied figure that the rules do not ask for, or that has no place in a book."""
    if not rules.may_supply:
        raise BadInput(
            f"supplied: {rules.name} has its own table; leave the supplied figure out.",
            field="supplied",
            given=supplied.value,
            allowed="nothing",
            code="inconsistent",
        )
    above_zero(supplied.value, "supplied value")
    if not supplied.edition.strip() or not supplied.page.strip():
        raise BadInput(
            "supplied: the edition or the page is missing; give both, they go into the report.",
            field="supplied",
            given=f"{supplied.edition}, {supplied.page}",
            allowed="edition and page of the document",
            code="missing",
        )


def _from_table(rules: RuleSet, nominal: Decimal, unit: str) -> Shortage:
    """Look the shortage up and round it."""
    row = next(row for row in rules.shortages if _covers(row, nominal))
    raw = (
        Fraction(row.amount)
        if row.amount is not None
        else Fraction(nominal) * Fraction(row.percent or 0) / 100
    )
    rounding = next((rule for rule in rules.roundings if _covers(rule, nominal)), None)
    rounded = raw
    if rounding is not None:
        step = Fraction(rounding.step)
        rounded = ceiling(raw / step) * step
    changed = rounding is not None and rounded != raw
    notes: list[str] = []
    if row.basis is Basis.MEMORY:
        notes.append(f"{NOT_CHECKED}: {rules.shortage_word}, row {row.name}")
    if rounding is not None and changed and rounding.basis is Basis.MEMORY:
        notes.append(f"{NOT_CHECKED}: rounding of the {rules.shortage_word}")
    sources = [rules.source_text(row.source)]
    if rounding is not None and rounding.source != row.source:
        sources.append(rules.source_text(rounding.source))
    how = f"{row.percent} % of {nominal}" if row.percent is not None else f"{row.amount} {unit}"
    up = f", rounded up to {as_decimal(rounded)} {unit}" if changed else ""
    return _answer(
        rules,
        nominal,
        unit,
        t=as_decimal(rounded),
        t_raw=as_decimal(raw),
        row=row.name,
        basis=row.basis,
        rounding=rounding,
        notes=tuple(notes),
        sources=tuple(sources),
        because=f"The row {row.name} {unit} gives {how}{up}.",
    )


def _supplied(rules: RuleSet, nominal: Decimal, unit: str, supplied: SuppliedShortage) -> Shortage:
    """Answer with the figure that the user read in the document."""
    place = f"edition {supplied.edition}, page {supplied.page}"
    return _answer(
        rules,
        nominal,
        unit,
        t=supplied.value,
        t_raw=supplied.value,
        row=f"supplied from {place}",
        basis=Basis.SUPPLIED,
        rounding=None,
        notes=(f"{rules.shortage_word} supplied by the user from {place}",),
        sources=(f"{rules.title}, {place}; supplied by the user",),
        because=f"The user supplied {supplied.value} {unit} from {place}.",
    )


def _answer(
    rules: RuleSet,
    nominal: Decimal,
    unit: str,
    *,
    t: Decimal,
    t_raw: Decimal,
    row: str,
    basis: Basis,
    rounding: RoundingRow | None,
    notes: tuple[str, ...],
    sources: tuple[str, ...],
    because: str,
) -> Shortage:
    """Add the two limits."""
    return Shortage(
        verdict=ShortageVerdict.OK,
        nominal=nominal,
        unit=unit,
        t=t,
        t_raw=t_raw,
        t1_limit=as_decimal(Fraction(nominal) - Fraction(t)),
        t2_limit=as_decimal(Fraction(nominal) - 2 * Fraction(t)),
        row=row,
        basis=basis,
        rounding_step=None if rounding is None else rounding.step,
        rounding_basis=None if rounding is None else rounding.basis,
        rule=rule_text(rules),
        notes=notes,
        sources=sources,
        assumptions=(),
        because=because,
    )


def _out_of_scope(rules: RuleSet, nominal: Decimal, unit: str) -> Shortage:
    """Answer that the rules do not cover this label quantity."""
    scope = rules.scope
    low = f"from {scope.low}" if scope.low_included else f"above {scope.low}"
    return _none(
        rules,
        nominal,
        unit,
        verdict=ShortageVerdict.OUT_OF_SCOPE,
        because=f"{rules.name} covers {low} to {scope.high} {unit}; {nominal} {unit} is outside.",
        source=rules.source_text(scope.source),
    )


def _not_available(rules: RuleSet, nominal: Decimal, unit: str) -> Shortage:
    """Answer that we hold no table for this unit."""
    return _none(
        rules,
        nominal,
        unit,
        verdict=ShortageVerdict.NOT_AVAILABLE,
        because=f"The {rules.shortage_word} for labels in {unit} is not held; type it from the "
        "document with its edition and page.",
        source=f"{rules.title}, {rules.edition}",
    )


def _none(
    rules: RuleSet,
    nominal: Decimal,
    unit: str,
    *,
    verdict: ShortageVerdict,
    because: str,
    source: str,
) -> Shortage:
    """Answer without a figure."""
    return Shortage(
        verdict=verdict,
        nominal=nominal,
        unit=unit,
        t=None,
        t_raw=None,
        t1_limit=None,
        t2_limit=None,
        row=None,
        basis=None,
        rounding_step=None,
        rounding_basis=None,
        rule=rule_text(rules),
        notes=(),
        sources=(source,),
        assumptions=(),
        because=because,
    )


def _covers(row: ShortageRow | RoundingRow, nominal: Decimal) -> bool:
    """Say whether a row covers a label quantity."""
    return nominal > row.above and (row.up_to is None or nominal <= row.up_to)


def rule_text(rules: RuleSet) -> str:
    """Return name, title and edition of a rule set for a report.

    Parameters
    ----------
    rules : RuleSet
        The rule set.

    Returns
    -------
    str
        One line.
    """
    return f"{rules.name}: {rules.title}; {rules.edition}"


def check_unit(unit: str) -> None:
    """Refuse what is not a unit of content.

    Parameters
    ----------
    unit : str
        ``g`` or ``mL``.

    Raises
    ------
    BadInput
        If it is neither.
    """
    if unit not in UNITS:
        raise BadInput(
            f"unit: {unit!r} is not a unit of content here; give g or mL.",
            field="unit",
            given=unit,
            allowed="g, mL",
            code="unit",
        )
