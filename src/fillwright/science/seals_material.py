"""Seal materials against what touches them: recipe and cleaner, temperature, movement."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fillwright.science.given import finite

__all__ = ["MaterialLook", "MaterialVerdict", "Rated", "judge_material"]

_WORST: Final = 4
_DOUBTFUL: Final = 3


class MaterialVerdict(StrEnum):
    """What to do with a material."""

    USE = "use"
    SOAK_TEST = "soak-test"
    DO_NOT_USE = "do-not-use"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rated:
    """How a material stands against one medium.

    Attributes
    ----------
    rating : int
        1 good, 2 fair, 3 doubtful, 4 do not use.
    rated_at : float
        Temperature up to which that holds. [°C]
    """

    rating: int
    rated_at: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialLook:
    """A material against everything that touches it.

    Attributes
    ----------
    ratings : mapping of str to int
        Rating of each medium at the temperature.
    overall : int
        The worst of them.
    worst_medium : str
        Whose it is.
    verdict : MaterialVerdict
        What to do.
    is_outside_limits : bool
        True where the temperature is outside the material's own limits.
    """

    ratings: Mapping[str, int]
    overall: int
    worst_medium: str
    verdict: MaterialVerdict
    is_outside_limits: bool


def judge_material(
    media: Mapping[str, Rated],
    *,
    temperature: float,
    coldest: float,
    hottest: float,
    is_moving: bool,
) -> MaterialLook:
    """Return how a material stands against media at a temperature.

    Parameters
    ----------
    media : mapping of str to Rated
        What touches it: every ingredient listed and every cleaner.
    temperature : float
        Warmest temperature at the seal. [°C]
    coldest, hottest : float
        Limits of the material. [°C]
    is_moving : bool
        True for a seal that slides or turns.

    Returns
    -------
    MaterialLook
        The worst medium decides.

    Raises
    ------
    BadInput
        If the temperature is not a number.

    Notes
    -----
    Above the temperature that a rating holds for it drops a step; outside the material's limits
    it is 4. A moving seal needs 1, a fixed one 2 or better; between that and 4 a soak test
    decides. Common practice, no source.
    """
    finite(temperature, "temperature_c")
    outside = not coldest <= temperature <= hottest
    ratings = {
        name: _WORST
        if outside
        else min(_WORST, rated.rating + (1 if temperature > rated.rated_at else 0))
        for name, rated in media.items()
    }
    worst = max(ratings, key=lambda name: ratings[name])
    overall = ratings[worst]
    good_to = 1 if is_moving else 2
    verdict = MaterialVerdict.USE
    if overall > _DOUBTFUL:
        verdict = MaterialVerdict.DO_NOT_USE
    elif overall > good_to:
        verdict = MaterialVerdict.SOAK_TEST
    return MaterialLook(
        ratings=ratings,
        overall=overall,
        worst_medium=worst,
        verdict=verdict,
        is_outside_limits=outside,
    )
