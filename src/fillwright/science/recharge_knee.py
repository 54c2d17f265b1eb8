"""Where the recharge begins to be too fast, learnt from a few shots at several recharge times.

The doses are fitted with the air-dynamic recharge: volume over watch time is wrong by a fifth,
because the piston stands while the exhaust side of the air cylinder empties.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.errors import BadInput, OutsideModel
from fillwright.science.air import AirPassage
from fillwright.science.drive import Drive
from fillwright.science.flow_table import FlowTable
from fillwright.science.given import above_zero, not_negative
from fillwright.science.stroke_times import recharge_times

__all__ = ["WATCH_SD", "KneeShot", "RechargeKnee", "needle_for_time", "recharge_knee"]

WATCH_SD: Final = 0.05
_CANDIDATES: Final = 41
_FINER: Final = 8_001
_MOST_SHARE: Final = 0.9
_ROUNDS: Final = 9
_NEEDLE_LEAST: Final = 1e-11
_NEEDLE_MOST: Final = 2e-7
_CLOSE: Final = 2e-3
_FIT_TOLERANCE: Final = 0.01
_CHI_95: Final = 3.841
_FEWEST_TIMES: Final = 3
_READING: Final = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class KneeShot:
    """Doses weighed at one setting of the recharge needle.

    Attributes
    ----------
    time : float
        Time of the recharge by the watch, from the air valve to the rear stop. [s]
    doses : sequence of float
        What the doses weighed. [kg]
    """

    time: float
    doses: Sequence[float]


@dataclass(frozen=True, slots=True, kw_only=True)
class RechargeKnee:
    """The edge of a full recharge, as this machine shows it with this product.

    Attributes
    ----------
    release_pressure : float
        Pressure at which a void opens, absolute. [Pa]
    low : float
        Lower end of its 95 % interval. [Pa]
    high : float
        Upper end; where no dose was short, all that is known. [Pa]
    flow_max : float
        Greatest flow from the hopper. [m³/s]
    full_dose : float
        Dose of a full cylinder. [kg]
    fill_fractions : tuple of float
        How full the cylinder was at each recharge time. [1]
    needles : tuple of float
        Conductance of the recharge needle at each. [m³/(s·Pa)]
    scatter : float
        Standard deviation of doses at one recharge time. [kg]
    is_bound : bool
        True where no recharge was too fast, so that only a bound is known.
    because : str
        The answer in one sentence.
    """

    release_pressure: float
    low: float
    high: float
    flow_max: float
    full_dose: float
    fill_fractions: tuple[float, ...]
    needles: tuple[float, ...]
    scatter: float
    is_bound: bool
    because: str


def recharge_knee(
    shots: Sequence[KneeShot],
    *,
    drive: Drive,
    piston_area: float,
    stroke: float,
    table: FlowTable,
    head_pressure: float = 0.0,
    dwell: float = 0.0,
    watch_sd: float = WATCH_SD,
) -> RechargeKnee:
    """Return the release pressure that explains doses at several recharge times.

    Parameters
    ----------
    shots : sequence of KneeShot
        Three recharge times or more, the slowest of them slow enough for a full cylinder.
    drive : Drive
        The air drive; its needle is found anew from each watch time.
    piston_area : float
        Area of the product piston. [m²]
    stroke : float
        Drawn stroke. [m]
    table : FlowTable
        Losses from the hopper to the cylinder, one case.
    head_pressure : float
        Static pressure of the product above the cylinder. [Pa]
    dwell : float
        Rest at the rear stop before the valve turns. [s]
    watch_sd : float
        Standard uncertainty of a watch time; a hand on a watch is taken to be good to a
        twentieth of a second (judgement). [s]

    Returns
    -------
    RechargeKnee
        Least squares over the release pressure, the full dose free; the interval is that of
        the profile, widened by the watch.

    Raises
    ------
    BadInput
        If there are fewer than three recharge times, a time is not above zero, or one has no
        dose.
    OutsideModel
        If the drive cannot make a stroke of a given time at any needle.
    """
    times, doses, group = _taken(shots)
    candidates = np.linspace(0.0, _MOST_SHARE * drive.ambient, _CANDIDATES)
    lanes = np.repeat(candidates, len(times))
    wanted = np.tile(times, _CANDIDATES)
    rows = np.zeros(len(lanes), dtype=np.intp)
    needles = needle_for_time(
        wanted,
        drive=drive,
        piston_area=piston_area,
        stroke=stroke,
        table=table.take(rows),
        head_pressure=head_pressure,
        cavity_pressure=lanes,
    )
    drawn = recharge_times(
        _with_needle(drive, needles),
        piston_area=piston_area,
        stroke=stroke,
        table=table.take(rows),
        head=head_pressure,
        cavity_pressure=lanes,
        dwell=not_negative(dwell, "dwell"),
    )
    coarse = drawn.fill_fraction.reshape(_CANDIDATES, len(times))
    # Between candidates the share that fills runs straight; the interval needs a finer grid.
    fine = np.linspace(0.0, candidates[-1], _FINER)
    filled = np.stack([np.interp(fine, candidates, column) for column in coarse.T], axis=1)
    every = filled[:, group]
    full = (every @ doses) / np.sum(every**2, axis=1)
    misfit = np.sum((doses - full[:, np.newaxis] * every) ** 2, axis=1)
    scatter = _scatter(doses, group, misfit)
    best, low, high = _profile(fine, misfit, scatter)
    shares = [float(np.interp(best, fine, column)) for column in filled.T]
    openings = needles.reshape(_CANDIDATES, -1)[int(np.argmin(np.abs(candidates - best)))]
    flow = float(table.flow(np.array([drive.ambient + head_pressure - best]))[0])
    # Misfits are the same all the way down to no pressure: nothing was short.
    is_bound = low <= 0.0
    grows = not_negative(watch_sd, "watch_sd") * flow / (piston_area * stroke)
    reach = 1.96 * grows * _by_watch(filled, group, int(np.argmin(misfit))) * float(fine[1])
    low = max(best - math.hypot(best - low, reach), 0.0)
    high = min(best + math.hypot(high - best, reach), float(fine[-1]))
    words = (
        f"No recharge was too fast; the air comes out below {high / 1e3:.0f} kPa. Try a faster "
        "recharge, or keep this one."
        if is_bound
        else f"Air comes out at {best / 1e3:.0f} kPa ({low / 1e3:.0f} to {high / 1e3:.0f}); the "
        f"product follows at {1e6 * flow:.3g} mL/s at most."
    )
    return RechargeKnee(
        release_pressure=best,
        low=low,
        high=high,
        flow_max=flow,
        full_dose=float(np.interp(best, fine, full)),
        fill_fractions=tuple(shares),
        needles=tuple(float(opening) for opening in openings),
        scatter=scatter,
        is_bound=is_bound,
        because=words,
    )


def needle_for_time(
    time: NDArray[np.float64],
    *,
    drive: Drive,
    piston_area: float,
    stroke: float,
    table: FlowTable,
    head_pressure: float,
    cavity_pressure: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the opening of the recharge needle that makes a recharge take so long.

    Parameters
    ----------
    time : ndarray, shape (n,)
        Time by the watch. [s]
    drive : Drive
        The air drive; its own needle is where the search starts.
    piston_area : float
        Area of the product piston. [m²]
    stroke : float
        Drawn stroke. [m]
    table : FlowTable
        Losses from the hopper to the cylinder, a case for each time.
    head_pressure : float
        Static pressure of the product above the cylinder. [Pa]
    cavity_pressure : ndarray, shape (n,)
        Absolute pressure at which a void opens. [Pa]

    Returns
    -------
    ndarray, shape (n,)
        Conductance. [m³/(s·Pa)]

    Raises
    ------
    OutsideModel
        If no needle gives one of the times.
    """
    goal = np.log(time)
    needle = np.broadcast_to(np.asarray(drive.meter_out.conductance), time.shape).astype(float)

    def taken(openings: NDArray[np.float64]) -> NDArray[np.float64]:
        found = recharge_times(
            _with_needle(drive, openings),
            piston_area=piston_area,
            stroke=stroke,
            table=table,
            head=head_pressure,
            cavity_pressure=cavity_pressure,
            tolerance=_FIT_TOLERANCE,
        ).time
        return np.asarray(np.log(np.minimum(found, 1e4)))

    before, off_before = needle * 0.7, taken(needle * 0.7) - goal
    off = taken(needle) - goal
    for _ in range(_ROUNDS):
        slope = np.minimum((off - off_before) / np.log(needle / before), -0.2)
        step = np.clip(off / slope, -1.5, 1.5)
        before, off_before = needle, off
        needle = np.clip(needle * np.exp(-step), _NEEDLE_LEAST, _NEEDLE_MOST)
        needle = np.where(needle == before, needle * 1.001, needle)
        off = taken(needle) - goal
        if np.all(np.abs(off) < _CLOSE):
            return np.asarray(needle)
    far = np.flatnonzero(np.abs(off) >= 10.0 * _CLOSE)
    if far.size:
        wrong = float(time[far[0]])
        raise OutsideModel(
            f"time is {wrong:g} s; this drive makes no recharge of that time at any needle. "
            "Time it again from the press to the rear stop, and check the air pressure.",
            field="time",
            given=wrong,
            allowed="a time that the drive can make",
        )
    return np.asarray(needle)


