"""What to start a job with: setting, flow controls, stroke times, air, target weight.

Times are those of a watch, from the air-dynamic stroke; timed strokes correct the model.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import LABEL_C, density_at, limits_of
from fillwright.jobs.setup.edge_fit import matters
from fillwright.jobs.setup.rig import Rig, described, read_now_c, rig_of
from fillwright.jobs.setup.stroke_plan import (
    StrokesPlanned,
    plan_of,
    plan_swept,
    seconds,
    turns_open,
)
from fillwright.jobs.why import Fact, Why
from fillwright.jobs.words import in_steps, plain, shown_g
from fillwright.records.entities import Machine
from fillwright.records.fold import JobState
from fillwright.science.stroke_plan import MARGIN

__all__ = ["GAP_MM", "StartLook", "control_facts", "start_look"]

GAP_MM: Final = 5
"""Nozzle above the lip: common practice, no source."""
RESERVE: Final = 1.5
_SOURCE: Final = (
    "air-dynamic strokes with ISO 6358-1:2013 flow controls and Metzner and Reed losses "
    "(from memory)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StartLook:
    """What Set up says of the start.

    Parameters
    ----------
    is_described : bool
        False where the machine's own page has to be filled in first.
    machine : str
        Its name.
    plan : StrokesPlanned or None
        The strokes; None where they cannot be computed.
    facts : tuple of Fact
        What to start with, by name.
    warnings : tuple of str
        What will not do, with what would.
    changed : str
        What timed strokes changed of the model; empty before any.
    edge : str
        What is known of the edge of the recharge, where there may be one; empty where not.
    why : Why or None
        The numbers behind it.
    """

    is_described: bool
    machine: str
    plan: StrokesPlanned | None
    facts: tuple[Fact, ...]
    warnings: tuple[str, ...]
    changed: str
    edge: str
    why: Why | None


def start_look(desk: Desk, state: JobState, start_marks: Decimal) -> StartLook:
    """Return what to start a job with."""
    machine = described(desk, state.known)
    rig = rig_of(desk, state)
    plan = None
    if rig is not None:
        marks = state.setting_marks or start_marks
        plan = plan_swept(rig, state.known.cylinder, marks, read_now_c(state))
    facts = [Fact(name="Wheel", words=f"{plain(start_marks)} on the scale, from below")]
    facts += _weights(desk, state)
    if rig is not None and plan is not None:
        facts += [Fact(name="Air", words=_air_words(machine, rig))]
        facts += _stroke_facts(plan)
    facts.append(Fact(name="Nozzle", words=f"{GAP_MM} mm above the lip"))
    timed = state.start.timed
    return StartLook(
        is_described=machine.is_described,
        machine=machine.name,
        plan=plan,
        facts=tuple(facts),
        warnings=() if rig is None or plan is None else _warnings(machine, rig, plan),
        changed="" if timed is None else timed.because,
        edge="" if rig is None else _edge_words(desk, state, rig),
        why=None if rig is None or plan is None else _why(rig, plan),
    )


def control_facts(desk: Desk, state: JobState) -> tuple[Fact, ...]:
    """Return how far the flow controls stand open, for the card beside the machine."""
    rig = rig_of(desk, state)
    if rig is None:
        return ()
    timed = state.start.timed
    if timed is None:
        return tuple(fact for fact in _stroke_facts(plan_of(rig)) if "control" in fact.name)
    return (
        Fact(
            name="Recharge control",
            words=f"{turns_open(timed.recharge_turns)}, {seconds(timed.fitted_recharge_s)}",
        ),
        Fact(
            name="Fill control",
            words=f"{turns_open(timed.fill_turns)}, {seconds(timed.fitted_fill_s)}",
        ),
    )


def _edge_words(desk: Desk, state: JobState, rig: Rig) -> str:
    """Return whether the edge of the recharge is known, where it may matter."""
    facts = state.known
    found = desk.book.site().edges.get((facts.product.name, facts.machine.name))
    if found is not None:
        return f"Found in job {found.job}. {found.because}"
    if not matters(rig):
        return ""
    return (
        "The product may be the slower one in the recharge. Twelve shots at four recharge times "
        "show where the cylinder is not full any more."
    )


def _weights(desk: Desk, state: JobState) -> list[Fact]:
    """Return the target weight, and why the wheel has another density than the label."""
    facts = state.known
    step = facts.scale.readability_g
    product = facts.product
    cool, warm = density_at(product, LABEL_C), density_at(product, product.product_c)
    label_g = limits_of(facts, desk.rule_sets).label_g
    aim, label = shown_g(facts.aim_g, step), shown_g(label_g, step)
    words = f"{aim} net; the label is {label}"
    if facts.unit == "mL":
        words = f"{aim} net; the label is {label}, by {float(cool):.4g} g/mL at 20 °C"
    found = [Fact(name="Target", words=words)]
    if cool != warm:
        more = 100.0 * (float(cool / warm) - 1.0)
        found.append(
            Fact(
                name="Wheel and density",
                words=f"set by {float(warm):.4g} g/mL at {plain(product.product_c)} °C: the "
                f"stroke is {abs(more):.2g} % {'longer' if more > 0 else 'shorter'}",
            )
        )
    return found


def _stroke_facts(plan: StrokesPlanned) -> list[Fact]:
    """Return flow controls and times."""
    found = []
    if plan.feeds:
        found.append(
            Fact(
                name="Recharge control",
                words=f"{turns_open(plan.recharge_turns)}, one recharge "
                f"{seconds(plan.recharge_s)}",
            )
        )
    if not plan.stalls:
        found.append(
            Fact(
                name="Fill control",
                words=f"{turns_open(plan.fill_turns)}, one fill {seconds(plan.fill_s)}",
            )
        )
    if plan.feeds and not plan.stalls:
        found.append(Fact(name="Ten strokes", words=f"aim {plan.ten_s:.0f} s"))
    return found


def _air_words(machine: Machine, rig: Rig) -> str:
    """Return the air pressure to set, below what the wet path bears."""
    low = machine.air_min_bar_g
    usual = rig.air.usual_bar_g
    most = _most_air_bar_g(machine, rig)
    if usual > most:
        return f"{plain(most)} bar, no more: a blocked nozzle would pass the rating of the path"
    return f"{plain(usual)} bar; {plain(low)} at least, {plain(most)} at most"


def _most_air_bar_g(machine: Machine, rig: Rig) -> Decimal:
    """Return the highest air pressure that plates and the weakest piece of the path allow."""
    most = machine.air_max_bar_g
    if machine.plate is not None:
        most = min(most, machine.plate.air_bar_g)
    weakest = _weakest_bar_g(machine)
    if weakest is None:
        return most
    share = (float(rig.cylinder_bore_mm) / float(rig.air.bore_mm)) ** 2
    allowed = in_steps(float(weakest) * share, Decimal("0.1"), ROUND_FLOOR)
    return min(most, allowed)


def _weakest_bar_g(machine: Machine) -> Decimal | None:
    """Return the least rating on the pressure side."""
    rated = [p.rated_bar_g for p in machine.outward if p.rated_bar_g is not None]
    if machine.plate is not None and machine.plate.wet_bar_g is not None:
        rated.append(machine.plate.wet_bar_g)
    return min(rated, default=None)


def _warnings(machine: Machine, rig: Rig, plan: StrokesPlanned) -> tuple[str, ...]:
    """Return what will not do, each with what would."""
    found = []
    if not plan.feeds:
        found.append(
            "It will not feed: suction has less than an atmosphere. A follower plate, a wider "
            "outlet or warmth."
        )
    if plan.stalls:
        found.append(
            "The drive cannot push it. A wider nozzle, warmth, more air, or a smaller cylinder."
        )
    elif plan.reserve_ratio < RESERVE:
        found.append(
            "The fill is at the end of the drive's force: opening its control does little. A "
            "wider nozzle, warmth or more air."
        )
    if rig.air.usual_bar_g > _most_air_bar_g(machine, rig):
        weakest = _weakest_bar_g(machine)
        found.append(
            f"A blocked nozzle would put {plan.stall_bar_g:.1f} bar on a path rated for "
            f"{plain(weakest or Decimal(0))} bar. Lower the air first."
        )
    return tuple(found)


def _why(rig: Rig, plan: StrokesPlanned) -> Why:
    """Return the numbers behind the start."""
    flow = rig.flow
    rows = [
        Fact(name="Dose", words=f"{rig.dose_ml:.1f} mL, a stroke of {rig.stroke_mm:.1f} mm"),
        Fact(name="Product", words=_flow_words(rig)),
        Fact(
            name="Air comes out at",
            words=f"{flow.release_kpa:.0f} kPa, "
            + ("found on this machine" if flow.is_edge_known else "a guess"),
        ),
        Fact(
            name="Shortest recharge that fills",
            words="none: the drive is the slower" if plan.edge_s is None else seconds(plan.edge_s),
        ),
        Fact(name="Planned slower than that by", words=f"{MARGIN:g} times in speed"),
        Fact(name="Leaves the nozzle at", words=plan.velocity_words),
        Fact(name="Fill held by", words=plan.held_by),
        Fact(name="Blocked nozzle", words=f"{plan.stall_bar_g:.1f} bar in the path"),
    ]
    return Why(
        facts=tuple(rows),
        assumptions=(
            "Hopper at its low mark, no dwell before the valve turns.",
            "Flow controls as their tables have them, until strokes were timed.",
        ),
        source=_SOURCE,
    )


def _flow_words(rig: Rig) -> str:
    """Return how thick the product is taken to be, and where from."""
    flow = rig.flow
    if flow.yield_pa == 0.0 and flow.flow_index == 1.0:
        return f"{_two(flow.consistency_pa_s)} Pa s at {flow.at_c:g} °C; {flow.words}"
    start = f"yields at {_two(flow.yield_pa)} Pa, " if flow.yield_pa else ""
    return (
        f"{start}consistency {_two(flow.consistency_pa_s)} Pa sⁿ, n {_two(flow.flow_index)} at "
        f"{flow.at_c:g} °C; {flow.words}"
    )


def _two(value: float) -> str:
    """Return a figure with two digits that say something, never with an exponent."""
    return plain(Decimal(f"{value:.2g}"))
