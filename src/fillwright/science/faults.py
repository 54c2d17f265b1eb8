"""Probabilities of causes from what was found: a noisy-OR net of causes over findings.

Heckerman, Breese & Rommelse, "Decision-theoretic troubleshooting", CACM 38(3), 1995 (from
memory). One fault at a time to work with; sets of one or two to ask whether it is two things.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.knowledge.faults_types import OTHER, FaultBook

__all__ = [
    "Evidence",
    "FaultNet",
    "PairShare",
    "class_factors",
    "implied",
    "likelihoods",
    "net_of",
    "pair_share",
    "posterior",
    "surprise",
]

Floats = NDArray[np.float64]
_TINY: Final = 1e-300
_AFTER: Final = ("rebuild", "changeover")


@dataclass(frozen=True, kw_only=True)
class FaultNet:
    """Causes, findings, and how strongly each cause makes each finding show.

    Attributes
    ----------
    causes, findings : tuple of str
        Names, in the order of the arrays.
    weights : ndarray, shape (causes,)
        Relative shares of the causes before anything is found, above 0. [1]
    links : ndarray, shape (causes, findings)
        Chance that the cause alone makes the finding show, from 0 to below 1. [1]
    leaks : ndarray, shape (findings,)
        Chance that the finding shows without a cause, above 0 and below 1. [1]
    """

    causes: tuple[str, ...]
    findings: tuple[str, ...]
    weights: Floats
    links: Floats
    leaks: Floats

    @cached_property
    def shows(self) -> Floats:
        """Chance that a finding shows where one cause is there, shape (causes, findings). [1]."""
        return np.asarray(1.0 - (1.0 - self.leaks) * (1.0 - self.links))

    @cached_property
    def place_of_cause(self) -> Mapping[str, int]:
        """Places of the causes by name."""
        return {name: place for place, name in enumerate(self.causes)}

    @cached_property
    def place_of_finding(self) -> Mapping[str, int]:
        """Places of the findings by name."""
        return {name: place for place, name in enumerate(self.findings)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What was found.

    Attributes
    ----------
    present, absent : frozenset of str
        Findings that are there, and that are not; others are unknown and count for nothing.
    one_of : tuple of tuple of str
        Groups of findings of which at least one is there.
    factors : ndarray or None
        A factor for each cause from evidence that is no finding, such as a dose signature. [1]
    """

    present: frozenset[str] = frozenset()
    absent: frozenset[str] = frozenset()
    one_of: tuple[tuple[str, ...], ...] = ()
    factors: Floats | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PairShare:
    """How much better two causes explain the findings than one.

    Attributes
    ----------
    first, second : str
        The likeliest pair.
    share : float
        Share of all pairs in the probability of sets of one or two causes. [1]
    """

    first: str
    second: str
    share: float


def net_of(
    book: FaultBook,
    *,
    weights: Mapping[str, float] | None = None,
    strengths: Mapping[tuple[str, str], float] | None = None,
    chances: Mapping[str, float] | None = None,
    cycles_since: Mapping[str, int] | None = None,
) -> FaultNet:
    """Return the net of the fault data.

    Parameters
    ----------
    book : FaultBook
        The data.
    weights : mapping of str to float, optional
        Learned weights that stand for the shipped ones. [1]
    strengths : mapping of (cause, finding) to float, optional
        Learned links that stand for the shipped ones. [1]
    chances : mapping of str to float, optional
        Learned leaks that stand for the shipped ones. [1]
    cycles_since : mapping of str to int, optional
        Cycles since the last ``rebuild`` and ``changeover``, where known.

    Returns
    -------
    FaultNet
        Causes that come in with a rebuild weigh more inside its window, less outside.
    """
    since = cycles_since or {}
    causes, findings = tuple(book.causes), tuple(book.findings)
    mass = np.array([(weights or {}).get(key, book.causes[key].weight) for key in causes])
    for place, key in enumerate(causes):
        after = book.causes[key].after
        if after in since:
            inside = since[after] <= book.after_cycles
            mass[place] *= book.after_inside if inside else book.after_outside
    places = {name: place for place, name in enumerate(findings)}
    links = np.zeros((len(causes), len(findings)))
    for row, key in enumerate(causes):
        for name, strength in book.causes[key].links.items():
            links[row, places[name]] = (strengths or {}).get((key, name), strength)
    leaks = np.array([(chances or {}).get(name, book.findings[name].leak) for name in findings])
    return FaultNet(causes=causes, findings=findings, weights=mass, links=links, leaks=leaks)


def implied(book: FaultBook, present: frozenset[str]) -> frozenset[str]:
    """Return findings that cannot be there with those that are.

    Parameters
    ----------
    book : FaultBook
        The data.
    present : frozenset of str
        What was found.

    Returns
    -------
    frozenset of str
        Without those that were found all the same: what is stated counts more.
    """
    excluded = {name for key in present for name in book.findings[key].implies_absent}
    return frozenset(excluded - present)


