"""Invented purges, inside and outside the family that the priming model knows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

LENGTH = 60
SD = 0.003

KINDS = {
    "plain": "exponential, bubbles in up to a quarter of the first shots",
    "quiet": "exponential, no bubbles",
    "clean": "no air at all",
    "double": "two exponentials, 2 in 5 three times slower",
    "power": "power of the shots, exponent 1.5 to 3",
    "late": "a pocket that comes after 2 to 6 flat doses",
    "ramp": "straight ramp that ends",
    "lumps": "four pockets that leave at random",
    "heavy": "exponential, scatter with heavy tails (t, 4)",
    "linked": "exponential, neighbouring shots correlated by 0.4",
    "guess_high": "exponential, sd guessed twice too large",
    "guess_low": "exponential, sd guessed twice too small",
    "no_guess": "exponential, sd 0.1 to 0.6 % and no guess",
    "coarse": "exponential, scale step of one sd",
    "rebound": "exponential, a dose above after each bubble",
}


@dataclass(frozen=True)
class Purge:
    """One invented purge: what the scale shows, and the shortfall of each shot."""

    kind: str
    pace: float
    shape: float
    readings: np.ndarray
    short: np.ndarray
    dose_guess: float
    sd_guess: float | None

    def again(self, rng: np.random.Generator) -> Purge:
        """Another start of the same product: pace nearly the same, air and bubbles anew."""
        return purge_of(
            self.kind,
            rng,
            pace=self.pace * math.exp(0.15 * rng.standard_normal()),
            shape=self.shape,
        )


def purge_of(
    kind: str,
    rng: np.random.Generator,
    *,
    pace: float | None = None,
    shape: float | None = None,
) -> Purge:
    """Draw one purge: first shortfall 1 to 12 %, pace 1 to 6 doses, sd 0.3 % unless told."""
    theta = rng.uniform(1.0, 6.0) if pace is None else pace
    form = rng.uniform() if shape is None else shape
    t = np.arange(LENGTH, dtype=float)
    short = rng.uniform(0.01, 0.12) * _curve(kind, t, theta, form, rng)
    sd = SD * (math.exp(rng.uniform(math.log(1 / 3), math.log(2))) if kind == "no_guess" else 1)
    noise = _noise(kind, sd, rng)
    often = 0.0 if kind == "quiet" else rng.uniform(0.0, 0.25)
    bubble = rng.uniform(0.01, 0.08, LENGTH) * (rng.random(LENGTH) < often * np.exp(-t / 10.0))
    if kind == "rebound":
        bubble[1:] -= 0.3 * bubble[:-1]
    readings = 1.0 - short - bubble + noise
    if kind == "coarse":
        readings = np.round(readings / SD) * SD
    guess = {"guess_high": 2.0 * SD, "guess_low": 0.5 * SD, "no_guess": None}.get(kind, SD)
    dose = float(rng.uniform(0.97, 1.03))
    return Purge(kind, theta, form, readings, short, dose, guess)


def _curve(
    kind: str, t: np.ndarray, theta: float, form: float, rng: np.random.Generator
) -> np.ndarray:
    """Return the shortfall over the first one."""
    if kind == "clean":
        return 0.0 * t
    if kind == "double":
        return 0.6 * np.exp(-t / (0.4 * theta)) + 0.4 * np.exp(-t / (1.2 * theta))
    if kind == "power":
        return (1.0 + t / theta) ** -(1.5 + 1.5 * form)
    if kind == "late":
        return np.exp(-np.maximum(t - (2.0 + math.floor(5.0 * form)), 0.0) / (0.6 * theta))
    if kind == "ramp":
        return np.maximum(1.0 - t / (2.5 * theta), 0.0)
    if kind == "lumps":
        return np.mean(t[:, None] < rng.exponential(theta, 4), axis=1)
    return np.exp(-t / theta)


def _noise(kind: str, sd: float, rng: np.random.Generator) -> np.ndarray:
    """Return the scatter of the shots."""
    if kind == "heavy":
        return sd * rng.standard_t(4, LENGTH) / math.sqrt(2.0)
    noise = sd * rng.standard_normal(LENGTH)
    if kind == "linked":
        for i in range(1, LENGTH):
            noise[i] = 0.4 * noise[i - 1] + math.sqrt(1.0 - 0.16) * noise[i]
    return noise
