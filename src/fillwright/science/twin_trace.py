"""What a twin says of its cycles: the truth behind each dose, and the labels of runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fillwright.science.twin_faults import Effect
from fillwright.science.twin_strokes import Conditions

__all__ = ["Cycle", "Plan", "Trace"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """One cycle as it was in truth.

    Attributes
    ----------
    dose : float
        What came out into the container. [kg]
    recharge_time : float
        Recharge by the watch. [s]
    fill_time : float
        Fill by the watch. [s]
    void : float
        What was left empty in the cylinder before the fill. [m³]
    temperature : float
        Of the product, absolute. [K]
    supply : float
        Supply pressure, absolute. [Pa]
    jumps : bool
        True where the piston jumped through a void before it pushed product.
    spits : bool
        True where air came out of the nozzle.
    drips : bool
        True where a drop fell or hung beside the dose.
    stalls : bool
        True where the piston did not reach its stop.
    gas : float
        Share of the dose that was gas. [1]
    leak : float
        Share that leaked back past a seal. [1]
    lacks : float
        Share that a late valve or a drained gooseneck kept back. [1]
    hangs : float
        What hangs at the nozzle after the dose. [kg]
    """

    dose: float
    recharge_time: float
    fill_time: float
    void: float
    temperature: float
    supply: float
    jumps: bool
    spits: bool
    drips: bool
    stalls: bool
    gas: float
    leak: float
    lacks: float
    hangs: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Runs of many machines.

    Attributes
    ----------
    doses : ndarray, shape (machines, cycles)
        What came out. [kg]
    strokes : dict of str to ndarray, shape (machines, cycles)
        Both strokes by ``COLUMNS``. [unit of the column]
    temperature : ndarray, shape (machines, cycles)
        Of the product, absolute. [K]
    gas : ndarray, shape (machines, cycles)
        Share of a dose that was gas. [1]
    leak : ndarray, shape (machines, cycles)
        Share that leaked back. [1]
    effects : tuple of tuple of Effect
        The faults of each machine and what they do to this product.
    """

    doses: NDArray[np.float64]
    strokes: dict[str, NDArray[np.float64]]
    temperature: NDArray[np.float64]
    gas: NDArray[np.float64]
    leak: NDArray[np.float64]
    effects: tuple[tuple[Effect, ...], ...]

    @property
    def labels(self) -> tuple[str, ...]:
        """What each run is called: its faults, or that it is sound."""
        return tuple(
            "; ".join(effect.label for effect in of_one) or "sound" for of_one in self.effects
        )


@dataclass(slots=True)
class Plan:
    """What is known of some cycles before their strokes are.

    Attributes
    ----------
    conditions : Conditions
        What their strokes depend on.
    temperature : ndarray
        Of the product, absolute. [K]
    setting : ndarray
        Stroke that is drawn in truth. [m]
    since : ndarray of int
        Cycles since the faults began to act.
    normal : ndarray
        Normal draws, a row a cycle. [1]
    even : ndarray
        Draws between 0 and 1, a row a cycle. [1]
    """

    conditions: Conditions
    temperature: NDArray[np.float64]
    setting: NDArray[np.float64]
    since: NDArray[np.intp]
    normal: NDArray[np.float64]
    even: NDArray[np.float64]
