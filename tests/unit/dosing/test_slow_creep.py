"""How far a creep has gone when a chart finds it: the figures of the page, counted again."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

from fillwright.science.runlength import arl_cusum, arl_ewma

PAGE = Path(__file__).parents[3] / "docs" / "explanation" / "slow-creep.md"
RUNS = 4000
FALSE_ALARM = 370.4


def drift_at_alarm(creep, *, sums_limit, average_limit, seed=1):
    """Mean and standard error of the drift when single weights, average and sums alarm."""
    rng = np.random.default_rng(seed)
    up, down, average = np.zeros(RUNS), np.zeros(RUNS), np.zeros(RUNS)
    found = np.full((3, RUNS), np.nan)
    place = 0
    while np.isnan(found).any():
        place += 1
        z = rng.normal(size=RUNS) + creep * place
        up, down = np.maximum(0, up + z - 0.5), np.maximum(0, down - z - 0.5)
        average = 0.9 * average + 0.1 * z
        edge = average_limit * np.sqrt(0.1 / 1.9 * (1 - 0.9 ** (2 * place)))
        far = np.stack(
            (np.abs(z) > 3, np.abs(average) > edge, (up > sums_limit) | (down > sums_limit))
        )
        found = np.where(np.isnan(found) & far, place, found)
    drift = creep * found
    return drift.mean(axis=1), drift.std(axis=1) / np.sqrt(RUNS)


@pytest.mark.parametrize("creep", [0.01, 0.05])
def test_the_page_tells_how_far_a_creep_has_gone(creep):
    """Within three standard errors and the last digit of the page."""
    text = PAGE.read_text(encoding="utf-8")
    row = re.search(rf"^\| {creep} \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", text, re.MULTILINE)
    told = np.array([float(figure) for figure in row.groups()])
    sums_limit = brentq(lambda h: arl_cusum(0.5, h) - FALSE_ALARM, 3, 6)
    average_limit = brentq(lambda wide: arl_ewma(0.1, wide) - FALSE_ALARM, 2, 3.2)

    mean, error = drift_at_alarm(creep, sums_limit=sums_limit, average_limit=average_limit)

    assert f"at {average_limit:.2f}, sums with k 0.5 and h {sums_limit:.2f}" in text
    assert np.all(np.abs(mean - told) < 3 * error + 0.005 + 3 * 0.004)
