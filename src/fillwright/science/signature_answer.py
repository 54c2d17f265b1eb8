"""What may be said of the evidence of nine kinds of wandering, and what may not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.signature_kinds import (
    DoseKind,
    KindShares,
    Signature,
    kind_words,
    signature_words,
)
from fillwright.science.signature_scan import Scan
from fillwright.science.signature_size import change_range, size_range

__all__ = ["Evidence", "abstained", "answered"]

_Floats = NDArray[np.float64]

_COARSE = 1.5
_NAMED = 0.2
_HALF = 0.5
_KINDS = tuple(DoseKind)
_ALIKE = {
    DoseKind.STEP: (DoseKind.CREEP, DoseKind.LEVEL, DoseKind.SCATTER),
    DoseKind.CREEP: (DoseKind.STEP, DoseKind.LEVEL),
    DoseKind.LEVEL: (DoseKind.CREEP, DoseKind.STEP),
    DoseKind.SCATTER: (DoseKind.STEP,),
}
_MEANS = {
    DoseKind.STEADY: "",
    DoseKind.STEP: "level after the step less level before",
    DoseKind.CREEP: "change of the level from the first dose of the creep to the last dose",
    DoseKind.SCATTER: "rise of the sd to the last dose",
    DoseKind.PURGE: "shortage of the first dose, below zero",
    DoseKind.ALTERNATE: "odd-numbered doses less even-numbered ones",
    DoseKind.LEVEL: "dose at the highest hopper level less that at the lowest",
    DoseKind.SHORT: "shortest dose less the mean of the others, below zero",
    DoseKind.AUTOCORR: "",
}
_EQUATION = "evidence of conjugate regression (multivariate Student), averaged over patterns"
_ASSUMPTIONS = (
    "Doses are consecutive or evenly spaced, with no adjustment among them.",
    "Scatter about the pattern is normal, and independent unless neighbours are alike.",
    "One kind is at work, or creep with level, or a step with growing scatter.",
    "Sizes and rates beforehand are invented where the machine's history gives none.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What each kind makes of the readings.

    Attributes
    ----------
    scans : mapping of DoseKind to Scan
        The patterns of each kind, pairs included in both of theirs.
    heavy : mapping of DoseKind to Scan
        The patterns of some kinds again under noise with heavy tails. They count for the
        probability of their kind; place and size are those of `scans`.
    heavy_share : float
        Prior share of those within each of their kinds. [1]
    pair_share : float
        Prior share of a pair within each of its kinds. [1]
    step_with_scatter : Scan
        The patterns of that pair alone.
    creep_with_level : Scan or None
        The patterns of that pair alone; none where the level is not known.
    short_chance : ndarray, shape (n,)
        Chance of each dose to be short if some are. [1]
    far : ndarray of bool, shape (n,)
        Whether each dose is far from all others.
    """

    scans: Mapping[DoseKind, Scan]
    heavy: Mapping[DoseKind, Scan]
    heavy_share: float
    pair_share: float
    step_with_scatter: Scan
    creep_with_level: Scan | None
    short_chance: _Floats
    far: NDArray[np.bool_]

    def log_like(self, kind: DoseKind) -> float:
        """Return the log of the likelihood of a kind over all its patterns.

        Parameters
        ----------
        kind : DoseKind
            The kind.

        Returns
        -------
        float
            Log likelihood. [1]
        """
        usual = _log_sum(self.scans[kind].log_joint)
        if kind not in self.heavy:
            return usual
        heavy = _log_sum(self.heavy[kind].log_joint)
        return float(
            np.logaddexp(math.log1p(-self.heavy_share) + usual, math.log(self.heavy_share) + heavy)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Named:
    """What is named in one breath, and its probability."""

    kinds: tuple[DoseKind, ...]
    at_once: bool
    stated: float


def abstained(weights: _Floats, because: str) -> Signature:
    """Return the answer that says nothing: a flat likelihood.

    Parameters
    ----------
    weights : ndarray, shape (9,)
        Prior of the kinds in their order, sum 1. [1]
    because : str
        Why nothing may be said.

    Returns
    -------
    Signature
        Not usable; the posterior is the prior.
    """
    return Signature(
        usable=False,
        likelihood=_shares(np.ones(len(_KINDS))),
        posterior=_shares(weights),
        best=None,
        runner_up=None,
        together=(),
        at_once=False,
        stated=0.0,
        change_at=None,
        change_interval=None,
        size=None,
        size_interval=None,
        size_means="",
        short_at=(),
        stands_out=(),
        noise_sd=None,
        ask_level=False,
        assumptions=_ASSUMPTIONS,
        equation=_EQUATION,
        because=because,
    )


def answered(
    evidence: Evidence,
    *,
    weights: _Floats,
    unit: float,
    readability: float,
    level_known: bool,
) -> Signature:
    """Return what may be said of the evidence.

    Parameters
    ----------
    evidence : Evidence
        What each kind makes of the readings.
    weights : ndarray, shape (9,)
        Prior of the kinds in their order, sum 1. [1]
    unit : float
        The guessed sd. [kg]
    readability : float
        Step of the weighing scale. [kg]
    level_known : bool
        Whether the hopper level was given.

    Returns
    -------
    Signature
        The answer, or that the scale is too coarse.
    """
    log_like = np.array([evidence.log_like(kind) for kind in _KINDS])
    top = float(np.max(log_like))
    mass = float(weights @ np.exp(log_like - top))
    posterior = _shares(weights * np.exp(log_like - top) / mass)
    order = np.argsort([-posterior.of(kind) for kind in _KINDS], kind="stable")
    best = _KINDS[order[0]]
    scan = evidence.scans[best]
    of_pattern = np.exp(scan.log_joint - _log_sum(scan.log_joint))
    noise = float(of_pattern @ scan.noise) * unit**2 - readability**2 / 12.0
    sd = math.sqrt(max(noise, 0.0))
    if readability > _COARSE * sd or sd == 0.0:
        return abstained(
            weights,
            f"The scale step of {1e3 * readability:g} g is above {_COARSE:g} sd of the doses: "
            "rounding alone looks like patterns; take a finer scale.",
        )
    named = _named(
        posterior,
        best,
        pairs=_pairs(evidence, weights, log_mass=top + math.log(mass)),
        level_known=level_known,
    )
    ask = not level_known and max(posterior.creep, posterior.level) > _NAMED
    change = change_range(scan, of_pattern)
    size = size_range(scan, of_pattern) if _MEANS[best] else None
    out = _counted(evidence.far) if best is DoseKind.STEADY else ()
    return Signature(
        usable=True,
        likelihood=_shares(np.exp(log_like - top)),
        posterior=posterior,
        best=best,
        runner_up=_KINDS[order[1]],
        together=named.kinds if len(named.kinds) > 1 else (),
        at_once=named.at_once,
        stated=named.stated,
        change_at=None if change is None else change.middle + 1,
        change_interval=None if change is None else (change.low + 1, change.high + 1),
        size=None if size is None else unit * size.middle,
        size_interval=None if size is None else (unit * size.low, unit * size.high),
        size_means=_MEANS[best],
        short_at=_counted(evidence.short_chance > _HALF) if best is DoseKind.SHORT else (),
        stands_out=out,
        noise_sd=sd,
        ask_level=ask,
        assumptions=_ASSUMPTIONS,
        equation=_EQUATION,
        because=_because(named, posterior, _KINDS[order[1]], ask=ask, out=out),
    )


def _pairs(
    evidence: Evidence, weights: _Floats, *, log_mass: float
) -> dict[tuple[DoseKind, DoseKind], float]:
    """Return the probability of each pair at work at once."""
    known = {
        (DoseKind.STEP, DoseKind.SCATTER): evidence.step_with_scatter,
        (DoseKind.CREEP, DoseKind.LEVEL): evidence.creep_with_level,
    }
    return {
        pair: float(weights[_KINDS.index(pair[0])] + weights[_KINDS.index(pair[1])])
        * evidence.pair_share
        * (1.0 - evidence.heavy_share)
        * math.exp(_log_sum(scan.log_joint) - log_mass)
        for pair, scan in known.items()
        if scan is not None
    }


def _named(
    posterior: KindShares,
    best: DoseKind,
    *,
    pairs: Mapping[tuple[DoseKind, DoseKind], float],
    level_known: bool,
) -> _Named:
    """Return what is to be named in one breath."""
    pair = max(pairs, key=lambda one: pairs[one])
    if pairs[pair] >= _HALF:
        return _Named(kinds=pair, at_once=True, stated=pairs[pair])
    kinds = {best}
    either = (DoseKind.STEP, DoseKind.CREEP)
    if min(posterior.of(kind) for kind in either) > _NAMED and math.fsum(
        posterior.of(kind) for kind in either
    ) > posterior.of(best):
        kinds = set(either)
    for _ in _ALIKE:
        kinds |= {
            kind for one in kinds for kind in _ALIKE.get(one, ()) if posterior.of(kind) > _NAMED
        }
    if not level_known and kinds & {DoseKind.CREEP, DoseKind.LEVEL}:
        kinds |= {DoseKind.CREEP, DoseKind.LEVEL}
    ordered = tuple(sorted(kinds, key=lambda kind: -posterior.of(kind)))
    stated = math.fsum(posterior.of(kind) for kind in ordered)
    return _Named(kinds=ordered, at_once=False, stated=min(stated, 1.0))


def _because(
    named: _Named, posterior: KindShares, second: DoseKind, *, ask: bool, out: tuple[int, ...]
) -> str:
    """Return the answer in one sentence."""
    words = signature_words(named.kinds, named.stated, at_once=named.at_once)
    others = [kind for kind in _KINDS if kind not in named.kinds]
    after = max(others, key=posterior.of) if second in named.kinds else second
    said = (
        f"{words} ({named.stated:.2f}); next is {kind_words(after)} ({posterior.of(after):.2f})"
        if words
        else "Nothing is clear yet: no kind reaches one half"
    )
    if out:
        said += f"; far from all others: dose {', '.join(str(place) for place in out)}"
    return f"{said}; the hopper level would tell more." if ask else f"{said}."


def _counted(marked: NDArray[np.bool_]) -> tuple[int, ...]:
    """Return the places that are marked, counted from 1."""
    return tuple(int(place) + 1 for place in np.flatnonzero(marked))


def _shares(values: _Floats) -> KindShares:
    """Return figures in the order of the kinds with their names."""
    return KindShares(
        **{kind.value: float(value) for kind, value in zip(_KINDS, values, strict=True)}
    )


def _log_sum(values: _Floats) -> float:
    """Return the log of the sum of exponentials."""
    top = float(np.max(values))
    return top + math.log(float(np.sum(np.exp(values - top))))
