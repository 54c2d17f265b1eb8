"""Will one average empty do for all containers, by the spread of the empties weighed.

Two things are held apart: single empties scatter about the average, which widens every content;
and the average itself is uncertain, which is the same error in every container.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, not_negative, whole

__all__ = ["TareFit", "TareFitVerdict", "tare_fit"]

_SCATTER_SHARE: Final = 0.25
_MEAN_OF_SHORTAGE: Final = 0.02
_MEAN_OF_BAND: Final = 0.1
_CONFIDENCE: Final = 0.975


class TareFitVerdict(StrEnum):
    """Whether one average empty will do."""

    ENOUGH = "enough"
    MORE_EMPTIES = "more-empties"
    WEIGH_EACH = "weigh-each"


@dataclass(frozen=True, slots=True, kw_only=True)
class TareFit:
    """Whether one average empty will do.

    Attributes
    ----------
    verdict : TareFitVerdict
        What to do.
    u_mean : float
        Standard error of the average: the same error in every container. [kg]
    half_width : float
        Half of the interval that holds the true average 19 times in 20. [kg]
    scatter_limit : float
        Most that single empties may scatter, one sd. [kg]
    mean_limit : float
        Most that the standard error of the average may be. [kg]
    empties_needed : int
        Empties that make the average good enough at this spread.
    is_by_band : bool
        True where the dose band sets the limit that counts, False where the shortage does.
    equation : str
        Where the limits come from.
    assumptions : tuple of str
        What is taken for granted.
    """

    verdict: TareFitVerdict
    u_mean: float
    half_width: float
    scatter_limit: float
    mean_limit: float
    empties_needed: int
    is_by_band: bool
    equation: str
    assumptions: tuple[str, ...]


def tare_fit(
    sd: float,
    *,
    empties: int,
    shortage: float | None = None,
    half_band: float | None = None,
    readability: float = 0.0,
) -> TareFit:
    """Say whether one average empty will do for all containers.

    Parameters
    ----------
    sd : float
        Sd of the empties weighed. [kg]
    empties : int
        How many they were, two or more.
    shortage : float, optional
        What one container may be short by. [kg]
    half_band : float, optional
        Half width of the band that doses are held to. [kg]
    readability : float
        Step of the weighing scale. [kg]

    Returns
    -------
    TareFit
        The verdict, with the limits and how sure the average is.

    Raises
    ------
    BadInput
        If there are fewer than two empties, neither limit is given, or a figure is negative.

    Notes
    -----
    Scatter: s at most a quarter of the smaller of shortage and half band; the quarter of the
    shortage is that of OIML R 87, Annex B [1]_, that of the band is our own choice. Average:
    s/√m at most a fiftieth of the shortage and a tenth of the half band (our own choice). An s
    below the rounding of the scale, d/√12, is taken as that. Half width: t(0.975; m - 1) s/√m.

    References
    ----------
    .. [1] OIML R 87, Annex B; from memory.

    Examples
    --------
    >>> fit = tare_fit(0.5e-3, empties=5, shortage=9e-3)
    >>> fit.verdict.value, fit.empties_needed, round(1e3 * fit.half_width, 2)
    ('more-empties', 8, 0.62)
    """
    spread = max(not_negative(sd, "sd"), not_negative(readability, "readability") / math.sqrt(12))
    many = whole(empties, "empties", at_least=2)
    limits: list[tuple[float, float, bool]] = []
    if shortage is not None:
        room = above_zero(shortage, "shortage")
        limits.append((_SCATTER_SHARE * room, _MEAN_OF_SHORTAGE * room, False))
    if half_band is not None:
        half = above_zero(half_band, "half_band")
        limits.append((_SCATTER_SHARE * half, _MEAN_OF_BAND * half, True))
    if not limits:
        message = "Give a shortage or a half band: without either nothing limits the tare."
        raise BadInput(message, field="shortage", code="missing")
    scatter, _, scatter_by_band = min(limits)
    mean, mean_by_band = min((limit, by_band) for _, limit, by_band in limits)
    u_mean = spread / math.sqrt(many)
    verdict, by_band = TareFitVerdict.ENOUGH, mean_by_band
    if spread > scatter:
        verdict, by_band = TareFitVerdict.WEIGH_EACH, scatter_by_band
    elif u_mean > mean:
        verdict = TareFitVerdict.MORE_EMPTIES
    return TareFit(
        verdict=verdict,
        u_mean=u_mean,
        half_width=float(stats.t.ppf(_CONFIDENCE, many - 1)) * u_mean,
        scatter_limit=scatter,
        mean_limit=mean,
        empties_needed=max(2, math.ceil((spread / mean) ** 2 - 1e-9)),
        is_by_band=by_band,
        equation="s <= T/4: OIML R 87, Annex B, from memory; s <= b/4, s/√m <= T/50 and b/10: our "
        "own choice; half width t(0.975; m - 1) s/√m",
        assumptions=(
            "Empties are normal and were drawn from the carton in use.",
            "A new carton starts anew.",
        ),
    )
