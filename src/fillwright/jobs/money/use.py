"""What a job used, from its journal: product, containers, minutes by stage, air, cleaner.

A gap between two entries is the time of the stage that the later one belongs to; one longer
than an hour is left out as time away, and said.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal, InvalidOperation
from typing import Final

import numpy as np

from fillwright.jobs.desk import Desk
from fillwright.jobs.held.use import HeldUse, held_use
from fillwright.jobs.limits import limits_of
from fillwright.jobs.match.stage import dose_ml
from fillwright.jobs.release.lot import sample_of
from fillwright.records.book import stream_of
from fillwright.records.entities import JobFacts
from fillwright.records.entries import Entry, LossesNoted, SettingMoved, StepDone, WeighingTaken
from fillwright.records.fold import JobState
from fillwright.records.heldbook import OUT_OF_LOT
from fillwright.records.spans import Span, count, minus
from fillwright.records.units import kg_from_g, m3_from_ml, m_from_mm, pa_from_bar
from fillwright.science.air import AMBIENT
from fillwright.science.air_use import free_air

__all__ = ["AWAY", "STAGES", "JobUse", "minutes_of", "use_of"]

AWAY: Final = timedelta(hours=1)
"""A longer gap between two entries is not counted as work; our own choice."""
STAGES: Final = ("match", "setup", "trim", "prove", "run", "release", "strip", "fault")
_WEIGHED_IN: Final = {
    "tare": "setup",
    "purge": "setup",
    "recharge": "setup",
    "shot": "trim",
    "proof": "prove",
    "dose": "run",
    "held": "release",
    "sample": "release",
}
_KIND_IN: Final = {
    "match judged": "match",
    "facts changed": "match",
    "tare set": "setup",
    "priming judged": "setup",
    "strokes timed": "setup",
    "recharge timed": "setup",
    "recharge edge judged": "setup",
    "trim judged": "trim",
    "proof planned": "prove",
    "proof judged": "prove",
    "proof check planned": "prove",
    "proof checked": "prove",
    "watch chosen": "run",
    "run started": "run",
    "signal raised": "run",
    "signature seen": "run",
    "hopper level read": "run",
    "containers held": "run",
    "run paused": "run",
    "run finished": "run",
    "adjustment made": "run",
    "containers settled": "release",
    "containers topped up": "release",
    "containers emptied back": "release",
    "containers re-labelled": "release",
    "settling struck out": "release",
    "sample drawn": "release",
    "lot judged": "release",
    "signed": "release",
    "released": "release",
    "strip begun": "strip",
    "strip step ticked": "strip",
}
_FAULT: Final = ("fault", "repair")
_S_PER_MIN: Final = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class JobUse:
    """What a job used and lost; None where nobody put it on record.

    Parameters
    ----------
    number : str
        Number of the job.
    filled, scrapped, going_out : int
        Containers filled, scrapped, and gone or to go out, under whatever label.
    held : HeldUse
        What became of held ones, in product and containers.
    weighed : int
        Containers behind the giveaway.
    label_g : Decimal
        Reading that holds the label quantity.
    giveaway_g : float or None
        Mean net weight of those weighed that go out under that label, above it; negative is
        below.
    purge_kg, trim_kg, hopper_kg : float or None
        Product lost in purging, in trim shots, and in hopper and wet end.
    reject_kg : float
        Product in the scrapped ones, at the aim, and what was left in the emptied ones.
    cleaner_l : float or None
        Cleaner used.
    air_m3 : float or None
        Free air of the air cylinder alone; None where the machine is not described.
    minutes : dict of str to float
        Minutes by stage.
    beside_min : float or None
        Work that the bench did not see.
    away_min : float
        Minutes left out as time away.
    notes : tuple of str
        What was taken for granted, a sentence each.
    """

    number: str
    filled: int
    scrapped: int
    going_out: int
    held: HeldUse
    weighed: int
    label_g: Decimal
    giveaway_g: float | None
    purge_kg: float | None
    trim_kg: float
    hopper_kg: float | None
    reject_kg: float
    cleaner_l: float | None
    air_m3: float | None
    minutes: dict[str, float]
    beside_min: float | None
    away_min: float
    notes: tuple[str, ...]


def use_of(desk: Desk, state: JobState) -> JobUse:
    """Return what a job used.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    state : JobState
        The job.

    Returns
    -------
    JobUse
        Everything that the journal and the site's own notes tell of it.
    """
    facts = state.known
    limits = limits_of(facts, desk.rule_sets)
    losses = desk.book.site().losses.get(state.number, LossesNoted(job=state.number))
    spans = [Span(1, state.filled_to)] if state.filled_to else []
    held = held_use(desk, state)
    out = minus(spans, [*state.held.of(*OUT_OF_LOT), *state.open_spans])
    nets = sample_of(state, extra={})
    going = [
        float(net - limits.label_g)
        for number, net in nets.items()
        if any(span.first <= number <= span.last for span in out)
    ]
    minutes, away_min = minutes_of(desk.journal.entries(stream_of(state.number)))
    purge_kg, said = _purged_kg(state, losses)
    air_m3, strokes = _air_m3(state)
    notes = [
        f"Giveaway is the mean of {len(going)} weighed.",
        said,
        "Trim shots went back." if losses.is_trim_back else "Trim shots are counted as lost.",
        f"A gap of more than an hour is not work: {away_min:.0f} min were left out.",
    ]
    if air_m3 is not None:
        notes.append(f"Free air of {strokes} strokes, the air cylinder alone.")
    return JobUse(
        number=state.number,
        filled=state.filled_to,
        scrapped=held.scrapped,
        going_out=count(out) + held.relabelled,
        held=held,
        weighed=len(going),
        label_g=limits.label_g,
        giveaway_g=float(np.mean(going)) if going else None,
        purge_kg=purge_kg,
        trim_kg=0.0 if losses.is_trim_back else _weighed_kg(state, ("shot", "recharge")),
        hopper_kg=None if losses.hopper_kg is None else float(losses.hopper_kg),
        reject_kg=held.lost_kg,
        cleaner_l=None if losses.cleaner_l is None else float(losses.cleaner_l),
        air_m3=air_m3,
        minutes=minutes,
        beside_min=None if losses.work_min is None else float(losses.work_min),
        away_min=away_min,
        notes=tuple(note for note in notes if note),
    )


def minutes_of(entries: Iterable[Entry]) -> tuple[dict[str, float], float]:
    """Return the minutes of each stage, and those left out as time away."""
    found = dict.fromkeys(STAGES, 0.0)
    away, before, stage = 0.0, None, "match"
    for entry in entries:
        stage = _stage_of(entry) or stage
        gap = timedelta(0) if before is None else entry.at - before
        before = entry.at
        minutes = max(gap.total_seconds(), 0.0) / _S_PER_MIN
        if gap > AWAY:
            away += minutes
        else:
            found[stage] += minutes
    return found, away


def _stage_of(entry: Entry) -> str | None:
    """Return the stage that an entry belongs to; None where it says nothing of it."""
    match entry.payload:
        case WeighingTaken(purpose=purpose):
            return _WEIGHED_IN.get(purpose)
        case StepDone(step=step):
            return "strip" if step == "strip" else "setup"
        case SettingMoved(stage=stage):
            return stage
        case other if other.kind.startswith(_FAULT):
            return "fault"
        case other:
            return _KIND_IN.get(other.kind)


def _purged_kg(state: JobState, losses: LossesNoted) -> tuple[float | None, str]:
    """Return the product that purging lost, and where that is from."""
    if losses.is_purge_back:
        return 0.0, "What was purged went back."
    if losses.flushed_kg is not None:
        return float(losses.flushed_kg), "The purge is what was said after the job."
    if not any(w.fact.purpose == "purge" for w in state.weighings):
        return None, ""
    return _weighed_kg(state, ("purge",)), "The purge is the sum of its weighed shots."


def _weighed_kg(state: JobState, purposes: tuple[str, ...]) -> float:
    """Return the product in all weighings of a purpose; one set aside was filled too."""
    nets = [w.fact.net_g for w in state.weighings if w.fact.purpose in purposes and not w.struck]
    return kg_from_g(sum(nets, Decimal(0)))


def _air_m3(state: JobState) -> tuple[float | None, int]:
    """Return the free air of all strokes on record, and how many they are."""
    facts = state.known
    drive, bore_mm = facts.machine.air, facts.cylinder.bore_mm
    weighed = sum(w.fact.purpose in ("purge", "shot", "recharge") for w in state.weighings)
    strokes = state.filled_to + weighed
    if drive is None or bore_mm is None:
        return None, strokes
    area = math.pi / 4.0 * m_from_mm(bore_mm) ** 2
    one = free_air(
        m_from_mm(drive.bore_mm),
        m_from_mm(drive.rod_mm),
        m3_from_ml(dose_ml(facts)) / area,
        supply=AMBIENT + pa_from_bar(_gauge_bar(state, facts)),
        dead_volume=m3_from_ml(drive.dead_ml),
    )
    return strokes * float(one), strokes


def _gauge_bar(state: JobState, facts: JobFacts) -> Decimal:
    """Return the air pressure that was read in Set up, or the one that the machine is run at."""
    drive, read = facts.machine.air, state.steps.get("air")
    usual = facts.machine.air_min_bar_g if drive is None else drive.usual_bar_g
    try:
        return Decimal(read.reading.split()[0]) if read is not None and read.reading else usual
    except InvalidOperation:
        return usual
