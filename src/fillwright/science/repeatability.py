"""How much of a spread is the scale, the doses, and the person who weighs.

Random-effects analysis of variance of containers weighed several times, by one operator or
several; closed forms for balanced studies. Negative estimates are reported as zero.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.given import readings_in_order

__all__ = ["Repeatability", "repeatability_study"]

_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeatability:
    """Components of variance of a weighing study.

    Attributes
    ----------
    within : float
        Variance of weighing one container again. [kg²]
    between : float
        Variance from container to container, that is of the doses. [kg²]
    operator : float or None
        Variance from operator to operator; none with one. [kg²]
    interaction : float or None
        Variance of operators on single containers; none with one. [kg²]
    within_sd : float
        Repeatability sd of the scale. [kg]
    within_sd_interval : tuple of float
        Two-sided 95 % interval of it. [kg]
    ms_between : float
        Mean square between containers. [kg²]
    ms_within : float
        Mean square within. [kg²]
    df_between : int
        Degrees of freedom between containers.
    df_within : int
        Degrees of freedom within.
    f : float or None
        Ratio of the two; none where nothing varies within. [1]
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    within: float
    between: float
    operator: float | None
    interaction: float | None
    within_sd: float
    within_sd_interval: tuple[float, float]
    ms_between: float
    ms_within: float
    df_between: int
    df_within: int
    f: float | None
    equation: str
    assumptions: tuple[str, ...]
    because: str


def repeatability_study(
    containers: Sequence[Hashable],
    readings: ArrayLike,
    *,
    operators: Sequence[Hashable] | None = None,
) -> Repeatability:
    """Return how a spread splits into scale, doses and operators.

    Parameters
    ----------
    containers : sequence, length n
        Which filled container each reading is of.
    readings : array_like, shape (n,)
        The readings. [kg]
    operators : sequence, length n, or None
        Who weighed; none for one person.

    Returns
    -------
    Repeatability
        Components, mean squares and F.

    Raises
    ------
    BadInput
        If the rows differ in length, there are fewer than two containers, no container is
        weighed twice, or a study with operators is not balanced.

    Notes
    -----
    One way: σ_r² = MS_within, σ_dose² = max(0, (MS_between - MS_within)/k), with
    k = (N - Σn_i²/N)/(I - 1) where the numbers differ. Two ways with interaction, balanced:
    from the expected mean squares of the random model [1]_. Data are centred before they are
    squared, so that a large common part costs no digits.

    References
    ----------
    .. [1] Montgomery and Runger, Gauge capability and designed experiments, Quality
       Engineering 6 (1993); from memory.
    """
    row = readings_in_order(readings, "readings", at_least=3)
    _as_many(containers, row.size, "containers")
    group = _numbered(containers)
    if int(group.max()) < 1:
        raise BadInput(
            "containers names one container; weigh two or more.",
            field="containers",
            given=1,
            allowed="two or more containers",
        )
    off = row - float(np.mean(row))
    if operators is not None:
        _as_many(operators, row.size, "operators")
    if operators is None or len(set(operators)) == 1:
        return _one_way(off, group)
    return _two_way(off, group, _numbered(operators))


def _as_many(names: Sequence[Hashable], size: int, field: str) -> None:
    """Refuse a row of names that is not as long as the readings."""
    if len(names) != size:
        raise BadInput(
            f"{field} holds {len(names)} and readings {size}; give as many of each.",
            field=field,
            given=len(names),
            allowed=f"{size} names",
            code="inconsistent",
        )


def _numbered(names: Sequence[Hashable]) -> NDArray[np.int64]:
    """Return names as numbers from 0 in the order they first come."""
    seen: dict[Hashable, int] = {}
    return np.array([seen.setdefault(name, len(seen)) for name in names], dtype=np.int64)


def _one_way(off: _Floats, group: NDArray[np.int64]) -> Repeatability:
    """Return the components of a study by one operator."""
    counts = np.bincount(group).astype(np.float64)
    size, groups = off.size, counts.size
    if size == groups:
        raise BadInput(
            "readings hold one per container; weigh at least one container twice.",
            field="readings",
            given=size,
            allowed="more readings than containers",
        )
    means = np.bincount(group, weights=off) / counts
    within = float(np.sum((off - means[group]) ** 2)) / (size - groups)
    between = float(np.sum(counts * (means - float(np.mean(off))) ** 2)) / (groups - 1)
    each = (size - float(np.sum(counts**2)) / size) / (groups - 1)
    return _answer(
        within=within,
        between=max(0.0, (between - within) / each),
        ms_between=between,
        df_between=groups - 1,
        df_within=size - groups,
    )


def _two_way(off: _Floats, group: NDArray[np.int64], person: NDArray[np.int64]) -> Repeatability:
    """Return the components of a balanced study by several operators."""
    groups, people = int(group.max()) + 1, int(person.max()) + 1
    cell = group * people + person
    counts = np.bincount(cell, minlength=groups * people)
    each = int(counts[0])
    if np.any(counts != each) or each < 2:  # noqa: PLR2004  repeats show the scale
        raise BadInput(
            "readings are not balanced; let every operator weigh every container as often, "
            "twice or more.",
            field="readings",
            given=f"{int(counts.min())} to {int(counts.max())} each",
            allowed="as many of each, two or more",
            code="inconsistent",
        )
    cells = (np.bincount(cell, weights=off) / each).reshape(groups, people)
    centre = float(cells.mean())
    dose, who = cells.mean(axis=1) - centre, cells.mean(axis=0) - centre
    ms_within = float(np.sum((off - cells.reshape(-1)[cell]) ** 2)) / (off.size - counts.size)
    rest = cells - centre - dose[:, None] - who[None, :]
    ms_both = each * float(np.sum(rest**2)) / ((groups - 1) * (people - 1))
    ms_dose = each * people * float(dose @ dose) / (groups - 1)
    ms_who = each * groups * float(who @ who) / (people - 1)
    return _answer(
        within=ms_within,
        between=max(0.0, (ms_dose - ms_both) / (each * people)),
        operator=max(0.0, (ms_who - ms_both) / (each * groups)),
        interaction=max(0.0, (ms_both - ms_within) / each),
        ms_between=ms_dose,
        df_between=groups - 1,
        df_within=off.size - counts.size,
    )


def _answer(
    *,
    within: float,
    between: float,
    ms_between: float,
    df_between: int,
    df_within: int,
    operator: float | None = None,
    interaction: float | None = None,
) -> Repeatability:
    """Return the answer with the interval of the scale's sd and a sentence."""
    from scipy.special import chdtri  # noqa: PLC0415  heavy library, loaded when asked

    sd = math.sqrt(within)
    total = within + between + (operator or 0.0) + (interaction or 0.0)
    part = within / total if total else 0.0
    return Repeatability(
        within=within,
        between=between,
        operator=operator,
        interaction=interaction,
        within_sd=sd,
        within_sd_interval=(
            sd * math.sqrt(df_within / float(chdtri(df_within, 0.025))),
            sd * math.sqrt(df_within / float(chdtri(df_within, 0.975))),
        ),
        ms_between=ms_between,
        ms_within=within,
        df_between=df_between,
        df_within=df_within,
        f=ms_between / within if within else None,
        equation="random-effects analysis of variance; chi-square interval of the sd",
        assumptions=(
            "Containers were weighed in shuffled order and taken off the pan each time.",
            "Errors are normal and do not depend on the load.",
        ),
        because=f"The scale makes {part:.0%} of the variance seen.",
    )
