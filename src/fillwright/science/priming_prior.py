"""How the dose may approach its level while air leaves: curves over the shots, with weights.

Exponential decays, slow tails, and a pocket that arrives late; own model, constants invented,
to be replaced by what each product's starts show.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from fillwright.science.given import above_zero, not_negative, share

__all__ = ["CurveKind", "Curves", "PrimingPrior", "curves_of", "height"]

_Floats = NDArray[np.float64]

_EXPONENTIALS = 14
_REACH = 2.2
_POWERS = (0.3, 0.6, 1.2)
_DOUBLES = (0.25, 0.5, 0.9)
_SLOWER = 3.0
_FAST_SHARE = 0.75
_DELAYS = (2.0, 4.0, 6.0)
_DELAYED = (0.4, 0.9)


class CurveKind(IntEnum):
    """How a curve falls."""

    EXPONENTIAL = 0
    POWER = 1
    DOUBLE = 2
    LATE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class PrimingPrior:
    """What is known of a product's starts before the first shot; the defaults are invented.

    Attributes
    ----------
    decay : float
        Median number of doses in which the shortfall falls to 1/e. [1]
    decay_spread : float
        Sd of its log. [1]
    first_shortfall : float
        Typical shortfall of the first shot, as a share of the settled dose. [1]
    sd : float
        Median sd of single doses, as a share of the settled dose. [1]
    sd_spread : float
        Sd of its log. [1]
    slow_share : float
        Chance that the end of the decay is slower than exponential. [1]
    late_share : float
        Chance that a pocket of air comes only after some flat doses. [1]
    low_share : float
        Expected share of single low shots, a bubble passing. [1]
    starts : int
        Starts of this product that were learnt from.
    """

    decay: float = 3.5
    decay_spread: float = 0.65
    first_shortfall: float = 0.08
    sd: float = 0.003
    sd_spread: float = 0.6
    slow_share: float = 0.15
    late_share: float = 0.06
    low_share: float = 0.1
    starts: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Curves:
    """The curves of the model, each 1 at the first shot and falling to 0.

    Attributes
    ----------
    kind : ndarray of int, shape (k,)
        Values of `CurveKind`.
    span : ndarray, shape (k,)
        Doses that set its pace. [1]
    delay : ndarray, shape (k,)
        Flat doses before it starts. [1]
    log_weight : ndarray, shape (k,)
        Log of its prior weight. [1]
    """

    kind: NDArray[np.int64]
    span: _Floats
    delay: _Floats
    log_weight: _Floats


def curves_of(prior: PrimingPrior) -> Curves:
    """Return the curves that a prior allows.

    Parameters
    ----------
    prior : PrimingPrior
        What is known of the product's starts.

    Returns
    -------
    Curves
        Fourteen exponentials, three powers, three pairs of exponentials, six late pockets.

    Raises
    ------
    BadInput
        If a figure of the prior cannot be used.
    """
    pace = above_zero(prior.decay, "prior.decay")
    spread = above_zero(prior.decay_spread, "prior.decay_spread")
    slow = not_negative(prior.slow_share, "prior.slow_share")
    late = not_negative(prior.late_share, "prior.late_share")
    above_zero(prior.first_shortfall, "prior.first_shortfall")
    above_zero(prior.sd, "prior.sd")
    above_zero(prior.sd_spread, "prior.sd_spread")
    share(prior.low_share, "prior.low_share")
    left = share(1.0 - slow - late + 1e-12, "1 - prior.slow_share - prior.late_share")
    u = np.linspace(-_REACH, _REACH, _EXPONENTIALS)
    bell = np.exp(-0.5 * u**2)
    pockets = len(_DELAYS) * len(_DELAYED)
    sizes = (_EXPONENTIALS, len(_POWERS), len(_DOUBLES), pockets)
    weight = np.concatenate(
        [
            left * bell / float(np.sum(bell)),
            np.full(len(_POWERS), 0.5 * slow / len(_POWERS)),
            np.full(len(_DOUBLES), 0.5 * slow / len(_DOUBLES)),
            np.full(pockets, late / pockets),
        ]
    )
    span = np.concatenate([np.exp(spread * u), _POWERS, _DOUBLES, np.tile(_DELAYED, len(_DELAYS))])
    delay = np.concatenate([np.zeros(sum(sizes[:3])), np.repeat(np.array(_DELAYS), len(_DELAYED))])
    return Curves(
        kind=np.repeat(np.array(list(CurveKind)), sizes),
        span=pace * span,
        delay=delay,
        log_weight=np.log(np.maximum(weight, 1e-300)),
    )


def height(curves: Curves, shot: int) -> _Floats:
    """Return how high each curve still stands at one shot.

    Parameters
    ----------
    curves : Curves
        The curves.
    shot : int
        The shot, counted from 1.

    Returns
    -------
    ndarray, shape (k,)
        Shortfall at this shot over that at the first. [1]

    Notes
    -----
    exp(-t/θ); (1 + t/θ)⁻²; three quarters of exp(-t/θ) with a quarter of exp(-t/3θ); and
    exp(-max(t - d, 0)/θ) with d of 2, 4, 6, where t counts the doses after the first.
    """
    t = shot - 1.0
    plain = np.exp(-np.maximum(t - curves.delay, 0.0) / curves.span)
    power = (1.0 + t / curves.span) ** -2.0
    double = _FAST_SHARE * plain + (1.0 - _FAST_SHARE) * np.exp(-t / (_SLOWER * curves.span))
    return np.asarray(np.choose(curves.kind, [plain, power, double, plain]))
