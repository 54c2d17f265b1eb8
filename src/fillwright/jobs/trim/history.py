"""What the earlier jobs of the same machine, cylinder and product teach the trim."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import density_at
from fillwright.jobs.machines.change import last_change
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts
from fillwright.records.fold import JobState
from fillwright.records.units import kg_from_g, kg_per_m3_from_g_per_ml, m3_from_ml
from fillwright.science.trim import PastTrim, ShotGroup, TrimHistory, history_of

__all__ = ["groups_of", "history", "start_words"]

_LOOKED: Final = 40
"""So many jobs back are looked through; older trims say little of the machine today."""
_MOST: Final = 12


def groups_of(state: JobState) -> tuple[ShotGroup, ...]:
    """Return the shots of the present trim as stays at a setting, come to from one side."""
    groups: list[ShotGroup] = []
    last: tuple[Decimal, bool] | None = None
    per_mark = state.known.cylinder.ml_per_mark
    for shot in state.shots:
        marks = shot.fact.setting_marks
        if not shot.counts or marks is None:
            continue
        weight = kg_from_g(shot.fact.net_g)
        above = shot.id in state.shots_from_above
        if groups and (marks, above) == last:
            groups[-1] = replace(groups[-1], readings=(*groups[-1].readings, weight))
        else:
            place = m3_from_ml(marks * per_mark)
            groups.append(ShotGroup(setting=place, readings=(weight,), from_above=above))
        last = (marks, above)
    return tuple(groups)


def history(desk: Desk, facts: JobFacts) -> TrimHistory | None:
    """Return what the last trims of this machine, cylinder and product teach.

    Parameters
    ----------
    desk : Desk
        Where the jobs are.
    facts : JobFacts
        The job to be trimmed; it teaches itself nothing.

    Returns
    -------
    TrimHistory or None
        None where no earlier job of the same three was trimmed since the machine was changed.
    """
    past: list[PastTrim] = []
    change = last_change(desk, facts.machine.name)
    for number in desk.book.numbers()[: -_LOOKED - 1 : -1]:
        state = None if number == facts.number else desk.book.job(number)
        if state is None or state.trim is None or not _is_alike(state.known, facts):
            continue
        if change is not None and _trimmed_at(state) <= change.at:
            # Jobs come latest first: what is older than a repair teaches nothing of today.
            break
        past.append(_past(state))
        if len(past) == _MOST:
            break
    return _taught(tuple(past))


def start_words(desk: Desk, facts: JobFacts) -> str:
    """Return what the start of a repeat job rests on, or that it is a guess again; may be empty.

    Parameters
    ----------
    desk : Desk
        Where the jobs are.
    facts : JobFacts
        The job to be trimmed.

    Returns
    -------
    str
        One or two sentences.
    """
    change = last_change(desk, facts.machine.name)
    for number in desk.book.numbers()[: -_LOOKED - 1 : -1]:
        state = None if number == facts.number else desk.book.job(number)
        if state is None or state.trim is None or not _is_alike(state.known, facts):
            continue
        ended = f"Job {number} ended at {plain(state.trim.setting_marks)}"
        if change is not None and _trimmed_at(state) <= change.at:
            return f"A guess again: {change.words} {ended} before that."
        return f"{ended}, aim {plain(state.known.aim_g)} g: the start is worked out from it."
    return "" if change is None else f"A guess: {change.words}"


def _is_alike(one: JobFacts, other: JobFacts) -> bool:
    """Tell whether two jobs ran the same product on the same machine and cylinder."""
    return (
        one.machine.name == other.machine.name
        and one.cylinder == other.cylinder
        and one.product.name == other.product.name
    )


def _trimmed_at(state: JobState) -> datetime:
    """Return when a job was trimmed in."""
    times = [shot.at for shot in state.shots]
    return max(times) if times else state.changed_at or datetime.min.replace(tzinfo=UTC)


def _past(state: JobState) -> PastTrim:
    """Return a job's trim in the units of science."""
    facts = state.known
    machine, per_mark = facts.machine, facts.cylinder.ml_per_mark
    wheel_ml = machine.wheel_sd_pct_of_cylinder * facts.cylinder.capacity_ml / 100
    return PastTrim(
        shots=groups_of(state),
        target=kg_from_g(facts.aim_g),
        cylinder=m3_from_ml(machine.last_mark * per_mark),
        density=kg_per_m3_from_g_per_ml(density_at(facts.product, facts.product.product_c)),
        readability=kg_from_g(facts.scale.readability_g),
        hand_wheel_sd=m3_from_ml(wheel_ml),
        lost_motion=m3_from_ml(machine.lost_motion_marks * per_mark),
    )


@lru_cache(maxsize=64)
def _taught(past: tuple[PastTrim, ...]) -> TrimHistory | None:
    """Return what past trims teach; every shot asks for it, and they rarely change."""
    return history_of(past)
