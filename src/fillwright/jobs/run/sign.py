"""What the weights since the last turn look like: one of nine kinds, or two, or nothing yet.

Looked at when a page asks and kept when it begins to speak; never while a state is folded.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.jobs.why import Fact, Why
from fillwright.records.entries import SignatureSeen
from fillwright.records.fold import JobState
from fillwright.records.runbook import RunBook
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.signature import recognise
from fillwright.science.signature_kinds import DoseKind, Signature, kind_words, signature_words

__all__ = ["EVERY", "RunSign", "news_of", "seen_in", "sign_of"]

EVERY: Final = 10
"""Weights from one look for the record to the next; a signal is always looked at."""
_WINDOW: Final = 120
_LEAST: Final = 8
_SHOWN: Final = 0.5
_LEAST_LEVELS: Final = 2
_SIGNS: Final = {
    DoseKind.STEP: "creeps",
    DoseKind.CREEP: "creeps",
    DoseKind.LEVEL: "creeps",
    DoseKind.SCATTER: "jumps",
    DoseKind.ALTERNATE: "jumps",
    DoseKind.AUTOCORR: "jumps",
    DoseKind.SHORT: "air",
    DoseKind.PURGE: "air",
}
_CAUSES: Final = {
    DoseKind.STEP: "Something moved at once: the wheel or its lock, a seal, a hose.",
    DoseKind.CREEP: "Something moves slowly: the lock of the wheel, warmth, a wearing seal.",
    DoseKind.LEVEL: "The product in the hopper sinks: fill it up to where it was.",
    DoseKind.SCATTER: "Air in the line, a tired valve spring, or a seal that begins to go.",
    DoseKind.PURGE: "Air is still leaving: a few more strokes, and look at the suction side.",
    DoseKind.ALTERNATE: "Two nozzles, or both ways of a stroke, that do not give the same.",
    DoseKind.SHORT: "Now and then a stroke draws air, or does not fill.",
    DoseKind.AUTOCORR: "The dose wanders without a direction: air pressure, temperature.",
}
_LOOK_FIRST: Final = "What it may come from is common practice, no source: look before you turn."


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSign:
    """What the notes of the Run page say of the weights.

    Parameters
    ----------
    words : str
        What it is or looks like; empty where nothing is said.
    rest : str
        Since when, how large, and what it may come from.
    state : str
        ``"on"`` for a steady run, ``"warn"`` for a finding, ``"wait"`` where it cannot say.
    sign : str
        What is seen, as Fault has it; empty where there is nothing to look for.
    asks_level : bool
        True where the hopper level would tell more.
    why : Why
        Figures, assumptions, source.
    """

    words: str
    rest: str
    state: str
    sign: str
    asks_level: bool
    why: Why


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """The weights that are looked at."""

    containers: tuple[int, ...]
    nets_g: tuple[float, ...]
    shares_of_highest: tuple[float, ...] | None


def seen_in(state: JobState) -> tuple[Signature, tuple[float, ...]] | None:
    """Return what the weights since the last turn show, with them; None where there are few."""
    book = state.run
    if book is None or book.started is None:
        return None
    row = _row_of(book)
    return (_recognised(state, row), row.nets_g) if len(row.nets_g) >= _LEAST else None


def sign_of(state: JobState) -> RunSign | None:
    """Return what the weights since the last turn look like; None before the run.

    Its cost does not grow with the run: the last 120 weights are looked at.
    """
    book = state.run
    if book is None or book.started is None:
        return None
    row = _row_of(book)
    if len(row.nets_g) < _LEAST:
        return None
    found = _recognised(state, row)
    why = _why(state, found, row)
    if not found.usable:
        words = "I cannot say what the weights look like."
        return RunSign(
            words=words, rest=found.because, state="wait", sign="", asks_level=False, why=why
        )
    kinds = _named(found)
    said = signature_words(kinds, found.stated, at_once=found.at_once)
    best = kinds[0]
    if not said:
        return None
    if best is DoseKind.STEADY:
        rest = _odd_ones(state, found, row)
        tag = "warn" if rest else "on"
        return RunSign(
            words=f"{_short(said)}.", rest=rest, state=tag, sign="", asks_level=False, why=why
        )
    return RunSign(
        words=f"{_short(said)}.",
        rest=" ".join(part for part in (_told(state, found, row), _causes(kinds)) if part),
        state="warn",
        sign=_SIGNS[best],
        asks_level=found.ask_level,
        why=why,
    )


def news_of(
    state: JobState, container: int | None = None, net_g: float = 0.0
) -> SignatureSeen | None:
    """Return what a newest weight makes new to the record; None where nothing is.

    The weight is the last one kept, or one that is given and not kept yet.

    That is a first finding, another than the last kept, or two that are now at work at once.
    A steady run is no finding; it is kept where a finding was kept before it in this block.
    """
    book = state.run
    if book is None or book.started is None:
        return None
    row = _row_of(book, container, net_g)
    if len(row.nets_g) < _LEAST:
        return None
    found = _recognised(state, row)
    if not found.usable or found.stated < _SHOWN:
        return None
    kinds = _named(found)
    names = tuple(kind.value for kind in kinds)
    kept = [seen for seen in state.signatures_seen if seen.container >= book.block_from]
    before = ({DoseKind.STEADY.value}, False)
    if kept:
        before = (set(kept[-1].kinds), kept[-1].is_at_once)
    if before == (set(names), found.at_once):
        return None
    change = _change(found, row)
    low, high = found.size_interval or (None, None)
    return SignatureSeen(
        container=row.containers[-1],
        readings=len(row.nets_g),
        kinds=names,
        is_at_once=found.at_once,
        stated_probability=found.stated,
        runner_up="" if found.runner_up is None else found.runner_up.value,
        change_low=None if change is None else change[0],
        change_high=None if change is None else change[1],
        size_g=None if found.size is None else g_from_kg(found.size),
        size_low_g=None if low is None else g_from_kg(low),
        size_high_g=None if high is None else g_from_kg(high),
        words=signature_words(kinds, found.stated, at_once=found.at_once),
    )


def _row_of(book: RunBook, container: int | None = None, net_g: float = 0.0) -> _Row:
    """Return the last weights since the last turn, with hopper levels where they are known."""
    containers = np.asarray(book.all_containers[-_WINDOW:])
    nets = np.asarray(book.all_nets_g[-_WINDOW:])
    if container is not None:
        containers, nets = np.append(containers, container), np.append(nets, net_g)
    mine = containers >= book.block_from
    containers, nets = containers[mine], nets[mine]
    shares: tuple[float, ...] | None = None
    if len(book.levels) >= _LEAST_LEVELS:
        # What is read after a container is what the next one is filled from.
        at = np.array([read.after_container + 1.0 for read in book.levels])
        height = np.array([float(read.value) for read in book.levels])
        after = containers >= at[0]
        if after.sum() >= _LEAST and containers[-1] <= 2 * at[-1] - at[0]:
            containers, nets = containers[after], nets[after]
            highest = max(float(height.max()), 1e-9)
            shares = tuple((_levels_at(containers, at, height) / highest).tolist())
    return _Row(
        containers=tuple(int(number) for number in containers.tolist()),
        nets_g=tuple(nets.tolist()),
        shares_of_highest=shares,
    )


def _levels_at(
    containers: NDArray[np.float64], at: NDArray[np.float64], height: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the hopper level at each container, from readings now and then.

    Between two readings the product sinks evenly; where it rises it was filled up just before
    the later one. After the last reading it sinks on as it last did.
    """
    slopes = np.diff(height) / np.maximum(np.diff(at), 1.0)
    falling = slopes[slopes < 0.0]
    slopes = np.append(np.minimum(slopes, 0.0), falling[-1] if falling.size else 0.0)
    last = np.clip(np.searchsorted(at, containers, side="right") - 1, 0, at.size - 1)
    return np.asarray(np.maximum(height[last] + slopes[last] * (containers - at[last]), 0.0))


