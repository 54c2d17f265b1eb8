"""What closed cases teach: weights, links, leaks and minutes, beside the shipped ones.

Dirichlet shares of the causes and Beta chances of the findings; the shipped figures stand for
a fixed number of cases. Common conjugate updates; see a textbook on Bayesian data analysis.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fillwright.knowledge.faults_types import FaultBook

__all__ = ["ClosedCase", "Learned", "Pairing", "learn"]

_MINUTES_WEIGHT: Final = 5.0
_LEAST: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedCase:
    """A case with a named repair whose re-test passed; others teach nothing.

    Attributes
    ----------
    causes : tuple of str
        What was confirmed; with two causes it counts for the weights alone.
    present, absent : frozenset of str
        Findings that were answered.
    minutes : mapping of str to float
        Time that checks and repairs took, where it was kept. [min]
    """

    causes: tuple[str, ...]
    present: frozenset[str] = frozenset()
    absent: frozenset[str] = frozenset()
    minutes: Mapping[str, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairing:
    """A shipped figure beside the learned one.

    Attributes
    ----------
    shipped, learned : float
        Both figures. [their unit]
    count : int
        Cases behind the learned one.
    """

    shipped: float
    learned: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What the cases teach.

    Attributes
    ----------
    cases : int
        Cases that counted.
    weights : mapping of str to Pairing
        Shares of the causes; the shipped ones sum to 1. [1]
    links : mapping of (cause, finding) to Pairing
        Chance that the cause alone makes it show; only those that a case spoke to. [1]
    leaks : mapping of str to Pairing
        Chance that it shows without a cause; only those that a case spoke to. [1]
    minutes : mapping of str to Pairing
        Times of checks and repairs that were kept. [min]
    """

    cases: int
    weights: Mapping[str, Pairing]
    links: Mapping[tuple[str, str], Pairing]
    leaks: Mapping[str, Pairing]
    minutes: Mapping[str, Pairing]


def learn(book: FaultBook, cases: Sequence[ClosedCase]) -> Learned:
    """Return what closed cases teach.

    Parameters
    ----------
    book : FaultBook
        The shipped data.
    cases : sequence of ClosedCase
        Cases that count; those that were excluded are left out by the caller.

    Returns
    -------
    Learned
        Each learned figure beside the shipped one, with its number of cases.
    """
    counts = dict.fromkeys(book.causes, 0)
    for case in cases:
        for found in case.causes:
            counts[found] += 1
    total = sum(cause.weight for cause in book.causes.values())
    number = sum(counts.values())
    weights = {}
    for key, cause in book.causes.items():
        shipped = cause.weight / total
        share = (book.prior_strength * shipped + counts[key]) / (book.prior_strength + number)
        weights[key] = Pairing(shipped=shipped, learned=share, count=counts[key])
    leaks = _leaks(book, cases)
    return Learned(
        cases=len(cases),
        weights=weights,
        links=_links(book, cases),
        leaks=leaks,
        minutes=_minutes(book, cases),
    )


def _links(book: FaultBook, cases: Sequence[ClosedCase]) -> dict[tuple[str, str], Pairing]:
    """Return learned links: the total rate is learned, then the leak is taken out again."""
    found = {}
    for key, cause in book.causes.items():
        own = [case for case in cases if case.causes == (key,)]
        if not own:
            continue
        for name, link in cause.links.items():
            there = sum(name in case.present for case in own)
            answered = there + sum(name in case.absent for case in own)
            if answered == 0:
                continue
            leak = book.findings[name].leak
            before = 1.0 - (1.0 - leak) * (1.0 - link)
            rate = (book.link_strength * before + there) / (book.link_strength + answered)
            learned = max(1.0 - (1.0 - rate) / (1.0 - leak), 0.0)
            found[key, name] = Pairing(shipped=link, learned=learned, count=answered)
    return found


def _leaks(book: FaultBook, cases: Sequence[ClosedCase]) -> dict[str, Pairing]:
    """Return learned leaks: from cases whose causes do not make the finding show."""
    found = {}
    for name, finding in book.findings.items():
        free = [
            case
            for case in cases
            if not any(name in book.causes[cause].links for cause in case.causes)
        ]
        there = sum(name in case.present for case in free)
        answered = there + sum(name in case.absent for case in free)
        if answered == 0:
            continue
        rate = (book.link_strength * finding.leak + there) / (book.link_strength + answered)
        found[name] = Pairing(shipped=finding.leak, learned=max(rate, _LEAST), count=answered)
    return found


def _minutes(book: FaultBook, cases: Sequence[ClosedCase]) -> dict[str, Pairing]:
    """Return the medians of kept times, drawn towards the shipped ones."""
    kept: dict[str, list[float]] = {}
    for case in cases:
        for name, minutes in (case.minutes or {}).items():
            kept.setdefault(name, []).append(minutes)
    found = {}
    for name, times in kept.items():
        step = book.checks.get(name) or book.repairs.get(name)
        if step is None:
            continue
        median, count = float(np.median(times)), len(times)
        mixed = (_MINUTES_WEIGHT * step.minutes + count * median) / (_MINUTES_WEIGHT + count)
        found[name] = Pairing(shipped=step.minutes, learned=mixed, count=count)
    return found
