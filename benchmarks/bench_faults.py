"""Next step of a fault search against exact inference by a general library, on one sub-net.

Both answer the same: the probabilities of all causes after each outcome of each check. The
library is pyagrum, in the extra ``reference``; where it is missing this says so and stops.
"""

from __future__ import annotations

import sys
import time
from importlib.util import find_spec

import numpy as np

from fillwright.knowledge.faults_load import fault_book
from fillwright.science.faults import Evidence, FaultNet, net_of, pair_masses
from fillwright.science.faults_next import advise

CAUSES = 10
FINDINGS = 8
ROUNDS = 20


def sub_net() -> FaultNet:
    """Return the ten causes that a wandering dose has most, and eight findings."""
    net = net_of(fault_book())
    stated = [net.place_of_finding[name] for name in ("dose_creep", "dose_spread", "dose_low")]
    rows = np.argsort(-net.links[:, stated].sum(axis=1), kind="stable")[:CAUSES]
    columns = np.argsort(-(net.links[rows] > 0.0).sum(axis=0), kind="stable")[:FINDINGS]
    return FaultNet(
        causes=tuple(net.causes[row] for row in rows),
        findings=tuple(net.findings[column] for column in columns),
        weights=net.weights[rows],
        links=net.links[np.ix_(rows, columns)],
        leaks=net.leaks[columns],
    )


def priors(net: FaultNet) -> np.ndarray:
    """Return the chance of each cause in the model of independent causes."""
    return -np.expm1(-0.1 * net.weights / net.weights.sum())


def library_net(net: FaultNet) -> object:
    """Return the same net for the library, with a node that says that a fault is there."""
    import pyagrum as gum  # noqa: PLC0415  an optional reference

    book = gum.BayesNet()
    chance = priors(net)
    for row, name in enumerate(net.causes):
        book.add(gum.LabelizedVariable(name, name, 2))
        book.cpt(name).fillWith([1.0 - chance[row], chance[row]])
    for column, name in enumerate(net.findings):
        node = gum.LabelizedVariable(name, name, 2)
        book.addNoisyORNet(node, float(net.leaks[column]))
        for row, cause in enumerate(net.causes):
            if net.links[row, column] > 0.0:
                book.addWeightedArc(cause, name, float(net.links[row, column]))
    book.addOR(gum.LabelizedVariable("any", "any", 2))
    for cause in net.causes:
        book.addArc(cause, "any")
    return book


def library_marginals(book: object, net: FaultNet, evidence: dict[str, int]) -> np.ndarray:
    """Return the probabilities of the causes by the library, given that a fault is there."""
    import pyagrum as gum  # noqa: PLC0415  an optional reference

    engine = gum.LazyPropagation(book)
    engine.setEvidence({**evidence, "any": 1})
    engine.makeInference()
    return np.array([engine.posterior(name)[1] for name in net.causes])


def enumerated(net: FaultNet, evidence: dict[str, int]) -> np.ndarray:
    """Return the same over every set of causes, without any library."""
    bits = (np.arange(1, 1 << CAUSES)[:, None] >> np.arange(CAUSES)) & 1
    chance = priors(net)
    mass = np.where(bits, chance, 1.0 - chance).prod(axis=1)
    for name, there in evidence.items():
        column = net.place_of_finding[name]
        silent = (1.0 - net.leaks[column]) * np.where(bits, 1.0 - net.links[:, column], 1.0).prod(
            axis=1
        )
        mass *= 1.0 - silent if there else silent
    return np.asarray(mass @ bits / mass.sum())


def main() -> int:
    """Compare answers, then times; print both."""
    if find_spec("pyagrum") is None:
        print(
            "pyagrum is not installed: pip install 'fillwright[reference]'. Nothing was compared."
        )
        return 0
    net = sub_net()
    seen = {net.findings[0]: 1, net.findings[1]: 0}
    book = library_net(net)
    theirs = library_marginals(book, net, seen)
    apart = float(np.abs(theirs - enumerated(net, seen)).max())
    evidence = Evidence(
        present=frozenset(n for n, there in seen.items() if there),
        absent=frozenset(n for n, there in seen.items() if not there),
    )
    table = pair_masses(net, evidence)
    pairs = np.triu(table, 1)
    ours = np.array([table[c, c] + pairs[c].sum() + pairs[:, c].sum() for c in range(CAUSES)]) / (
        np.trace(table) + pairs.sum()
    )
    cut = float(np.abs(ours - theirs).max())

    outcomes = [{**seen, name: there} for name in net.findings[2:] for there in (0, 1)]
    began = time.perf_counter()
    for outcome in outcomes:
        library_marginals(book, net, outcome)
    library_s = time.perf_counter() - began
    whole = net_of(fault_book())
    stated = Evidence(present=frozenset(["dose_creep"]))
    advise(fault_book(), whole, stated)
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        advise(fault_book(), whole, stated)
        times.append(time.perf_counter() - began)
    table_times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        for outcome in outcomes:
            there = frozenset(n for n, is_there in outcome.items() if is_there)
            pair_masses(net, Evidence(present=there, absent=frozenset(outcome) - there))
        table_times.append(time.perf_counter() - began)
    step_s, pairs_s = float(np.median(times)), float(np.median(table_times))
    print(f"library against enumeration, largest difference: {apart:.2e}")
    print(f"sets of one or two against all sets, largest difference: {cut:.2e}")
    print(f"library, {len(outcomes)} outcomes on {CAUSES} causes: {library_s * 1e3:.1f} ms")
    print(
        f"ours on the same sub-net: {pairs_s * 1e3:.2f} ms, {library_s / pairs_s:.0f} times faster"
    )
    print(f"a whole next step, 54 causes and 48 checks: {step_s * 1e3:.1f} ms")
    return 0


if __name__ == "__main__":
    sys.exit(main())
