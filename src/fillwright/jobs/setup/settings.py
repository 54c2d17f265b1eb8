"""The volume scale and the wheel: marks, turns, and where to start from."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import density_at
from fillwright.jobs.trim.history import groups_of, history
from fillwright.jobs.words import in_steps, plain
from fillwright.records.entities import JobFacts, Machine
from fillwright.records.turns import turn_words
from fillwright.records.units import (
    kg_from_g,
    kg_per_m3_from_g_per_ml,
    m3_from_ml,
    ml_from_m3,
)
from fillwright.science.trim import ShotGroup, TrimHistory, TrimPrior, TrimStep, next_setting

__all__ = [
    "MEAN_WITHIN",
    "PROBABILITY",
    "advise",
    "back_marks",
    "groups_of",
    "learnt_play_marks",
    "marks_down",
    "marks_near",
    "mean_within",
    "refuse_setting",
    "slope_g_per_mark",
    "start_marks",
    "turn_between",
]

MEAN_WITHIN: Final = 0.005
"""The mean dose is trimmed to within half a per cent of the aim, or closer."""
PROBABILITY: Final = 0.90
"""How sure the trim is that the mean is as close as that."""
_SHARE_OF_CLAIM: Final = 0.3
_ALPHA: Final = 0.05
_OVER: Final = Decimal("1.01")
_UNSEEN_AIR: Final = 0.6
_TYPED_DENSITY_SD: Final = 0.065
# Judgements, held against simulated trims: the tables of docs/reference/calibration.md.


def advise(
    desk: Desk,
    facts: JobFacts,
    groups: tuple[ShotGroup, ...],
    *,
    air_chance: float | None = None,
    is_air_unseen: bool = False,
    probability: float = PROBABILITY,
) -> TrimStep:
    """Return what science says of the shots so far, and of earlier jobs like this one.

    A mean that is off by more than a third of the claim would use up the claim before the
    scatter does, so the trim aims closer where the claim is narrow. `air_chance` is the
    chance that air is still leaving, where the flush was weighed. Where it was passed unweighed
    (`is_air_unseen`) and no earlier trim tells, air is taken to be likelier than not.
    `probability` is how sure the trim must be.
    """
    past = history(desk, facts)
    if air_chance is None and is_air_unseen and past is None:
        air_chance = _UNSEEN_AIR
    return _advised(facts, groups, past, air_chance, probability)


def learnt_play_marks(facts: JobFacts, step: TrimStep) -> float | None:
    """Return what the play of the wheel is likely to stay under, where it was learnt. [marks]."""
    if not step.lost_motion_learnt:
        return None
    play = max(step.lost_motion, 0.0) + 2.0 * step.lost_motion_sd
    return ml_from_m3(play) / float(facts.cylinder.ml_per_mark)


def back_marks(facts: JobFacts, learnt_marks: float | None) -> Decimal:
    """Return how far below a setting to go first: past the play, learnt or taken twice."""
    machine = facts.machine
    if learnt_marks is None:
        return 2 * machine.lost_motion_marks
    return max(in_steps(learnt_marks, machine.step_marks, ROUND_CEILING), machine.step_marks)


def mean_within(facts: JobFacts) -> float:
    """Return how close to the aim the mean dose is trimmed, as a share of the aim."""
    return min(MEAN_WITHIN, _SHARE_OF_CLAIM * float(facts.claim_pct) / 100)


def refuse_setting(machine: Machine, marks: Decimal, *, is_locked: bool, next_is: str) -> None:
    """Refuse a turn of the wheel that is not on the scale, or left unlocked.

    Raises
    ------
    BadInput
        If the setting is not on the scale, or the wheel is not locked before what `next_is`
        names.
    """
    top = machine.last_mark
    if not 0 < marks <= top:
        message = (
            f"The scale on the machine runs to {plain(top)}; {marks} is not on it. Read the "
            "pointer and type it again."
        )
        raise BadInput(message, field="setting", given=str(marks), allowed=f"to {top}")
    if not is_locked:
        message = f"Lock the wheel before the next {next_is}: a loose lock lets the dose creep."
        raise BadInput(message, field="locked", given="no", allowed="yes", code="missing")


def start_marks(desk: Desk, facts: JobFacts) -> Decimal:
    """Return the starting setting: below the aim, so that the first shot cannot overfill."""
    return _start_of(facts, history(desk, facts))


def marks_down(facts: JobFacts, setting: float) -> Decimal:
    """Return a setting in marks, rounded down to half a tick: always from below."""
    return _in_ticks(facts, setting, ROUND_FLOOR)


def marks_near(facts: JobFacts, setting: float) -> Decimal:
    """Return a setting in marks, rounded to the nearest half tick."""
    return _in_ticks(facts, setting, ROUND_HALF_UP)


def slope_g_per_mark(facts: JobFacts) -> float:
    """Return what one mark of the volume scale adds to a dose, from the density."""
    density = float(density_at(facts.product, facts.product.product_c))
    return density * float(facts.cylinder.ml_per_mark)


def turn_between(machine: Machine, from_marks: Decimal | None, to_marks: Decimal) -> str:
    """Return how far and which way to turn the wheel, in words."""
    if from_marks is None:
        return ""
    change = to_marks - from_marks
    if change == 0:
        return "no turn"
    clockwise = machine.clockwise_raises == (change > 0)
    way = "clockwise" if clockwise else "anticlockwise"
    words = turn_words(float(change / machine.marks_per_turn))
    return f"{words}, {way} ({plain(abs(change))} marks)"


def _in_ticks(facts: JobFacts, setting: float, rounding: str) -> Decimal:
    """Return a setting in marks on half ticks, inside the scale."""
    marks = ml_from_m3(setting) / float(facts.cylinder.ml_per_mark)
    ticks = in_steps(marks, facts.machine.step_marks / 2, rounding)
    if ticks <= 0:
        message = "The dose is below the first mark of this cylinder: fit a smaller one."
        raise BadInput(message, field="cylinder", given=str(facts.cylinder.capacity_ml))
    return min(ticks, facts.machine.last_mark)


@lru_cache(maxsize=128)
def _start_of(facts: JobFacts, past: TrimHistory | None) -> Decimal:
    """Return the starting setting; every page of a job asks for it until the trim is done."""
    return marks_down(facts, _advised(facts, (), past, None, PROBABILITY).setting)


def _advised(
    facts: JobFacts,
    groups: tuple[ShotGroup, ...],
    past: TrimHistory | None,
    air_chance: float | None,
    probability: float,
) -> TrimStep:
    """Ask science for the next setting."""
    density = density_at(facts.product, facts.product.product_c)
    machine = facts.machine
    return next_setting(
        groups,
        target=kg_from_g(facts.aim_g),
        upper_limit=kg_from_g(facts.aim_g * _OVER),
        within=mean_within(facts),
        probability=probability,
        alpha=_ALPHA,
        cylinder=m3_from_ml(machine.last_mark * facts.cylinder.ml_per_mark),
        density=kg_per_m3_from_g_per_ml(density),
        readability=kg_from_g(facts.scale.readability_g),
        hand_wheel_sd=m3_from_ml(
            machine.wheel_sd_pct_of_cylinder * facts.cylinder.capacity_ml / 100
        ),
        lost_motion=m3_from_ml(machine.lost_motion_marks * facts.cylinder.ml_per_mark),
        # A density that was not weighed of this batch may be several per cent off.
        prior=TrimPrior(
            air_chance=air_chance,
            slope_sd=_TYPED_DENSITY_SD if past is None and facts.product.weighed is None else None,
        ),
        history=past,
    )
