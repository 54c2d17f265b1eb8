"""The probability plot of a proving run: drawn again from its seed, the same every time."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Final

import numpy as np

from fillwright.records.charts import ProbabilityPlot
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.envelope import NormalEnvelope, normal_envelope

__all__ = ["probability_plot"]

_FEWEST: Final = 4
_MOST: Final = 1000


def probability_plot(
    values_g: Sequence[Decimal | float], *, step_g: Decimal, seed: int, decimals: int
) -> ProbabilityPlot | None:
    """Return weights against the normal line with the envelope of chance.

    Parameters
    ----------
    values_g : sequence of Decimal or float
        Weights, in any order.
    step_g : Decimal
        Step of the weighing scale; zero where it is not known.
    seed : int
        What the envelope is drawn from; the same seed draws the same one.
    decimals : int
        Digits after the point, as on the weighing scale.

    Returns
    -------
    ProbabilityPlot or None
        None below four weights, above a thousand, and where all are equal.
    """
    values = tuple(float(v) for v in values_g)
    if not _FEWEST <= len(values) <= _MOST or min(values) == max(values):
        return None
    found = _envelope(values, float(step_g), seed)
    return ProbabilityPlot(
        values_g=tuple(g_from_kg(v) for v in found.values),
        scores_z=found.scores,
        low_g=tuple(g_from_kg(v) for v in found.low),
        high_g=tuple(g_from_kg(v) for v in found.high),
        mean_g=g_from_kg(found.mean),
        sd_g=g_from_kg(found.sd),
        outside=found.outside,
        runs=found.runs,
        seed=seed,
        words=found.because,
        decimals=decimals,
    )


@lru_cache(maxsize=64)
def _envelope(values_g: tuple[float, ...], step_g: float, seed: int) -> NormalEnvelope:
    """Return the envelope of one row of weights."""
    return normal_envelope(
        [kg_from_g(v) for v in values_g],
        readability=kg_from_g(step_g),
        rng=np.random.Generator(np.random.PCG64(seed)),
    )
