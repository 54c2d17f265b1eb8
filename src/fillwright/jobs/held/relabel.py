"""Re-label held containers: another quantity or market, and a lot of their own.

Every one must hold the new quantity in full. That is our own rule, stricter than any law here:
a mean over the label and a tolerable shortage speak for a filling process, and these were
picked out of one by hand.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep, refuse_stale
from fillwright.jobs.held.orders import is_doubted
from fillwright.jobs.held.settle import (
    SettleLook,
    asked,
    is_for_piece,
    latest_of,
    look,
    refuse_unweighed,
)
from fillwright.jobs.limits import content_of, judge_weight, limits_of, rules_of, supplied_for
from fillwright.jobs.words import in_steps, plain
from fillwright.knowledge.types import RuleSet
from fillwright.records.entities import JobFacts
from fillwright.records.entries import ContainersRelabelled
from fillwright.records.fold import JobState
from fillwright.records.nearest import plain_code
from fillwright.records.spans import Span, count, minus, words
from fillwright.science.quantity import Shortage, ShortageVerdict, tolerable_shortage

__all__ = ["lot_code_for", "relabel"]

_STEP: Final = Decimal("0.01")
_LONGEST: Final = 40
_OWN_RULE: Final = "our own rule: every one weighed, and none below the new label"


def relabel(
    desk: Desk,
    number: str,
    spans: tuple[Span, ...],
    nominal: Decimal,
    reason: str,
    press: Press,
    *,
    rules: str = "",
    lot_code: str = "",
) -> SettleLook:
    """Put on record that held containers got another label.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    spans : tuple of Span
        Which; each has a weight of its own.
    nominal : Decimal
        Declared quantity of the new label, in the unit of the old one.
    reason : str
        Why.
    press : Press
        Who pressed.
    rules : str, optional
        Rule set of the new label; that of the job when left out.
    lot_code : str, optional
        Code of the new lot; that of the job with ``-R1``, ``-R2`` and so on when left out.

    Returns
    -------
    SettleLook
        The page as it stands then.

    Raises
    ------
    BadInput
        If some of them are not held, were not weighed or are overfull, a piece of the machine
        is missing, the label is the one they carry, its rules have nothing for such a
        quantity, its code is taken, or one of them holds less than it says.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        refuse_stale(desk, state, press)
        mine, facts = asked(state, spans, reason), state.known
        if is_for_piece(state, mine):
            message = (
                f"{words(mine)} are held for a missing piece, and another label does not take it "
                "out. Scrap them, or release them with the reason."
            )
            raise BadInput(message, field="outcome", given="relabelled", code="inconsistent")
        if is_doubted(state, mine):
            message = (
                f"{words(mine)} are held by hand for what no weight shows, and another label does "
                "not mend it. Scrap them, or release them with the reason."
            )
            raise BadInput(message, field="outcome", given="relabelled", code="inconsistent")
        rule_set = rules_of(desk.rule_sets, rules or facts.rules)
        if (nominal, rule_set.name) == (facts.nominal, facts.rules):
            message = (
                f"{plain(nominal)} {facts.unit} under {facts.rules} is the label that they carry. "
                "Weigh them, or top them up."
            )
            raise BadInput(message, field="nominal", given=plain(nominal), code="inconsistent")
        shortage = _shortage(rule_set, facts, nominal)
        code = _code(state, lot_code)
        contents = _contents(desk, state, mine)
        _refuse_less(facts, contents, nominal)
        least, total = min(contents.values()), sum(contents.values(), Fraction(0))
        word, many = facts.container.word, count(mine)
        fact = ContainersRelabelled(
            spans=mine,
            reason=reason.strip(),
            lot_code=code,
            nominal=nominal,
            unit=facts.unit,
            rules=rule_set.name,
            edition=rule_set.edition,
            least_label_unit=_down(least),
            mean=_down(total / many),
            t1_limit="" if shortage.t1_limit is None else plain(shortage.t1_limit),
            because=(
                f"{many} {word}{'s' if many > 1 else ''} weighed, the least holds "
                f"{_down(least)} {facts.unit}; by {_OWN_RULE}."
            ),
        )
        return look(desk, keep(desk, state, [fact], press))


