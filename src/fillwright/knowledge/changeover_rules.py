"""Read the times of changing over that come with the program."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

__all__ = ["ChangeoverTimes", "shipped_rules"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeoverTimes:
    """Times of changing over, as the file holds them.

    Attributes
    ----------
    base_min : float
        Minutes of every changeover. [min]
    tables : mapping of str to mapping
        For each attribute, minutes by ``"from->to"``. [min]
    default : mapping of str to float
        Minutes of a change that no table names. [min]
    """

    base_min: float
    tables: Mapping[str, Mapping[str, float]]
    default: Mapping[str, float]


@cache
def shipped_rules() -> ChangeoverTimes:
    """Return the times that come with the program.

    Returns
    -------
    ChangeoverTimes
        Read once.
    """
    file = files("fillwright.knowledge") / "data" / "changeover.toml"
    rows = tomllib.loads(file.read_text("utf-8"))["changeover"]
    return ChangeoverTimes(
        base_min=float(rows["base_minutes"]), tables=rows["tables"], default=rows["default"]
    )