def _recognised(state: JobState, row: _Row) -> Signature:
    """Return what the science makes of a row."""
    facts = state.known
    proof = state.proof
    sd_g = None if proof is None or proof.dose_sd_g <= 0 else proof.dose_sd_g
    return _recognised_once(
        row.nets_g, row.shares_of_highest, facts.aim_g, facts.scale.readability_g, sd_g
    )


@lru_cache(maxsize=32)
def _recognised_once(
    nets_g: tuple[float, ...],
    shares_of_highest: tuple[float, ...] | None,
    aim_g: Decimal,
    readability_g: Decimal,
    sd_g: float | None,
) -> Signature:
    """Return the same; every page that is open on a run asks for the same row."""
    return recognise(
        [kg_from_g(net_g) for net_g in nets_g],
        target=kg_from_g(aim_g),
        readability=kg_from_g(readability_g),
        level=shares_of_highest,
        sd_guess=None if sd_g is None else kg_from_g(sd_g),
    )


def _named(found: Signature) -> tuple[DoseKind, ...]:
    """Return what is named: two in one breath, or the best alone."""
    return found.together or (found.best or DoseKind.STEADY,)


def _short(said: str) -> str:
    """Return the words of the science as a sentence about the run."""
    words = f"The run {said[:1].lower()}{said[1:]}"
    for long, short in (
        ("looks like a steady run", "looks steady"),
        ("is a steady run", "is steady"),
    ):
        words = words.replace(long, short)
    return words.replace("The run is ", "The run shows ").replace("shows steady", "is steady")


