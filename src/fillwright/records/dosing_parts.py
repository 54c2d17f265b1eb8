"""What a dose passes through, without what only describes it.

Measuring a bore or drawing up the wet path of a machine changes no dose, so it makes nothing
doubtful that was trimmed or proved.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from fillwright.records.entities import Cylinder, JobFacts, Machine, Nozzle

__all__ = ["dosing_parts"]


def dosing_parts(facts: JobFacts) -> tuple[Cylinder, Nozzle, Machine]:
    """Return cylinder, nozzle and machine of a job as far as they set the dose.

    Parameters
    ----------
    facts : JobFacts
        The job.
    """
    machine = facts.machine
    return (
        replace(facts.cylinder, bore_mm=None),
        replace(facts.nozzle, length_mm=None),
        replace(
            machine,
            cylinders=tuple(replace(one, bore_mm=None) for one in machine.cylinders),
            nozzles=tuple(replace(one, length_mm=None) for one in machine.nozzles),
            air=None,
            suction=(),
            outward=(),
            hoppers=(),
            valves=(),
            plate=None,
            rise_mm=Decimal(0),
            is_invented=False,
        ),
    )
