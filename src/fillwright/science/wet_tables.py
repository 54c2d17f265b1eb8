"""Flow tables of a product in a path, for one thickness or many."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.science.flow_curve import FlowCurve
from fillwright.science.flow_table import FlowTable, flow_table
from fillwright.science.wetpath import Piece, pressure_loss

__all__ = ["path_table", "thickness_tables"]

_POINTS: Final = 240


def path_table(
    path: tuple[Piece, ...],
    curve: FlowCurve,
    density: ArrayLike,
    *,
    points: int = _POINTS,
) -> FlowTable:
    """Return the flow table of a path for one product or many.

    Parameters
    ----------
    path : tuple of Piece
        In the order of the flow; bores may be columns of shape (n, 1).
    curve : FlowCurve
        One product, or columns of shape (n, 1).
    density : float or ndarray
        Density, one or a column of shape (n, 1). [kg/m³]
    points : int
        Points of the table.

    Returns
    -------
    FlowTable
        A case for each row.
    """
    return flow_table(lambda flow: pressure_loss(path, flow, curve, density).total, points=points)


def thickness_tables(
    path: tuple[Piece, ...], curve: FlowCurve, density: float
) -> Callable[[NDArray[np.float64]], FlowTable]:
    """Return a function that gives the table of a path at other thicknesses of its product.

    Parameters
    ----------
    path : tuple of Piece
        In the order of the flow.
    curve : FlowCurve
        The product at reference.
    density : float
        Its density. [kg/m³]

    Returns
    -------
    callable
        Takes ln of the thickness over that at reference, shape (n,); the yield stress grows
        as the consistency does (judgement).
    """
    start, consistency, index = (float(figure) for figure in curve.figures)

    def tables(thickness: NDArray[np.float64]) -> FlowTable:
        times = np.exp(thickness)[:, np.newaxis]
        thicker = FlowCurve(
            yield_stress=start * times, consistency=consistency * times, index=index
        )
        return path_table(path, thicker, density)

    return tables