def _change(found: Signature, row: _Row) -> tuple[int, int] | None:
    """Return the containers between which a change lies."""
    if found.change_interval is None:
        return None
    low, high = (min(max(place, 1), len(row.containers)) for place in found.change_interval)
    return row.containers[low - 1], row.containers[high - 1]


def _told(state: JobState, found: Signature, row: _Row) -> str:
    """Return since when and how large it is, with the range."""
    word = state.known.container.word
    parts: list[str] = []
    change = _change(found, row)
    if change is not None:
        low, high = change
        parts.append(
            f"It began at {word} {low}." if low == high else f"It began at {word} {low} to {high}."
        )
    if found.size is not None and found.size_interval is not None and len(_named(found)) == 1:
        low_g, high_g = (g_from_kg(edge) for edge in found.size_interval)
        parts.append(f"By {g_from_kg(found.size):+.2f} g ({low_g:+.2f} to {high_g:+.2f}).")
    if found.short_at:
        numbers = ", ".join(str(row.containers[place - 1]) for place in found.short_at[-5:])
        parts.append(f"Short: {word} {numbers}.")
    return " ".join(parts)


def _odd_ones(state: JobState, found: Signature, row: _Row) -> str:
    """Return which weights of a steady run are far from all others."""
    if not found.stands_out:
        return ""
    numbers = ", ".join(str(row.containers[place - 1]) for place in found.stands_out[-5:])
    return f"But {state.known.container.word} {numbers} is far from all others: a finding."


def _causes(kinds: tuple[DoseKind, ...]) -> str:
    """Return what it may come from, for the first two that are named."""
    return " Or: ".join(_CAUSES[kind] for kind in kinds[:2] if kind in _CAUSES)


def _why(state: JobState, found: Signature, row: _Row) -> Why:
    """Return the figures behind the sign."""
    facts = [
        Fact(name="Weights looked at", words=f"{len(row.nets_g)}, the last {_WINDOW} at most"),
        Fact(name="Hopper level", words="known" if row.shares_of_highest else "not known"),
    ]
    if found.usable and found.best is not None and found.runner_up is not None:
        ranked = sorted(DoseKind, key=lambda kind: -found.posterior.of(kind))[:3]
        facts += [
            Fact(name=f"Probability: {kind_words(kind)}", words=f"{found.posterior.of(kind):.2f}")
            for kind in ranked
        ]
        facts.append(Fact(name="Next likely", words=kind_words(found.runner_up)))
    if found.noise_sd is not None:
        facts.append(
            Fact(name="Spread beside it (1 s)", words=f"{g_from_kg(found.noise_sd):.3g} g")
        )
    if found.size_means and found.size is not None:
        facts.append(Fact(name="Its size means", words=found.size_means))
    word = state.known.container.word
    return Why(
        facts=tuple(facts),
        assumptions=(
            *found.assumptions,
            f"Counted by weights, not by {word}s: those between two weights are not seen.",
            _LOOK_FIRST,
        ),
        source=found.equation,
        words=(found.because,),
    )
