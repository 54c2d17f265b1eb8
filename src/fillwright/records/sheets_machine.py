"""What the machine card needs: the settings that worked, product by product."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from fillwright.records.entities import Machine
from fillwright.records.sheets import FactLine

__all__ = ["MachineCardSheet", "WorkedLine"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedLine:
    """How one product last ran on the machine.

    Parameters
    ----------
    product, container : str
        What was filled into what.
    cylinder_ml, nozzle_mm : Decimal
        What was fitted.
    setting_marks : Decimal
        Where the trim ended.
    aim_g : Decimal
        What the setting gave, net.
    slope_g_per_mark : float
        What one mark of the volume scale is worth.
    readings : tuple of FactLine
        Air, strokes, product: as they were read when it was set up.
    proved : str
        What was proved, in words; empty where nothing was.
    job : str
        Number of the job.
    at : datetime
        When it was trimmed in.
    """

    product: str
    container: str
    cylinder_ml: Decimal
    nozzle_mm: Decimal
    setting_marks: Decimal
    aim_g: Decimal
    slope_g_per_mark: float
    readings: tuple[FactLine, ...]
    proved: str
    job: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineCardSheet:
    """The card that hangs on a machine.

    Parameters
    ----------
    machine : Machine
        As it was last described.
    lines : tuple of WorkedLine
        By product, the latest of each.
    made_at, zone, program
        As on the batch record.
    is_invented : bool
        Whether any of it is of the demo.
    changed : str
        What last happened to the machine, in words; empty where nothing was kept.
    changed_at : datetime or None
        When; a line from before it is a guess.
    """

    machine: Machine
    lines: tuple[WorkedLine, ...]
    made_at: datetime
    zone: str
    program: str
    is_invented: bool = False
    changed: str = ""
    changed_at: datetime | None = None
