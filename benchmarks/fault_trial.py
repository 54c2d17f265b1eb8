"""Search for drawn faults of simulated fillers, against a fixed checklist, and print the tables.

``python benchmarks/fault_trial.py docs/reference/fault-trial.md`` draws five hundred faults,
answers every check from the machine's state, and writes the tables into the page. The seed is
made of the frozen data, so that nobody could look at the draw while writing them.
"""

from __future__ import annotations

import hashlib
import math
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
from calibrate_tables import table, written
from fault_trial_search import (
    BOOK,
    FIRST,
    Drawn,
    Search,
    by_list,
    checklist,
    drawn,
    searched,
    sign_list,
)
from fault_trial_state import CLASSES, SCENARIOS

CASES, MANY = 500, 3.0
AT_LEAST, AT_MOST = "at least", "at most"
ROOT = Path(__file__).parents[1]
FROZEN = (
    "src/fillwright/knowledge/data/service/faults.toml",
    "benchmarks/fault_trial_state.py",
    "benchmarks/fault_trial_machine.py",
)
WAYS = "minutes | nine in ten within, min | steps | cured, % | repairs of a sound part"
CAUSES = "n | first three at the first repair, % | at the end, % | cured, % | minutes | checklist"


def frozen_hash() -> str:
    """Return the hash of fault data, miss rates, and observers."""
    digest = hashlib.sha256()
    for name in FROZEN:
        digest.update((ROOT / name).read_bytes())
    return digest.hexdigest()


@dataclass(frozen=True, kw_only=True)
class Trial:
    """Many searches, each beside the two lists."""

    cases: tuple[Drawn, ...]
    ours: tuple[Search, ...]
    plain: tuple[Search, ...]
    by_sign: tuple[Search, ...]


def one_case(place: int, seed: int) -> tuple[Drawn, Search, Search, Search] | None:
    """Return the fault at a place with its search and both lists; None where nobody noticed."""
    one = drawn(place, seed)
    if one is None:
        return None
    return one, searched(one), by_list(one, checklist()), by_list(one, sign_list(one))


def trial(count: int, seed: int, *, workers: int = 1) -> Trial:
    """Return so many searches of one draw; each has a seed of its own, whoever computes it."""
    act = partial(one_case, seed=seed)
    if workers > 1:
        with ProcessPoolExecutor(workers) as pool:
            found = list(pool.map(act, range(count), chunksize=5))
    else:
        found = [act(place) for place in range(count)]
    cases, ours, plain, by_sign = zip(*(case for case in found if case is not None), strict=True)
    return Trial(cases=cases, ours=ours, plain=plain, by_sign=by_sign)


def share_in_three(ranks: Sequence[int]) -> tuple[float, float]:
    """Return the share of searches with the cause among the first three, and its error, in %."""
    hits = np.array([0 < rank <= FIRST for rank in ranks], dtype=float)
    found = float(hits.mean())
    error = math.sqrt(max(found * (1.0 - found), 1.0 / hits.size) / hits.size)
    return 100.0 * found, 100.0 * error


def minutes_ratio(ours: Sequence[Search], theirs: Sequence[Search]) -> tuple[float, float]:
    """Return mean minutes over those of a list, and the error, in %."""
    a = np.array([one.minutes for one in ours])
    b = np.array([one.minutes for one in theirs])
    ratio = float(a.sum() / b.sum())
    error = float(np.sqrt(np.sum((a - ratio * b) ** 2)) / b.sum())
    return 100.0 * ratio, 100.0 * error


@dataclass(frozen=True, kw_only=True)
class Promise:
    """A bound on a figure of a trial."""

    what: str
    sense: str
    bound: float
    find: Callable[[Trial], tuple[float, float]]

    def broken(self, value: float, error: float) -> bool:
        """Tell whether the figure is beyond the bound by more than three standard errors."""
        gap = self.bound - value if self.sense == AT_LEAST else value - self.bound
        return gap > MANY * error


PROMISES = (
    Promise(
        what="cause among the first three when the search ends, %",
        sense=AT_LEAST,
        bound=90.0,
        find=lambda of: share_in_three([one.rank_at_end for one in of.ours]),
    ),
    Promise(
        what="mean minutes over those of the checklist, %",
        sense=AT_MOST,
        bound=60.0,
        find=lambda of: minutes_ratio(of.ours, of.plain),
    ),
)


