"""The net of faults against an independent library of Bayesian networks.

The answers in ``tests/fixtures/fault_nets.json`` are those of pyAgrum's exact inference on the
nets in that file; ``benchmarks/fault_net_answers.py`` wrote them.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from fillwright.science.faults import Evidence, FaultNet, pair_masses, posterior

FILE = Path(__file__).parents[1] / "fixtures" / "fault_nets.json"
NETS = json.loads(FILE.read_text(encoding="utf-8"))["nets"]
CASES = [
    pytest.param(net, answer, id=f"{place}-{len(answer['seen'])}-found")
    for place, net in enumerate(NETS)
    for answer in net["answers"]
]


def net_of(told):
    """The net of the file."""
    return FaultNet(
        causes=tuple(told["causes"]),
        findings=tuple(told["findings"]),
        weights=np.array(told["weights"]),
        links=np.array(told["links"]),
        leaks=np.array(told["leaks"]),
    )


def evidence_of(answer):
    """What was found in the file."""
    present = frozenset(name for name, there in answer["seen"].items() if there)
    return Evidence(present=present, absent=frozenset(answer["seen"]) - present)


@pytest.mark.parametrize(("told", "answer"), CASES)
def test_one_fault_agrees_with_the_library(told, answer):
    """Every probability to nine digits."""
    found = posterior(net_of(told), evidence_of(answer))

    assert found == pytest.approx(answer["one"], abs=1e-9)


@pytest.mark.parametrize(("told", "answer"), CASES)
def test_several_faults_agree_with_the_library(told, answer):
    """The library takes all sets of causes; cut off at pairs we are within two in a hundred."""
    table = pair_masses(net_of(told), evidence_of(answer))
    pairs = np.triu(table, 1)
    alone = np.diagonal(table)
    found = (alone + pairs.sum(axis=0) + pairs.sum(axis=1)) / (alone.sum() + pairs.sum())

    assert found == pytest.approx(answer["several"], abs=0.02)
