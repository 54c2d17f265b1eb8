"""What weights of a purge say about the air that is left, averaged over which shots were low.

Given curve, scatter and set of low shots all is Gaussian, with the first shortfall held above
zero; a mixture carries the likeliest sets of low shots. Own model, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fillwright.science.priming_prior import CurveKind, Curves, PrimingPrior, curves_of, height

__all__ = ["Belief", "Weighed", "first_belief", "learnt_prior", "take", "weighed"]

_Floats = NDArray[np.float64]

_SD_NODES = 5
_SD_REACH = 1.6
_LEVEL_VAR = 0.25
_SCALES = (0.3, 1.4)
_SCALE_WEIGHTS = (0.4, 0.6)
_DEPTH, _DEPTH_SD = 0.04, 0.03
_LOW_COUNT = 10.0
_SETS = 16
_FAINT = 1e-3
_NOTHING = 1e-6
_BETWEEN_STARTS = 0.5
_BETWEEN_SDS = 0.15
_STRENGTH = 2
_MOST_ODD = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """Sums over the shots so far, for each set of low shots, scatter and curve.

    Attributes
    ----------
    prior : PrimingPrior
        What was known before.
    curves : Curves
        The curves of the model.
    sd : ndarray, shape (s,)
        Grid of the sd of one reading. [1]
    low : ndarray of bool, shape (h, n)
        Which shots each set calls low.
    level : ndarray, shape (4, h, s)
        Sums of w, w z, w z² and log w, for a reading z with weight w. [mixed]
    curve : ndarray, shape (3, h, s, k)
        Sums of w g, w g², w g z, for a curve of height g. [mixed]
    """

    prior: PrimingPrior
    curves: Curves
    sd: _Floats
    low: NDArray[np.bool_]
    level: _Floats
    curve: _Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """Posterior of level and first shortfall at each point of the mixture, shape (h, s, k, a).

    Attributes
    ----------
    weight : ndarray
        Weight of the point; all sum to 1. [1]
    level : ndarray
        Mean of the settled dose less the unit dose, shortfall not yet held above zero. [1]
    level_var : ndarray
        Its variance. [1]
    fall : ndarray
        Mean of the first shortfall, before it is held above zero. [1]
    fall_sd : ndarray
        Its sd. [1]
    height : ndarray, shape (k, 1)
        Height of each curve at the next shot. [1]
    """

    weight: _Floats
    level: _Floats
    level_var: _Floats
    fall: _Floats
    fall_sd: _Floats
    height: _Floats

    def likely(self) -> Weighed:
        """Return the points that carry all but a millionth of the weight each, in one row.

        Returns
        -------
        Weighed
            The same posterior, faster to ask.
        """
        kept = self.weight > _NOTHING * float(np.max(self.weight))
        weight = self.weight[kept]
        return Weighed(
            weight=weight / float(np.sum(weight)),
            level=np.broadcast_to(self.level, kept.shape)[kept],
            level_var=np.broadcast_to(self.level_var, kept.shape)[kept],
            fall=self.fall[kept],
            fall_sd=self.fall_sd[kept],
            height=np.broadcast_to(self.height, kept.shape)[kept],
        )

    def below(self, limit: float) -> float:
        """Return the probability that the next dose is short by less than a limit.

        Parameters
        ----------
        limit : float
            Shortfall as a share of the settled dose. [1]

        Returns
        -------
        float
            Probability. [1]
        """
        from scipy.special import log_ndtr  # noqa: PLC0415  heavy library, loaded when asked

        most = limit * (1.0 + self.level) / np.maximum(self.height, 1e-100)
        beyond = log_ndtr((self.fall - most) / self.fall_sd) - log_ndtr(self.fall / self.fall_sd)
        return float(np.sum(self.weight * -np.expm1(np.minimum(beyond, 0.0))))

    def expected(self) -> float:
        """Return the expected shortfall of the next dose.

        Returns
        -------
        float
            Share of the settled dose. [1]
        """
        next_one = self.first() * self.height / np.maximum(1.0 + self.level, 0.1)
        return float(np.sum(self.weight * next_one))

    def first(self) -> _Floats:
        """Return the expected first shortfall at each point, held above zero.

        Returns
        -------
        ndarray
            First shortfall. [1]
        """
        from scipy.special import log_ndtr  # noqa: PLC0415  heavy library, loaded when asked

        sds = self.fall / self.fall_sd
        # Mean of a normal cut off at zero: μ + s φ(μ/s)/Φ(μ/s).
        ratio = np.exp(-0.5 * sds**2 - 0.5 * np.log(2.0 * np.pi) - log_ndtr(sds))
        return np.asarray(np.maximum(self.fall + self.fall_sd * ratio, 0.0))


def first_belief(prior: PrimingPrior, *, rounding_sd: float) -> Belief:
    """Return the belief before the first shot.

    Parameters
    ----------
    prior : PrimingPrior
        What is known of the product's starts.
    rounding_sd : float
        Sd of the scale's rounding, as a share of the dose. [1]

    Returns
    -------
    Belief
        No shot yet, one empty set of low shots.
    """
    curves = curves_of(prior)
    u = np.linspace(-_SD_REACH, _SD_REACH, _SD_NODES)
    sd = np.hypot(prior.sd * np.exp(prior.sd_spread * u), rounding_sd)
    return Belief(
        prior=prior,
        curves=curves,
        sd=sd,
        low=np.zeros((1, 0), dtype=np.bool_),
        level=np.zeros((4, 1, _SD_NODES)),
        curve=np.zeros((3, 1, _SD_NODES, curves.span.size)),
    )


def take(belief: Belief, reading: float) -> Belief:
    """Return the belief after one more shot.

    Parameters
    ----------
    belief : Belief
        What was believed before.
    reading : float
        The shot over the unit dose, less 1. [1]

    Returns
    -------
    Belief
        Each set of low shots with this one good and with it low; faint sets dropped.

    Notes
    -----
    A low shot reads a bubble below the curve: normal with mean 4 % and sd 3 % of the dose
    (invented), so that it still tells a little. The 16 likeliest sets are kept, and none
    below a thousandth of the likeliest; keeping 48 down to 1e-5 changed no simulated figure
    beyond its standard error.
    """
    high = height(belief.curves, belief.low.shape[1] + 1)
    levels, curves = [], []
    variance = belief.sd**2
    for weight, z in (
        (1.0 / variance, reading),
        (1.0 / (variance + _DEPTH_SD**2), reading + _DEPTH),
    ):
        step = np.stack([weight, weight * z, weight * z**2, np.log(weight)])
        levels.append(belief.level + step[:, None, :])
        bent = weight[:, None] * high
        curves.append(belief.curve + np.stack([bent, bent * high, bent * z])[:, None])
    fate = np.repeat([False, True], belief.low.shape[0])[:, None]
    grown = Belief(
        prior=belief.prior,
        curves=belief.curves,
        sd=belief.sd,
        low=np.hstack([np.vstack([belief.low, belief.low]), fate]),
        level=np.concatenate(levels, axis=1),
        curve=np.concatenate(curves, axis=1),
    )
    each = np.sum(weighed(grown).weight, axis=(1, 2, 3))
    kept = np.argsort(-each, kind="stable")[:_SETS]
    kept = kept[each[kept] >= _FAINT * float(np.max(each))]
    return Belief(
        prior=belief.prior,
        curves=belief.curves,
        sd=belief.sd,
        low=grown.low[kept],
        level=grown.level[:, kept],
        curve=grown.curve[:, kept],
    )


def weighed(belief: Belief) -> Weighed:
    """Return the posterior at each point of the mixture.

    Parameters
    ----------
    belief : Belief
        What is believed now.

    Returns
    -------
    Weighed
        Weights, and the Gaussian of level and first shortfall at each point.

    Notes
    -----
    Readings z = m - A g + e with precision sums P and h: mean P⁻¹h, evidence
    ½ Σ log w - ½ Σ w z² + ½ h'P⁻¹h - ½ log|P| with the priors' precision, times
    Φ(A/sd) over ½ for a half-normal A (standard conjugate regression, from memory; checked
    against scipy's multivariate normal). The number of low shots is beta-binomial.
    """
    from scipy.special import betaln, log_ndtr  # noqa: PLC0415  heavy library, loaded when asked

    prior, shots = belief.prior, belief.low.shape[1]
    scale = prior.first_shortfall * np.array(_SCALES)
    w, wz, wzz, log_w = belief.level[..., None, None]
    wg, wgg, wgz = belief.curve[..., None]
    p11, p22, p12 = w + 1.0 / _LEVEL_VAR, wgg + 1.0 / scale**2, -wg
    det = p11 * p22 - p12**2
    fall, fall_sd = -(p11 * wgz + p12 * wz) / det, np.sqrt(p11 / det)
    level = (p22 * wz + p12 * wgz) / det
    squares = wz * level - wgz * fall - wzz
    u = np.linspace(-_SD_REACH, _SD_REACH, _SD_NODES)
    lows = np.sum(belief.low, axis=1)
    often = _LOW_COUNT * prior.low_share
    seldom = _LOW_COUNT - often
    log_fit = (
        0.5 * (log_w + squares - np.log(det))
        + log_ndtr(fall / fall_sd)
        + (-0.5 * u**2)[:, None, None]
        + belief.curves.log_weight[:, None]
        + np.log(np.array(_SCALE_WEIGHTS) / scale)
        + betaln(often + lows, seldom + shots - lows)[:, None, None, None]
    )
    weight = np.exp(log_fit - float(np.max(log_fit)))
    return Weighed(
        weight=weight / float(np.sum(weight)),
        level=level,
        level_var=p22 / det,
        fall=fall,
        fall_sd=fall_sd,
        height=height(belief.curves, shots + 1)[:, None],
    )


def learnt_prior(belief: Belief, after: Weighed) -> PrimingPrior:
    """Return what this start teaches for the next start of the same product.

    Parameters
    ----------
    belief : Belief
        What is believed at the end of the purge.
    after : Weighed
        Its posterior.

    Returns
    -------
    PrimingPrior
        The prior moved towards this start, never narrower than starts differ.

    Notes
    -----
    Own design, constants invented. Scatter takes its posterior, widened by a log sd of 0.15
    for what lies between two starts; pace and first shortfall are averages in which the
    first prior counts as two starts, and the pace stays as wide as a log sd of 0.5. The
    shares of slow ends and late pockets only rise, to six tenths together: a purge that
    ended too soon has seen no slow end, and to learn from it that there is none would end
    the next one sooner still.
    """
    prior, curves = belief.prior, belief.curves
    before = prior.starts + _STRENGTH
    per_curve = np.sum(after.weight, axis=(0, 1, 3))
    fade = curves.kind == CurveKind.EXPONENTIAL
    slow = (curves.kind == CurveKind.POWER) | (curves.kind == CurveKind.DOUBLE)
    late = curves.kind == CurveKind.LATE
    share_of = per_curve[fade] / float(np.sum(per_curve[fade]))
    pace = np.log(curves.span[fade])
    middle = float(share_of @ pace)
    spread = math.sqrt(float(share_of @ (pace - middle) ** 2))
    per_sd = np.sum(after.weight, axis=(0, 2, 3))
    u = np.linspace(-_SD_REACH, _SD_REACH, _SD_NODES)
    at = float(per_sd @ u)
    sd_spread = prior.sd_spread * math.sqrt(float(per_sd @ (u - at) ** 2))
    first = float(np.sum(after.weight * (after.fall_sd**2 + after.fall * after.first())))
    lows = float(np.sum(after.weight, axis=(1, 2, 3)) @ np.mean(belief.low, axis=1))

    def averaged(old: float, new: float) -> float:
        return (before * old + new) / (before + 1.0)

    slow_share = max(prior.slow_share, averaged(prior.slow_share, float(np.sum(per_curve[slow]))))
    late_share = max(prior.late_share, averaged(prior.late_share, float(np.sum(per_curve[late]))))
    room = min(1.0, _MOST_ODD / max(slow_share + late_share, _NOTHING))
    return replace(
        prior,
        decay=math.exp(averaged(math.log(prior.decay), middle)),
        decay_spread=min(max(spread, _BETWEEN_STARTS), prior.decay_spread),
        first_shortfall=max(math.sqrt(averaged(prior.first_shortfall**2, first)), 0.01),
        sd=prior.sd * math.exp(prior.sd_spread * at),
        sd_spread=min(math.hypot(sd_spread, _BETWEEN_SDS), max(prior.sd_spread, _BETWEEN_SDS)),
        slow_share=room * slow_share,
        late_share=room * late_share,
        low_share=averaged(prior.low_share, lows),
        starts=prior.starts + 1,
    )
