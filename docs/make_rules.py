"""Write the reference page of rule sets from the data files: ``python docs/make_rules.py``."""

# ruff: noqa: INP001  the folder of pages is no package

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Final

from fillwright.knowledge.load import rule_sets
from fillwright.knowledge.types import PlanKind, PlanRow, RuleSet, ScaleRule, Scope, SecondLimit

__all__ = ["PAGE", "page"]

PAGE: Final = Path(__file__).parent / "reference" / "rules.md"

_HEAD: Final = """\
# Rule sets

A rule set is one edition of one published rule for net contents, as a data file.
This page is made from those files by `python docs/make_rules.py`; a test compares the two.
The rules themselves, and the authority that enforces them, go before this page.

## How a row is held

Every row says how it is held, and every verdict says so again.

| mark | means |
| --- | --- |
| `R` | read in the source that is named |
| `C` | computed from the definition that the source gives |
| `M` | from memory; check it against the document before a release relies on it |
| `D` | our own design, no legal force |
| `S` | typed from a document by the user, who names edition and page |

Where a verdict rests on a row marked `M`, page, paper and terminal say \
"Table not checked against the source".

## What the letters mean

| letter | means |
| --- | --- |
| T | how far one package may fall short of the label |
| T1 | the label less T: a package below it is short |
| T2 | the label less twice T: a package below it is far short |
| n | packages drawn |
| k | factor of the test of the average: the average must not be below the label less k times s |
| c | most short packages that still accept |

The plan `own` is one whose n, k, c and allowance below T2 are typed from a document.

A content exactly on T1 or T2 is not below it.
The range "above 200 up to 300" holds 300 and not 200.

## What this page leaves out

No rule set holds the markings, the records that a packer must keep, or the law on labels.
For a label in mL under `US-HB133-A` no table is held; the value is typed from the handbook, see \
[supply a number from a document](../howto/rules-and-documents.md).
"""


def page() -> str:
    """Return the whole page.

    Returns
    -------
    str
        Markdown.
    """
    sections = [_section(rules) for rules in rule_sets().values()]
    return "\n".join([_HEAD, *sections])


def _section(rules: RuleSet) -> str:
    """Return one rule set."""
    parts = [
        f"## `{rules.name}`\n",
        f"{rules.title}.",
        f"Edition: {rules.edition}.\n",
        *_table(("asked", "answer"), _facts(rules)),
        f"\nTolerable shortage T, here called {rules.shortage_word}:\n",
        *_table(
            ("label quantity, g or mL", "T", "held", "source"),
            (
                (row.name, _amount(row.percent, row.amount), f"`{row.basis}`", f"`{row.source}`")
                for row in rules.shortages
            ),
        ),
        *_roundings(rules),
        "\nSampling plans:\n",
        *_table(
            ("lot", "plan", "n", "n of the average", "k", "c", "second sample", "held", "source"),
            map(_plan, rules.plan_rows),
        ),
        "",
        *(
            f"No plan for a lot {_lots(gap.lot_from, gap.lot_to)}: {gap.because}"
            for gap in rules.gaps
        ),
        *([""] if rules.gaps else []),
        "Notes that every verdict carries:\n",
        *(f"- {note}" for note in rules.notes),
        "\nSources:\n",
        *_table(("key", "document"), ((f"`{s.key}`", s.text) for s in rules.sources)),
        "",
    ]
    return "\n".join(parts)


def _facts(rules: RuleSet) -> list[tuple[str, str]]:
    """Return what a rule set covers and asks, row by row."""
    t2 = {
        SecondLimit.TEST: "fails the lot test"
        if not rules.second_allowed
        else f"up to {rules.second_allowed} pass the lot test",
        SecondLimit.COMPLIANCE: "no part of the lot test; it may not carry the mark",
        SecondLimit.NONE: "the rule set has no such limit",
    }
    shares = "none"
    if rules.share_below_t1 is not None and rules.share_below_t2 is not None:
        shares = (
            f"{rules.share_below_t1} below T1, {rules.share_below_t2} below T2 "
            f"(held `{rules.share_basis}`)"
        )
    plans = ", ".join(f"`{plan}`" for plan in (*rules.plans, PlanKind.OWN))
    return [
        ("labels", _scope(rules.scope)),
        ("table held for labels in", ", ".join(rules.table_units)),
        ("T may be typed from the document", "yes" if rules.may_supply else "no"),
        ("a package below T2", t2[rules.second_limit]),
        ("plans", f"`{rules.default_plan}` when left out; may be named: {plans}"),
        ("true shares that a target fill keeps to", shares),
        ("asked of the weighing scale", _scale(rules.scale)),
    ]


def _scope(scope: Scope) -> str:
    """Return the label quantities that are covered."""
    low = f"from {scope.low}" if scope.low_included else f"above {scope.low}"
    return f"{low} to {scope.high} g or mL (held `{scope.basis}`, `{scope.source}`)"


def _scale(scale: ScaleRule) -> str:
    """Return what is asked of the weighing scale."""
    parts = []
    if scale.uncertainty_share is not None:
        parts.append(f"expanded uncertainty of a content at most {scale.uncertainty_share} of T")
    if scale.divisions_in_shortage is not None:
        parts.append(f"at least {scale.divisions_in_shortage} divisions in T")
    if scale.divisions_at_least is not None:
        parts.append(f"at least {scale.divisions_at_least} divisions in all")
    return f"{'; '.join(parts)} (held `{scale.basis}`, `{scale.source}`)"


def _roundings(rules: RuleSet) -> list[str]:
    """Return how T is rounded up."""
    if not rules.roundings:
        return ["\nT is not rounded."]
    return [
        "\nT as a percentage is rounded up to a whole step:\n",
        *_table(
            ("label quantity, g or mL", "step", "held", "source"),
            (
                (_range(row.above, row.up_to), str(row.step), f"`{row.basis}`", f"`{row.source}`")
                for row in rules.roundings
            ),
        ),
    ]


def _plan(row: PlanRow) -> tuple[str, ...]:
    """Return one sampling plan."""
    accept = "" if row.accept is None else str(row.accept)
    if row.accept_percent is not None:
        accept = f"{row.accept_percent} % of the lot, rounded down"
    second = ""
    if row.n_second is not None:
        accept += f", second sample up to {(row.reject or 0) - 1}"
        second = f"{row.n_second} more; c of both {row.accept_total}"
    return (
        _lots(row.lot_from, row.lot_to),
        f"`{row.kind}`",
        "all" if row.n is None else str(row.n),
        "all" if row.n_mean is None else str(row.n_mean),
        "" if row.k is None else str(row.k),
        accept,
        second,
        f"`{row.basis}`",
        f"`{row.source}`",
    )


def _lots(first: int, last: int | None) -> str:
    """Return a range of lot sizes."""
    if last is None:
        return f"from {first}"
    return f"of {first}" if first == last else f"of {first} to {last}"


def _range(above: Decimal, up_to: Decimal | None) -> str:
    """Return a range of label quantities."""
    low = f"above {above}" if above else ""
    high = "" if up_to is None else f"up to {up_to}"
    return f"{low} {high}".strip() or "all"


def _amount(percent: Decimal | None, amount: Decimal | None) -> str:
    """Return a shortage as the table has it."""
    return f"{amount}" if percent is None else f"{percent} % of the label"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Return a table in Markdown."""
    lines = [" | ".join(head), " | ".join("---" for _ in head)]
    lines += [" | ".join(row) for row in rows]
    return [f"| {line} |".replace("|  |", "| |") for line in lines]


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
