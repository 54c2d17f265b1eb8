"""What to do next about a fault, and when to hand it to a qualified technician."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from fillwright.knowledge.faults_types import OTHER, Costs, FaultBook
from fillwright.science.faults import (
    Evidence,
    FaultNet,
    PairShare,
    implied,
    pair_share,
    posterior,
    surprise,
)
from fillwright.science.faults_menu import WALK, menu_of, open_walk, situation_of
from fillwright.science.faults_plan import Candidate, best_steps

__all__ = [
    "DOSE_SIGNS",
    "LIKELY",
    "POSSIBLE",
    "Advice",
    "Ranked",
    "Told",
    "Word",
    "advise",
    "reason_of",
    "told_by",
    "word_of",
]

DOSE_SIGNS: Final = frozenset(
    {"dose_low", "dose_high", "dose_creep", "dose_spread", "outlier", "first_low", "no_product"}
)
"""Signs that a dose signature replaces: one source counts once."""


Word: TypeAlias = Literal["likely", "possible", "not likely"]

LIKELY: Final = 0.35
POSSIBLE: Final = 0.05
_OTHER_MOST: Final = 0.4
_SURPRISE: Final = 0.1
_PAIR_LEAST: Final = 0.25
_REPAIRS_MOST: Final = 3
_PLAIN: Final = 0.8
_TELLS: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How strongly a finding speaks for or against a cause.

    Attributes
    ----------
    finding : str
        The finding.
    is_present : bool
        Whether it is there.
    weight : float
        ln of P(it | cause) over P(it | the other causes); above 0 speaks for it. [1]
    """

    finding: str
    is_present: bool
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A cause with its probability.

    Attributes
    ----------
    cause : str
        Name.
    chance : float
        Probability. [1]
    word : str
        ``likely``, ``possible`` or ``not likely``.
    """

    cause: str
    chance: float
    word: Word


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What to do next.

    Attributes
    ----------
    causes : tuple of Ranked
        All causes, the likeliest first.
    steps : tuple of Candidate
        What could come next, the least expected cost first; only a hand-over at the end.
    walk : tuple of str
        Quick looks of the walk-round, where one is among the steps.
    pair : PairShare or None
        Two causes that explain it better than one.
    hand_over : str
        Why it goes to a qualified technician; empty while there is something to do.
    """

    causes: tuple[Ranked, ...]
    steps: tuple[Candidate, ...]
    walk: tuple[str, ...]
    pair: PairShare | None
    hand_over: str


def word_of(chance: float) -> Word:
    """Return a probability as a word.

    Parameters
    ----------
    chance : float
        Probability. [1]

    Returns
    -------
    str
        ``likely`` from 0.35, ``possible`` from 0.05, else ``not likely``.
    """
    if chance >= LIKELY:
        return "likely"
    return "possible" if chance >= POSSIBLE else "not likely"


def told_by(net: FaultNet, evidence: Evidence, cause: str) -> tuple[Told, ...]:
    """Return what speaks for and against a cause, the strongest for it first.

    Parameters
    ----------
    net : FaultNet
        The net.
    evidence : Evidence
        What was found.
    cause : str
        Name of the cause.

    Returns
    -------
    tuple of Told
        One for each finding that is known.
    """
    row = net.place_of_cause[cause]
    rest = posterior(net, evidence)
    rest[row] = 0.0
    rest = rest / max(float(rest.sum()), 1e-300)
    found = []
    for name in sorted(evidence.present | evidence.absent):
        there = name in evidence.present
        column = net.shows[:, net.place_of_finding[name]]
        chance = column if there else 1.0 - column
        weight = float(np.log(chance[row]) - np.log(float(rest @ chance)))
        found.append(Told(finding=name, is_present=there, weight=weight))
    return tuple(sorted(found, key=_weight, reverse=True))


def _weight(told: Told) -> float:
    """Return what is sorted by."""
    return told.weight


