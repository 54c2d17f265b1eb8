"""The steps of setting a machine up, in order, with the cautions that each one needs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.jobs.act import CAUTIONS, Caution, Expects
from fillwright.jobs.desk import Desk
from fillwright.jobs.match.stage import cautions_of
from fillwright.jobs.setup.rig import read_now_c, rig_of
from fillwright.jobs.setup.settings import back_marks, start_marks
from fillwright.jobs.setup.stroke_plan import plan_swept, turns_open
from fillwright.jobs.words import plain
from fillwright.records.fold import JobState

__all__ = ["AIR_OUT", "STROKES_STEP", "Step", "key_now", "keys_of", "steps_of"]

AIR_OUT: Final = "air-out"
"""The step that weighs the first shots until they show no sign of air."""
STROKES_STEP: Final = "strokes"
"""The step that times the strokes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of setting up."""

    key: str
    order: str
    why: str
    main: str
    expects: Expects = Expects.CONFIRM
    unit: str = ""
    value: str = ""
    hands: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()


def steps_of(desk: Desk, state: JobState) -> tuple[Step, ...]:
    """Return the steps of setting up this job, in order."""
    facts = state.known
    every = cautions_of(facts)
    start = start_marks(desk, facts)
    below = plain(max(start - back_marks(facts, None), facts.machine.step_marks))
    low = plain(facts.machine.air_min_bar_g)
    check = plain(facts.scale.check_weight_g)
    before = [
        Step(
            key="wet-end",
            order="Build the wet end.",
            why="Parts as taken in Match. The machine's manual goes before this page.",
            main="Built",
            hands=(
                f"Fit the {plain(facts.cylinder.capacity_ml)} mL cylinder and its piston.",
                f"Fit the {plain(facts.nozzle.outside_mm)} mm nozzle.",
                "Every seal in its place, every clamp tight.",
            ),
            cautions=(CAUTIONS["air"], CAUTIONS["ports"], *every),
        ),
        Step(
            key="setting",
            order=f"Turn the wheel to {plain(start)}.",
            why="Below the aim, so that the first shot cannot overfill.",
            main=f"Set to {plain(start)} and locked",
            expects=Expects.SETTING,
            value=plain(start),
            hands=(
                "Release the wheel lock.",
                f"Stands it above {below}? Go down past that first.",
                f"Come up to {plain(start)} from below.",
                "Lock the wheel. A loose lock lets the dose creep.",
            ),
        ),
        Step(
            key="air",
            order=f"Air on: {low} bar or more at the gauge.",
            why="Read it while the machine is still. Its plate goes before this page.",
            main="Keep",
            expects=Expects.READING,
            unit="bar",
            cautions=(CAUTIONS["pinch"], *every),
        ),
        Step(
            key="nozzle",
            order="Nozzle 5 mm above the lip.",
            why="Higher splashes, lower wets the neck.",
            main="5 mm",
            hands=("Hold the 5 mm bar beside the lip.",),
        ),
        Step(
            key="scale",
            order=f"Weighing scale level and zeroed. Weigh the {check} g check weight.",
            why="A wrong scale makes every jar wrong.",
            main="Keep",
            expects=Expects.READING,
            unit="g",
        ),
    ]
    empties = [
        Step(
            key="empties",
            order=f"Weigh ten empty {facts.container.word}s.",
            why="Their average is taken off every weight.",
            main="Keep",
            expects=Expects.WEIGHT,
            unit="g",
        ),
    ]
    after = [
        Step(
            key="product",
            order="Product in the hopper. Take its temperature.",
            why=f"The job expects {plain(facts.product.product_c)} °C.",
            main="Keep",
            expects=Expects.READING,
            unit="°C",
            value=plain(facts.product.product_c),
            cautions=(CAUTIONS["refill"], *every),
        ),
        Step(
            key=STROKES_STEP,
            order="Time ten strokes by the watch.",
            why="Fill and recharge together. Slow recharge fills the cylinder whole.",
            main="Keep",
            expects=Expects.READING,
            unit="s",
            hands=(
                "A bucket under the nozzle.",
                "Recharge valve: open it until the piston just follows without a pause.",
                "Fill valve: as fast as fills without a splash.",
            ),
            cautions=(CAUTIONS["pinch"], *every),
        ),
        Step(
            key="flush",
            order="Flush until no air spits.",
            why="Air in the line is a light shot. These shots are never used.",
            main="No air spits",
            hands=("A bucket under the nozzle.", "Six shots at least."),
            cautions=every,
        ),
        Step(
            key=AIR_OUT,
            order=f"Weigh the first {facts.container.word}s until the air is out.",
            why="The first weights say when the air is out. These shots are never used.",
            main="Keep",
            expects=Expects.WEIGHT,
            unit="g",
            hands=(
                "Leave the wheel and both speeds alone.",
                "Weigh every one, the light ones too.",
                "Back to the hopper or to waste: aerated product fills light.",
            ),
            cautions=every,
        ),
    ]
    if STROKES_STEP not in state.steps:
        after[1] = _timed(desk, state, after[1], state.setting_marks or start)
    if _is_past_it(state):
        after.pop()
    return (*before, *(empties if facts.tare_way == "mean" else []), *after)


def keys_of(state: JobState) -> tuple[str, ...]:
    """Return the keys of the steps in order, without working out what each of them says."""
    empties = ("empties",) if state.known.tare_way == "mean" else ()
    air_out = () if _is_past_it(state) else (AIR_OUT,)
    before = ("wet-end", "setting", "air", "nozzle", "scale")
    return (*before, *empties, "product", STROKES_STEP, "flush", *air_out)


def key_now(state: JobState) -> str | None:
    """Return the key of the step in hand; None where the machine is set up."""
    return next((key for key in keys_of(state) if key not in state.steps), None)


def _timed(desk: Desk, state: JobState, step: Step, marks: Decimal) -> Step:
    """Return the step that times the strokes with what to aim for, where that can be said."""
    rig = rig_of(desk, state)
    if rig is None:
        return step
    plan = plan_swept(rig, state.known.cylinder, marks, read_now_c(state))
    if plan.stalls or not plan.feeds:
        return step
    return replace(
        step,
        order=f"Time ten strokes: aim {plan.ten_s:.0f} s.",
        why=f"Fill, recharge and valve together, with the wheel at {plain(marks)}. What the watch "
        "says corrects the rest.",
        value=f"{plan.ten_s:.0f}",
        hands=(
            "A bucket under the nozzle.",
            f"Recharge control {turns_open(plan.recharge_turns)}: {plan.recharge_s:.1f} s.",
            f"Fill control {turns_open(plan.fill_turns)}: {plan.fill_s:.1f} s.",
            "A splash, or a piston that does not follow: close that control a little.",
        ),
    )


def _is_past_it(state: JobState) -> bool:
    """Return True when the trim began before the first shots were weighed: then it is late."""
    began = state.shots or state.trim or state.proof_plan or state.run
    return AIR_OUT not in state.steps and not state.purges and bool(began)
