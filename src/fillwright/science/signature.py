"""What kind of wandering a run of doses shows: nine kinds by their evidence.

Own choice of kinds, patterns and priors; the evidence is the closed form of conjugate
regression. It abstains where the scale is too coarse and names together what looks alike.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, not_negative, readings_in_order
from fillwright.science.signature_answer import Evidence, abstained, answered
from fillwright.science.signature_heavy import heavy_scans
from fillwright.science.signature_kinds import DoseKind, KindShares, Signature
from fillwright.science.signature_models import (
    alternate_scan,
    autocorr_scan,
    creep_scan,
    level_scan,
    level_unknown_scan,
    purge_scan,
    scatter_scan,
    steady_scan,
    step_scan,
)
from fillwright.science.signature_pairs import creep_with_level_scan, step_with_scatter_scan
from fillwright.science.signature_scan import either
from fillwright.science.signature_short import short_fit, short_scan

__all__ = ["FEWEST", "HEAVY_SHARE", "PAIR_SHARE", "PRIOR", "recognise"]

_Floats = NDArray[np.float64]

FEWEST = 8
PAIR_SHARE = 0.05
HEAVY_SHARE = 0.3
PRIOR = KindShares(
    steady=0.5,
    step=0.0625,
    creep=0.0625,
    scatter=0.0625,
    purge=0.0625,
    alternate=0.0625,
    level=0.0625,
    short=0.0625,
    autocorr=0.0625,
)
_SHOT = 0.0025
_FAR = 9.0  # medians of the absolute deviation: six sd of normal noise
_SAME = 0.6  # neighbours are equal in two of five at a scale step of 1.5 sd


def recognise(
    readings: ArrayLike,
    *,
    target: float,
    readability: float,
    level: ArrayLike | None = None,
    sd_guess: float | None = None,
    prior: KindShares | None = None,
) -> Signature:
    """Return what kind of wandering the doses show.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Doses in the order they were made. [kg]
    target : float
        Dose wanted; sets the guess of the sd where none is given. [kg]
    readability : float
        Step of the weighing scale. [kg]
    level : array_like or None, shape (n,)
        Product level in the hopper at each dose, in any unit; none where not known. [1]
    sd_guess : float or None
        Guess of the sd of a dose, right within a factor of three; none for 0.25 % of the
        target. [kg]
    prior : KindShares or None
        Prior weight of each kind, from what is known of the machine; none for half steady and
        the others alike.

    Returns
    -------
    Signature
        Likelihood and probability of each kind, and what may be said.

    Raises
    ------
    BadInput
        If a figure cannot be used, or the levels are not as many as the doses.

    Notes
    -----
    Evidence as in `linear_fits`; constants there and in `SIZES`: all invented. A pair of kinds
    at once has a share of 0.05 of the prior of either, noise with heavy tails 0.3 of each
    (invented). Nothing is said below eight doses, or
    where the step of the scale is above 1.5 sd, because rounding then looks like patterns.
    The sd is what is left beside the best kind, less the rounding part d²/12.
    """
    row = readings_in_order(readings, "readings", at_least=1)
    step = not_negative(readability, "readability")
    wanted = above_zero(target, "target")
    guess = _SHOT * wanted if sd_guess is None else above_zero(sd_guess, "sd_guess")
    unit = math.sqrt(guess**2 + step**2 / 12.0)
    weights = _weights(PRIOR if prior is None else prior)
    height = None if level is None else _height(level, row.size)
    if row.size < FEWEST:
        return abstained(weights, f"{row.size} doses say nothing yet; {FEWEST} are the fewest.")
    if float(np.mean(np.diff(row) == 0.0)) > _SAME:
        return abstained(
            weights,
            "Most readings equal the one before: the scale hides the doses; take a finer one.",
        )
    z = (row - float(np.median(row))) / unit
    return answered(
        _evidence(z, height),
        weights=weights,
        unit=unit,
        readability=step,
        level_known=height is not None,
    )


def _weights(prior: KindShares) -> _Floats:
    """Return the prior of the kinds, sum 1."""
    values = np.array([not_negative(prior.of(kind), f"prior.{kind.value}") for kind in DoseKind])
    return np.asarray(values / above_zero(float(np.sum(values)), "prior"))


def _height(level: ArrayLike, count: int) -> _Floats:
    """Return the hopper level about its mean, over its range."""
    row = readings_in_order(level, "level", at_least=1)
    if row.size != count:
        raise BadInput(
            f"level holds {row.size} for {count} doses; give one level a dose.",
            field="level",
            given=row.size,
            allowed=f"{count} numbers",
            code="inconsistent",
        )
    reach = float(np.ptp(row))
    return (row - float(np.mean(row))) / reach if reach > 0.0 else np.zeros_like(row)


def _evidence(z: _Floats, height: _Floats | None) -> Evidence:
    """Return the patterns of all kinds, pairs counted with both of theirs."""
    wild = step_with_scatter_scan(z)
    creep = creep_scan(z)
    fallen = None
    if height is None:
        level = level_unknown_scan(z)
    else:
        fallen = creep_with_level_scan(z, height)
        creep = either(creep, fallen.first, share=PAIR_SHARE)
        level = either(level_scan(z, height), fallen.second, share=PAIR_SHARE)
    short = short_fit(z)
    heavy = heavy_scans(z, height)
    steady = either(steady_scan(z), heavy.pop(DoseKind.STEADY), share=HEAVY_SHARE)
    return Evidence(
        scans={
            DoseKind.STEADY: steady,
            DoseKind.STEP: either(step_scan(z), wild.first, share=PAIR_SHARE),
            DoseKind.CREEP: creep,
            DoseKind.SCATTER: either(scatter_scan(z), wild.second, share=PAIR_SHARE),
            DoseKind.PURGE: purge_scan(z),
            DoseKind.ALTERNATE: alternate_scan(z),
            DoseKind.LEVEL: level,
            DoseKind.SHORT: short_scan(short, z),
            DoseKind.AUTOCORR: autocorr_scan(z),
        },
        heavy=heavy,
        heavy_share=HEAVY_SHARE,
        pair_share=PAIR_SHARE,
        step_with_scatter=wild.first,
        creep_with_level=None if fallen is None else fallen.first,
        short_chance=short.chance,
        far=np.abs(z) > _FAR * float(np.median(np.abs(z))),
    )
