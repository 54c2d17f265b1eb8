"""The lot as it stands: what goes out, what was drawn, what is weighed, and its judgement."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.held.fates import kept_spans
from fillwright.jobs.limits import content_of
from fillwright.jobs.release.markets import SMALL_LOT, Market, markets_of
from fillwright.records.entities import JobFacts
from fillwright.records.entries import LotJudged
from fillwright.records.fold import JobState
from fillwright.records.heldbook import OUT_OF_LOT
from fillwright.records.judgement import lot_judged
from fillwright.records.spans import Span, count, minus
from fillwright.science.quantity import LotVerdict, lot_test

__all__ = [
    "Judged",
    "LotView",
    "facts_of_each",
    "judge_in",
    "judged",
    "may_not_go",
    "sample_of",
    "view_of",
]

_BLOCKED: Final = ("rejected", "not-evaluated", "no-plan", "out-of-scope", "sample-too-small")
_OPEN: Final = "second-sample"
_OWN: Final = "plan typed in by the user"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotView:
    """The lot and its sample.

    Parameters
    ----------
    filled, scrapped, going_out : int
        Containers filled, scrapped, and left to go out under the label of the job.
    emptied : int
        Containers that were emptied back.
    relabelled : int
        Containers that go out under another label, as lots of their own.
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
    emptied: int
    relabelled: int
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
    away = [*state.held.of(*OUT_OF_LOT), *state.open_spans, *kept_spans(state)]
    out = minus([Span(1, filled)] if filled else [], away)
    eligible = tuple(n for span in out for n in range(span.first, span.last + 1))
    size = max(len(eligible), 1)
    markets = markets_of(desk, state.known, size)
    asked = [_asked(market, state.known, size) for market in markets]
    weighed = sample_of(state, extra={})
    drawn = _drawn(state)
    required = _required(asked)
    if state.lot is not None and state.lot.verdict == _OPEN and required is not None:
        there = [n for n in drawn if n in weighed]
        nets, each = [weighed[n] for n in there], facts_of_each(state, there)
        tested = [judge_in(market, state.known, size, nets, each) for market in markets]
        required = max(one.wanted for one in tested) - len(drawn)
    no_plan = next((one for one in asked if one.required_n is None), asked[0])
    return LotView(
        filled=filled,
        scrapped=count(gone),
        emptied=count(state.held.of("emptied-back")),
        relabelled=count(minus(state.held.of("relabelled"), kept_spans(state))),
        going_out=len(eligible),
        eligible=eligible,
        required=required,
        because=no_plan.because,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A lot under the rules of one market: the verdict, weights used, weights wanted in all."""

    market: Market
    verdict: LotVerdict
    used: int
    first: int
    wanted: int


def judged(
    desk: Desk, state: JobState, nets: Mapping[int, Decimal], lot: LotView
) -> tuple[LotJudged, ...]:
    """Return the judgement of the lot on its sample, with every figure for a check by hand.

    Where the label is sold in two markets, the stricter answer stands first and decides.
    """
    facts = state.known
    there = [number for number in lot.drawn if number in nets]
    ordered, each = [nets[number] for number in there], facts_of_each(state, there)
    found = [
        _kept(desk, facts, judge_in(market, facts, lot.going_out, ordered, each))
        for market in markets_of(desk, facts, lot.going_out)
    ]
    return tuple(sorted(found, key=_leniency))


def facts_of_each(state: JobState, containers: Iterable[int]) -> tuple[JobFacts, ...]:
    """Return the facts as they are for each container: a drum may have another density."""
    return tuple(state.lots.facts_for(state.known, number) for number in containers)


def judge_in(
    market: Market,
    facts: JobFacts,
    lot_size: int,
    nets_g: Sequence[Decimal],
    each: Sequence[JobFacts] = (),
) -> Judged:
    """Return how a lot stands under the rules of one market.

    Parameters
    ----------
    market : Market
        The rules and the plan.
    facts : JobFacts
        The job.
    lot_size : int
        Containers of the lot.
    nets_g : sequence of Decimal
        Net weights in drawing order; as many of the first as the plan asks for are used.
    each : sequence of JobFacts
        The facts as they are for each of them, where they differ in density.

    Returns
    -------
    Judged
        After a second sample where the plan wants one and the weights are there.
    """
    own = each or [facts] * len(nets_g)
    contents = [content_of(one, net_g) for one, net_g in zip(own, nets_g, strict=True)]
    n = _asked(market, facts, lot_size).required_n
    first = contents if n is None else contents[:n]
    verdict = _test(market, facts, lot_size, first, [])
    wanted = len(first) + (verdict.missing or 0)
    used = len(first)
    second = contents[len(first) : wanted]
    if verdict.verdict.value == _OPEN and len(second) == verdict.missing:
        verdict = _test(market, facts, lot_size, first, second)
        used = wanted
    return Judged(market=market, verdict=verdict, used=used, first=len(first), wanted=wanted)


def may_not_go(verdict: LotJudged) -> bool:
    """Return True when a judged lot may not be released as it stands."""
    return verdict.verdict in _BLOCKED or verdict.is_compliant is False


def _leniency(lot: LotJudged) -> int:
    """Return what judgements are put in order by, the one that decides first."""
    return 0 if may_not_go(lot) else 1 if lot.verdict == _OPEN else 2


def _kept(desk: Desk, facts: JobFacts, found: Judged) -> LotJudged:
    """Return a judgement in the form that is kept, with the documents behind it."""
    market = found.market
    own, supplied = facts.own_plan, facts.supplied_shortage
    cited = [own.source] if own is not None and not market.is_second else []
    if supplied is not None and market.supplied is not None:
        cited.append(f"{supplied.edition}, page {supplied.page}")
    kept = lot_judged(
        found.verdict,
        rules=market.rules,
        n=found.used,
        first_n=found.first,
        cited=cited,
        program=desk.program,
    )
    if not market.is_small:
        return kept
    return replace(
        kept,
        plan="every one",
        basis=tuple(sorted({"D" if mark == "S" else mark for mark in kept.basis})),
        notes=(
            f"{market.rules.name} has no such plan for this lot; judged by {SMALL_LOT}",
            *(note for note in kept.notes if _OWN not in note),
        ),
        sources=tuple(source for source in kept.sources if _OWN not in source),
        because=f"By our own rule. {kept.because}",
    )


def _required(asked: Sequence[LotVerdict]) -> int | None:
    """Return the largest sample that any market asks for; None where one has no plan."""
    sizes = [one.required_n for one in asked]
    known = [size for size in sizes if size is not None]
    return max(known) if len(known) == len(sizes) else None


def _drawn(state: JobState) -> tuple[int, ...]:
    """Return the containers drawn, both samples, in drawing order."""
    return tuple(n for sample in state.samples for n in sample.containers)


def _asked(market: Market, facts: JobFacts, lot_size: int) -> LotVerdict:
    """Ask how many a market wants to see; without a sample it says so."""
    return _test(market, facts, lot_size, [], [])


def _test(
    market: Market,
    facts: JobFacts,
    lot_size: int,
    first: Sequence[Decimal | Fraction],
    second: Sequence[Decimal | Fraction],
) -> LotVerdict:
    """Ask the rule set about the lot."""
    return lot_test(
        market.rules,
        first,
        nominal=facts.nominal,
        unit=facts.unit,
        lot_size=lot_size,
        plan=market.plan,
        second_sample=second,
        supplied=market.supplied,
        own_plan=market.own_plan,
    )
