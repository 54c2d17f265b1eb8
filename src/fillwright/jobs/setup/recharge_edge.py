"""The edge of a full recharge: a few shots at each of four recharge times, and what they say.

The fitted pressure at which air comes out takes the place of the guess for this product on
this machine from then on.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Act, Caution, Expects, Option
from fillwright.jobs.desk import Desk, Press, find_job, keep, keep_on_site
from fillwright.jobs.match.stage import cautions_of
from fillwright.jobs.setup.edge_fit import edge_found, times_to_set, turns_at
from fillwright.jobs.setup.rig import Rig, rig_of
from fillwright.jobs.setup.stroke_plan import plan_of, seconds, turns_open
from fillwright.jobs.why import Fact, Why
from fillwright.jobs.words import in_steps, plain
from fillwright.records.entities import Stage
from fillwright.records.entries import Payload, RechargeEdgeJudged, RechargeTimed, WeighingTaken
from fillwright.records.fold import JobState
from fillwright.records.startbook import RECHARGE_TIMES as TIMES
from fillwright.records.startbook import RechargeGroup

__all__ = [
    "SHOTS",
    "EdgeLook",
    "EdgeRow",
    "judge",
    "judge_shot",
    "look",
    "timed",
]

SHOTS: Final = 3
_STEP_S: Final = Decimal("0.1")
_SOURCE: Final = "least squares over the release pressure with the air-dynamic recharge"
_SHORT: Final = 0.998


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRow:
    """Shots at one recharge time; `full_words` says how full the cylinder was, once known."""

    recharge_s: Decimal
    shots_g: tuple[Decimal, ...]
    mean_words: str
    full_words: str
    is_short: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeLook:
    """What the page of the recharge edge shows.

    Parameters
    ----------
    act : Act
        The next thing to do.
    is_described : bool
        False where the machine has to be described first.
    machine : str
        Its name.
    rows : tuple of EdgeRow
        What was weighed, slowest or first timed first.
    next_s : float or None
        Recharge time to set next.
    words : str
        What was found.
    why : Why or None
        The numbers behind it.
    """

    act: Act
    is_described: bool
    machine: str
    rows: tuple[EdgeRow, ...]
    next_s: float | None
    words: str
    why: Why | None


def look(desk: Desk, state: JobState, *, anew: bool = False) -> EdgeLook:
    """Return what the page of the recharge edge shows; `anew` begins again after a judgement."""
    rig = rig_of(desk, state)
    times = times_to_set(rig) if rig is not None and plan_of(rig).feeds else ()
    groups, edge = state.start.groups, state.start.edge
    if anew and (edge is not None or len(groups) >= TIMES):
        groups, edge = [], None
    place = len(groups) if not groups or len(groups[-1].kept) >= SHOTS else len(groups) - 1
    next_s = times[place] if place < len(times) else None
    return EdgeLook(
        act=_act(state, rig, next_s, groups, edge),
        is_described=rig is not None,
        machine=state.known.machine.name,
        rows=tuple(_row(group, edge, at) for at, group in enumerate(g for g in groups if g.kept)),
        next_s=next_s,
        words="" if edge is None else edge.because,
        why=None if edge is None else _why(edge),
    )


def timed(desk: Desk, number: str, reading: Decimal, press: Press) -> Act:
    """Keep that the recharge takes so long now; the shots weighed next belong to it.

    Raises
    ------
    BadInput
        If the time cannot be, or the shots at the last one are not all weighed.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if reading <= 0 or not reading.is_finite():
            message = f"A recharge of {reading} s cannot be. Time one from the press to the stop."
            raise BadInput(message, field="reading", given=str(reading), allowed="above zero")
        groups = state.start.groups
        if state.start.edge is None and groups and len(groups[-1].kept) < SHOTS:
            message = f"Weigh {SHOTS} shots at {plain(groups[-1].recharge_s)} s first."
            raise BadInput(message, field="reading", given=str(reading), code="inconsistent")
        kept = keep(desk, state, [RechargeTimed(recharge_s=reading)], press)
        return look(desk, kept).act


