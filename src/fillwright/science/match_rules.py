"""Rules of a match that ask what flows: recharge, drive, rating, clean fill, claim."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fillwright.science.cutoff import drop, drop_scatter, holding
from fillwright.science.drive import Drive, HeldBy
from fillwright.science.flow_curve import FlowCurve
from fillwright.science.match_flow import (
    LEAST_GAUGE,
    Discharged,
    Recharges,
    discharges,
    fastest_recharge,
    scale_for,
)
from fillwright.science.match_lanes import Rows, graded, ranged
from fillwright.science.match_types import (
    Case,
    MatchOutcome,
    Nearest,
    Nozzle,
    ProductCylinder,
    Reason,
)
from fillwright.science.match_words import figured
from fillwright.science.wetpath import Piece

__all__ = ["RECHARGE_SPARE", "claim_rule", "drive_rule", "rating_rule", "recharge_rule"]

RECHARGE_SPARE: Final = 1.5
"""A recharge is set to so many times the fastest that still fills (judgement). [1]"""
_WAITS_MOST: Final = 60.0
_RESERVE: Final = 1.5
_STOP: Final = 20e-6
_BULK: Final = 0.0012
_TOO_WIDE: Final = 1.3
_AMPLE: Final = 20.0
_MORE_IS_HARDER: Final = ("thickness", "release", "dose")

OK, CARE, NO = MatchOutcome.OK, MatchOutcome.WITH_CARE, MatchOutcome.NO
Found = tuple[Reason, tuple[Nearest, ...]]


def recharge_rule(
    case: Case,
    rows: Rows,
    path: tuple[Piece, ...],
    found: Recharges,
    *,
    swept: NDArray[np.float64],
    head: float,
) -> Found:
    """Hold the fastest full recharge against the time that a person needs anyway.

    Parameters
    ----------
    case : Case
        The case.
    rows : Rows
        Inputs and their ends.
    path : tuple of Piece
        From the hopper to the cylinder.
    found : Recharges
        The recharge in every row.
    swept : ndarray
        Volume of one stroke. [m³]
    head : float
        Product above the cylinder's axis. [m]

    Returns
    -------
    Reason and tuple of Nearest
        With care where the hands wait for it, no where it does not feed or takes a minute.
    """
    free = case.ranges.handling_most / RECHARGE_SPARE
    fastest = ranged(found.fastest)

    def rank(one: float) -> MatchOutcome:
        return OK if one <= free else CARE if one <= _WAITS_MOST else NO

    by = f"piece {found.worst_piece + 1} of the suction path takes most of it"
    says = f"The fastest recharge that still fills takes {figured(fastest.value, 2)} s"
    spare = RECHARGE_SPARE * fastest.value
    plain = f"{says}; set {figured(spare, 2)} s or longer."
    if spare <= case.recharge_least:
        plain = f"The product follows: the drive is set to {figured(case.recharge_least, 2)} s."
    told = graded(
        "recharge",
        fastest,
        rank,
        {
            OK: plain,
            CARE: f"{says}; set {figured(spare, 2)} s or longer, so the hands wait. "
            f"{by[0].upper()}{by[1:]}.",
            NO: f"{says}; {by}."
            if found.feeds
            else "It will not feed: a follower plate, pressure on the hopper, or warmth.",
        },
        limits=(free, _WAITS_MOST),
        unit="s",
    )
    if told.outcome is OK:
        return told, ()
    goal = free if fastest.value <= _WAITS_MOST else _WAITS_MOST
    only, most = _worst(rows), swept.max(keepdims=True)

    def wider(times: NDArray[np.float64]) -> NDArray[np.bool_]:
        way = tuple(
            replace(piece, bore=np.asarray(piece.bore) * times[:, np.newaxis]) for piece in path
        )
        found = fastest_recharge(case.product, _many(only, times), way, swept=most, head=head)
        return np.asarray(found <= goal)

    def thinner(times: NDArray[np.float64]) -> NDArray[np.bool_]:
        thin = _many(only, times, thins=True)
        found = fastest_recharge(case.product, thin, path, swept=most, head=head)
        return np.asarray(found <= goal)

    near = []
    factor = scale_for(wider)
    if factor is not None:
        bore = factor * float(np.min([np.min(np.asarray(piece.bore)) for piece in path]))
        words = (
            f"All bores from hopper to cylinder {figured(factor)} times as wide, "
            f"{figured(1e3 * bore)} mm at the least, would recharge in {figured(goal)} s."
        )
        near.append(
            Nearest(rule="recharge", change="suction bore", to=bore, unit="m", words=words)
        )
    return told, (
        *near,
        *_thinner("recharge", case.product.curve, scale_for(thinner, grows=False)),
    )


def drive_rule(
    case: Case,
    rows: Rows,
    path: tuple[Piece, ...],
    cylinder: ProductCylinder,
    nozzle: Nozzle,
    drive: Drive,
    *,
    time: float,
) -> Found:
    """Hold what the drive can push at 5 bar against what the product needs.

    Parameters
    ----------
    case : Case
        The case.
    rows : Rows
        Inputs and their ends.
    path : tuple of Piece
        From the cylinder to the nozzle.
    cylinder : ProductCylinder
        The cylinder that is taken, its bore known.
    nozzle : Nozzle
        The nozzle that is taken.
    drive : Drive
        The air drive.
    time : float
        Time of one fill stroke as given. [s]

    Returns
    -------
    Reason and tuple of Nearest
        No where it stalls or a stroke takes over a minute, with care where less than half as
        much again is to spare.
    """
    modest = replace(
        drive,
        supply_pressure=np.minimum(drive.supply_pressure, drive.ambient + LEAST_GAUGE),
    )

    def at(lanes: Rows, way: tuple[Piece, ...]) -> Discharged:
        return discharges(
            case.product, lanes, way, cylinder, modest,
            stroke_volume=lanes.dose, rise=case.rise, with_times=False,
        )  # fmt: skip

    found = at(rows, path)
    reserve = ranged(found.reserve)
    holds = {
        HeldBy.NEEDLE.value: "the needle holds the speed",
        HeldBy.PRODUCT.value: "the product holds the speed, not the needle",
        HeldBy.SUPPLY.value: "the air supply holds the speed",
    }.get(found.held_by, "it stalls")

    crawls = time > _WAITS_MOST

    def rank(one: float) -> MatchOutcome:
        return OK if one >= _RESERVE else NO if crawls or one <= 0.0 else CARE

    times = f"{figured(reserve.value)}" if reserve.value < _AMPLE else f"over {_AMPLE:.0f}"
    says = f"At 5 bar or less the drive has {times} times what the product needs"
    told = graded(
        "drive",
        reserve,
        rank,
        {
            OK: f"{says}; {holds}.",
            CARE: f"{says}; {holds}.",
            NO: f"A stroke takes over a minute: {holds}."
            if reserve.value > 0.0
            else "At 5 bar or less the drive stalls on this product.",
        },
        limits=(_RESERVE,),
        unit="1",
    )
    if told.outcome is OK:
        return told, ()
    only = _worst(rows)

    def wider(times: NDArray[np.float64]) -> NDArray[np.bool_]:
        way = (*path[:-1], replace(path[-1], bore=nozzle.bore * times[:, np.newaxis]))
        return np.asarray(at(_many(only, times), way).reserve >= _RESERVE)

    def thinner(times: NDArray[np.float64]) -> NDArray[np.bool_]:
        return np.asarray(at(_many(only, times, thins=True), path).reserve >= _RESERVE)

    near = []
    factor = scale_for(wider)
    if factor is not None:
        bore = nozzle.bore * factor
        words = (
            f"A nozzle bore of {figured(1e3 * bore)} mm would leave half as much again to spare."
        )
        near.append(Nearest(rule="drive", change="nozzle bore", to=bore, unit="m", words=words))
    return told, (*near, *_thinner("drive", case.product.curve, scale_for(thinner, grows=False)))


def rating_rule(case: Case, found: Discharged) -> Found | None:
    """Hold the pressure that the drive can make against what the wet path is rated for.

    Parameters
    ----------
    case : Case
        The case with its rating.
    found : Discharged
        The fill in every row.

    Returns
    -------
    Reason and tuple of Nearest, or None
        None where no rating is known.
    """
    if case.rating is None:
        return None
    rating = case.rating
    made = ranged(found.stall_pressure)

    def rank(one: float) -> MatchOutcome:
        return OK if one <= rating else CARE if one <= _TOO_WIDE * rating else NO

    words = (
        f"A blocked nozzle may see {figured(made.value / 1e5)} bar; the path is rated for "
        f"{figured(rating / 1e5)} bar."
    )
    told = graded(
        "rating", made, rank, {OK: words, CARE: words, NO: words}, limits=(rating,), unit="Pa"
    )
    if told.outcome is OK:
        return told, ()
    share = rating / made.value
    near = Nearest(
        rule="rating", change="air pressure", to=share, unit="1",
        words=f"Air at {figured(100.0 * share)} % of its pressure, or a larger product cylinder.",
    )  # fmt: skip
    return told, (near,)


def claim_rule(
    case: Case, cylinder: ProductCylinder, nozzle: Nozzle | None, *, shots: int
) -> Found | None:
    """Hold twice the spread to expect against the claim.

    Parameters
    ----------
    case : Case
        The case with its claim.
    cylinder : ProductCylinder
        The cylinder that is taken.
    nozzle : Nozzle or None
        The nozzle that is taken.
    shots : int
        Strokes for a dose.

    Returns
    -------
    Reason and tuple of Nearest, or None
        None where no claim is made or the bore is not known.
    """
    if case.claim is None or cylinder.bore is None:
        return None
    product = case.product
    stroke = case.dose / shots / (math.pi / 4.0 * cylinder.bore**2)
    sources = {
        "product (density, gas, leak)": _BULK,
        "stroke (wheel, stop)": _STOP / stroke / math.sqrt(shots),
    }
    cures = {
        "product (density, gas, leak)": "hold the temperature, rest the product",
        "stroke (wheel, stop)": "a smaller cylinder, set from below and locked",
        "drop": "a nozzle that cuts off",
    }
    if nozzle is not None and product.surface_tension is not None:
        # Beyond that a lip is not wetted all over by one drop.
        reach = float(holding(product.surface_tension, product.density).slides)
        lip = drop(product.surface_tension, product.density, min(nozzle.bore, reach)).mass
        scatter = float(drop_scatter(lip, cuts_off=nozzle.cuts_off))
        sources["drop"] = scatter / (product.density * case.dose)
    most = max(sources, key=sources.__getitem__)
    spread = math.sqrt(sum(one**2 for one in sources.values()))
    value = 2.0 * spread / case.claim
    outcome = OK if value <= 1.0 else CARE if value <= _TOO_WIDE else NO
    words = (
        f"Twice the spread to expect is {figured(200.0 * spread, 2)} % against the claim of "
        f"{figured(100.0 * case.claim, 2)} %; most of it is the {most}."
    )
    told = Reason(
        rule="claim", outcome=outcome, because=words, value=value, low=value / 1.5,
        high=value * 1.5, unit="1", matters_most=most,
    )  # fmt: skip
    if outcome is OK:
        return told, ()
    near = Nearest(rule="claim", change=most, to=cures[most], words=f"Shrink it: {cures[most]}.")
    return told, (near,)


def _thinner(rule: str, curve: FlowCurve, factor: float | None) -> tuple[Nearest, ...]:
    """Return how thin the product would have to be."""
    if factor is None:
        return ()
    thick = factor * float(curve.figures[1])
    words = f"Warmed or thinned to {figured(100.0 * factor)} % of its thickness it would do."
    return (Nearest(rule=rule, change="viscosity", to=thick, unit="Pa s", words=words),)


def _worst(rows: Rows) -> Rows:
    """Return one row with every input at the end that makes a stroke harder."""
    hard = {name: getattr(rows, name)[:1] for name in rows.__slots__}
    hard |= {name: getattr(rows, name).max(keepdims=True) for name in _MORE_IS_HARDER}
    return Rows(**hard | {"gauge": rows.gauge.min(keepdims=True)})


def _many(row: Rows, times: NDArray[np.float64], *, thins: bool = False) -> Rows:
    """Return one row so many times, the product thinned by each factor where that is asked."""
    found = {name: np.repeat(getattr(row, name), len(times)) for name in row.__slots__}
    if thins:
        found["thickness"] = found["thickness"] * times
    return Rows(**found)
