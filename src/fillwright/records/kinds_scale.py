"""Kinds of entry about the line to a weighing scale."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal

__all__ = ["ScaleLineKept"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleLineKept:
    """The line to the bench's weighing scale was set up, or taken away.

    Parameters
    ----------
    port : str
        A serial device, ``socket://host:port``, ``"keys"`` for a scale that types, or empty
        when no scale is joined any more.
    baud_per_s, data_bits, stop_bits : int
        How a serial line is set.
    parity : str
        ``"N"``, ``"E"`` or ``"O"``.
    sends : str
        When it sends: all the time, when its key is pressed, or when it is asked.
    form : str
        The line format as TOML; the reference describes it.
    check_every_min : int
        Minutes after which zero and check weight are asked for again; 0 asks at the start only.
    """

    kind: ClassVar[str] = "scale line kept"
    version: ClassVar[int] = 1
    port: str
    baud_per_s: int = 9600
    data_bits: int = 8
    parity: str = "N"
    stop_bits: int = 1
    sends: Literal["stream", "on-key", "asked"] = "stream"
    form: str = ""
    check_every_min: int = 120