def _with_needle(drive: Drive, conductance: NDArray[np.float64]) -> Drive:
    """Return the drive with another opening of its needle."""
    passage = AirPassage(conductance=conductance, critical_ratio=drive.meter_out.critical_ratio)
    return replace(drive, meter_out=passage)


def _taken(
    shots: Sequence[KneeShot],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.intp]]:
    """Return recharge times, all doses, and which time each dose belongs to."""
    if len(shots) < _FEWEST_TIMES:
        raise BadInput(
            f"shots holds {len(shots)} recharge times; give at least {_FEWEST_TIMES}, from slow "
            "to fast.",
            field="shots",
            given=len(shots),
            allowed=f"at least {_FEWEST_TIMES}",
        )
    for place, shot in enumerate(shots):
        above_zero(shot.time, f"shots[{place}].time")
        if not len(shot.doses):
            raise BadInput(
                f"shots[{place}] holds no dose; weigh a few at that recharge time.",
                field=f"shots[{place}].doses",
                given=0,
                allowed="one or more",
            )
    doses = [above_zero(dose, "doses") for shot in shots for dose in shot.doses]
    group = [place for place, shot in enumerate(shots) for _ in shot.doses]
    return (
        np.array([shot.time for shot in shots], dtype=np.float64),
        np.array(doses),
        np.array(group, dtype=np.intp),
    )


