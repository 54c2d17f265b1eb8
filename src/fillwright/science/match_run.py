"""The half of a match that flows: hopper, recharge, fill and drive, worked out once."""

from __future__ import annotations

import math
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fillwright.science.drive import Drive
from fillwright.science.flow_table import FlowTable
from fillwright.science.match_expect import air_needed, bench_figures
from fillwright.science.match_flow import (
    Discharged,
    Recharges,
    clean_flow,
    discharges,
    losses,
    recharges,
    through,
    with_outlet,
)
from fillwright.science.match_lanes import Rows, ranged
from fillwright.science.match_rules import (
    RECHARGE_SPARE,
    claim_rule,
    drive_rule,
    rating_rule,
    recharge_rule,
)
from fillwright.science.match_types import (
    Case,
    Expected,
    Hopper,
    MatchOutcome,
    Nearest,
    Nozzle,
    ProductCylinder,
    Reason,
)
from fillwright.science.match_words import figured
from fillwright.science.rate import Shots
from fillwright.science.wetpath import Piece

__all__ = ["Flowing"]

_LASTS: Final = 15.0
_USUAL_EACH_MINUTE: Final = 12.0
_QUICK: Final = 1.2
_ABOUT: Final = 1.05

OK, CARE = MatchOutcome.OK, MatchOutcome.WITH_CARE
Found = tuple[Reason, tuple[Nearest, ...]]


class _Pushing(NamedTuple):
    """What a fill needs to be computed."""

    cylinder: ProductCylinder
    nozzle: Nozzle
    drive: Drive
    way: tuple[Piece, ...]


