"""Pressure lost in the wet path: pipes, bends, valve and nozzle, for any flow curve.

A path is a row of pieces that one flow passes. Laminar losses follow the flow curve; above
that the friction blends into turbulence without a jump, so that each pressure has one flow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput
from fillwright.science.flow_curve import FlowCurve, wall_stress
from fillwright.science.friction import LAMINAR_TO, friction_factor, kinetic_factor
from fillwright.science.given import not_negative
from fillwright.science.given_many import all_above_zero, all_from_zero

__all__ = ["PathLoss", "Piece", "ThreeK", "TwoK", "pressure_loss", "regime", "start_pressure"]

STEEL_ROUGHNESS: Final = 1.5e-6
_INCH: Final = 0.0254
_TURBULENT_FROM: Final = 4200.0
_EXACT_TO: Final = 1500.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreeK:
    """A bend or valve by three constants, K = k1/Re + ki·(1 + kd/d^0.3), d in inches.

    Silverberg and Darby, Chemical Engineering 106 (7), 101 (1999), from memory.

    Parameters
    ----------
    k1, ki : float
        Constants of slow and of fast flow. [1]
    kd : float
        Constant of the bore. [in^0.3]
    """

    k1: float
    ki: float
    kd: float

    def fast(self, bore: ArrayLike) -> NDArray[np.float64]:
        """Return the part of K that does not depend on the Reynolds number, at a bore [m]."""
        inches = np.asarray(bore, dtype=np.float64) / _INCH
        return np.asarray(self.ki * (1.0 + self.kd / inches**0.3))


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoK:
    """A bend or valve by two constants, K = k1/Re + k_inf·(1 + 1/d), d in inches.

    Hooper, Chemical Engineering 88 (17), 96 (1981), from memory; below a bore of an inch its
    last part is outside the data, where three constants do better.

    Parameters
    ----------
    k1, k_inf : float
        Constants of slow and of fast flow. [1]
    """

    k1: float
    k_inf: float

    def fast(self, bore: ArrayLike) -> NDArray[np.float64]:
        """Return the part of K that does not depend on the Reynolds number, at a bore [m]."""
        inches = np.asarray(bore, dtype=np.float64) / _INCH
        return np.asarray(self.k_inf * (1.0 + 1.0 / inches))


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece of the wet path.

    Parameters
    ----------
    bore : float or ndarray
        Inside diameter. [m]
    length : float
        Length along the flow. [m]
    roughness : float
        Height of the roughness of its wall. [m]
    k : float or ndarray
        Further losses, in velocity heads of its own bore. [1]
    fittings : tuple of ThreeK or TwoK
        Bends and valves of its own bore.

    Raises
    ------
    BadInput
        If a figure is not finite, a bore is not above zero, or another is negative.
    """

    bore: ArrayLike
    length: float
    roughness: float = STEEL_ROUGHNESS
    k: ArrayLike = 0.0
    fittings: tuple[ThreeK | TwoK, ...] = ()

    def __post_init__(self) -> None:
        all_above_zero(self.bore, "bore_m")
        not_negative(self.length, "length_m")
        not_negative(self.roughness, "roughness_m")
        all_from_zero(self.k, "k")
        if self.roughness * 10.0 > float(np.min(np.asarray(self.bore))):
            message = (
                f"roughness_m is {self.roughness:g}, a tenth of the bore or more; give the "
                "height of the roughness in metres, such as 1.5e-6 for polished steel."
            )
            raise BadInput(message, field="roughness_m", given=self.roughness)


@dataclass(frozen=True, slots=True, kw_only=True)
class PathLoss:
    """What a flow loses in a path.

    Attributes
    ----------
    total : ndarray
        Pressure lost in the whole path. [Pa]
    by_piece : ndarray, shape (pieces, ...)
        Pressure lost in each piece; the kinetic energy that leaves is in the last. [Pa]
    reynolds : ndarray, shape (pieces, ...)
        Reynolds number after Metzner and Reed. [1]
    wall_stress : ndarray, shape (pieces, ...)
        Stress at the wall, as laminar flow would have it. [Pa]
    """

    total: NDArray[np.float64]
    by_piece: NDArray[np.float64]
    reynolds: NDArray[np.float64]
    wall_stress: NDArray[np.float64]


