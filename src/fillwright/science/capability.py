"""How a spread compares with two limits: Pp and Ppk with their uncertainty.

From the overall sd alone; a within-group sd would give other indices under other names. The
share outside is printed beside them, because that is what they stand for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, finite, whole

__all__ = ["Capability", "capability"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Capability:
    """Capability of a process by its overall spread.

    Attributes
    ----------
    pp : float
        Width of the limits over six sds. [1]
    ppk : float
        Distance to the nearer limit over three sds. [1]
    pp_interval : tuple of float
        Two-sided 95 % interval of Pp. [1]
    ppk_lower : float
        One-sided 95 % lower bound of Ppk. [1]
    share_outside : float
        Share outside the limits that mean and sd imply. [1]
    equation : str
        Where the equations come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        The answer in one sentence.
    """

    pp: float
    ppk: float
    pp_interval: tuple[float, float]
    ppk_lower: float
    share_outside: float
    equation: str
    assumptions: tuple[str, ...]
    because: str


def capability(
    n: int, *, mean: float, sd_overall: float, lower: float, upper: float
) -> Capability:
    """Return Pp and Ppk of so many readings against two limits.

    Parameters
    ----------
    n : int
        Readings.
    mean : float
        Their mean. [kg]
    sd_overall : float
        Their sd, divisor n - 1. [kg]
    lower : float
        Lower limit. [kg]
    upper : float
        Upper limit. [kg]

    Returns
    -------
    Capability
        Both indices with their uncertainty and the share outside.

    Raises
    ------
    BadInput
        If a figure cannot be used or the limits are the wrong way round.

    Notes
    -----
    Pp √(χ²_{α/2}/ν) to Pp √(χ²_{1-α/2}/ν); Ppk - z √(1/(9n) + Ppk²/(2ν)) [1]_.

    References
    ----------
    .. [1] Bissell, How reliable is your capability index?, Applied Statistics 39 (1990);
       from memory.
    """
    from scipy.special import chdtri, ndtr, ndtri  # noqa: PLC0415  loaded when asked

    free = whole(n, "n", at_least=2) - 1.0
    centre, spread = finite(mean, "mean"), above_zero(sd_overall, "sd_overall")
    low, high = finite(lower, "lower"), finite(upper, "upper")
    if high <= low:
        raise BadInput(
            f"upper is {high:g}; give one above lower, {low:g}.",
            field="upper",
            given=upper,
            allowed="above lower",
            code="inconsistent",
        )
    pp = (high - low) / (6.0 * spread)
    ppk = min(high - centre, centre - low) / (3.0 * spread)
    outside = float(ndtr((low - centre) / spread) + ndtr((centre - high) / spread))
    error = math.sqrt(1.0 / (9.0 * n) + ppk**2 / (2.0 * free))
    return Capability(
        pp=pp,
        ppk=ppk,
        pp_interval=(
            pp * math.sqrt(float(chdtri(free, 0.975)) / free),
            pp * math.sqrt(float(chdtri(free, 0.025)) / free),
        ),
        ppk_lower=ppk - float(ndtri(0.95)) * error,
        share_outside=outside,
        equation="chi-square interval of Pp; Bissell 1990 bound of Ppk (from memory)",
        assumptions=(
            "Readings are normal, independent and of one steady process.",
            "The sd is the overall one, not one within groups.",
        ),
        because=f"Ppk is {ppk:.2f}: about {outside:.2g} of all lie outside.",
    )
