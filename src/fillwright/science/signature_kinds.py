"""The nine ways in which a run of doses may behave, and the answer that names one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

__all__ = ["DoseKind", "KindShares", "Signature", "kind_words", "signature_words"]


class DoseKind(StrEnum):
    """How a run of doses behaves."""

    STEADY = "steady"
    STEP = "step"
    CREEP = "creep"
    SCATTER = "scatter"
    PURGE = "purge"
    ALTERNATE = "alternate"
    LEVEL = "level"
    SHORT = "short"
    AUTOCORR = "autocorr"


@dataclass(frozen=True, slots=True, kw_only=True)
class KindShares:
    """One figure for each of the nine kinds.

    Attributes
    ----------
    steady : float
        Independent doses about one level. [1]
    step : float
        A jump of the level that stays. [1]
    creep : float
        A straight rise or fall from some dose on. [1]
    scatter : float
        Scatter that grows, at once or bit by bit. [1]
    purge : float
        Short at first, dying away: air leaving the wet path. [1]
    alternate : float
        Every other dose larger. [1]
    level : float
        The dose follows the product level in the hopper. [1]
    short : float
        Single short doses among steady ones. [1]
    autocorr : float
        A dose is like the one before it, without direction. [1]
    """

    steady: float
    step: float
    creep: float
    scatter: float
    purge: float
    alternate: float
    level: float
    short: float
    autocorr: float

    def of(self, kind: DoseKind) -> float:
        """Return the figure of one kind.

        Parameters
        ----------
        kind : DoseKind
            The kind asked for.

        Returns
        -------
        float
            Its figure. [1]
        """
        return float(getattr(self, kind.value))


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """What kind of wandering a run of doses shows.

    Attributes
    ----------
    usable : bool
        Whether anything may be said; false with too few doses or too coarse a scale, and then
        the likelihood is flat and the posterior is the prior.
    likelihood : KindShares
        Chance of the readings under each kind, up to a common factor; the largest is 1. This
        is what a fault search takes.
    posterior : KindShares
        Probability of each kind; the sum is 1.
    best : DoseKind or None
        Most probable kind; none where not usable.
    runner_up : DoseKind or None
        Second most probable kind; none where not usable.
    together : tuple of DoseKind
        Kinds to be named in one breath, at work at once or not to be told apart; empty where
        the best kind stands alone.
    at_once : bool
        Whether those of `together` are at work at once rather than not told apart.
    stated : float
        Probability of what is named: of `together`, otherwise of the best kind. [1]
    change_at : int or None
        First dose after the change, counted from 1; none where the best kind has no change.
    change_interval : tuple of int or None
        80 % interval of it, counted from 1.
    size : float or None
        Size of the best kind, in the meaning of `size_means`. [kg]
    size_interval : tuple of float or None
        80 % interval of it. [kg]
    size_means : str
        What the size is, in words.
    short_at : tuple of int
        Doses more likely short than not, counted from 1, where short doses are best.
    stands_out : tuple of int
        Doses far from all others, counted from 1, where a steady run is best: each a finding.
    noise_sd : float or None
        Sd left beside the best kind, rounding taken out; none where not usable. [kg]
    ask_level : bool
        Whether the hopper level would tell what cannot be told now.
    assumptions : tuple of str
        What was taken for granted.
    equation : str
        Where the equations come from.
    because : str
        The answer in one sentence; says that nothing is clear below a probability of 0.5.
    """

    usable: bool
    likelihood: KindShares
    posterior: KindShares
    best: DoseKind | None
    runner_up: DoseKind | None
    together: tuple[DoseKind, ...]
    at_once: bool
    stated: float
    change_at: int | None
    change_interval: tuple[int, int] | None
    size: float | None
    size_interval: tuple[float, float] | None
    size_means: str
    short_at: tuple[int, ...]
    stands_out: tuple[int, ...]
    noise_sd: float | None
    ask_level: bool
    assumptions: tuple[str, ...]
    equation: str
    because: str


_NAMES = {
    DoseKind.STEADY: "a steady run",
    DoseKind.STEP: "a step",
    DoseKind.CREEP: "a creep",
    DoseKind.SCATTER: "growing scatter",
    DoseKind.PURGE: "air still leaving",
    DoseKind.ALTERNATE: "every other dose larger",
    DoseKind.LEVEL: "a dose that follows the hopper level",
    DoseKind.SHORT: "single short doses",
    DoseKind.AUTOCORR: "neighbouring doses that are alike",
}
_SHOWN = 0.5
_SURE = 0.8


def kind_words(kind: DoseKind) -> str:
    """Return what one kind is called, with its article.

    Parameters
    ----------
    kind : DoseKind
        One of the nine.

    Returns
    -------
    str
        Such as ``"a step"``, in small letters.
    """
    return _NAMES[kind]


def signature_words(
    kinds: Sequence[DoseKind], probability: float, *, at_once: bool = False
) -> str:
    """Return the words for what is named: none below 0.5, "looks like" to 0.8, "is" above.

    Parameters
    ----------
    kinds : sequence of DoseKind
        One kind, or those named in one breath.
    probability : float
        Its probability, or that of all together. [1]
    at_once : bool
        Whether several are at work at once rather than not told apart.

    Returns
    -------
    str
        The words without a full stop; empty below 0.5.
    """
    if probability < _SHOWN:
        return ""
    names = (" and " if at_once else " or ").join(kind_words(kind) for kind in kinds)
    return f"{'Is' if probability > _SURE else 'Looks like'} {names}"
