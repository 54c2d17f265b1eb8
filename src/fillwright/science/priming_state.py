"""What the shots of a purge can show: the verdict with its figures, and its words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fillwright.science.priming_prior import PrimingPrior

__all__ = ["FEWEST", "MANY", "QUIET", "PrimingState", "PrimingVerdict", "because"]

FEWEST = 6
QUIET = 3
MANY = 30
_OFTEN = 0.15
_MOST = 0.5
_SURE = 0.995


class PrimingVerdict(StrEnum):
    """Whether the air is out."""

    PRIMED = "primed"
    CARRY_ON = "carry-on"
    LOOK_FOR_AIR = "look-for-air"


@dataclass(frozen=True, slots=True, kw_only=True)
class PrimingState:
    """What the shots of a purge show.

    Attributes
    ----------
    verdict : PrimingVerdict
        Primed, carry on, or look for where air comes in.
    primed : bool
        Whether the verdict is primed.
    p_primed : float
        Probability that the next dose is short by less than `limit`. [1]
    shortfall_share : float
        Expected shortfall of the next dose, as a share of the settled dose. [1]
    shortfall_upper : float
        What that shortfall stays below with the probability wanted. [1]
    limit : float
        Shortfall that was allowed. [1]
    probability : float
        Probability that was wanted. [1]
    settled : float
        Expected dose once no air is left. [kg]
    settled_sd : float
        Its sd. [kg]
    shots : int
        Number of shots.
    low_shots : tuple of int
        Places of shots that were probably low by a bubble, counted from 0.
    quiet : int
        Doses since the last low shot.
    learnt : PrimingPrior
        What to hand over at the next start of this product.
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The verdict in one sentence.
    """

    verdict: PrimingVerdict
    primed: bool
    p_primed: float
    shortfall_share: float
    shortfall_upper: float
    limit: float
    probability: float
    settled: float
    settled_sd: float
    shots: int
    low_shots: tuple[int, ...]
    quiet: int
    learnt: PrimingPrior
    equation: str
    assumptions: tuple[str, ...]
    because: str


def because(
    verdict: PrimingVerdict,
    *,
    shots: int,
    low: tuple[int, ...],
    quiet: int,
    chance: float,
    limit: float,
    upper: float,
) -> str:
    """Return the verdict in one sentence.

    Parameters
    ----------
    verdict : PrimingVerdict
        What the shots show.
    shots : int
        Number of shots.
    low : tuple of int
        Places of the low shots, counted from 0.
    quiet : int
        Doses since the last low shot.
    chance : float
        Probability that the next dose is short by less than `limit`. [1]
    limit : float
        Shortfall that was allowed. [1]
    upper : float
        What the shortfall stays below with the probability wanted. [1]

    Returns
    -------
    str
        One sentence for the person at the machine.
    """
    if verdict is PrimingVerdict.PRIMED:
        sure = f"{chance:.2f}" if chance < _SURE else "above 0.99"
        return (
            f"No sign of air in the last {quiet} doses; "
            f"shortfall below {1e2 * limit:.2g} % with probability {sure}."
        )
    if verdict is PrimingVerdict.LOOK_FOR_AIR:
        if len(low) > _MOST * shots:
            return f"After {shots} doses they scatter too much to tell: look for a fault."
        what = (
            f"{len(low)} of {shots} doses were low"
            if len(low) >= _OFTEN * shots
            else f"the dose may still be short by {1e2 * upper:.2g} %"
        )
        return f"After {shots} doses {what}: look for where air comes in."
    if low and quiet < QUIET:
        return f"Dose {low[-1] + 1} was low, as when a bubble passes: carry on."
    if shots < FEWEST:
        return f"Too few doses to say: make {FEWEST} at least."
    return f"The next dose may still be short by {1e2 * upper:.2g} %: carry on."
