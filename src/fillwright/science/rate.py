"""How many containers a minute, how many shots a dose, how long a hopper lasts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fillwright.errors import BadInput
from fillwright.science.given import above_zero, not_negative, whole

__all__ = ["LEAST_SHARE", "Mode", "Rate", "Shots", "hopper_time", "rate", "shots_for"]

LEAST_SHARE: Final = 0.1
_MOST_SHOTS: Final = 10_000


class Mode(StrEnum):
    """How the machine is worked."""

    FOOT_SWITCH = "foot-switch"
    RECHARGE_ON_PRESS = "recharge-on-press"
    CONTINUOUS = "continuous"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """How fast containers come.

    Attributes
    ----------
    cycle : float
        From container to container. [s]
    per_second : float
        Containers a second over all nozzles. [1/s]
    binds : str
        ``"hands"`` or ``"recharge"``: which of the two to shorten.
    pause : float or None
        Least pause to set on the timer, where one repeats; less spills. [s]
    saved : float
        Cycle with one second less of what binds. [s]
    because : str
        The answer in one sentence.
    """

    cycle: float
    per_second: float
    binds: str
    pause: float | None
    saved: float
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shots:
    """Into how many equal shots a dose is cut.

    Attributes
    ----------
    count : int or None
        Fewest shots that do; None where none does.
    shot : float or None
        Volume of each. [m³]
    share : float or None
        Volume of each as a share of the cylinder. [1]
    relative_spread : float or None
        Relative standard uncertainty of the whole dose, where that of a shot is known. [1]
    because : str
        The answer in one sentence.
    """

    count: int | None
    shot: float | None
    share: float | None
    relative_spread: float | None
    because: str


def rate(
    *,
    fill: float,
    recharge: float,
    handling: float,
    mode: Mode,
    dwell: float = 0.0,
    valve: float = 0.0,
    cutoff: float = 0.0,
    shots: int = 1,
    nozzles: int = 1,
) -> Rate:
    """Return how fast containers come.

    Parameters
    ----------
    fill : float
        Time of a fill stroke. [s]
    recharge : float
        Time of a recharge stroke. [s]
    handling : float
        Time to take a container away and put the next one. [s]
    mode : Mode
        How the machine is worked.
    dwell : float
        Rest after the recharge. [s]
    valve : float
        One turn of the valve. [s]
    cutoff : float
        Until the nozzle has cut off. [s]
    shots : int
        Shots into one container.
    nozzles : int
        Containers filled at once.

    Returns
    -------
    Rate
        Where hands and recharge overlap, the longer of the two binds.

    Raises
    ------
    BadInput
        If a time is negative, a stroke takes none, or a count is below 1.
    """
    there = above_zero(fill, "fill") + not_negative(valve, "valve")
    there += not_negative(cutoff, "cutoff")
    back = not_negative(recharge, "recharge") + valve + not_negative(dwell, "dwell")
    hands = not_negative(handling, "handling")
    count = whole(shots, "shots", at_least=1)
    heads = whole(nozzles, "nozzles", at_least=1)
    inside = count * there + (count - 1) * back
    overlaps = mode is not Mode.RECHARGE_ON_PRESS
    cycle = inside + (max(back, hands) if overlaps else back + hands)
    by_hand = hands >= back or not overlaps
    shorter = max(hands - 1.0, 0.0) if by_hand else max(back - 1.0, 0.0)
    other = back if by_hand else hands
    saved = inside + (max(shorter, other) if overlaps else shorter + other)
    per_minute, quicker = 60.0 * heads / cycle, 60.0 * heads / saved
    return Rate(
        cycle=cycle,
        per_second=heads / cycle,
        binds="hands" if by_hand else "recharge",
        pause=max(hands - back, 0.0) if mode is Mode.CONTINUOUS else None,
        saved=saved,
        because=f"{per_minute:.3g} containers a minute; "
        f"{'the hands bind' if by_hand else 'the recharge binds'}, and one second less there "
        f"would give {quicker:.3g}.",
    )


def shots_for(
    target: float,
    *,
    cylinder: float,
    least_share: float = LEAST_SHARE,
    random_spread: float | None = None,
    systematic_spread: float | None = None,
) -> Shots:
    """Return the fewest equal shots that make a dose.

    Parameters
    ----------
    target : float
        Volume of the dose. [m³]
    cylinder : float
        Volume of the whole stroke. [m³]
    least_share : float
        Least share of the cylinder a shot may be; 10 % is common practice, no source. [1]
    random_spread : float, optional
        Relative standard uncertainty of one shot, anew each time. [1]
    systematic_spread : float, optional
        Relative standard uncertainty that all shots have in common. [1]

    Returns
    -------
    Shots
        None of them where even one shot is too small for the cylinder.

    Raises
    ------
    BadInput
        If a volume is not above zero, a spread is negative, the share is not in 0 to 1, or it
        would take more than 10,000 shots.

    Notes
    -----
    Relative spread of n shots: √(u_r²/n + u_s²).
    """
    wanted, room = above_zero(target, "target"), above_zero(cylinder, "cylinder")
    least = not_negative(least_share, "least_fraction")
    if least > 1.0:
        raise BadInput(
            f"least_fraction is {least:g}; give a share of the cylinder, at most 1.",
            field="least_fraction",
            given=least,
            allowed="0 to 1",
        )
    # A whole number of full strokes is not pushed over by the last digit of a division.
    count = max(math.ceil(wanted / room * (1.0 - 1e-12)), 1)
    if count > _MOST_SHOTS:
        raise BadInput(
            f"target is {count} strokes of this cylinder; check the units.",
            field="target",
            given=wanted,
            allowed=f"up to {_MOST_SHOTS} strokes",
            code="inconsistent",
        )
    shot = wanted / count
    share = shot / room
    if share < least * (1.0 - 1e-12):
        return Shots(
            count=None,
            shot=None,
            share=None,
            relative_spread=None,
            because=f"The dose is {100.0 * share:.3g} % of this cylinder, below the least of "
            f"{100.0 * least:.3g} %; a cylinder of {1e6 * wanted / max(least, 1e-9):.3g} mL or "
            "less would do.",
        )
    spread = None
    if random_spread is not None or systematic_spread is not None:
        spread = math.hypot(
            not_negative(random_spread or 0.0, "u_random_per_shot") / math.sqrt(count),
            not_negative(systematic_spread or 0.0, "u_systematic"),
        )
    times = "One shot" if count == 1 else f"{count} shots"
    return Shots(
        count=count,
        shot=shot,
        share=share,
        relative_spread=spread,
        because=f"{times} of {1e6 * shot:.4g} mL, {100.0 * share:.3g} % of the cylinder.",
    )


def hopper_time(usable: float, *, dose: float, per_second: float) -> float:
    """Return how long a hopper lasts between refills.

    Parameters
    ----------
    usable : float
        Volume between the full mark and the low mark. [m³]
    dose : float
        Volume of a dose. [m³]
    per_second : float
        Containers a second. [1/s]

    Returns
    -------
    float
        Time. [s]

    Raises
    ------
    BadInput
        If one of them is not above zero.
    """
    flow = above_zero(dose, "dose") * above_zero(per_second, "per_second")
    return above_zero(usable, "usable") / flow
