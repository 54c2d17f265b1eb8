"""Chart constants for groups of 2 to 10 against the printed table of ISO 7870-2 (from memory)."""

from __future__ import annotations

import pytest

from fillwright.science.chart_constants import chart_constants

# From memory: n, A2, D3, D4, A3, B3, B4, c4, d2, d3 as printed to three or four digits.
PRINTED = [
    (2, 1.880, 0, 3.267, 2.659, 0, 3.267, 0.7979, 1.128, 0.853),
    (3, 1.023, 0, 2.575, 1.954, 0, 2.568, 0.8862, 1.693, 0.888),
    (4, 0.729, 0, 2.282, 1.628, 0, 2.266, 0.9213, 2.059, 0.880),
    (5, 0.577, 0, 2.114, 1.427, 0, 2.089, 0.9400, 2.326, 0.864),
    (6, 0.483, 0, 2.004, 1.287, 0.030, 1.970, 0.9515, 2.534, 0.848),
    (7, 0.419, 0.076, 1.924, 1.182, 0.118, 1.882, 0.9594, 2.704, 0.833),
    (8, 0.373, 0.136, 1.864, 1.099, 0.185, 1.815, 0.9650, 2.847, 0.820),
    (9, 0.337, 0.184, 1.816, 1.032, 0.239, 1.761, 0.9693, 2.970, 0.808),
    (10, 0.308, 0.223, 1.777, 0.975, 0.284, 1.716, 0.9727, 3.078, 0.797),
]


@pytest.mark.parametrize("row", PRINTED)
def test_constants_round_to_the_printed_table(row):
    """Every computed constant is within one unit of the last printed digit."""
    found = chart_constants(row[0])

    ours = (found.A2, found.D3, found.D4, found.A3, found.B3, found.B4)
    assert ours == pytest.approx(row[1:7], abs=1.0e-3)
    assert found.c4 == pytest.approx(row[7], abs=1.0e-4)
    assert (found.d2, found.d3) == pytest.approx(row[8:], abs=1.0e-3)
