"""What stands behind the orders of Run: the watch, the drift, what a check would have shown."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np

from fillwright.jobs.run.turn import advised_turn
from fillwright.jobs.run.watch import Way, way_of
from fillwright.jobs.why import Fact, Why
from fillwright.records.fold import JobState
from fillwright.records.runbook import RunBook
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.drift import Drift, watch_drift
from fillwright.science.run_rules import RunRule, arl_rules
from fillwright.science.watch import WatchState, standard_terms
from fillwright.science.watch_average import average_limit

__all__ = ["why_of_run"]

_LEAST: Final = 5
_LAST: Final = 40
_LIMIT_SDS: Final = 3.0
_NINE_OF_TEN_SDS: Final = 1.2816
_SHAPES: Final = (
    ("one beyond 3 spreads", RunRule(r_of=1, last=1, beyond=3.0)),
    ("two of three beyond 2 spreads", RunRule(r_of=2, last=3, beyond=2.0)),
    ("four of five beyond 1 spread", RunRule(r_of=4, last=5, beyond=1.0)),
    ("eight in a row on one side", RunRule(r_of=8, last=8, beyond=0.0)),
)


def why_of_run(state: JobState) -> Why | None:
    """Return the figures behind wheel, watch and drift; None before the run.

    Its cost does not grow with the run.
    """
    book = state.run
    if book is None or book.started is None or book.watch is None:
        return None
    watch = book.watch
    way = way_of("" if state.watch_way is None else state.watch_way.way)
    turn = advised_turn(state, book)
    rows = [
        Fact(name="Watched by", words=way.label),
        Fact(name="False alarm, on average", words=f"one in {way.false_alarm_doses:.0f} weights"),
    ]
    if way.alone is not None:
        rows.append(Fact(name="By its sums or average alone", words=f"one in {way.alone:.0f}"))
    rows += _spread_rows(state, watch, way)
    rows += _standing_rows(book, watch, way)
    rows += [
        Fact(name="Level now", words=f"{turn.mean_deviation_g:+.2f} g from the aim"),
        Fact(name="No turn inside", words=f"{turn.dead_band_g:.2f} g either way"),
    ]
    line = watch_drift(watch, limit=kg_from_g(turn.dead_band_g))
    rows += _drift_rows(line, state.known.container.word)
    rows += _shape_rows(book, watch)
    return Why(
        facts=tuple(rows),
        assumptions=(
            *line.assumptions,
            "Run lengths hold for normal readings of known spread; early in a run they vary.",
            "A turn moves the wheel by all of the shift that is believed, once.",
            "After a turn one weight is kept before the next turn.",
        ),
        source="sums: Page 1954, Hawkins 1987; average: Roberts 1959; turn: Box and Luceño "
        "1997, all from memory; run lengths together simulated, 40,000 runs",
        words=(_caught_words(state, watch, way),) if standard_terms(watch) else (),
    )


def _spread_rows(state: JobState, watch: WatchState, way: Way) -> list[Fact]:
    """Return the spread that weights are judged by, and what a shift costs."""
    terms = standard_terms(watch)
    if terms is None:
        return []
    word, every = state.known.container.word, max(state.known.weigh_every, 1)
    jars = every * (way.found_after_doses - 0.5)
    return [
        Fact(
            name="Spread (1 s) they are judged by",
            words=f"{g_from_kg(terms.spread):.3g} g, {terms.free:.0f} degrees of freedom",
        ),
        Fact(
            name="A shift of one spread is found after",
            words=f"{way.found_after_doses:.1f} weights, some {jars:.0f} {word}s at "
            f"one in {every}",
        ),
        Fact(
            name="The same at twice as many weights",
            words=f"some {jars / 2:.0f} {word}s" if every > 1 else "every one is weighed",
        ),
    ]


def _standing_rows(book: RunBook, watch: WatchState, way: Way) -> list[Fact]:
    """Return where the last weight and the sums stand."""
    rows: list[Fact] = []
    last = book.last_signal
    if last is not None and last.z is not None:
        rows.append(Fact(name="Last weight, in spreads", words=f"{last.z:+.1f} of 3"))
    if way.share_of_newest is not None:
        limit = average_limit(watch, watch.averaged)
        words = f"{watch.average:+.2f} of {limit:.2f}" if math.isfinite(limit) else "none yet"
        rows.append(Fact(name="Average, in spreads", words=words))
    elif way.sums_limit_z is not None:
        words = f"up {watch.up:.1f}, down {watch.down:.1f}, of {way.sums_limit_z:g}"
        rows.append(Fact(name="Sums, in spreads", words=words))
    return rows


def _drift_rows(line: Drift, word: str) -> list[Fact]:
    """Return the slope and where it leads, with their 95 % intervals."""
    if line.slope is None or line.slope_interval is None:
        return []
    low, high = (100 * g_from_kg(edge) for edge in line.slope_interval)
    slope = 100 * g_from_kg(line.slope)
    words = f"{slope:+.2f} g ({low:+.2f} to {high:+.2f})"
    rows = [Fact(name=f"Drift in a hundred {word}s, 95 %", words=words)]
    if line.reaches_limit_at is not None and line.reaches_interval is not None:
        early, late = line.reaches_interval
        ends = f"{early:.0f} to {late:.0f}" if early and late else "an open end"
        words = f"near {word} {line.reaches_limit_at:.0f} ({ends})"
        rows.append(Fact(name="Worth a turn, 95 %", words=words))
    return rows


def _shape_rows(book: RunBook, watch: WatchState) -> list[Fact]:
    """Return which shapes the last weights show; a shape is a name, no alarm."""
    terms = standard_terms(watch)
    if terms is None or terms.spread == 0.0 or len(book.deviations_g) < _LEAST:
        return []
    off = np.array([kg_from_g(value) for value in book.deviations_g[-_LAST:]])
    z = (off - terms.about) / terms.spread
    rows = []
    for name, rule in _SHAPES:
        seen = "seen" if _shows(z, rule) else "not seen"
        words = f"{seen}; chance shows it once in {arl_rules((rule,)):.0f} weights"
        rows.append(Fact(name=f"Shape: {name}", words=words))
    together = arl_rules([rule for _, rule in _SHAPES])
    rows.append(Fact(name="Any of the four, by chance", words=f"once in {together:.0f} weights"))
    return rows


def _shows(z: np.ndarray, rule: RunRule) -> bool:
    """Return True where the newest weights make the shape."""
    newest = z[-rule.last :]
    return any(int(np.sum(side * newest > rule.beyond)) >= rule.r_of for side in (1.0, -1.0))


def _caught_words(state: JobState, watch: WatchState, way: Way) -> str:
    """Return what the check just passed would have shown, in grams and containers."""
    terms = standard_terms(watch)
    if terms is None or state.run is None:
        return ""
    spread = g_from_kg(terms.spread)
    half, most = _LIMIT_SDS * spread, (_LIMIT_SDS + _NINE_OF_TEN_SDS) * spread
    word = state.known.container.word
    since = _since(state.run)
    small = (
        f" A smaller one, {spread:.2g} g, needs some {way.found_after_doses:.0f} weights."
        if way.found_after_doses
        else ""
    )
    return (
        f"One good weight: a jump of {half:.2g} g would have shown in one of two, of {most:.2g} g "
        f"in nine of ten. It stands for the {since} {word}s since the one before.{small}"
    )


def _since(book: RunBook) -> int:
    """Return how many containers the last weight stands for."""
    for before, last in pairwise(book.all_containers[-2:]):
        return max(int(last - before), 1)
    return max(book.last_weighed, 1)
