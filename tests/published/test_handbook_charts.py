"""Charts against the worked examples of a public handbook.

NIST/SEMATECH e-Handbook of Statistical Methods, sections 6.3.2.2 (individuals) and 6.3.2.4
(EWMA): figures as reprinted in public copies; the ten individuals from memory, they give the
printed mean, moving range and limits.
"""

from __future__ import annotations

import numpy as np
import pytest

from fillwright.science.charts import ewma_chart, individuals_chart

INDIVIDUALS = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
RUN = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, *INDIVIDUALS]
PRINTED = [
    *(50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33),
    *(50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99),
]


def test_individuals_have_the_handbooks_limits():
    """Mean 50.81, mean moving range 1.8778, limits 55.8041 and 45.8159, nothing beyond."""
    chart = individuals_chart(INDIVIDUALS)

    assert round(chart.centre, 2) == 50.81
    assert round(chart.mean_moving_range, 4) == 1.8778
    # The handbook divides by 1.128, two figures short of 2/√π.
    assert chart.upper == pytest.approx(55.8041, abs=0.002)
    assert chart.lower == pytest.approx(45.8159, abs=0.002)
    assert chart.first_signal is None


def test_the_weighted_mean_has_the_handbooks_values():
    """λ 0.3 from 50 with s 2.0539: all twenty values to two decimals, limits ±2.5884."""
    chart = ewma_chart((np.array(RUN) - 50.0) / 2.0539, weight=0.3, limit=3.0)

    assert np.round(50.0 + 2.0539 * chart.ewma, 2).tolist() == PRINTED
    # The handbook cuts √(0.3/1.7) to 0.4201.
    assert 2.0539 * chart.upper_limit[-1] == pytest.approx(2.5884, abs=5e-4)
    assert chart.first_signal is None
