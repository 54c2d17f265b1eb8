"""A rehearsal of an inspector's sample on a lot: the rule set's plan, drawn by a seed.

It is ours and keeps nothing; weights on record count, the others are fetched and typed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

import numpy as np

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.release.lot import Judged, judge_in, sample_of
from fillwright.jobs.release.markets import Market, markets_of
from fillwright.jobs.run.weigh import mean_tare
from fillwright.jobs.words import plain, trays
from fillwright.records.fold import JobState
from fillwright.records.heldbook import OUT_OF_LOT
from fillwright.records.sheets_inspector import RehearsalLine, RehearsalSheet
from fillwright.records.spans import Span, minus
from fillwright.science.quantity.plans import find_plan

__all__ = ["Typed", "lot_of_today", "rehearse"]

_STATES: Final = {"accepted": "on", "rejected": "stop"}
_WORST: Final = ("stop", "warn", "on")


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """Weights typed for the rehearsal, in the order in which they were asked for."""

    shown_g: tuple[Decimal, ...] = ()


def lot_of_today(desk: Desk) -> JobState | None:
    """Return the lot that was run last; one that is not released goes first."""
    latest: JobState | None = None
    for number in reversed(desk.book.numbers()):
        state = desk.book.job(number)
        if state is None or state.run is None or not state.filled_to:
            continue
        if state.released is None:
            return state
        latest = latest or state
    return latest


def rehearse(desk: Desk, number: str, *, seed: int, typed: Typed) -> RehearsalSheet:
    """Return a rehearsal as far as it has come.

    Parameters
    ----------
    desk : Desk
        Knows jobs and rule sets.
    number : str
        Job number of the lot.
    seed : int
        Seed of the draw; the same one draws the same containers.
    typed : Typed
        Weights for those of the sample that no weighing is on record of, in drawing order.

    Returns
    -------
    RehearsalSheet
        What is drawn, what is still to be weighed, or the verdict of each market.

    Raises
    ------
    BadInput
        If there is no such job, or nothing of it was filled.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        filled = _filled(state)
        if not filled:
            message = "Nothing of this lot is filled: there is nothing to draw from."
            raise BadInput(message, field="lot_size", given=0, code="missing")
        facts = state.known
        markets = markets_of(desk, facts, len(filled))
        wanted = max(_plan_n(market, len(filled)) for market in markets)
        order = np.random.Generator(np.random.PCG64(seed)).permutation(filled)
        known = sample_of(state, extra={})
        lines, nets, tried = _weighed(state, [int(n) for n in order], known, wanted, typed)
        tested = [judge_in(market, facts, len(filled), nets) for market in markets]
        more = max(one.wanted for one in tested)
        if len(nets) >= wanted and more > wanted:
            wanted = min(more, len(filled))
            lines, nets, tried = _weighed(state, [int(n) for n in order], known, wanted, typed)
            tested = [judge_in(market, facts, len(filled), nets) for market in markets]
        return _sheet(state, seed, markets, tested, lines, wanted - tried, len(filled))


def _weighed(
    state: JobState,
    order: Sequence[int],
    known: dict[int, Decimal],
    wanted: int,
    typed: Typed,
) -> tuple[list[RehearsalLine], list[Decimal], int]:
    """Return the drawn ones with their weights, up to the first that is not weighed yet."""
    left = list(typed.shown_g)
    size, word = state.known.tray_size, state.known.container.word
    lines: list[RehearsalLine] = []
    nets: list[Decimal] = []
    whole = True
    for number in order[:wanted]:
        net = known.get(number)
        if net is None and left:
            net = left.pop(0) - _tare_g(state, number)
        whole = whole and net is not None
        if net is not None and whole:
            nets.append(net)
        tray, place = trays(number, number, size), (number - 1) % size + 1
        lines.append(
            RehearsalLine(
                container=number,
                place=f"{word} {number}, {tray}, place {place}",
                net="" if net is None else f"{plain(net)} g",
            )
        )
    return lines, nets, sum(bool(line.net) for line in lines)


def _tare_g(state: JobState, number: int) -> Decimal:
    """Return what is taken off a reading."""
    return mean_tare(state, number) if state.known.tare_way == "mean" else Decimal(0)


def _filled(state: JobState) -> list[int]:
    """Return the containers of the lot that are there to be drawn."""
    spans = [Span(1, state.filled_to)] if state.filled_to else []
    left = minus(spans, [*state.held.of(*OUT_OF_LOT), *state.open_spans])
    return [n for span in left for n in range(span.first, span.last + 1)]


def _plan_n(market: Market, lot_size: int) -> int:
    """Return how many a market draws first."""
    found = find_plan(
        market.rules, lot_size=lot_size, plan=market.plan, own_plan=market.own_plan
    ).plan
    return lot_size if found is None else found.n


def _sheet(
    state: JobState,
    seed: int,
    markets: Sequence[Market],
    tested: Sequence[Judged],
    lines: list[RehearsalLine],
    missing: int,
    lot_size: int,
) -> RehearsalSheet:
    """Return the rehearsal in words."""
    facts = state.known
    names = " and ".join(market.rules.name for market in markets)
    following = next((line.container for line in lines if not line.net), None)
    verdicts: tuple[str, ...] = ()
    shade, headline = "wait", f"Fetch {facts.container.word} {following} and weigh it."
    if following is None:
        verdicts = tuple(
            f"{one.market.rules.name}: {one.verdict.because}"
            + (" By our own rule." if one.market.is_small else "")
            for one in tested
        )
        shades = [_shade(one) for one in tested]
        shade = min(shades, key=_WORST.index)
        headline = {
            "on": "This sample would pass.",
            "stop": "This sample would not pass.",
            "warn": "This sample does not decide.",
        }[shade]
    return RehearsalSheet(
        job=facts.number,
        lot_code=facts.lot_code,
        what=f"{facts.product.name}, {facts.label_words}",
        seed=seed,
        plan=f"{len(lines)} of {lot_size} under {names}, drawn by seed {seed}",
        lines=tuple(lines),
        next_container=following,
        missing=missing,
        verdicts=verdicts,
        state=shade,
        headline=headline,
    )


def _shade(one: Judged) -> str:
    """Return how a verdict stands; goods below T2 never pass."""
    if one.verdict.compliant is False:
        return "stop"
    return _STATES.get(one.verdict.verdict.value, "warn")
