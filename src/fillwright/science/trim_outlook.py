"""What a setting of the wheel promises: the mean dose there and the next shot."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.trim_model import Belief, Posterior

__all__ = ["Outlook", "outlook_at", "outlook_here"]

_Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What a setting promises: the mean dose there and the next shot.

    Attributes
    ----------
    place : float
        The setting. [m³]
    mean : ndarray, shape (g,)
        Mean of the mean dose there, without air. [kg]
    sd : ndarray, shape (g,)
        Its sd. [kg]
    shot_mean : ndarray, shape (g,)
        Mean of the next reading there, short by the air still left. [kg]
    shot_sd : ndarray, shape (g,)
        Sd of the next reading there. [kg]
    weight : ndarray, shape (g,)
        Weight of each cell. [1]
    """

    place: float
    mean: _Floats
    sd: _Floats
    shot_mean: _Floats
    shot_sd: _Floats
    weight: _Floats

    def mean_between(self, low: float, high: float) -> float:
        """Return the probability that the mean dose lies between two figures.

        Parameters
        ----------
        low : float
            Lower figure. [kg]
        high : float
            Upper figure. [kg]

        Returns
        -------
        float
            Probability. [1]
        """
        from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

        ends = ndtr((high - self.mean) / self.sd) - ndtr((low - self.mean) / self.sd)
        return float(self.weight @ ends)

    def shot_above(self, limit: float) -> float:
        """Return the probability that the next reading passes a limit.

        Parameters
        ----------
        limit : float
            The limit. [kg]

        Returns
        -------
        float
            Probability. [1]
        """
        from scipy.special import ndtr  # noqa: PLC0415  heavy library, loaded when asked

        return float(self.weight @ ndtr((self.shot_mean - limit) / self.shot_sd))

    def mean_quantile(self, probability: float) -> float:
        """Return the figure that the mean dose stays below with a probability.

        Parameters
        ----------
        probability : float
            The probability. [1]

        Returns
        -------
        float
            The figure. [kg]
        """
        return _quantile(self.weight, self.mean, self.sd, probability)

    def shot_quantile(self, probability: float) -> float:
        """Return the figure that the next reading stays below with a probability.

        Parameters
        ----------
        probability : float
            The probability. [1]

        Returns
        -------
        float
            The figure. [kg]
        """
        return _quantile(self.weight, self.shot_mean, self.shot_sd, probability)

    def mean_sd(self) -> float:
        """Return the sd of the mean dose over all cells.

        Returns
        -------
        float
            Its sd. [kg]
        """
        centre = float(self.weight @ self.mean)
        return math.sqrt(float(self.weight @ (self.sd**2 + (self.mean - centre) ** 2)))


def outlook_at(belief: Belief, after: Posterior, place: float) -> Outlook:
    """Return what a setting promises when the wheel is brought to it anew, from below.

    Parameters
    ----------
    belief : Belief
        The model's constants.
    after : Posterior
        What is believed now.
    place : float
        The setting. [m³]

    Returns
    -------
    Outlook
        The promise, with a fresh hand-wheel error.
    """
    now = after.shots - 1.0

    def at(shot: float) -> tuple[_Floats, _Floats]:
        row = belief.row(place, shot=shot, now=now, above=0.0)
        var = np.einsum("gp,gpq,gq->g", row, after.cov, row) + belief.wheel_var
        return np.sum(row * after.mean, axis=1), np.maximum(var, 0.0)

    mean, var = at(math.inf)
    shot_mean, shot_var = at(now + 1.0)
    return _outlook(belief, after, place, mean=mean, var=var, shot=(shot_mean, shot_var))


def outlook_here(belief: Belief, after: Posterior, place: float) -> Outlook:
    """Return what the last stay promises when the wheel is left alone.

    Parameters
    ----------
    belief : Belief
        The model's constants.
    after : Posterior
        What is believed now.
    place : float
        The setting of the last stay. [m³]

    Returns
    -------
    Outlook
        The promise, with the hand-wheel error as far as the shots here show it.
    """
    shot = (after.next_here, after.next_here_var)
    return _outlook(belief, after, place, mean=after.here, var=after.here_var, shot=shot)


def _outlook(
    belief: Belief,
    after: Posterior,
    place: float,
    *,
    mean: _Floats,
    var: _Floats,
    shot: tuple[_Floats, _Floats],
) -> Outlook:
    """Return the promise of one setting from the mean dose and the next shot there."""
    noise = belief.shot_sd**2 + belief.round_var
    return Outlook(
        place=place,
        mean=mean,
        sd=np.sqrt(np.maximum(var, 1e-24 * noise)),
        shot_mean=shot[0],
        shot_sd=np.sqrt(shot[1] + noise),
        weight=after.weight,
    )


def _quantile(weight: _Floats, mean: _Floats, sd: _Floats, probability: float) -> float:
    """Return the quantile of a mixture of normals."""
    from scipy.optimize import brentq  # noqa: PLC0415  heavy library, loaded when asked
    from scipy.special import ndtr, ndtri  # noqa: PLC0415  heavy library, loaded when asked

    each = mean + float(ndtri(probability)) * sd
    # Rounding may leave the root a hair outside its exact bracket, so that is widened a little.
    hair = 1e-6 * float(np.max(sd))
    low, high = float(np.min(each)) - hair, float(np.max(each)) + hair
    if hair == 0.0:
        return high
    return float(
        brentq(lambda x: float(weight @ ndtr((x - mean) / sd)) - probability, low, high, rtol=1e-9)
    )