def pressure_loss(
    path: tuple[Piece, ...],
    flow: ArrayLike,
    curve: FlowCurve,
    density: ArrayLike,
    *,
    leaves: bool = True,
) -> PathLoss:
    """Return the pressure that a flow loses in a path.

    Parameters
    ----------
    path : tuple of Piece
        In the order of the flow; changes of bore between them stand in their `k`.
    flow : float or ndarray
        Flow, zero or above. [m³/s]
    curve : FlowCurve
        The product; its figures broadcast against `flow`.
    density : float or ndarray
        Density of the product. [kg/m³]
    leaves : bool
        Whether the kinetic energy of the last piece is lost too.

    Returns
    -------
    PathLoss
        At no flow, what must be passed before anything moves.

    Raises
    ------
    BadInput
        If the path is empty, or a figure is not finite or negative.

    Notes
    -----
    Reynolds number: Metzner and Reed, AIChE Journal 1, 434 (1955), from memory. What a
    fitting loses in slow flow, K1/Re velocity heads, is K1/16 of the wall stress, which holds
    down to rest.
    """
    if not path:
        message = "path is empty; give at least one piece with bore_m and length_m."
        raise BadInput(message, field="path", given=[], allowed="one piece or more")
    passing = all_from_zero(flow, "flow_m3_s")
    heavy = all_above_zero(density, "density_kg_m3")
    shape = np.broadcast_shapes(
        passing.shape,
        heavy.shape,
        *(one.shape for one in curve.figures),
        *(np.shape(piece.bore) for piece in path),
        *(np.shape(piece.k) for piece in path),
    )
    last = len(path) - 1
    found = [
        _piece_loss(piece, passing, curve, heavy, leaves=leaves and place == last)
        for place, piece in enumerate(path)
    ]
    by_piece, reynolds, walls = (
        np.stack([np.broadcast_to(one, shape) for one in figures])
        for figures in zip(*found, strict=True)
    )
    return PathLoss(
        total=np.asarray(by_piece.sum(axis=0)),
        by_piece=by_piece,
        reynolds=reynolds,
        wall_stress=walls,
    )


def start_pressure(path: tuple[Piece, ...], curve: FlowCurve) -> NDArray[np.float64]:
    """Return the pressure that must be passed before anything moves.

    Parameters
    ----------
    path : tuple of Piece
        In the order of the flow.
    curve : FlowCurve
        The product.

    Returns
    -------
    ndarray
        Zero for a product without a yield stress. [Pa]
    """
    return pressure_loss(path, 0.0, curve, 1000.0).total


def regime(reynolds: ArrayLike) -> NDArray[np.str_]:
    """Return how a flow runs: laminar, transition or turbulent.

    Parameters
    ----------
    reynolds : float or ndarray
        Reynolds number after Metzner and Reed. [1]

    Returns
    -------
    ndarray of str
        Laminar below 2100, turbulent above 4200.
    """
    number = np.asarray(reynolds, dtype=np.float64)
    return np.where(
        number < LAMINAR_TO,
        "laminar",
        np.where(number > _TURBULENT_FROM, "turbulent", "transition"),
    )


def _piece_loss(
    piece: Piece,
    flow: NDArray[np.float64],
    curve: FlowCurve,
    density: NDArray[np.float64],
    *,
    leaves: bool,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return loss [Pa], Reynolds number [1] and laminar wall stress [Pa] of one piece."""
    bore = np.asarray(piece.bore, dtype=np.float64)
    velocity = flow * (4.0 / (np.pi * bore**2))
    wall = wall_stress(curve, velocity * (8.0 / bore))
    head = density / 2.0 * velocity**2
    shape = np.broadcast_shapes(head.shape, wall.shape)
    reynolds = np.divide(16.0 * head, wall, out=np.zeros(shape), where=wall > 0.0)
    # Laminar flow of any product, and a Newtonian one below where its formula is exact.
    exact = np.where(curve.is_newtonian, _EXACT_TO, LAMINAR_TO)
    loss = np.array(4.0 * np.broadcast_to(wall, shape))
    beyond = reynolds >= exact
    if np.any(beyond):
        loss[beyond] = _fast_stress(curve, beyond, reynolds, head, piece.roughness / bore)
    loss *= piece.length / bore
    if piece.fittings or np.any(np.asarray(piece.k)):
        fast = np.asarray(piece.k, dtype=np.float64) + sum(
            one.fast(bore) for one in piece.fittings
        )
        slow = sum(one.k1 for one in piece.fittings) / 16.0
        loss = loss + fast * head + slow * wall
    if leaves:
        loss = loss + kinetic_factor(curve, reynolds) * head
    return loss, reynolds, wall


def _fast_stress(
    curve: FlowCurve,
    fast: NDArray[np.bool_],
    reynolds: NDArray[np.float64],
    head: NDArray[np.float64],
    roughness: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return four times the wall stress of those cases alone that are not laminar. [Pa]."""

    def of(figure: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.broadcast_to(figure, fast.shape)[fast])

    start, consistency, index = (of(one) for one in curve.figures)
    quick = FlowCurve(yield_stress=start, consistency=consistency, index=index)
    return np.asarray(4.0 * friction_factor(quick, of(reynolds), of(roughness)) * of(head))
