"""A weight on its way in: what the scale showed, with the id made at its source."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from fillwright.records.entries import Source

__all__ = ["Capture"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Capture:
    """One weight as it arrives, whatever the way in.

    Parameters
    ----------
    weighing_id : str
        Made where the weight came from (UUID version 7), so that a retry never counts twice.
    value : Decimal
        Exactly what the scale showed.
    unit : str
        The unit it was shown in.
    basis : str or None
        ``"gross"`` or ``"net"``; None takes the job's own way.
    container : int or None
        Number of the container, where the sender knows it.
    filled_to : int or None
        Last container filled by now, where it is not this one.
    set_aside : str
        Reason, when the weight is spoilt.
    source : str
        Where it came from.
    tare_g : Decimal or None
        This container empty, where it was weighed itself; None takes the job's average.
    """

    weighing_id: str
    value: Decimal
    unit: str = "g"
    basis: Literal["gross", "net"] | None = None
    container: int | None = None
    filled_to: int | None = None
    set_aside: str = ""
    source: Source = "typed"
    tare_g: Decimal | None = None
