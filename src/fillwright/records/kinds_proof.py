"""Entries of priming and proving: when the air was out, how many shots, what they showed.

A kind that grew keeps its first shape beside the new one; `now` gives it the shape of today.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

__all__ = [
    "LearntStart",
    "PrimingJudged",
    "ProofJudged",
    "ProofJudgedFirst",
    "ProofPlanned",
    "ProofPlannedFirst",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class LearntStart:
    """What the starts of a product on a machine taught of how its air leaves.

    Parameters
    ----------
    decay_doses : float
        Median number of doses in which the shortfall falls to a third.
    decay_spread_ratio : float
        Sd of the logarithm of that.
    first_shortfall_pct : float
        Typical shortfall of the first dose, as a share of the settled one.
    sd_pct : float
        Median sd of single doses, as a share of the settled one.
    sd_spread_ratio : float
        Sd of the logarithm of that.
    slow_share : float
        Chance of an end that is slower than exponential.
    late_share : float
        Chance of a pocket of air that comes late.
    low_share : float
        Expected share of single low doses.
    starts : int
        Starts that were learnt from.
    """

    decay_doses: float
    decay_spread_ratio: float
    first_shortfall_pct: float
    sd_pct: float
    sd_spread_ratio: float
    slow_share: float
    late_share: float
    low_share: float
    starts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PrimingJudged:
    """The air was found to be out after a flush; kept in the job, and on the site as learnt.

    Parameters
    ----------
    job : str
        Number of the job.
    product, machine : str
        Whose start it was, by the names people use.
    shots : int
        Weighed shots.
    low_shots : tuple of int
        Those that were low by a bubble, counted from 1.
    quiet : int
        Shots since the last low one.
    p_primed : float
        Probability that the next dose is short by less than `limit_pct`.
    limit_pct : float
        Shortfall allowed, as a share of the settled dose.
    p_wanted : float
        Probability wanted.
    settled_g : float
        Expected dose once no air is left.
    because : str
        The verdict in one sentence.
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    learnt : LearntStart
        What to begin the next start with.
    """

    kind: ClassVar[str] = "priming judged"
    version: ClassVar[int] = 1
    job: str
    product: str
    machine: str
    shots: int
    low_shots: tuple[int, ...]
    quiet: int
    p_primed: float
    limit_pct: float
    p_wanted: float
    settled_g: float
    because: str
    equation: str
    assumptions: tuple[str, ...]
    learnt: LearntStart


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofPlanned:
    """How a proving run was to be judged, fixed before its first shot.

    Parameters
    ----------
    shots : int
        Shots at the end of the run.
    claim_pct, content_pct, confidence_pct : Decimal
        The claim.
    because : str
        Why so many.
    attempt : int
        Which proving run of this claim in the job it is.
    looks : tuple of int
        Shots at each planned look, where it may end early; empty for one verdict at the end.
    looks_factor : tuple of float
        Sds that must fit between the middle and the nearer end of the claim, at each look.
    futile_looks_factor : tuple of float
        Below so many sds the run ends early without a claim.
    look_confidence_share : float or None
        Confidence of the tolerance interval at each look.
    looks_seed : int or None
        Seed that the looks were worked out with.
    """

    kind: ClassVar[str] = "proof planned"
    version: ClassVar[int] = 2
    shots: int
    claim_pct: Decimal
    content_pct: Decimal
    confidence_pct: Decimal
    because: str
    attempt: int = 1
    looks: tuple[int, ...] = ()
    looks_factor: tuple[float, ...] = ()
    futile_looks_factor: tuple[float, ...] = ()
    look_confidence_share: float | None = None
    looks_seed: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofPlannedFirst:
    """The number of shots of a proving run was fixed before the first (first shape)."""

    kind: ClassVar[str] = "proof planned"
    version: ClassVar[int] = 1
    shots: int
    claim_pct: Decimal
    content_pct: Decimal
    confidence_pct: Decimal
    because: str

    def now(self) -> ProofPlanned:
        """Return it in the shape of today."""
        return ProofPlanned(
            shots=self.shots,
            claim_pct=self.claim_pct,
            content_pct=self.content_pct,
            confidence_pct=self.confidence_pct,
            because=self.because,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofJudged:
    """A proving run was judged.

    Parameters
    ----------
    verdict : str
        What it shows.
    shots, set_aside : int
        Shots used and shots set aside.
    mean_g, sd_g : float
        Mean and sd of the readings as they are, rounding included.
    k : float or None
        Exact two-sided factor.
    half_width_g, half_width_pct : float or None
        k times sd about the mean, and as a share of the aim.
    within_aim_g : float or None
        Smallest tolerance about the aim that the readings prove.
    content_provable_pct : float or None
        Share of doses inside the claim that the readings prove.
    because, equation, assumptions
        Why, from where, on what.
    spread_g : float or None
        Sd of the doses behind the rounding; None where the step hides it.
    spread_upper_g : float or None
        Upper bound of that with 95 % confidence.
    one_sided_k_factor : float or None
        Exact one-sided factor.
    free_content_pct : float or None
        Share of doses that the smallest and largest reading hold, whatever their shape.
    free_shots : int or None
        Shots that would prove the claim in that way.
    content_most_pct : float or None
        Share of doses inside the claim at most, with 95 % confidence.
    causes : tuple of str
        What spoke against a steady run.
    attempt : int
        Which proving run of this claim in the job it is.
    confidence_left_pct : float or None
        Confidence of the claim over all the tries so far, at least; None in old entries.
    looked_at : int or None
        The planned look that decided; None without planned looks.
    plot_seed : int or None
        Seed of the envelope of the probability plot.
    """

    kind: ClassVar[str] = "proof judged"
    version: ClassVar[int] = 2
    verdict: str
    shots: int
    set_aside: int
    mean_g: float
    sd_g: float
    k: float | None
    half_width_g: float | None
    half_width_pct: float | None
    within_aim_g: float | None
    content_provable_pct: float | None
    because: str
    equation: str
    assumptions: tuple[str, ...] = ()
    spread_g: float | None = None
    spread_upper_g: float | None = None
    one_sided_k_factor: float | None = None
    free_content_pct: float | None = None
    free_shots: int | None = None
    content_most_pct: float | None = None
    causes: tuple[str, ...] = ()
    attempt: int = 1
    confidence_left_pct: float | None = None
    looked_at: int | None = None
    plot_seed: int | None = None

    @property
    def dose_sd_g(self) -> float:
        """Return the sd of a dose to go on with; its bound where the scale's step hides it."""
        if self.spread_g is not None:
            return self.spread_g
        return self.sd_g if self.spread_upper_g is None else self.spread_upper_g


@dataclass(frozen=True, slots=True, kw_only=True)
class ProofJudgedFirst:
    """A proving run was judged (first shape: the spread as read, no tries, no looks)."""

    kind: ClassVar[str] = "proof judged"
    version: ClassVar[int] = 1
    verdict: str
    shots: int
    set_aside: int
    mean_g: float
    sd_g: float
    k: float | None
    half_width_g: float | None
    half_width_pct: float | None
    within_aim_g: float | None
    content_provable_pct: float | None
    because: str
    equation: str
    assumptions: tuple[str, ...] = ()

    def now(self) -> ProofJudged:
        """Return it in the shape of today; the spread was not told from the rounding then."""
        is_hidden = self.verdict == "scale-too-coarse"
        return ProofJudged(
            verdict=self.verdict,
            shots=self.shots,
            set_aside=self.set_aside,
            mean_g=self.mean_g,
            sd_g=self.sd_g,
            k=self.k,
            half_width_g=self.half_width_g,
            half_width_pct=self.half_width_pct,
            within_aim_g=self.within_aim_g,
            content_provable_pct=self.content_provable_pct,
            because=self.because,
            equation=self.equation,
            assumptions=self.assumptions,
            spread_g=None if is_hidden else self.sd_g,
        )
