"""What a simulated filler carries on from cycle to cycle, and what its faults have made of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from fillwright.science.twin_faults import Effect, FaultKind

__all__ = ["State", "Wear"]


@dataclass(slots=True)
class State:
    """What one cycle leaves to the next.

    Attributes
    ----------
    count : int
        Cycles so far.
    faulty_from : int
        Cycle from which its faults act.
    walk : float
        Warmth of the product over that at reference, by chance. [K]
    crept : float
        How far the wheel has crept. [m]
    drawn : float
        What was drawn from the hopper since it was full. [m]
    bubbles : float
        Gas gathered in the wet end, as a share of a dose. [1]
    hanging : float
        What hangs at the nozzle. [kg]
    """

    count: int = 0
    faulty_from: int = 0
    walk: float = 0.0
    crept: float = 0.0
    drawn: float = 0.0
    bubbles: float = 0.0
    hanging: float = 0.0


@dataclass(slots=True)
class Wear:
    """The machine as its faults have made it.

    Attributes
    ----------
    effects : tuple of Effect
        Its faults with what they do.
    figure : dict of FaultKind to float
        Each part's own figure. [its unit]
    share : dict of FaultKind to float
        Each effect on the dose. [1]
    """

    effects: tuple[Effect, ...] = ()
    figure: dict[FaultKind, float] = field(default_factory=dict)
    share: dict[FaultKind, float] = field(default_factory=dict)
