"""How often to weigh in a run, from the spread that was proved and from what weighing costs.

The plan is that of the question ``check-plan``; what is asked here is what a person can say.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.opening import change_facts
from fillwright.jobs.why import Fact, Why
from fillwright.jobs.words import plain
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState
from fillwright.science.check_plan import CheckPlan, plan_checks

__all__ = ["Costs", "OftenLook", "look", "weigh_one_in"]

_USUAL_WEIGHING: Final = Decimal("0.2")
_USUAL_BETWEEN: Final = 5000
_SHARE_OF_ROOM: Final = 0.5
_LEAST_SHIFT: Final = 0.5
_MOST_SHIFT: Final = 4.0
# Judgements of ours, all of them; the page says so and lets a person change them.


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What a person says of weighing and of jars at risk.

    Parameters
    ----------
    weighing_containers : Decimal
        A weighing costs as much as so many jars that were filled after a shift.
    between_containers : int
        Such a shift comes once in so many jars.
    most_containers : int or None
        Jars that can be weighed again after an alarm; None for no bound.
    """

    weighing_containers: Decimal = _USUAL_WEIGHING
    between_containers: int = _USUAL_BETWEEN
    most_containers: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OftenLook:
    """What the page shows.

    Parameters
    ----------
    act : Act
        The order of the page.
    every : int
        One in so many is weighed now.
    planned : int or None
        One in so many would do; None where the spread is not known.
    costs : Costs
        What was reckoned with.
    together : str
        Whether several at one check would do better, in a sentence.
    why : Why or None
        The numbers behind it.
    """

    act: Act
    every: int
    planned: int | None
    costs: Costs
    together: str
    why: Why | None


def look(desk: Desk, state: JobState, costs: Costs | None = None) -> OftenLook:
    """Return how often to weigh.

    Raises
    ------
    BadInput
        If weighing every jar lets more than the bound pass before the shift is found.
    """
    _ = desk
    asked = costs or Costs()
    every = max(state.known.weigh_every, 1)
    spread = _spread_g(state)
    if spread is None:
        return OftenLook(
            act=Act(
                stage=Stage.RUN,
                what="next",
                order="Prove first: its spread says how often to weigh.",
                why=f"Until then one in {every} is weighed, as the job says.",
                main="Back to the run",
            ),
            every=every,
            planned=None,
            costs=asked,
            together="",
            why=None,
        )
    sd_g, source = spread
    room_g = _room_g(state)
    shift = min(max(_SHARE_OF_ROOM * room_g / sd_g, _LEAST_SHIFT), _MOST_SHIFT)
    plan = plan_checks(
        shift,
        containers_between_shifts=float(asked.between_containers),
        cost_of_a_weighing=float(asked.weighing_containers),
        cost_of_a_container_at_risk=1.0,
        most_to_look_at=asked.most_containers,
    )
    planned = min(
        max(plan.containers_between_checks // plan.checked_each_time, 1), state.known.lot_size
    )
    return OftenLook(
        act=_act(state, every, planned, plan),
        every=every,
        planned=planned,
        costs=asked,
        together=_together(plan),
        why=_why(state, plan, shift, sd_g, room_g, source),
    )


def weigh_one_in(desk: Desk, number: str, every: int, press: Press) -> None:
    """Weigh one in so many from now on; the change is kept with its reason.

    Raises
    ------
    BadInput
        If that is below one or above the lot, or the run is finished.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        facts = state.known
        if not 1 <= every <= facts.lot_size:
            message = f"One in {every} cannot be: give 1 to {facts.lot_size}, the lot."
            raise BadInput(message, field="every", given=every, allowed=f"1 to {facts.lot_size}")
        if state.run is not None and state.run.finished is not None:
            message = "The run is finished: what was weighed stays as it is."
            raise BadInput(message, field="every", given=every, code="inconsistent")
        reason = f"One in {every} is weighed from now on, one in {facts.weigh_every} before."
        change_facts(desk, number, replace(facts, weigh_every=every), reason, press)


def _spread_g(state: JobState) -> tuple[float, str] | None:
    """Return the spread of a dose, and where it is from; None where nothing tells."""
    if state.proof is not None and state.proof.dose_sd_g > 0:
        return state.proof.dose_sd_g, "proved in this job"
    started = state.run.started if state.run is not None else None
    if started is not None and started.sd_g is not None and started.sd_g > 0:
        return started.sd_g, "taken at the start of the run"
    expected = state.known.expected_sd_pct
    if expected is not None and expected > 0:
        return float(state.known.aim_g * expected / 100), "expected, not proved yet"
    return None


def _room_g(state: JobState) -> float:
    """Return what is left between the middle of the doses and the claim."""
    facts = state.known
    room = float(facts.aim_g * facts.claim_pct / 100)
    if state.proof is not None:
        room -= abs(state.proof.mean_g - float(facts.aim_g))
    return max(room, 0.0)


def _act(state: JobState, every: int, planned: int, plan: CheckPlan) -> Act:
    """Return the order of the page."""
    word = state.known.container.word
    late = f"After a shift that matters some {plan.containers_to_alarm:.0f} {word}s are filled "
    why = f"{late}until it is found."
    if plan.is_bounded:
        why += " What can be weighed again sets it."
    if planned == every:
        return Act(
            stage=Stage.RUN,
            what="next",
            order=f"One in {every} is right.",
            why=why,
            main="Back to the run",
        )
    return Act(
        stage=Stage.RUN,
        what="set",
        order=f"Weigh one in {planned}, not one in {every}.",
        why=why,
        main=f"Weigh one in {planned}",
        value=str(planned),
    )


def _together(plan: CheckPlan) -> str:
    """Return whether to weigh several at one check."""
    if plan.checked_each_time == 1:
        return (
            "One at a time: single weights close together find a shift sooner than as many "
            "weighed in groups far apart. Groups of three to five only watch the spread better."
        )
    return (
        f"At this price of a false alarm, {plan.checked_each_time} together every "
        f"{plan.containers_between_checks} would cost a little less; the run asks for single "
        "ones, as many of them."
    )


def _why(
    state: JobState, plan: CheckPlan, shift: float, sd_g: float, room_g: float, source: str
) -> Why:
    """Return the numbers behind the plan."""
    word = state.known.container.word
    return Why(
        facts=(
            Fact(name="Spread (1 s)", words=f"{sd_g:.3g} g, {source}"),
            Fact(
                name="Left to the claim",
                words=f"{room_g:.3g} g of plus or minus {plain(state.known.claim_pct)} %",
            ),
            Fact(name="Shift that must not go on", words=f"{shift:.1f} spreads, half of that"),
            Fact(
                name="Filled after a shift, on average",
                words=f"{plan.containers_to_alarm:.0f} {word}s",
            ),
        ),
        assumptions=plan.assumptions,
        source=f"{plan.equation}; Duncan 1956, from memory",
    )