class Flowing:
    """The rules and figures that need a flow.

    Parameters
    ----------
    case : Case
        The case.
    rows : Rows
        Its inputs and their ends.
    taken : tuple of ProductCylinder and Shots, or None
        The cylinder that is taken.
    nozzle : Nozzle or None
        The nozzle that is taken.
    """

    def __init__(
        self,
        case: Case,
        rows: Rows,
        taken: tuple[ProductCylinder, Shots] | None,
        nozzle: Nozzle | None,
    ) -> None:
        self._case, self._rows, self._nozzle = case, rows, nozzle
        self._cylinder = None if taken is None else taken[0]
        self._shots = 1 if taken is None else taken[1].count or 1
        self._swept: NDArray[np.float64] = rows.dose / self._shots
        self._outward: FlowTable | None = None
        self.hopper, self._back = self._take_hopper()

    def rules(self) -> list[Found | None]:
        """Return every rule that a flow decides."""
        case, found = self._case, [self._clean_rule(), self._hopper_rule()]
        if self._back is not None:
            found.append(
                recharge_rule(
                    case, self._rows, with_outlet(case.suction, self.hopper), self._back,
                    swept=self._swept, head=_head(self.hopper),
                )
            )  # fmt: skip
        push, filled = self._push, self._filled
        if push is not None and filled is not None:
            found.append(
                drive_rule(
                    case, self._rows, push.way, push.cylinder, push.nozzle, push.drive,
                    time=float(filled.time[0]),
                )
            )  # fmt: skip
            found.append(rating_rule(case, filled))
        if self._cylinder is not None:
            found.append(claim_rule(case, self._cylinder, self._nozzle, shots=self._shots))
        return found

    @cached_property
    def expected(self) -> tuple[Expected, ...]:
        """The figures to expect at the bench."""
        return bench_figures(
            self._case,
            self._rows,
            shots=self._shots,
            fastest=None if self._back is None else self._back.fastest,
            clean=self._clean,
            filled=self._filled,
            air=self._air,
            cylinder=self._cylinder,
            hopper_volume=None if self.hopper is None else self.hopper.volume,
        )

    @cached_property
    def _push(self) -> _Pushing | None:
        """Cylinder, nozzle, drive and way, where all of them are known."""
        case, cylinder, nozzle = self._case, self._cylinder, self._nozzle
        if cylinder is None or cylinder.bore is None or nozzle is None or case.drive is None:
            return None
        if not case.outward:
            return None
        return _Pushing(cylinder, nozzle, case.drive, through(case.outward, nozzle))

    @cached_property
    def _filled(self) -> Discharged | None:
        """The fill in every row."""
        push = self._push
        if push is None:
            return None
        return discharges(
            self._case.product, self._rows, push.way, push.cylinder, push.drive,
            stroke_volume=self._swept, rise=self._case.rise, table=self._losses(push),
        )  # fmt: skip

    @cached_property
    def _air(self) -> NDArray[np.float64] | None:
        """The least air pressure in every row. [Pa]."""
        push = self._push
        if push is None:
            return None
        return air_needed(
            self._case, self._rows, push.way, push.cylinder, push.drive,
            stroke_volume=self._swept, table=self._losses(push),
        )  # fmt: skip

    def _losses(self, push: _Pushing) -> FlowTable:
        """Return the losses of the way out in every row, worked out once."""
        if self._outward is None:
            self._outward = losses(self._case.product, self._rows, push.way)
        return self._outward

    @cached_property
    def _clean(self) -> NDArray[np.float64] | None:
        """The fastest clean fill of a stroke by the watch, in every row. [s]."""
        if self._nozzle is None or self._case.product.surface_tension is None:
            return None
        steady = self._swept / clean_flow(self._case, self._rows, self._nozzle.bore)
        return np.asarray(steady * self._watch)

    @cached_property
    def _watch(self) -> float:
        """Time by the watch over that of a piston at its steady speed, as given. [1]."""
        push, filled = self._push, self._filled
        if push is None or filled is None or not math.isfinite(float(filled.time[0])):
            return 1.0
        area = math.pi / 4.0 * (push.cylinder.bore or 1.0) ** 2
        return float(filled.time[0] * filled.speed[0] * area / self._swept[0])

    def _take_hopper(self) -> tuple[Hopper | None, Recharges | None]:
        """Return the hopper to take: the smallest that lasts and feeds well, else the largest."""
        case = self._case
        by_size = sorted(case.hoppers, key=lambda one: one.volume)
        if not case.suction:
            return (self._lasting(by_size) if by_size else None), None
        if not by_size:
            return None, self._recharged(None)
        tried = {one.name: self._recharged(one) for one in by_size}
        quickest = min(float(back.fastest[0]) for back in tried.values())
        free = max(case.ranges.handling_most / RECHARGE_SPARE, _QUICK * quickest)
        quick = [one for one in by_size if float(tried[one.name].fastest[0]) <= free]
        taken = self._lasting(quick or by_size)
        return taken, tried[taken.name]

    def _recharged(self, hopper: Hopper | None) -> Recharges:
        """Return the recharge from a hopper."""
        case = self._case
        return recharges(
            case.product, self._rows, with_outlet(case.suction, hopper), swept=self._swept,
            head=_head(hopper),
        )  # fmt: skip

    def _lasting(self, hoppers: list[Hopper]) -> Hopper:
        """Return the smallest hopper that lasts a quarter of an hour at a usual rate."""
        wanted = _LASTS * _USUAL_EACH_MINUTE * self._case.dose
        return next((one for one in hoppers if one.volume >= wanted), hoppers[-1])

    def _hopper_rule(self) -> Found | None:
        """Hold the hopper's volume against a quarter of an hour of filling (judgement)."""
        if self.hopper is None:
            return None
        hopper = self.hopper
        refill = next((one for one in self.expected if one.name == "refill"), None)
        usual = f" at {_USUAL_EACH_MINUTE:.0f} containers a minute" if refill is None else ""
        lasts = ranged(hopper.volume / (self._rows.dose * _USUAL_EACH_MINUTE))
        value = lasts.value if refill is None or refill.value is None else refill.value
        words = f"{hopper.name} lasts {figured(value, 2)} min{usual}."
        outcome = OK if value >= _LASTS else CARE
        told = Reason(
            rule="hopper",
            outcome=outcome,
            because=words,
            value=value,
            low=lasts.low if refill is None else refill.low,
            high=lasts.high if refill is None else refill.high,
            unit="min",
            matters_most=lasts.matters_most if refill is None else refill.matters_most,
        )
        if outcome is OK:
            return told, ()
        least = hopper.volume * _LASTS / value
        says = f"A hopper of {figured(1e3 * least)} L would last a quarter of an hour."
        return told, (
            Nearest(rule="hopper", change="hopper volume", to=least, unit="m3", words=says),
        )

    def _clean_rule(self) -> Found | None:
        """Hold the fill with the needle as given against the fastest clean one."""
        if self._clean is None:
            return None
        clean = ranged(self._clean)
        needle = math.inf if self._filled is None else float(self._filled.time[0])
        words = (
            f"A stroke of {figured(clean.value, 2)} s or longer is not likely to splash or foam."
            if clean.value > 0.0
            else "It is not likely to splash or foam at any speed of this machine."
        )
        slower = (
            f"{words} With the needle as given it takes {figured(needle, 2)} s: close it, or "
            "fill from below."
        )
        # Advice, because containers vary: the figure as given decides, not its ends.
        hasty = clean.value > _ABOUT * needle
        told = Reason(
            rule="clean-fill",
            outcome=CARE if hasty else OK,
            because=slower if hasty else words,
            value=clean.value,
            low=clean.low,
            high=clean.high,
            unit="s",
            matters_most=clean.matters_most,
        )
        if told.outcome is OK:
            return told, ()
        says = (
            f"A fill of {figured(clean.high, 2)} s a stroke or longer would do, a wider nozzle, "
            "or its tip kept near the liquid from below."
        )
        near = Nearest(rule="clean-fill", change="fill time", to=clean.high, unit="s", words=says)
        return told, (near,)


def _head(hopper: Hopper | None) -> float:
    """Return the product above the cylinder's axis when the hopper is low. [m]."""
    return 0.0 if hopper is None else hopper.head