def advise(
    book: FaultBook,
    net: FaultNet,
    evidence: Evidence,
    *,
    done: Sequence[str] = (),
    skipped: Sequence[str] = (),
    costs: Costs | None = None,
    minutes: Mapping[str, float] | None = None,
) -> Advice:
    """Return what to do next.

    Parameters
    ----------
    book : FaultBook
        The data.
    net : FaultNet
        Its net, shipped or learned.
    evidence : Evidence
        What was stated and found; what that excludes is added here.
    done : sequence of str
        Repairs that were made without a cure.
    skipped : sequence of str
        Checks that cannot be made.
    costs : Costs, optional
        Rates of the site. [min]
    minutes : mapping of str to float, optional
        Learned minutes of checks and repairs. [min]

    Returns
    -------
    Advice
        Causes, next steps, a pair where two explain it better, and a hand-over with its reason.
    """
    known = replace(
        evidence,
        absent=evidence.absent | (implied(book, evidence.present) - evidence.present),
        factors=_uncured(book, net, evidence, done),
    )
    belief = posterior(net, known)
    order = np.argsort(-belief, kind="stable")
    causes = tuple(
        Ranked(cause=net.causes[at], chance=float(belief[at]), word=word_of(float(belief[at])))
        for at in order
    )
    walk = open_walk(book, known, skipped) if causes[0].chance < _PLAIN else ()
    menu = menu_of(book, net, known, costs=costs, minutes=minutes, walk=walk)
    here = situation_of(book, menu, known, done=done, skipped=skipped)
    steps = best_steps(menu, belief, here)
    pair = pair_share(net, known, expected=book.expected_extra)
    return Advice(
        causes=causes,
        steps=steps,
        walk=walk if any(step.key == WALK for step in steps) else (),
        pair=pair if pair.share > _PAIR_LEAST else None,
        hand_over=_hand_over(book, net, known, causes, steps, done),
    )


def _uncured(
    book: FaultBook, net: FaultNet, evidence: Evidence, done: Sequence[str]
) -> NDArray[np.float64] | None:
    """Return factors with what repairs that did not cure say against their causes."""
    if not done:
        return evidence.factors
    factors = np.ones(len(net.causes)) if evidence.factors is None else evidence.factors.copy()
    for name in done:
        for cause, cures in book.repairs[name].fixes.items():
            factors[net.place_of_cause[cause]] *= 1.0 - cures
    return factors


def _hand_over(
    book: FaultBook,
    net: FaultNet,
    evidence: Evidence,
    causes: Sequence[Ranked],
    steps: Sequence[Candidate],
    done: Sequence[str],
) -> str:
    """Return why the fault is handed over, or nothing."""
    top = causes[0]
    if book.causes[top.cause].is_qualified and top.chance >= LIKELY:
        return f"{book.causes[top.cause].name}: a qualified technician mends this."
    other = next((one.chance for one in causes if one.cause == OTHER), 0.0)
    if other > _OTHER_MOST:
        return "It is most likely something that is not on the list."
    if len(done) >= _REPAIRS_MOST:
        return f"{len(done)} repairs were made and it is not cured."
    if surprise(net, evidence) < _SURPRISE:
        return "What was found fits nothing on the list."
    if steps[0].kind == "hand-over":
        return "What is left to try costs more than a call."
    return ""


def reason_of(book: FaultBook, advice: Advice, step: Candidate) -> str:
    """Return in one sentence why a step is proposed.

    Parameters
    ----------
    book : FaultBook
        The data.
    advice : Advice
        What it is part of.
    step : Candidate
        The step.

    Returns
    -------
    str
        What it tells or ends, and how likely that is.
    """
    if step.kind == "hand-over":
        return advice.hand_over or "A technician takes it from here, with all that was found."
    chance = {one.cause: one.chance for one in advice.causes}
    if step.kind == "repair":
        ended = max(book.repairs[step.key].fixes, key=lambda cause: chance[cause])
        return f"{book.causes[ended].name} is {word_of(chance[ended])}."
    if step.key == WALK:
        names = [name for one in advice.walk for name in book.checks[one].findings]
        return f"{len(names)} quick looks in one walk rule out what is simple."
    looks = book.checks[step.key].findings
    told = [
        one
        for one in advice.causes
        if any(book.causes[one.cause].links.get(name, 0.0) >= _TELLS for name in looks)
    ]
    if not told:
        return "It is quick and tells a little."
    best = told[0]
    return f"{book.causes[best.cause].name} is {best.word}; this look tells."