def class_factors(book: FaultBook, likelihood: Mapping[str, float]) -> Floats:
    """Return the factor of each cause from a dose signature, as soft evidence.

    Parameters
    ----------
    book : FaultBook
        The data, with points for each class of each cause.
    likelihood : mapping of str to float
        P(doses | class), up to a common factor; never a posterior, which holds its own prior. [1]

    Returns
    -------
    ndarray, shape (causes,)
        Sum over the classes of P(class | cause) P(doses | class). [1]
    """
    seen = np.array([likelihood.get(name, 0.0) for name in book.classes])
    largest = float(seen.max(initial=0.0))
    if largest <= 0.0:
        return np.ones(len(book.causes))
    points = np.full((len(book.causes), len(book.classes)), book.smoothing)
    for row, cause in enumerate(book.causes.values()):
        shown = cause.signature or {"in_control": 10.0}
        for column, name in enumerate(book.classes):
            points[row, column] += shown.get(name, 0.0)
    return np.asarray((points / points.sum(axis=1, keepdims=True)) @ (seen / largest))


def likelihoods(net: FaultNet, evidence: Evidence) -> Floats:
    """Return the probability of what was found, for each cause alone.

    Parameters
    ----------
    net : FaultNet
        The net.
    evidence : Evidence
        What was found.

    Returns
    -------
    ndarray, shape (causes,)
        P(found | cause), times its factor. [1]
    """
    place = net.place_of_finding
    there = [place[name] for name in sorted(evidence.present)]
    gone = [place[name] for name in sorted(evidence.absent - evidence.present)]
    chance = net.shows[:, there].prod(axis=1) * (1.0 - net.shows[:, gone]).prod(axis=1)
    for group in evidence.one_of:
        chance = chance * (1.0 - (1.0 - net.shows[:, [place[n] for n in group]]).prod(axis=1))
    if evidence.factors is not None:
        chance = chance * evidence.factors
    return np.asarray(chance)


def posterior(net: FaultNet, evidence: Evidence) -> Floats:
    """Return the probability of each cause, where there is exactly one.

    Parameters
    ----------
    net : FaultNet
        The net.
    evidence : Evidence
        What was found.

    Returns
    -------
    ndarray, shape (causes,)
        Sums to 1. [1]
    """
    mass = net.weights * likelihoods(net, evidence) + _TINY
    return np.asarray(mass / mass.sum())


def pair_share(net: FaultNet, evidence: Evidence, *, expected: float = 0.1) -> PairShare:
    """Return how much better two causes explain the findings than one.

    Parameters
    ----------
    net : FaultNet
        The net.
    evidence : Evidence
        What was found.
    expected : float
        Expected number of faults, of causes that come independently. [1]

    Returns
    -------
    PairShare
        Exact for at most two causes, given that there is at least one.

    Notes
    -----
    A cause is there with 1 − exp(−λ w/Σw). Two causes share the mean of their factors.
    """
    joint = pair_masses(net, evidence, expected=expected)
    singles = float(np.trace(joint))
    pairs = np.triu(joint, k=1)
    total = singles + float(pairs.sum())
    first, second = np.unravel_index(int(np.argmax(pairs)), pairs.shape)
    share = float(pairs.sum()) / total if total > 0.0 else 0.0
    return PairShare(first=net.causes[first], second=net.causes[second], share=share)


def pair_masses(net: FaultNet, evidence: Evidence, *, expected: float = 0.1) -> Floats:
    """Return the mass of each set of one cause (diagonal) or two (off it).

    Parameters
    ----------
    net : FaultNet
        The net.
    evidence : Evidence
        What was found.
    expected : float
        Expected number of faults. [1]

    Returns
    -------
    ndarray, shape (causes, causes)
        Symmetric, up to a common factor. [1]
    """
    prior = -np.expm1(-expected * net.weights / net.weights.sum())
    odds = prior / (1.0 - prior)
    place = net.place_of_finding
    quiet = 1.0 - net.links
    both = quiet[:, None, :] * quiet[None, :, :]
    same = np.arange(len(net.causes))
    both[same, same] = quiet
    silent = (1.0 - net.leaks) * both
    there = [place[name] for name in sorted(evidence.present)]
    gone = [place[name] for name in sorted(evidence.absent - evidence.present)]
    mass = (1.0 - silent[:, :, there]).prod(axis=2) * silent[:, :, gone].prod(axis=2)
    for group in evidence.one_of:
        mass = mass * (1.0 - silent[:, :, [place[name] for name in group]].prod(axis=2))
    if evidence.factors is not None:
        mass = mass * 0.5 * (evidence.factors[:, None] + evidence.factors[None, :])
    chance = odds[:, None] * odds[None, :]
    chance[same, same] = odds
    return np.asarray(mass * chance)


def surprise(net: FaultNet, evidence: Evidence) -> float:
    """Return how well the findings go together under one listed cause.

    Parameters
    ----------
    net : FaultNet
        The net.
    evidence : Evidence
        What was found.

    Returns
    -------
    float
        P(all of them) / product of P(each), without the cause that stands for the rest; small
        where no listed cause explains them together. [1]

    Notes
    -----
    The inverse of the conflict measure of Jensen and co-authors, 1991 (from memory).
    """
    weights = net.weights * np.array([name != OTHER for name in net.causes])
    share = weights / weights.sum()
    columns = [net.shows[:, net.place_of_finding[name]] for name in sorted(evidence.present)]
    columns += [
        1.0 - net.shows[:, net.place_of_finding[name]]
        for name in sorted(evidence.absent - evidence.present)
    ]
    together = np.prod(np.array(columns), axis=0) if columns else np.ones(len(net.causes))
    apart = float(np.prod([share @ column for column in columns]))
    return float(share @ together) / apart
