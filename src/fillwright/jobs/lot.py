"""The lot as it stands: what goes out, what was drawn, what is weighed, and its judgement."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import content_of, own_plan_of, rules_of, supplied_of
from fillwright.records.entries import LotJudged
from fillwright.records.fold import JobState
from fillwright.records.judgement import lot_judged
from fillwright.records.spans import Span, count, minus
from fillwright.science.quantity import LotVerdict, lot_test

__all__ = ["LotView", "judged", "sample_of", "view_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotView:
    """The lot and its sample.

    Parameters
    ----------
    filled, scrapped, going_out : int
        Containers filled, scrapped, and left to go out.
    eligible : tuple of int
        Containers that may be drawn.
    required : int or None
        Size of the sample that is wanted next; None where there is no plan.
    because : str
        What the rule set says of this lot size.
    drawn : tuple of int
        Containers drawn, in drawing order, both samples.
    weighed_g : mapping of int to Decimal
        Latest net weight of every container that was weighed.
    still_to_weigh : tuple of int
        Drawn and not weighed yet.
    sample_g : tuple of Decimal
        Net weights of those drawn and weighed, in drawing order.
    """

    filled: int
    scrapped: int
    going_out: int
    eligible: tuple[int, ...]
    required: int | None
    because: str
    drawn: tuple[int, ...]
    weighed_g: Mapping[int, Decimal]
    still_to_weigh: tuple[int, ...]
    sample_g: tuple[Decimal, ...]


def view_of(desk: Desk, state: JobState) -> LotView:
    """Return the lot as it stands."""
    filled = state.filled_to
    gone = state.scrapped
    out = minus([Span(1, filled)] if filled else [], [*gone, *state.open_spans])
    eligible = tuple(n for span in out for n in range(span.first, span.last + 1))
    plan = _test(desk, state, max(len(eligible), 1), {})
    weighed = sample_of(state, extra={})
    drawn = _drawn(state)
    required = plan.required_n
    if state.lot is not None and state.lot.verdict == "second-sample" and plan.required_n:
        required = state.lot.n
    return LotView(
        filled=filled,
        scrapped=count(gone),
        going_out=len(eligible),
        eligible=eligible,
        required=required,
        because=plan.because,
        drawn=drawn,
        weighed_g=weighed,
        still_to_weigh=tuple(n for n in drawn if n not in weighed),
        sample_g=tuple(weighed[n] for n in drawn if n in weighed),
    )


def sample_of(state: JobState, *, extra: Mapping[int, Decimal]) -> dict[int, Decimal]:
    """Return the latest net weight of every container that was weighed."""
    found: dict[int, Decimal] = {}
    for weighed in state.weighings:
        number = weighed.fact.container
        if weighed.counts and number is not None:
            found[number] = weighed.fact.net_g
    found.update(extra)
    return found


def judged(desk: Desk, state: JobState, nets: Mapping[int, Decimal], lot: LotView) -> LotJudged:
    """Return the judgement of the lot on its sample, with every figure for a check by hand."""
    verdict = _test(desk, state, lot.going_out, nets)
    own = state.known.own_plan
    supplied = state.known.supplied_shortage
    cited = [own.source] if own is not None else []
    if supplied is not None:
        cited.append(f"{supplied.edition}, page {supplied.page}")
    return lot_judged(
        verdict,
        rules=rules_of(desk.rule_sets, state.known.rules),
        n=len(lot.drawn),
        first_n=len(state.samples[0].containers),
        cited=cited,
        program=desk.program,
    )


def _drawn(state: JobState) -> tuple[int, ...]:
    """Return the containers drawn, both samples, in drawing order."""
    return tuple(n for sample in state.samples for n in sample.containers)


def _test(desk: Desk, state: JobState, lot_size: int, nets: Mapping[int, Decimal]) -> LotVerdict:
    """Ask the rule set about the lot; without a sample it says how many it wants."""
    facts = state.known
    draws = state.samples if nets else []
    contents = [
        [content_of(facts, nets[n]) for n in draw.containers if n in nets] for draw in draws
    ]
    return lot_test(
        rules_of(desk.rule_sets, facts.rules),
        contents[0] if contents else (),
        nominal=facts.nominal,
        unit=facts.unit,
        lot_size=lot_size,
        plan=facts.plan,
        second_sample=contents[1] if len(contents) > 1 else (),
        supplied=supplied_of(facts),
        own_plan=own_plan_of(facts),
    )
