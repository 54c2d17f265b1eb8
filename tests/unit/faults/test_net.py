"""The net of causes and findings against enumeration of every set of causes."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest

from fillwright.knowledge.faults_load import fault_book
from fillwright.science.faults import (
    Evidence,
    FaultNet,
    class_factors,
    implied,
    likelihoods,
    net_of,
    pair_masses,
    pair_share,
    posterior,
)

BOOK = fault_book()
CAUSES = 8
NAMES = tuple("abcdefgh")
SEEN = tuple("uvwxyz")


def small_net(seed):
    """A net of eight causes and six findings, at random."""
    rng = np.random.default_rng(seed)
    return FaultNet(
        causes=NAMES,
        findings=SEEN,
        weights=rng.uniform(0.5, 6.0, CAUSES),
        links=rng.uniform(0.0, 0.98, (CAUSES, len(SEEN))) * (rng.random((CAUSES, 6)) < 0.6),
        leaks=rng.uniform(0.001, 0.1, len(SEEN)),
    )


def chance_of(net, causes, evidence):
    """P(found | exactly these causes), one finding after the other."""
    total = 1.0
    for place, name in enumerate(net.findings):
        silent = 1.0 - net.leaks[place]
        for cause in causes:
            silent *= 1.0 - net.links[cause, place]
        if name in evidence.present:
            total *= 1.0 - silent
        elif name in evidence.absent:
            total *= silent
    return total


EVIDENCE = Evidence(present=frozenset("ux"), absent=frozenset("vz"))


@pytest.mark.parametrize("seed", range(5))
def test_one_fault_agrees_with_bayes_by_hand(seed):
    """Each cause alone: weight times the chance of each finding, one after the other."""
    net = small_net(seed)
    mass = [net.weights[c] * chance_of(net, [c], EVIDENCE) for c in range(CAUSES)]

    assert posterior(net, EVIDENCE) == pytest.approx(np.array(mass) / sum(mass), rel=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_two_faults_agree_with_enumeration(seed):
    """Every set of one or two causes with its own prior."""
    net = small_net(seed)
    prior = 1.0 - np.exp(-0.1 * net.weights / net.weights.sum())
    table = pair_masses(net, EVIDENCE)

    def mass(causes):
        inside = [prior[c] if c in causes else 1.0 - prior[c] for c in range(CAUSES)]
        return float(np.prod(inside)) * chance_of(net, causes, EVIDENCE)

    scale = mass((0,)) / table[0, 0]
    for size in (1, 2):
        for causes in combinations(range(CAUSES), size):
            assert table[causes[0], causes[-1]] * scale == pytest.approx(mass(causes), rel=1e-10)
    pairs = sum(mass(causes) for causes in combinations(range(CAUSES), 2))
    singles = sum(mass((c,)) for c in range(CAUSES))
    assert pair_share(net, EVIDENCE).share == pytest.approx(pairs / (pairs + singles), rel=1e-10)


def test_sets_of_two_stand_for_all_sets():
    """Leaving out three and more moves no marginal by more than a thousandth."""
    net = small_net(2)
    prior = 1.0 - np.exp(-0.1 * net.weights / net.weights.sum())
    marginal = {2: np.zeros(CAUSES), CAUSES: np.zeros(CAUSES)}
    for most, found in marginal.items():
        total = 0.0
        for bits in product((0, 1), repeat=CAUSES):
            causes = [c for c in range(CAUSES) if bits[c]]
            if not 1 <= len(causes) <= most:
                continue
            mass = float(np.prod(np.where(bits, prior, 1.0 - prior)))
            mass *= chance_of(net, causes, EVIDENCE)
            total += mass
            found[causes] += mass
        found[:] = found / total

    assert np.abs(marginal[2] - marginal[CAUSES]).max() < 2e-3


def test_an_unknown_finding_changes_nothing():
    """What was not looked at counts for nothing, and the order of answers neither."""
    net = net_of(BOOK)
    some = Evidence(present=frozenset(["dose_low", "drip"]), absent=frozenset(["k_hopper_low"]))
    again = Evidence(present=frozenset(["drip", "dose_low"]), absent=frozenset(["k_hopper_low"]))

    assert np.array_equal(posterior(net, some), posterior(net, again))
    assert posterior(net, some).sum() == pytest.approx(1.0, abs=1e-12)


def test_one_of_several_is_all_but_none():
    """P(at least one) is one less P(none of them)."""
    net = small_net(3)
    either = likelihoods(net, Evidence(one_of=(("u", "v"),)))
    none = likelihoods(net, Evidence(absent=frozenset("uv")))

    assert either == pytest.approx(1.0 - none, rel=1e-12)


def test_a_flat_signature_says_nothing():
    """Doses that fit every class alike leave the causes as they were."""
    net = net_of(BOOK)
    flat = class_factors(BOOK, dict.fromkeys(BOOK.classes, 0.4))

    assert posterior(net, Evidence(factors=flat)) == pytest.approx(posterior(net, Evidence()))


def test_a_signature_counts_up_to_a_factor():
    """Twice the likelihood of every class is the same evidence."""
    one = class_factors(BOOK, {"drift_up": 0.5, "in_control": 0.1})
    two = class_factors(BOOK, {"drift_up": 1.0, "in_control": 0.2})

    assert one == pytest.approx(two)


def test_a_machine_that_doses_does_not_stand_still():
    """A stated sign of the dose sets standing still absent, unless that was stated too."""
    assert "no_motion" in implied(BOOK, frozenset(["dose_creep"]))
    assert "no_motion" not in implied(BOOK, frozenset(["dose_creep", "no_motion"]))


@pytest.mark.parametrize(("cycles", "factor"), [(5, 3.0), (20, 3.0), (21, 0.2)])
def test_faults_of_a_rebuild_come_right_after_it(cycles, factor):
    """Inside the window they weigh more, outside less."""
    net = net_of(BOOK, cycles_since={"rebuild": cycles})
    place = net.place_of_cause["valve_reversed"]

    assert net.weights[place] == pytest.approx(
        BOOK.causes["valve_reversed"].weight * factor, rel=1e-12
    )
