"""What a job has on record of its strokes.

Times, shots at several recharge times, and shots that filled no container.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Final

from fillwright.records.entries import (
    Entry,
    FactsChanged,
    RechargeEdgeJudged,
    RechargeTimed,
    RunFinished,
    StepDone,
    StrokesTimed,
    StruckOut,
    WeighingTaken,
)
from fillwright.records.weighed import Weighed, Weighings

__all__ = ["RECHARGE_TIMES", "RechargeGroup", "StartBook"]

RECHARGE_TIMES: Final = 4
"""Recharge times that are tried; a fifth begins anew."""


@dataclass(slots=True)
class RechargeGroup:
    """Shots weighed at one recharge time."""

    recharge_s: Decimal
    shots: list[Weighed] = field(default_factory=list)

    @property
    def kept(self) -> list[Weighed]:
        """Return the shots that count."""
        return [shot for shot in self.shots if shot.counts]


_TIMED: Final = 10
"""Strokes that Set up asks to be timed."""
_LOOSE: Final = ("purge", "recharge", "shot", "proof")


@dataclass(slots=True)
class StartBook:
    """Times and shots of the start, in journal order; the last judgement stands.

    Parameters
    ----------
    timed, timed_at : StrokesTimed and datetime, or None
        The last times.
    groups : list of RechargeGroup
        Shots by recharge time.
    edge : RechargeEdgeJudged or None
        What they came to.
    loose : list of Weighed
        Shots that filled no container of the lot; they stay whatever is done anew.
    timed_strokes : list of tuple
        How many strokes were timed, and when.
    filled_by : list of tuple
        How far the lot was filled at a moment, where something other than a weight said it.
    """

    timed: StrokesTimed | None = None
    timed_at: datetime | None = None
    groups: list[RechargeGroup] = field(default_factory=list)
    edge: RechargeEdgeJudged | None = None
    loose: list[Weighed] = field(default_factory=list)
    timed_strokes: list[tuple[datetime, int]] = field(default_factory=list)
    filled_by: list[tuple[datetime, int]] = field(default_factory=list)

    def apply(self, entry: Entry, weighings: Weighings) -> None:
        """Take one more entry of the job; its weighing, if it is one, is the last of all."""
        self._count(entry, weighings)
        match entry.payload:
            case StrokesTimed() as timed:
                self.timed, self.timed_at = timed, entry.at
            case RechargeTimed(recharge_s=recharge_s):
                if self.edge is not None or len(self.groups) >= RECHARGE_TIMES:
                    self.groups, self.edge = [], None
                self.groups.append(RechargeGroup(recharge_s))
            case WeighingTaken(purpose="recharge"):
                if self.groups:
                    self.groups[-1].shots.append(weighings[-1])
            case RechargeEdgeJudged() as edge:
                self.edge = edge
            case StruckOut(entry_id=entry_id):
                if any(shot.id == entry_id for group in self.groups for shot in group.shots):
                    self.edge = None
            case FactsChanged(reopens=reopens) if "setup" in reopens or "match" in reopens:
                self.timed, self.timed_at, self.groups, self.edge = None, None, [], None
            case _:
                pass

    def _count(self, entry: Entry, weighings: Weighings) -> None:
        """Take what tells how often the machine has stroked."""
        match entry.payload:
            case WeighingTaken(purpose=purpose, container=None) if purpose in _LOOSE:
                self.loose.append(weighings[-1])
            case WeighingTaken():
                pass
            case StepDone(step="strokes", outcome="done"):
                self.timed_strokes.append((entry.at, _TIMED))
            case RunFinished(filled=filled):
                self.filled_by.append((entry.at, filled))
            case other:
                after = getattr(other, "after_container", None)
                if after is not None:
                    self.filled_by.append((entry.at, after))
