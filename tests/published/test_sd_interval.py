"""The interval of a spread against chi-square quantiles as handbooks print them."""

from __future__ import annotations

import math

import pytest

from fillwright.science.spread import sd_interval

# NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.4, critical values of the
# chi-square distribution: lower 0.025 and upper 0.975, by degrees of freedom (from memory).
QUANTILES = {4: (0.484, 11.143), 9: (2.700, 19.023), 29: (16.047, 45.722)}


@pytest.mark.parametrize("free", QUANTILES)
def test_ends_follow_the_printed_quantiles(free):
    """Each end is the sd times the root of degrees of freedom over the printed quantile."""
    low, high = sd_interval(2.0, free + 1)
    below, above = QUANTILES[free]

    assert low == pytest.approx(2.0 * math.sqrt(free / above), rel=1e-3)
    assert high == pytest.approx(2.0 * math.sqrt(free / below), rel=2e-3)