def tables(count: int = CASES) -> Iterator[str]:
    """Yield the promises, the draw, the ways side by side, the ranks and every cause."""
    digest = frozen_hash()
    seed = int(digest[:12], 16)
    of = trial(count, seed, workers=os.cpu_count() or 1)
    rows = []
    for promise in PROMISES:
        value, error = promise.find(of)
        kept = "no" if promise.broken(value, error) else "yes"
        rows.append(
            f"| {promise.what} | {promise.sense} {promise.bound:g} "
            f"| {value:.1f} ± {error:.1f} | {len(of.cases)} | {kept} |"
        )
    yield table("promises", "what | promise | found | faults | kept", rows)
    tries = sum(one.tries for one in of.cases)
    yield table(
        "draw",
        "figure | value",
        [
            f"| hash of what was frozen, SHA-256 | {digest} |",
            f"| seed, its first twelve digits | {seed} |",
            f"| faults searched for | {len(of.cases)} |",
            f"| drawn in all, with those that nobody noticed | {tries} |",
        ],
    )
    yield table("ways", f"way | {WAYS}", _ways(of))
    moments = {
        "from signs and doses alone": [one.rank_at_once for one in of.ours],
        "after three steps": [one.rank_after_three for one in of.ours],
        "at the first repair, or when handed over": [one.rank_at_repair for one in of.ours],
        "when the search ends": [one.rank_at_end for one in of.ours],
    }
    yield table(
        "ranks",
        "moment | cause first, % | among the first three, %",
        [f"| {name} | {_first(ranks)} | {_in_three(ranks)} |" for name, ranks in moments.items()],
    )
    yield table("causes", f"cause | faults of the filler | {CAUSES}", _causes(of))
    yield table("observers", "what is looked at | missed, % | seen though not there, %", _eyes())


def _ways(of: Trial) -> list[str]:
    """Print the search beside both lists."""
    rows = []
    for name, those in (
        ("search, next step by expected cost", of.ours),
        ("checklist, the quickest first", of.plain),
        ("checks of the sign first, the quickest first", of.by_sign),
    ):
        minutes = np.array([one.minutes for one in those])
        error = float(minutes.std()) / math.sqrt(minutes.size)
        cured, of_cured = share_in_three([1 if one.is_cured else 9 for one in those])
        rows.append(
            f"| {name} | {minutes.mean():.1f} ± {error:.1f} | {np.quantile(minutes, 0.9):.0f} "
            f"| {np.mean([one.steps for one in those]):.1f} | {cured:.1f} ± {of_cured:.1f} "
            f"| {np.mean([one.wrong_repairs for one in those]):.2f} |"
        )
    ratio, error = minutes_ratio(of.ours, of.by_sign)
    rows.append(f"| search over checks of the sign, % | {ratio:.1f} ± {error:.1f} | | | | |")
    return rows


def _first(ranks: Sequence[int]) -> str:
    """Print how often the cause is the first."""
    found, error = share_in_three([rank if rank == 1 else 9 for rank in ranks])
    return f"{found:.1f} ± {error:.1f}"


def _in_three(ranks: Sequence[int]) -> str:
    """Print how often the cause is among the first three."""
    found, error = share_in_three(ranks)
    return f"{found:.1f} ± {error:.1f}"


def _causes(of: Trial) -> list[str]:
    """Print every cause, the dearest first."""
    rows = []
    for scenario in SCENARIOS:
        at = [i for i, one in enumerate(of.cases) if one.run.scenario == scenario]
        if not at:
            continue
        ours = [of.ours[i] for i in at]
        minutes = float(np.mean([one.minutes for one in ours]))
        kinds = ", ".join(kind.value for kind in scenario.kinds)
        words = (
            f"| {BOOK.causes[scenario.cause].name} | {kinds} | {len(at)} "
            f"| {_in_three([one.rank_at_repair for one in ours])} "
            f"| {_in_three([one.rank_at_end for one in ours])} "
            f"| {100.0 * np.mean([one.is_cured for one in ours]):.0f} | {minutes:.0f} "
            f"| {np.mean([of.plain[i].minutes for i in at]):.0f} |"
        )
        rows.append((-minutes, words))
    return [words for _, words in sorted(rows)]


def _eyes() -> list[str]:
    """Print the rates of each class of observer."""
    return [
        f"| {name} | {100.0 * one.miss:.0f} | {100.0 * one.false:g} |"
        for name, one in CLASSES.items()
    ]


def main() -> None:
    """Print every table, and write it into the page where one is given."""
    page = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    for text in tables():
        print(text, end="\n\n", flush=True)
        if page is not None:
            written(page, text)


if __name__ == "__main__":
    main()