def lot_code_for(state: JobState) -> str:
    """Return the code that the next lot of re-labelled ones gets, where nobody types one."""
    before = sum(one.outcome == "relabelled" for one in state.held.settlings)
    return f"{state.known.lot_code}-R{before + 1}"


def _shortage(rules: RuleSet, facts: JobFacts, nominal: Decimal) -> Shortage:
    """Return the tolerable shortage of the new label; refuse a quantity outside of its rules."""
    if nominal <= 0:
        message = f"A label cannot say {plain(nominal)} {facts.unit}. Type more than 0."
        raise BadInput(message, field="nominal", given=plain(nominal), allowed="more than 0")
    supplied = None
    if nominal == facts.nominal:
        supplied = supplied_for(rules, replace(facts, rules=rules.name, second_rules=""))
    found = tolerable_shortage(rules, nominal, unit=facts.unit, supplied=supplied)
    if found.verdict is ShortageVerdict.OUT_OF_SCOPE:
        message = (
            f"{rules.name} has no rule for a label of {plain(nominal)} {facts.unit}. "
            "Take another quantity or market, top up, or scrap."
        )
        raise BadInput(message, field="nominal", given=plain(nominal), code="not-available")
    return found


def _code(state: JobState, typed: str) -> str:
    """Return the code of the new lot; refuse one that another lot of the job has."""
    code = typed.strip() or lot_code_for(state)
    taken = [state.known.lot_code, *(fact.lot_code for fact, _ in state.held.relabelled())]
    if len(code) > _LONGEST:
        message = f"A lot code has at most {_LONGEST} signs."
        raise BadInput(message, field="lot_code", given=code[:_LONGEST])
    if plain_code(code) in [plain_code(one) for one in taken]:
        message = (
            f"{code} is the code of another lot of this job. Re-labelled ones are a lot of their "
            "own: give it a code of its own."
        )
        raise BadInput(message, field="lot_code", given=code, code="inconsistent")
    return code


def _contents(desk: Desk, state: JobState, spans: tuple[Span, ...]) -> dict[int, Fraction]:
    """Return the content of each; refuse where one was not weighed, or is overfull."""
    refuse_unweighed(state, spans)
    latest = latest_of(state, spans)
    bare = minus(spans, [Span(n, n) for n in latest])
    if bare:
        has = "has no weight of its own" if count(bare) == 1 else "have no weight of their own"
        message = f"{words(bare)} {has}: a new label needs the weight of each. Weigh first."
        raise BadInput(message, field="nominal", given=words(bare), code="missing")
    found, over = {}, []
    for number, weighed in latest.items():
        facts = state.lots.facts_for(state.known, number)
        limits = limits_of(facts, desk.rule_sets)
        if judge_weight(limits, weighed.net_g) == "overfull":
            over.append(number)
        found[number] = Fraction(content_of(facts, weighed.net_g))
    if over:
        message = f"{_shown(over)} was weighed overfull: take product out and weigh it again."
        raise BadInput(message, field="nominal", given=_shown(over), code="inconsistent")
    return found


def _refuse_less(facts: JobFacts, contents: dict[int, Fraction], nominal: Decimal) -> None:
    """Refuse a label that says more than one of them holds."""
    short = [number for number, content in contents.items() if content < nominal]
    if not short:
        return
    least = min(contents, key=lambda number: contents[number])
    unit, word = facts.unit, facts.container.word
    others = f" and {len(short) - 1} more" if len(short) > 1 else ""
    message = (
        f"{word.capitalize()} {least}{others} holds {_down(contents[least])} {unit}, less than "
        f"the new label of {plain(nominal)} {unit}. These can carry {_down(contents[least])} "
        f"{unit} at most."
    )
    raise BadInput(
        message,
        field="nominal",
        given=plain(nominal),
        allowed=f"to {_down(contents[least])} {unit}",
        code="inconsistent",
    )


def _shown(numbers: Iterable[int]) -> str:
    """Return container numbers in words."""
    return words(Span(n, n) for n in numbers)


def _down(content: Fraction) -> Decimal:
    """Return a content rounded down, so that no label is fuller on paper than in the hand."""
    return in_steps(content, _STEP, ROUND_FLOOR)
