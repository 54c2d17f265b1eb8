"""Planned looks of a proof: what is enough at each, and what the plan costs and gives.

One confidence serves all looks and keeps false claims at the stated level; where hardly any
run would still be proved it ends early. Own design, by drawn runs.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, share, whole
from fillwright.science.sequential_rates import (
    Runs,
    confidence_of_room,
    draw_runs,
    edge_sd,
    futile_rooms,
    room,
)
from fillwright.science.tolerance import tolerance_factor

__all__ = ["SequentialChance", "SequentialPlan", "sequential_chance", "sequential_plan"]

_LOOKS = (8, 12, 16, 24, 32, 48)
_OFFSETS = (0.0, 0.1, 0.2, 0.4, 0.7)
_FEWEST = 4
_HOPELESS = 0.05
_SAFE = 2.0

_ASSUMPTIONS = (
    "The looks were chosen before the first shot; nobody stops or goes on for other reasons.",
    "Doses are normal and independent, and the machine stays as it was.",
    "All readings of the run are here; none was left out for its value.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SequentialPlan:
    """When to look, and what is enough at each look.

    Attributes
    ----------
    looks : tuple of int
        Readings at each look.
    factors : tuple of float
        Sample sds that must fit between the mean and the nearer limit. [1]
    futile_factors : tuple of float
        Below so many sds the run ends early. [1]
    content : float
        Share of single doses claimed inside. [1]
    confidence : float
        Confidence of the claim over all looks. [1]
    look_confidence : float
        Confidence of the tolerance interval at each look. [1]
    offsets : tuple of float
        Offsets of the mean, over the tolerance, at which false claims were counted. [1]
    false_claims : tuple of float
        Share of runs that end in a false claim when exactly the content is inside. [1]
    standard_error : float
        Standard error of the largest of them. [1]
    runs : int
        Runs drawn.
    assumptions : tuple of str
        What was taken for granted.
    equation : str
        Where the equations come from.
    because : str
        The plan in one sentence.
    """

    looks: tuple[int, ...]
    factors: tuple[float, ...]
    futile_factors: tuple[float, ...]
    content: float
    confidence: float
    look_confidence: float
    offsets: tuple[float, ...]
    false_claims: tuple[float, ...]
    standard_error: float
    runs: int
    assumptions: tuple[str, ...]
    equation: str
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SequentialChance:
    """What a plan costs and gives for one true machine.

    Attributes
    ----------
    chance : float
        Share of runs that end in enough. [1]
    standard_error : float
        Its standard error. [1]
    mean_readings : float
        Mean number of readings. [1]
    stopped_early : float
        Share of runs ended before the last look without a claim. [1]
    lost : float
        Share of runs ended early that would have been proved later. [1]
    """

    chance: float
    standard_error: float
    mean_readings: float
    stopped_early: float
    lost: float


def sequential_plan(
    looks: Sequence[int] = _LOOKS,
    *,
    content: float = 0.99,
    confidence: float = 0.95,
    hopeless: float = _HOPELESS,
    runs: int = 100_000,
    rng: np.random.Generator,
) -> SequentialPlan:
    """Return what is enough at each planned look, and when a run ends early.

    Parameters
    ----------
    looks : sequence of int
        Readings at each look, rising; four or more at the first.
    content : float
        Share of single doses claimed inside, above a half. [1]
    confidence : float
        Confidence of the claim over all looks. [1]
    hopeless : float
        Chance of a later proof below which a run ends early. [1]
    runs : int
        Runs to draw.
    rng : numpy.random.Generator
        Where chance comes from; the same state gives the same plan.

    Returns
    -------
    SequentialPlan
        Factors at each look, with the false claims that were counted.

    Raises
    ------
    BadInput
        If the looks do not rise or a figure cannot be used.

    Notes
    -----
    Own design. In each drawn run the largest confidence that any look would prove is noted,
    at the edge of truth and several offsets; the confidence of the looks is the quantile
    that leaves the stated share of false claims at the worst offset, less two standard
    errors, and never below the stated confidence. False claims are then counted on fresh
    runs. Ending early only takes claims away, so it is left out of that count.

    Masses do not enter: the plan holds for every dose and tolerance.
    """
    places = _rising(looks)
    claim, sure = share(content, "content"), share(confidence, "confidence")
    if claim <= 0.5:  # noqa: PLR2004  below half the nearer limit is no edge
        raise BadInput(
            f"content is {claim:g}; give a share above 0.5.",
            field="content",
            given=content,
            allowed="above 0.5 and below 1",
        )
    count = whole(runs, "runs", at_least=1000)
    risk = 1.0 - sure
    error = math.sqrt(risk * (1.0 - risk) / count)
    aim = 1.0 - max(risk - _SAFE * error, 0.5 * risk)
    drawn = draw_runs(places, runs=count, rng=rng)
    best = max(
        float(np.quantile(np.max(_proved(drawn, off, places, claim), axis=1), aim))
        for off in _OFFSETS
    )
    at_look = max(sure, _normal_share(best))
    factors = tuple(tolerance_factor(n, content=claim, confidence=at_look) for n in places)
    fresh = draw_runs(places, runs=count, rng=rng)
    false = tuple(
        float(np.mean(np.any(_edge_room(fresh, off, claim) >= np.asarray(factors), axis=1)))
        for off in _OFFSETS
    )
    worst = max(false)
    futile = futile_rooms(
        places,
        factors,
        content=claim,
        hopeless=share(hopeless, "hopeless"),
        runs=count,
        rng=rng,
    )
    return SequentialPlan(
        looks=places,
        factors=factors,
        futile_factors=futile,
        content=claim,
        confidence=sure,
        look_confidence=at_look,
        offsets=_OFFSETS,
        false_claims=false,
        standard_error=math.sqrt(worst * (1.0 - worst) / count),
        runs=count,
        assumptions=_ASSUMPTIONS,
        equation="exact normal tolerance factor; confidence per look by drawn runs",
        because=(
            f"Look at {', '.join(str(n) for n in places)} readings, with confidence "
            f"{at_look:.4g} each: a false claim in {worst:.2%} of runs at most."
        ),
    )


def sequential_chance(
    plan: SequentialPlan,
    true_sd: float,
    *,
    offset: float = 0.0,
    tolerance: float,
    futility: bool = True,
    runs: int = 20_000,
    rng: np.random.Generator,
) -> SequentialChance:
    """Return what a plan costs and gives for one true machine.

    Parameters
    ----------
    plan : SequentialPlan
        The plan.
    true_sd : float
        True sd of single doses. [kg]
    offset : float
        True mean less target. [kg]
    tolerance : float
        Half width of the claim. [kg]
    futility : bool
        Whether runs without hope end early.
    runs : int
        Runs to draw.
    rng : numpy.random.Generator
        Where chance comes from.

    Returns
    -------
    SequentialChance
        Chance, mean readings and early ends, without the order tests' false alarms.

    Raises
    ------
    BadInput
        If a figure cannot be used.
    """
    count = whole(runs, "runs", at_least=100)
    drawn = draw_runs(plan.looks, runs=count, rng=rng)
    rooms = room(
        drawn,
        sd=above_zero(true_sd, "true_sd"),
        offset=finite(offset, "offset"),
        tolerance=above_zero(tolerance, "tolerance"),
    )
    last = len(plan.looks) - 1
    enough = rooms >= np.asarray(plan.factors)
    hopeless = rooms < np.asarray(plan.futile_factors)
    hopeless[:, last] = False
    proved = np.any(enough, axis=1)
    first = np.where(proved, np.argmax(enough, axis=1), last)
    ended = np.zeros(count, dtype=np.bool_)
    if futility:
        stop = np.where(np.any(hopeless, axis=1), np.argmax(hopeless, axis=1), last + 1)
        ended = stop < first
        first = np.minimum(first, stop)
    chance = float(np.mean(proved & ~ended))
    return SequentialChance(
        chance=chance,
        standard_error=math.sqrt(chance * (1.0 - chance) / count),
        mean_readings=float(np.mean(np.asarray(plan.looks)[first])),
        stopped_early=float(np.mean(ended)),
        lost=float(np.mean(ended & proved)),
    )


def _rising(looks: Sequence[int]) -> tuple[int, ...]:
    """Return the looks when they rise from four readings or more."""
    places = tuple(whole(n, f"looks[{i}]", at_least=_FEWEST) for i, n in enumerate(looks))
    if not places or any(b <= a for a, b in itertools.pairwise(places)):
        raise BadInput(
            "looks do not rise; give numbers of readings such as 8, 12, 16.",
            field="looks",
            given=tuple(looks),
            allowed="one or more rising whole numbers",
            code="inconsistent",
        )
    return places


def _edge_room(drawn: Runs, offset: float, content: float) -> NDArray[np.float64]:
    """Return the rooms when exactly the content is inside."""
    sd = edge_sd(offset, content=content)
    return room(drawn, sd=sd, offset=offset, tolerance=1.0)


def _proved(
    drawn: Runs, offset: float, looks: Sequence[int], content: float
) -> NDArray[np.float64]:
    """Return the confidence that each look proves at the edge of truth, as a normal value."""
    return confidence_of_room(_edge_room(drawn, offset, content), looks, content=content)


def _normal_share(z: float) -> float:
    """Return the share of a standard normal below a value."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))