def judge_shot(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Keep a shot at the recharge time that was set last; it is used for nothing else.

    Raises
    ------
    BadInput
        If no recharge time was set, or a run is under way.
    """
    _ = (desk, weighing_id)
    if state.run is not None or not state.start.groups or state.start.edge is not None:
        message = "Set the recharge and time it first; then weigh the shots."
        raise BadInput(message, field="weight", given=fact.value, code="inconsistent")
    return [fact]


def judge(desk: Desk, number: str, press: Press) -> Act:
    """Work out the edge from all shots, and keep it for this product on this machine.

    Raises
    ------
    BadInput
        If too few times were tried, or no recharge of this drive explains one of them.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        rig = rig_of(desk, state)
        if rig is None:
            message = "The machine is not described. Describe it, then work out the edge."
            raise BadInput(message, field="machine", code="missing")
        edge = edge_found(state, rig)
        kept = keep(desk, state, [edge], press)
        keep_on_site(desk, [edge], press)
        return look(desk, kept).act


def _row(group: RechargeGroup, edge: RechargeEdgeJudged | None, at: int) -> EdgeRow:
    """Return the shots of one recharge time as the page lists them."""
    shots = tuple(shot.fact.net_g for shot in group.kept)
    mean = float(sum(shots)) / len(shots) if shots else None
    share = None
    if edge is not None and at < len(edge.full_share):
        share = edge.full_share[at]
    return EdgeRow(
        recharge_s=group.recharge_s,
        shots_g=shots,
        mean_words="" if mean is None else f"{mean:.5g} g",
        full_words="" if share is None else f"{100.0 * share:.1f} % full",
        is_short=share is not None and share < _SHORT,
    )


def _act(
    state: JobState,
    rig: Rig | None,
    next_s: float | None,
    groups: list[RechargeGroup],
    edge: RechargeEdgeJudged | None,
) -> Act:
    """Return the next thing to do."""
    word = state.known.container.word
    if rig is None:
        return Act(
            stage=Stage.SET_UP,
            what="next",
            order=f"Describe {state.known.machine.name} first.",
            why="The edge is worked out from its air cylinder and its wet path.",
            main="Describe it",
        )
    if edge is not None:
        return Act(
            stage=Stage.SET_UP,
            what="next",
            order="The edge is known. Go back to Set up.",
            why=edge.because,
            main="Back to Set up",
            options=(Option(what="again", label="Find it anew"),),
            state="on",
            state_words="Bound only" if edge.is_bound else "Edge found",
        )
    if not plan_of(rig).feeds:
        return Act(
            stage=Stage.SET_UP,
            what="next",
            order="It will not feed, so there is no edge to find.",
            why="A follower plate, a wider outlet or warmth first.",
            main="Back to Set up",
        )
    cautions = (CAUTIONS["pinch"], *cautions_of(state.known))
    if groups and len(groups[-1].kept) < SHOTS:
        have = len(groups[-1].kept)
        return Act(
            stage=Stage.SET_UP,
            what="weigh",
            order=f"Fill one {word} and weigh it: {have + 1} of {SHOTS} at "
            f"{plain(groups[-1].recharge_s)} s.",
            why="Leave the wheel and both controls alone. These shots are used for nothing else.",
            main="Keep",
            expects=Expects.WEIGHT,
            cautions=cautions[1:],
            options=(Option(what="undo", label="Undo last shot", key="-"),) if have else (),
            value=str(have + 1),
        )
    if next_s is None:
        return Act(
            stage=Stage.SET_UP,
            what="judge",
            order="Work out the edge.",
            why=f"{TIMES} recharge times, {SHOTS} shots each.",
            main="Work it out",
            expects=Expects.CONFIRM,
            options=(Option(what="again", label="Begin anew"),),
        )
    return _time_act(rig, next_s, len(groups), cautions)


def _time_act(rig: Rig, next_s: float, have: int, cautions: tuple[Caution, ...]) -> Act:
    """Return the order to set and time one recharge."""
    turns = turns_at(rig, next_s)
    shown = in_steps(next_s, _STEP_S, ROUND_HALF_UP)
    return Act(
        stage=Stage.SET_UP,
        what="timed",
        order=f"Recharge {have + 1} of {TIMES}: make it about {shown} s.",
        why="From slow to fast. A dose that falls shows where the cylinder is not full any more.",
        main="Keep",
        expects=Expects.READING,
        cautions=cautions,
        steps=(
            f"Recharge control about {turns_open(turns)}.",
            "Two strokes into the bucket.",
            "Time one recharge, from the press to the rear stop.",
        ),
        value=str(shown),
    )


def _why(edge: RechargeEdgeJudged) -> Why:
    """Return the numbers behind the edge."""
    ends = f"{edge.low_kpa:.0f} to {edge.high_kpa:.0f} kPa, 95 %"
    return Why(
        facts=(
            Fact(
                name="Air comes out at",
                words=f"below {edge.high_kpa:.0f} kPa"
                if edge.is_bound
                else f"{edge.release_kpa:.0f} kPa ({ends})",
            ),
            Fact(name="Product follows at", words=f"{edge.flow_ml_per_s:.3g} mL/s at most"),
            Fact(name="Full cylinder", words=f"{edge.full_dose_g:.5g} g"),
            Fact(name="Times", words=", ".join(seconds(float(t)) for t in edge.times_s)),
            Fact(name="Shots", words=str(edge.shots)),
        ),
        assumptions=edge.assumptions,
        source=_SOURCE,
    )
