"""How many readings pass until any of a set of run rules alarms, exactly.

Run rules are names for shapes, not a watch to rely on: all the usual ones together give a
false alarm every 92 readings. A finite automaton over what each rule must still remember.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from fillwright.errors import BadInput
from fillwright.science.given import finite, not_negative, whole

__all__ = ["RunRule", "arl_rules"]

_MOST_STATES = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRule:
    """So many of the last readings beyond a line, all on the same side.

    Attributes
    ----------
    r_of : int
        How many must be beyond.
    last : int
        Of how many.
    beyond : float
        The line, in sds from the centre. [1]
    """

    r_of: int
    last: int
    beyond: float


def arl_rules(rules: Sequence[RunRule], *, shift: float = 0.0) -> float:
    """Return the average run length of any set of run rules.

    Parameters
    ----------
    rules : sequence of RunRule
        The rules; any of them alarms.
    shift : float
        Shift of the mean, in sds, from the start. [1]

    Returns
    -------
    float
        Average number of readings to the alarm. [1]

    Raises
    ------
    BadInput
        If there is no rule, a rule cannot be used, or the set is too large to work out.

    Notes
    -----
    Exact, by a finite automaton over what each rule must still remember [1]_.

    References
    ----------
    .. [1] Champ and Woodall, Exact results for Shewhart control charts with supplementary
       runs rules, Technometrics 29 (1987); from memory.

    Examples
    --------
    >>> round(arl_rules([RunRule(r_of=1, last=1, beyond=3.0)]), 1)
    370.4
    """
    if not rules:
        raise BadInput(
            "rules is empty; give at least one.", field="rules", allowed="one rule or more"
        )
    for number, rule in enumerate(rules):
        most = whole(rule.last, f"rules[{number}].last", at_least=1)
        not_negative(rule.beyond, f"rules[{number}].beyond")
        if whole(rule.r_of, f"rules[{number}].r_of", at_least=1) > most:
            raise BadInput(
                f"rules[{number}].r_of is {rule.r_of}; give at most `last`, {most}.",
                field=f"rules[{number}].r_of",
                given=rule.r_of,
                allowed=f"1 to {most}",
                code="inconsistent",
            )
    return _automaton(tuple(rules), finite(shift, "shift"))


@lru_cache(maxsize=64)
def _automaton(rules: tuple[RunRule, ...], shift: float) -> float:
    """Return the run length from the first state of the automaton."""
    from scipy.sparse import csc_matrix, identity  # noqa: PLC0415  heavy library
    from scipy.sparse.linalg import spsolve  # noqa: PLC0415  heavy library
    from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

    lines = sorted({s * rule.beyond for rule in rules for s in (-1.0, 1.0)})
    ends = [-math.inf, *lines, math.inf]
    zones = [(a, b) for a, b in itertools.pairwise(ends) if b > a]
    chances = [float(ndtr(b - shift) - ndtr(a - shift)) for a, b in zones]
    marks = [
        tuple(
            (b <= -rule.beyond) if side < 0 else (a >= rule.beyond)
            for rule in rules
            for side in (-1, 1)
        )
        for a, b in zones
    ]
    doubled = [rule for rule in rules for _ in (-1, 1)]
    numbers: dict[tuple[int, ...], int] = {(0,) * len(doubled): 0}
    waiting = [(0,) * len(doubled)]
    rows, columns, values = [], [], []
    while waiting:
        state = waiting.pop()
        for chance, mark in zip(chances, marks, strict=True):
            after = _next_state(state, mark, doubled)
            if after is None:
                continue
            if after not in numbers:
                numbers[after] = len(numbers)
                waiting.append(after)
                if len(numbers) > _MOST_STATES:
                    raise BadInput(
                        "rules remember too much to be worked out; give fewer or shorter ones.",
                        field="rules",
                        allowed=f"at most {_MOST_STATES} states",
                    )
            rows.append(numbers[state])
            columns.append(numbers[after])
            values.append(chance)
    size = len(numbers)
    stay = csc_matrix((values, (rows, columns)), shape=(size, size))
    lengths = spsolve((identity(size, format="csc") - stay).tocsc(), np.ones(size))
    return float(np.atleast_1d(lengths)[0])


def _next_state(
    state: tuple[int, ...], mark: tuple[bool, ...], rules: Sequence[RunRule]
) -> tuple[int, ...] | None:
    """Return what each rule remembers after one reading; none when one alarms.

    The lowest bit is the newest reading; bits that cannot take part in an alarm any more
    are forgotten, which keeps the automaton small.
    """
    after = []
    for bits, beyond, rule in zip(state, mark, rules, strict=True):
        seen = (bits << 1) | int(beyond)
        if (seen & ((1 << rule.last) - 1)).bit_count() >= rule.r_of and beyond:
            return None
        kept = 0
        ones = 0
        for age in range(rule.last - 1):
            if seen >> age & 1 and ones + 1 + (rule.last - 1 - age) >= rule.r_of:
                ones += 1
                kept |= 1 << age
        after.append(kept)
    return tuple(after)
