"""Write down what an independent library answers on nets of faults, for the tests.

``python benchmarks/fault_net_answers.py tests/fixtures/fault_nets.json`` needs the extra
``fillwright[reference]``: pyAgrum, exact inference by lazy propagation.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
from bench_faults import library_marginals, library_net, sub_net

from fillwright.science.faults import FaultNet

SEEN = ({}, {0: 1}, {0: 1, 1: 0}, {0: 1, 2: 1, 3: 0, 5: 0}, {0: 0, 1: 0, 2: 0, 4: 1, 6: 1, 7: 0})


def drawn(seed: int) -> FaultNet:
    """Return a net at random, thicker than the shipped data."""
    rng = np.random.default_rng(seed)
    causes, findings = 9, 8
    return FaultNet(
        causes=tuple(f"c{place}" for place in range(causes)),
        findings=tuple(f"f{place}" for place in range(findings)),
        weights=rng.uniform(0.5, 6.0, causes),
        links=rng.uniform(0.0, 0.98, (causes, findings)) * (rng.random((causes, findings)) < 0.6),
        leaks=rng.uniform(0.001, 0.1, findings),
    )


def one_fault(net: FaultNet, seen: dict[str, int]) -> list[float]:
    """Return the library's probability of each cause where there is exactly one."""
    import pyagrum as gum  # noqa: PLC0415  an optional reference

    book = gum.BayesNet()
    book.add(gum.LabelizedVariable("cause", "cause", list(net.causes)))
    book.cpt("cause").fillWith((net.weights / net.weights.sum()).tolist())
    for column, name in enumerate(net.findings):
        book.add(gum.LabelizedVariable(name, name, 2))
        book.addArc("cause", name)
        silent = (1.0 - net.leaks[column]) * (1.0 - net.links[:, column])
        for row in range(len(net.causes)):
            book.cpt(name)[{"cause": row}] = [silent[row], 1.0 - silent[row]]
    engine = gum.LazyPropagation(book)
    engine.setEvidence(seen)
    engine.makeInference()
    return [float(chance) for chance in engine.posterior("cause").toarray()]


def answers(net: FaultNet) -> dict[str, object]:
    """Return a net with what the library says of it."""
    found = []
    for places in SEEN:
        seen = {net.findings[place]: there for place, there in places.items()}
        several = library_marginals(library_net(net), net, seen)
        found.append({"seen": seen, "one": one_fault(net, seen), "several": several.tolist()})
    return {
        "causes": net.causes,
        "findings": net.findings,
        "weights": net.weights.tolist(),
        "links": net.links.tolist(),
        "leaks": net.leaks.tolist(),
        "answers": found,
    }


def main() -> int:
    """Write the file."""
    import pyagrum as gum  # noqa: PLC0415  an optional reference

    nets = [answers(net) for net in (sub_net(), drawn(1), drawn(2))]
    data = {"library": f"pyAgrum {gum.__version__}, LazyPropagation", "nets": nets}
    Path(sys.argv[1]).write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
