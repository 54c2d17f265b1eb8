"""What must hold of the dose signature whatever the doses: unit, place, mirror, sum."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.science.signature import recognise
from fillwright.science.signature_kinds import DoseKind

DOSES = st.lists(st.integers(-400, 400), min_size=8, max_size=30).map(
    lambda steps: np.array([0.25 + 1e-5 * step for step in steps])
)
LEVELS = st.sampled_from([None, "fall", "refill"])
FEW = settings(max_examples=20)


def level_of(name, count):
    """A hopper level of so many doses, or none."""
    if name is None:
        return None
    return np.linspace(1.0, 0.4, count) if name == "fall" else 1.0 - 0.1 * (np.arange(count) % 7)


def told(doses, level=None, *, unit=1.0):
    """The signature of doses near 250 g, all masses times a unit."""
    return recognise(unit * doses, target=0.25 * unit, readability=0.0, level=level)


@given(DOSES, LEVELS)
@FEW
def test_the_posterior_is_a_probability(doses, name):
    """Nine shares sum to 1, the best leads, what is stated is a probability, sizes are finite."""
    answer = told(doses, level_of(name, doses.size))
    shares = [answer.posterior.of(kind) for kind in DoseKind]

    assert math.fsum(shares) == pytest.approx(1.0)
    assert answer.best is None or answer.posterior.of(answer.best) == max(shares)
    assert answer.usable == (answer.best is not None)
    assert 0.0 <= answer.stated <= 1.0
    assert answer.size is None or math.isfinite(answer.size)
    if answer.change_interval is not None:
        low, high = answer.change_interval
        assert 1 <= low <= answer.change_at <= high <= doses.size


@given(DOSES, LEVELS, st.sampled_from([0.5, 4.0, 1024.0]))
@FEW
def test_the_signature_does_not_depend_on_the_unit(doses, name, unit):
    """All masses times a power of two: the same likelihood, sizes times it."""
    level = level_of(name, doses.size)
    one, other = told(doses, level), told(doses, level, unit=unit)

    for kind in DoseKind:
        assert other.likelihood.of(kind) == pytest.approx(one.likelihood.of(kind), rel=1e-9)
    assert other.best is one.best
    if one.size is not None:
        assert other.size == pytest.approx(unit * one.size, rel=1e-9)


@given(DOSES, st.floats(-0.01, 0.01))
@FEW
def test_the_signature_does_not_depend_on_the_level_of_the_dose(doses, away):
    """All doses shifted alike: the same likelihood."""
    one, other = told(doses), told(doses + away)

    for kind in DoseKind:
        assert other.likelihood.of(kind) == pytest.approx(
            one.likelihood.of(kind), rel=1e-5, abs=1e-9
        )


@given(DOSES)
@FEW
def test_what_has_no_direction_is_the_same_upside_down(doses):
    """Doses mirrored: the same ratios among all but purge and short, which know down."""
    one, other = told(doses), told(0.5 - doses)
    steady = one.likelihood.steady
    mirrored = other.likelihood.steady

    for kind in set(DoseKind) - {DoseKind.PURGE, DoseKind.SHORT}:
        assert other.likelihood.of(kind) * steady == pytest.approx(
            one.likelihood.of(kind) * mirrored, rel=1e-5, abs=1e-12
        )
