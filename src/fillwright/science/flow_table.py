"""Flow against pressure for a wet path, looked up: losses on a grid of flows, axes swapped.

Losses are laid out at even steps of ln Q, so no root has to be found; then once more at even
steps of ln(loss less starting pressure), so that a look-up needs no search.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput

__all__ = ["FlowTable", "flow_table"]

_LEAST_FLOW: Final = 1e-9
_MOST_FLOW: Final = 3e-2
_POINTS: Final = 240
_NOTHING: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowTable:
    """Flow at any pressure, for one or many cases of product and path.

    Attributes
    ----------
    start : ndarray, shape (n,)
        Pressure below which nothing flows. [Pa]
    first : ndarray, shape (n,)
        ln of the excess over `start` at the first point. [1]
    step : ndarray, shape (n,)
        Step of that logarithm from point to point. [1]
    log_flow : ndarray, shape (n, m)
        ln of the flow at each point, the flow in m³/s. [1]
    """

    start: NDArray[np.float64]
    first: NDArray[np.float64]
    step: NDArray[np.float64]
    log_flow: NDArray[np.float64]

    @property
    def cases(self) -> int:
        """How many cases the table holds."""
        return len(self.start)

    def take(self, rows: NDArray[np.intp]) -> FlowTable:
        """Return the table of some of the cases, in the order asked for.

        Parameters
        ----------
        rows : ndarray of int
            Which cases; one may come more than once.

        Returns
        -------
        FlowTable
            Their table.
        """
        return FlowTable(
            start=self.start[rows],
            first=self.first[rows],
            step=self.step[rows],
            log_flow=self.log_flow[rows],
        )

    def flow(self, pressure: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the flow of each case at a pressure.

        Parameters
        ----------
        pressure : ndarray, shape (n,)
            Pressure across the path, one for each case. [Pa]

        Returns
        -------
        ndarray, shape (n,)
            Flow; zero up to the starting pressure. [m³/s]
        """
        return np.asarray(self.flow_and_slope(pressure)[0])

    def flow_and_slope(self, pressure: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the flow of each case at a pressure, and how it grows with pressure.

        Parameters
        ----------
        pressure : ndarray, shape (n,)
            Pressure across the path, one for each case. [Pa]

        Returns
        -------
        ndarray, shape (2, n)
            Flow [m³/s] and its slope. [m³/(s·Pa)]
        """
        over = pressure - self.start
        moves = over > _NOTHING
        safe = np.where(moves, over, 1.0)
        place = (np.log(safe) - self.first) / self.step
        last = self.log_flow.shape[1] - 2
        below = np.minimum(np.maximum(place.astype(np.intp), 0), last)
        rows = np.arange(len(over))
        low = self.log_flow[rows, below]
        rise = self.log_flow[rows, below + 1] - low
        flow = np.where(moves, np.exp(low + rise * (place - below)), 0.0)
        found = np.empty((2, len(over)))
        found[0], found[1] = flow, flow * rise / (self.step * safe)
        return found

    def loss(self, flow: ArrayLike) -> NDArray[np.float64]:
        """Return the pressure of each case at a flow.

        Parameters
        ----------
        flow : float or ndarray, shape (n,)
            Flow, one for each case or one for all. [m³/s]

        Returns
        -------
        ndarray, shape (n,)
            Pressure; the starting pressure at no flow. [Pa]
        """
        given = np.broadcast_to(np.asarray(flow, dtype=np.float64), self.start.shape)
        wanted = np.log(np.maximum(given, 1e-300))
        rows = np.arange(len(wanted))
        low = np.zeros(len(wanted), dtype=np.intp)
        high = np.full(len(wanted), self.log_flow.shape[1] - 1, dtype=np.intp)
        for _ in range(int(np.ceil(np.log2(self.log_flow.shape[1])))):
            middle = (low + high) // 2
            beyond = self.log_flow[rows, middle] > wanted
            high = np.where(beyond, middle, high)
            low = np.where(beyond, low, middle)
        low = np.minimum(low, self.log_flow.shape[1] - 2)
        begin = self.log_flow[rows, low]
        share = (wanted - begin) / (self.log_flow[rows, low + 1] - begin)
        over = np.exp(self.first + self.step * (low + share))
        return np.asarray(self.start + np.where(given > 0.0, over, 0.0))


def flow_table(
    loss: Callable[[NDArray[np.float64]], ArrayLike],
    *,
    points: int = _POINTS,
    least: float = _LEAST_FLOW,
    most: float = _MOST_FLOW,
) -> FlowTable:
    """Return the table of a path from a function that gives its losses.

    Parameters
    ----------
    loss : callable
        Takes flows of shape (1, m) [m³/s], the first of them zero, and returns the losses of
        all cases, shape (n, m) or (1, m) [Pa]. At no flow it gives the starting pressure.
    points : int
        Points of the table, along each axis.
    least : float
        Least flow of the table. [m³/s]
    most : float
        Greatest flow of the table. [m³/s]

    Returns
    -------
    FlowTable
        Beyond its ends the last slopes go on.

    Raises
    ------
    BadInput
        If the losses do not grow with the flow, as for a product without viscosity.
    """
    log_flow = np.linspace(np.log(least), np.log(most), points)
    flows = np.concatenate([[0.0], np.exp(log_flow)])[np.newaxis, :]
    losses = np.atleast_2d(np.asarray(loss(flows), dtype=np.float64))
    start = losses[:, 0].copy()
    over = losses[:, 1:] - start[:, np.newaxis]
    if not (np.isfinite(over).all() and (over[:, 0] > 0.0).all()):
        raise BadInput(
            "path and product give no pressure that grows with the flow; check bores, lengths "
            "and viscosity for a slip of the unit.",
            field="path",
            allowed="losses that grow with the flow",
            code="inconsistent",
        )
    log_over = np.maximum.accumulate(np.log(over), axis=1)
    first, last = log_over[:, 0], log_over[:, -1]
    step = (last - first) / (points - 1)
    return FlowTable(
        start=start, first=first, step=step, log_flow=_swapped(log_over, log_flow, first, step)
    )


def _swapped(
    log_over: NDArray[np.float64],
    log_flow: NDArray[np.float64],
    first: NDArray[np.float64],
    step: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return ln of the flow at even steps of ln of the excess, for all cases at once."""
    cases, points = log_over.shape
    # All rows put one behind the other make one rising line, searched once.
    lane = 2.0 * points * np.arange(cases)[:, np.newaxis]
    place = (log_over - first[:, np.newaxis]) / step[:, np.newaxis] + lane
    wanted = np.arange(points)[np.newaxis, :] + lane
    along = np.tile(log_flow, cases)
    found = np.interp(wanted.ravel(), place.ravel(), along)
    return np.asarray(found).reshape(cases, points)
