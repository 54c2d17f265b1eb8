"""Whether the air is out of the wet path, from the weights of the first doses.

The dose climbs to its level while air leaves, with single low shots where a bubble passes; own
model (`priming_model`), its probabilities held against simulated purges (docs, calibration).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from fillwright.science.given import above_zero, finite, not_negative, readings_in_order, share
from fillwright.science.priming_model import (
    Belief,
    Weighed,
    first_belief,
    learnt_prior,
    take,
    weighed,
)
from fillwright.science.priming_prior import PrimingPrior
from fillwright.science.priming_state import (
    FEWEST,
    MANY,
    QUIET,
    PrimingState,
    PrimingVerdict,
    because,
)

__all__ = [
    "Priming",
    "PrimingPrior",
    "PrimingState",
    "PrimingVerdict",
    "prime",
    "prime_start",
    "prime_state",
    "prime_take",
]

_GUESS_SPREAD = 0.4
_EVEN = 0.5

_EQUATION = "own model: level less a decaying shortfall, low shots averaged over which they are"
_ASSUMPTIONS = (
    "All shots were made at one setting and speed, one after the other, and none is left out.",
    "The shortfall decays, mostly like an exponential; a tail that is slower still can hide.",
    "Constants of the model are invented where no earlier start of the product gives them.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Priming:
    """A purge under way: all that is remembered between shots.

    Attributes
    ----------
    belief : Belief
        What the shots so far say.
    unit : float
        Dose that all figures inside are shares of. [kg]
    limit : float
        Shortfall of the next dose to stay below, as a share of the settled dose. [1]
    probability : float
        Wanted probability of that. [1]
    """

    belief: Belief
    unit: float
    limit: float
    probability: float


def prime(
    readings: ArrayLike,
    *,
    sd_guess: float | None = None,
    prior: PrimingPrior | None = None,
    limit: float = 0.003,
    probability: float = 0.83,
    readability: float = 0.0,
) -> PrimingState:
    """Return what the shots of a purge show.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Weights of all shots since the first, in time order. [kg]
    sd_guess : float or None
        Sd expected of single doses; none where only the prior says. [kg]
    prior : PrimingPrior or None
        What the last start of this product taught; none for the invented defaults.
    limit : float
        Shortfall of the next dose to stay below, as a share of the settled dose. [1]
    probability : float
        Wanted probability of that. [1]
    readability : float
        Step of the scale; zero where it is not known. [kg]

    Returns
    -------
    PrimingState
        Primed or not, with the probability and what was learnt.

    Raises
    ------
    BadInput
        If no reading is given or a figure cannot be used.

    Notes
    -----
    Primed when the probability is reached, six shots were made and none of the last three
    looks low. After thirty shots without that the verdict is to look for where air comes in.
    Thresholds are own design; docs/reference/calibration.md has what they cost and leave.

    Examples
    --------
    >>> grams = [0.462, 0.477, 0.486, 0.491, 0.494, 0.496, 0.498, 0.499, 0.499, 0.500]
    >>> prime(grams[:5], sd_guess=0.001).verdict.value
    'carry-on'
    >>> prime([*grams, 0.501, 0.500, 0.501, 0.500], sd_guess=0.001).verdict.value
    'primed'
    """
    row = readings_in_order(readings, "readings", at_least=1)
    # The upper quartile of the later half: bubbles pull a median down.
    unit = float(np.quantile(row[row.size // 2 :], 0.75))
    begun = prime_start(
        unit if unit > 0.0 else 1.0,
        sd_guess=sd_guess,
        prior=prior,
        limit=limit,
        probability=probability,
        readability=readability,
    )
    if unit <= 0.0:
        return _nothing(row.size, begun)
    for value in row:
        begun = prime_take(begun, float(value))
    return prime_state(begun)


def prime_start(
    dose_guess: float,
    *,
    sd_guess: float | None = None,
    prior: PrimingPrior | None = None,
    limit: float = 0.003,
    probability: float = 0.83,
    readability: float = 0.0,
) -> Priming:
    """Return a purge before its first shot, for shots that come one by one.

    Parameters
    ----------
    dose_guess : float
        Dose expected once no air is left, within a third. [kg]
    sd_guess : float or None
        Sd expected of single doses; none where only the prior says. [kg]
    prior : PrimingPrior or None
        What the last start of this product taught; none for the invented defaults.
    limit : float
        Shortfall of the next dose to stay below, as a share of the settled dose. [1]
    probability : float
        Wanted probability of that. [1]
    readability : float
        Step of the scale; zero where it is not known. [kg]

    Returns
    -------
    Priming
        No shot yet.

    Raises
    ------
    BadInput
        If a figure cannot be used.
    """
    unit = above_zero(dose_guess, "dose_guess")
    wanted, allowed = share(probability, "probability"), share(limit, "limit")
    step = not_negative(readability, "readability")
    known = PrimingPrior() if prior is None else prior
    if sd_guess is not None:
        guess = above_zero(sd_guess, "sd_guess")
        known = replace(known, sd=guess / unit, sd_spread=_GUESS_SPREAD)
    belief = first_belief(known, rounding_sd=step / math.sqrt(12.0) / unit)
    return Priming(belief=belief, unit=unit, limit=allowed, probability=wanted)


def prime_take(priming: Priming, reading: float) -> Priming:
    """Return the purge after one more shot.

    Parameters
    ----------
    priming : Priming
        The purge before it.
    reading : float
        Weight of the shot. [kg]

    Returns
    -------
    Priming
        The purge with the shot in it.

    Raises
    ------
    BadInput
        If the reading is not a finite number.
    """
    value = finite(reading, "reading")
    return replace(priming, belief=take(priming.belief, value / priming.unit - 1.0))


def prime_state(priming: Priming) -> PrimingState:
    """Return what the shots of a purge show so far.

    Parameters
    ----------
    priming : Priming
        The purge; at least one shot.

    Returns
    -------
    PrimingState
        Primed or not, with the probability and what was learnt.
    """
    belief, unit = priming.belief, priming.unit
    limit, probability = priming.limit, priming.probability
    after = weighed(belief)
    likely = after.likely()
    shots = belief.low.shape[1]
    p_low = np.sum(after.weight, axis=(1, 2, 3)) @ belief.low
    low = tuple(int(i) for i in np.flatnonzero(p_low > _EVEN))
    quiet = shots - 1 - low[-1] if low else shots
    chance = likely.below(limit)
    level = float(np.sum(likely.weight * likely.level))
    spread = float(np.sum(likely.weight * (likely.level_var + (likely.level - level) ** 2)))
    primed = chance >= probability and shots >= FEWEST and quiet >= QUIET
    verdict = PrimingVerdict.CARRY_ON
    if primed:
        verdict = PrimingVerdict.PRIMED
    elif shots >= MANY:
        verdict = PrimingVerdict.LOOK_FOR_AIR
    upper = _upper(likely, probability)
    return PrimingState(
        verdict=verdict,
        primed=primed,
        p_primed=chance,
        shortfall_share=likely.expected(),
        shortfall_upper=upper,
        limit=limit,
        probability=probability,
        settled=unit * (1.0 + level),
        settled_sd=unit * math.sqrt(spread),
        shots=shots,
        low_shots=low,
        quiet=quiet,
        learnt=learnt_prior(belief, after),
        equation=_EQUATION,
        assumptions=_ASSUMPTIONS,
        because=because(
            verdict, shots=shots, low=low, quiet=quiet, chance=chance, limit=limit, upper=upper
        ),
    )


def _upper(likely: Weighed, probability: float) -> float:
    """Return the shortfall that the next dose stays below with a probability, to 2 %."""
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked

    def surplus(log_limit: float) -> float:
        return likely.below(math.exp(log_limit)) - probability

    low, high = math.log(1e-6), 0.0
    if surplus(low) >= 0.0:
        return math.exp(low)
    if surplus(high) <= 0.0:
        return 1.0
    return math.exp(float(brentq(surplus, low, high, xtol=0.01)))


def _nothing(shots: int, begun: Priming) -> PrimingState:
    """Return the state where no product has come yet."""
    verdict = PrimingVerdict.LOOK_FOR_AIR if shots >= MANY else PrimingVerdict.CARRY_ON
    return PrimingState(
        verdict=verdict,
        primed=False,
        p_primed=0.0,
        shortfall_share=1.0,
        shortfall_upper=1.0,
        limit=begun.limit,
        probability=begun.probability,
        settled=0.0,
        settled_sd=0.0,
        shots=shots,
        low_shots=tuple(range(shots)),
        quiet=0,
        learnt=begun.belief.prior,
        equation=_EQUATION,
        assumptions=_ASSUMPTIONS,
        because="No product has come in half of these doses: look for what holds it back.",
    )
