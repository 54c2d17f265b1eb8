"""The machine card: for each product the settings that last worked on one machine."""

from __future__ import annotations

from datetime import datetime

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.machines.change import last_change
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts
from fillwright.records.fold import JobState
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_machine import MachineCardSheet, WorkedLine

__all__ = ["machine_card"]

_READ = (("Air", "air"), ("Ten strokes", "strokes"), ("Product", "product"))


def machine_card(desk: Desk, name: str) -> MachineCardSheet:
    """Return the card of a machine.

    Raises
    ------
    BadInput
        If no machine of this name is kept, or nothing was trimmed in on it yet.
    """
    machine = desk.book.site().machines.get(name)
    if machine is None:
        message = f"There is no machine {name[:60]!r}. Open a job on it first."
        raise BadInput(message, field="machine", given=name[:60], code="choice")
    latest: dict[tuple[object, ...], WorkedLine] = {}
    dates: list[datetime] = []
    invented = False
    for number in desk.book.numbers():
        with desk.book.lock:
            state = find_job(desk, number)
            facts = state.known
            line = _worked(state) if facts.machine.name == name else None
        if line is not None:
            # Jobs come oldest first, so the last of each product stands.
            latest[_what(facts)] = line
            dates.append(line.at)
            invented = invented or facts.is_invented
    if not latest:
        message = f"Nothing has been trimmed in on {name} yet: the card is made by the first job."
        raise BadInput(message, field="machine", given=name, code="missing")
    change = last_change(desk, name)
    return MachineCardSheet(
        machine=machine,
        changed="" if change is None else change.words,
        changed_at=None if change is None else change.at,
        lines=tuple(sorted(latest.values(), key=lambda line: (line.product, line.aim_g))),
        made_at=max(dates),
        zone=desk.clock.zone(),
        program=desk.program,
        is_invented=invented,
    )


def _what(facts: JobFacts) -> tuple[object, ...]:
    """Return what a setting belongs to: another container or cylinder has its own."""
    return (
        facts.product.name,
        facts.container.name,
        facts.nominal,
        facts.unit,
        facts.cylinder.capacity_ml,
        facts.nozzle.outside_mm,
    )


def _worked(state: JobState) -> WorkedLine | None:
    """Return how a job ran; None where it was never trimmed in."""
    facts, trim, proof = state.known, state.trim, state.proof
    if trim is None or trim.verdict == "gave-up" or state.changed_at is None:
        return None
    proved = ""
    if proof is not None and proof.verdict == "proved" and state.proof_plan is not None:
        proved = f"holds ±{plain(state.proof_plan.claim_pct)} %, {proof.shots} shots"
    return WorkedLine(
        product=facts.product.name,
        container=f"{facts.label_words}, {facts.container.name}",
        cylinder_ml=facts.cylinder.capacity_ml,
        nozzle_mm=facts.nozzle.outside_mm,
        setting_marks=trim.setting_marks,
        aim_g=facts.aim_g,
        slope_g_per_mark=trim.slope_g_per_mark,
        readings=tuple(
            FactLine(name=words, words=state.steps[step].reading)
            for words, step in _READ
            if step in state.steps and state.steps[step].reading
        ),
        proved=proved,
        job=state.number,
        at=state.shots[-1].at if state.shots else state.changed_at,
    )
