"""What is stated is right as often as stated, on simulated machines.

Drawn from the prior, and with each assumption broken in turn. Few runs here; the script
beside the benchmarks draws more and prints standard errors.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from fillwright.science.signature import HEAVY_SHARE, PAIR_SHARE, PRIOR, recognise
from fillwright.science.signature_draw import draw_level, draw_run
from fillwright.science.signature_grid import HEAVY_DF
from fillwright.science.signature_kinds import DoseKind

KINDS = list(DoseKind)
COUNT = 50
SD = 0.001
OTHER = {
    DoseKind.STEP: DoseKind.SCATTER,
    DoseKind.SCATTER: DoseKind.STEP,
    DoseKind.CREEP: DoseKind.LEVEL,
    DoseKind.LEVEL: DoseKind.CREEP,
}


def drawn(runs, *, seed, guess=1.0, noise_df=None, step=0.0, level_known=True):
    """Posterior of each run, a row a run, and the place of its true kind; usable ones only."""
    rng = np.random.default_rng(seed)
    rows, truth = [], []
    for _ in range(runs):
        kind = KINDS[rng.choice(len(KINDS), p=[PRIOR.of(k) for k in KINDS])]
        second = OTHER.get(kind) if rng.random() < PAIR_SHARE else None
        heavy = kind is not DoseKind.SHORT and rng.random() < HEAVY_SHARE
        level = draw_level(rng, COUNT)
        df = HEAVY_DF if heavy and noise_df is None else noise_df
        doses = draw_run(rng, kind, level=level, with_kind=second, noise_df=df).doses
        shown = 0.25 + SD * (doses + step * rng.uniform())
        if step:
            shown = np.round(shown / (step * SD)) * step * SD
        answer = recognise(
            shown,
            target=0.25,
            readability=step * SD,
            level=level if level_known else None,
            sd_guess=guess * SD,
        )
        if answer.usable:
            rows.append([answer.posterior.of(k) for k in KINDS])
            truth.append(KINDS.index(kind))
    return np.array(rows), np.array(truth)


def calibration_error(posterior, truth):
    """Mean gap between stated and right over ten bins, all kinds of all runs together."""
    stated = posterior.ravel()
    right = (np.arange(len(KINDS)) == truth[:, None]).ravel()
    bins = np.minimum((10 * stated).astype(int), 9)
    gaps = np.bincount(bins, stated - right, minlength=10)
    return float(np.sum(np.abs(gaps))) / stated.size


def gap_of_best(posterior, truth):
    """Mean stated less share right of the most probable kind, and its standard error."""
    stated = np.max(posterior, axis=1)
    right = np.argmax(posterior, axis=1) == truth
    return float(np.mean(stated - right)), float(np.std(stated - right)) / math.sqrt(len(truth))


def test_matched_machines_are_called_as_often_as_stated():
    """Drawn from the prior: error of calibration below 0.02, no gap beyond its scatter."""
    posterior, truth = drawn(250, seed=31)
    gap, error = gap_of_best(posterior, truth)

    assert calibration_error(posterior, truth) < 0.02
    assert abs(gap) < 3 * error


@pytest.mark.parametrize(
    "broken",
    [
        {"guess": 3.0},
        {"guess": 1 / 3},
        {"noise_df": 4.0},
        {"step": 1.3},
        {"level_known": False},
    ],
    ids=["sd three times too large", "sd three times too small", "t4", "step 1.3 sd", "no level"],
)
def test_a_broken_assumption_bends_calibration_little(broken):
    """Error of calibration below 0.06, mean gap of the best kind below 0.06 and scatter."""
    posterior, truth = drawn(80, seed=32, **broken)
    gap, error = gap_of_best(posterior, truth)

    assert calibration_error(posterior, truth) < 0.06
    assert abs(gap) < 0.06 + 2 * error


def test_a_scale_beyond_the_limit_is_refused():
    """At a step of 2.7 sd at least nine runs in ten say nothing."""
    posterior, _ = drawn(30, seed=33, step=2.7)

    assert len(posterior) <= 3