def _scatter(
    doses: NDArray[np.float64], group: NDArray[np.intp], misfit: NDArray[np.float64]
) -> float:
    """Return the scatter of doses at one recharge time, or that about the best fit."""
    sizes = np.bincount(group)
    means = np.bincount(group, doses) / sizes
    free = len(doses) - len(sizes)
    if free > 0:
        spread = math.sqrt(float(np.sum((doses - means[group]) ** 2)) / free)
    else:
        spread = math.sqrt(float(misfit.min()) / max(len(doses) - 2, 1))
    # A weighing scale's own step keeps the interval from closing to a point.
    return max(spread, _READING * float(doses.mean()))


def _by_watch(filled: NDArray[np.float64], group: NDArray[np.intp], at: int) -> float:
    """Return how far the best candidate moves, in grid steps, as short cylinders are mistimed.

    A watch that shows one unit of fill too little at one recharge time shifts all its doses
    alike; the full dose is free, so what is common to all does not count.
    """
    place = min(max(at, 1), len(filled) - 2)
    share = filled[place, group]
    bend = 0.5 * (filled[place + 1] - filled[place - 1])[group]
    bend = bend - share * (share @ bend) / (share @ share)
    size = float(bend @ bend)
    if size <= 0.0:
        return 0.0
    short = filled[place] < 1.0
    pulls = np.bincount(group, bend, minlength=len(short)) / size
    return math.sqrt(float(np.sum(np.square(pulls[short]))))


def _profile(
    candidates: NDArray[np.float64], misfit: NDArray[np.float64], scatter: float
) -> tuple[float, float, float]:
    """Return the best candidate and its 95 % interval."""
    inside = np.flatnonzero(misfit - misfit.min() <= _CHI_95 * scatter**2)
    best = float(candidates[int(np.argmin(misfit))])
    return best, float(candidates[inside[0]]), float(candidates[inside[-1]])
