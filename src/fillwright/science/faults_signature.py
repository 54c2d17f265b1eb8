"""A dose signature in the classes of the fault data, as likelihood and never as posterior."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from typing import Final

import numpy as np

from fillwright.science.signature_kinds import Signature

__all__ = ["clear_classes", "signature_classes"]

_ERRORS: Final = 3.0
_LEAST_SHARE: Final = 0.001
_NOTHING: Final = 0.02
_FEWEST: Final = 8
_TOGETHER: Final = 1.0 / 3.0
_LEVELS: Final = ("in_control", "biased_low", "biased_high")
_BESIDE: Final = {"dose_low": "biased_low", "dose_high": "biased_high"}
_WANDERS: Final = frozenset({"dose_creep", "dose_spread", "outlier", "first_low"})
_CLEAR: Final = 10.0


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
    off = mean - target
    if not found.usable:
        # However coarse the scale: doses that lie together far from the target hold a level.
        if len(row) >= _FEWEST and float(np.ptp(row)) < _TOGETHER * abs(off):
            return {"biased_high" if off > 0.0 else "biased_low": 1.0}
        return {}
    half = len(row) // 2
    rises = float(row[half:].mean()) > float(row[:half].mean())
    drift = "drift_up" if rises else "drift_down"
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


def clear_classes(classes: Mapping[str, float], stated: Collection[str] = ()) -> dict[str, float]:
    """Return the classes where the doses clearly say something, and nothing where they do not.

    Parameters
    ----------
    classes : mapping of str to float
        P(doses | class), up to a common factor. [1]
    stated : collection of str
        What a person saw of the doses.

    Returns
    -------
    dict of str to float
        The same where they clearly wander, or hold the level beside the target that a person
        saw and nothing else; else empty: a run that was weighed too seldom to show a sign must
        not speak against what a person saw. [1]
    """
    level = max((classes.get(name, 0.0) for name in _LEVELS), default=0.0)
    wanders = max((classes[name] for name in classes if name not in _LEVELS), default=0.0)
    beside = max(
        (classes.get(_BESIDE[name], 0.0) for name in stated if name in _BESIDE), default=0.0
    )
    if wanders > 0.0 and wanders >= _CLEAR * level:
        return dict(classes)
    is_level = beside > wanders and not _WANDERS & set(stated)
    return dict(classes) if is_level else {}
