"""A dose signature in the classes of the fault data, as likelihood and never as posterior."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from fillwright.science.signature_kinds import Signature

__all__ = ["signature_classes"]

_ERRORS: Final = 3.0
_LEAST_SHARE: Final = 0.001
_NOTHING: Final = 0.02


def signature_classes(
    found: Signature, doses: Sequence[float], *, target: float
) -> dict[str, float]:
    """Return P(doses | class) for the classes of the fault data.

    Parameters
    ----------
    found : Signature
        What the doses look like; its likelihood is taken.
    doses : sequence of float
        The doses, in order. [kg]
    target : float
        What is wanted. [kg]

    Returns
    -------
    dict of str to float
        Up to a common factor; empty where nothing may be said. [1]

    Notes
    -----
    A step or a creep counts up or down by the halves of the run. A steady run, and what is
    left of a step that has settled, is biased where its mean lies more than three standard
    errors and a thousandth from the target. Kinds of one class count with their mean.
    """
    if len(doses) == 0:
        return {}
    row = np.asarray(doses, dtype=float)
    mean = float(row.mean())
    if mean < _NOTHING * target:
        return {"no_dose": 1.0}
    if not found.usable:
        return {}
    half = len(row) // 2
    rises = float(row[half:].mean()) > float(row[:half].mean())
    drift = "drift_up" if rises else "drift_down"
    off = mean - target
    error = max(_ERRORS * float(row.std()) / math.sqrt(len(row)), _LEAST_SHARE * target)
    level = "in_control"
    if abs(off) > error:
        level = "biased_high" if off > 0.0 else "biased_low"
    seen = found.likelihood
    classes = {
        level: seen.steady,
        drift: (seen.step + seen.creep + seen.level) / 3.0,
        "spread": (seen.scatter + seen.autocorr + seen.alternate) / 3.0,
        "outliers": seen.short,
        "first_low": seen.purge,
    }
    largest = max(classes.values())
    return {name: value / largest for name, value in classes.items()} if largest > 0.0 else {}
