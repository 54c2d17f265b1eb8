"""What the doses of a run say about a fault, and what a stated sign rules out."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from fillwright.jobs.fault.evidence import evidence_of
from fillwright.knowledge.faults_load import fault_book
from fillwright.records.entries import FaultOpened
from fillwright.records.faultcase import FaultCase
from fillwright.science.faults import net_of, posterior
from fillwright.science.faults_signature import clear_classes, signature_classes
from fillwright.science.signature import recognise

BOOK = fault_book()
AT = datetime(2030, 5, 6, tzinfo=UTC)
STANDS = {"no_motion", "no_cycle_end"}


def opened(sign="", findings=(), signature=None):
    """A search that was just opened."""
    fact = FaultOpened(sign=sign, findings=tuple(findings), signature=signature or {})
    return FaultCase(number=1, opened=fact, at=AT)


def said(doses, *, target=0.25, step=1e-4):
    """What doses say in the classes of the fault data."""
    found = recognise(doses, target=target, readability=step)
    return signature_classes(found, doses, target=target)


@pytest.mark.parametrize(
    ("case", "absent"),
    [
        (opened("creeps-up"), STANDS),
        (opened("jumps"), STANDS),
        (opened("jumps", signature={"spread": 1.0, "in_control": 0.01}), STANDS),
        (opened("", ["dose_low"], {"biased_low": 1.0}), STANDS),
        (opened("nothing-moves"), set()),
    ],
)
def test_a_machine_that_doses_does_not_stand_still(case, absent):
    """What was stated rules out what it cannot be with, also where the doses speak instead."""
    assert STANDS & evidence_of(BOOK, case).absent == absent


def test_an_emergency_stop_is_no_cause_of_doses_that_scatter():
    """With a signature in place of the stated sign, causes that stop the machine stay out."""
    net = net_of(BOOK)
    case = opened("jumps", signature={"spread": 1.0, "outliers": 0.5, "in_control": 0.01})

    chance = posterior(net, evidence_of(BOOK, case))

    assert chance[net.place_of_cause["estop_in"]] < 0.002


def test_doses_that_hold_a_level_beside_the_target_say_so():
    """Two per cent low and steady, where low was seen; never against a creep that was seen."""
    doses = 0.245 + 2e-4 * np.random.default_rng(1).standard_normal(40)

    classes = clear_classes(said(doses), ["dose_low"])

    assert max(classes, key=classes.get) == "biased_low"
    assert clear_classes(said(doses)) == {}
    assert clear_classes(said(doses), ["dose_high"]) == {}
    assert clear_classes(said(doses), ["dose_low", "dose_creep"]) == {}


def test_a_coarse_scale_still_shows_a_level():
    """Where the step is too coarse for patterns, doses that lie together far off hold a level."""
    doses = np.round((0.26 + 5e-5 * np.random.default_rng(1).standard_normal(40)) / 1e-3) * 1e-3

    assert said(doses, step=1e-3) == {"biased_high": 1.0}


def test_doses_at_the_target_say_nothing():
    """A steady run does not speak against what a person saw."""
    doses = 0.25 + 2e-4 * np.random.default_rng(1).standard_normal(40)

    assert clear_classes(said(doses)) == {}
    assert clear_classes({}) == {}
