"""Tolerance factors against a published example and against adaptive quadrature.

NIST/SEMATECH e-Handbook of Statistical Methods, section 7.2.6.3 (read).
"""

from __future__ import annotations

import math

import pytest
from scipy import integrate, optimize, special, stats

from fillwright.science.content import content_chance
from fillwright.science.tolerance import distribution_free_n, tolerance_factor


def _howe(n: int, content: float, confidence: float) -> float:
    """The handbook's approximate two-sided factor."""
    z = special.ndtri(0.5 * (1.0 + content))
    return z * math.sqrt((n - 1) * (1 + 1 / n) / special.chdtri(n - 1, confidence))


def _natrella(n: int, content: float, confidence: float) -> float:
    """The handbook's approximate one-sided factor."""
    zp, zg = special.ndtri(content), special.ndtri(confidence)
    a = 1 - zg**2 / (2 * (n - 1))
    b = zp**2 - zg**2 / n
    return (zp + math.sqrt(zp**2 - a * b)) / a


def test_the_handbooks_example_is_reproduced_by_its_own_approximations():
    """For n = 43, 90 % content, 99 % confidence the handbook prints 2.217 and 1.8752."""
    assert _howe(43, 0.90, 0.99) == pytest.approx(2.217, abs=5e-4)
    assert _natrella(43, 0.90, 0.99) == pytest.approx(1.8752, abs=5e-5)


def test_exact_factors_lie_beside_the_handbooks_approximations():
    """The exact factors differ from the printed approximations by a quarter of a percent."""
    two = tolerance_factor(43, content=0.90, confidence=0.99)
    one = tolerance_factor(43, content=0.90, confidence=0.99, sides=1)

    assert two == pytest.approx(2.217, rel=3e-3)
    assert one == pytest.approx(1.8752, rel=1e-3)


@pytest.mark.parametrize("n", [2, 3, 5, 12, 43, 300])
@pytest.mark.parametrize("content", [0.2, 0.9, 0.99])
@pytest.mark.parametrize("confidence", [0.5, 0.95])
def test_two_sided_factor_equals_adaptive_quadrature(n, content, confidence):
    """A second method, adaptive quadrature with root-finding at each point, gives the same."""

    def half_width(z):
        return optimize.brentq(
            lambda r: special.ndtr(z + r) - special.ndtr(z - r) - content, 0, z + 12, xtol=1e-13
        )

    def confidence_of(k):
        return integrate.quad(
            lambda z: (
                2
                * math.sqrt(n / (2 * math.pi))
                * math.exp(-n * z * z / 2)
                * special.chdtrc(n - 1, (n - 1) * (half_width(z) / k) ** 2)
            ),
            0,
            8.5 / math.sqrt(n),
            epsabs=1e-11,
            epsrel=1e-11,
        )[0]

    k = tolerance_factor(n, content=content, confidence=confidence)

    assert confidence_of(k) == pytest.approx(confidence, abs=1e-9)


@pytest.mark.parametrize("n", [2, 3, 10, 43, 1000, 20000])
@pytest.mark.parametrize("content", [0.05, 0.5, 0.99, 0.9999])
def test_one_sided_factor_equals_the_noncentral_t(n, content):
    """The one-sided factor satisfies the distribution function of the noncentral t."""
    k = tolerance_factor(n, content=content, confidence=0.95, sides=1)

    found = stats.nct.cdf(k * math.sqrt(n), n - 1, special.ndtri(content) * math.sqrt(n))
    assert found == pytest.approx(0.95, abs=1e-8)


def test_distribution_free_sample_sizes_are_the_classical_ones():
    """Wilks 1941: 473, 93 and one-sided 299 (from memory), and one less is not enough."""

    def two_sided(n, p):
        return 1 - n * p ** (n - 1) + (n - 1) * p**n

    assert distribution_free_n(0.99, 0.95) == 473
    assert distribution_free_n(0.95, 0.95) == 93
    assert distribution_free_n(0.99, 0.95, sides=1) == 299
    assert two_sided(472, 0.99) < 0.95 <= two_sided(473, 0.99)
    assert 1 - 0.99**298 < 0.95 <= 1 - 0.99**299


@pytest.mark.parametrize(("n", "df"), [(4, 3), (30, 29), (4, 79), (1, 19), (5, 2000)])
def test_both_orders_of_integration_agree(n, df):
    """Mean over the mean and mean over the sd give the same confidence for one factor."""
    k = tolerance_factor(n, content=0.99, confidence=0.95, df=df)

    found = content_chance(0.99, offset=0.0, sd=1.0, n=n, tolerance=k, df=df)
    assert found == pytest.approx(0.95, abs=1e-9)
