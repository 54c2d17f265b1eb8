"""What stands around every page: which job, what is wired, the rail, the demo strip."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fillwright.jobs.run.check_ask import check_ask
from fillwright.jobs.traveller import STAGE_WORDS, stage_now
from fillwright.records.book import is_practice
from fillwright.records.entities import Stage
from fillwright.records.fold import JobState
from fillwright.web.visit import Visit
from fillwright.wiring import DemoBench

__all__ = ["Shell", "Stop", "Wire", "shell_of"]

_MARKS: Final = {"done": "done", "now": "now", "later": "to-do", "again": "held"}
_DEMO: Final = ("Invented demo bench.", "Machine and scale are simulated.")
_PRACTICE: Final = (
    "Simulated for this practice.",
    "The real machine and the real scale are not used by it.",
)
_WITHIN: Final[dict[Stage, tuple[str, ...]]] = {
    Stage.SET_UP: ("/edge", "/map", "/budget"),
    Stage.RUN: ("/often",),
    Stage.RELEASE: ("/held",),
}
"""Pages of a stage that have an address of their own."""
_SAID: Final = {
    "done": "done",
    "now": "the job stands here",
    "later": "to do",
    "again": "to be done again",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """One thing that is wired or was read, with its value."""

    name: str
    reading: str = ""
    is_scale: bool = False
    is_gone: bool = False
    is_optional: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One stage on the rail."""

    key: str
    name: str
    status: str
    mark: str
    words: str
    is_here: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """Everything around the sheets."""

    headline: str
    subline: str
    wires: tuple[Wire, ...]
    rail: tuple[Stop, ...]
    rail_words: str
    check_ask: str
    keys_on: bool
    notice: tuple[str, ...]
    is_demo: bool
    demo_name: tuple[str, str]
    demo_switches: tuple[tuple[str, str], ...]
    demo_seen: tuple[str, ...]
    demo_told: tuple[str, ...]
    is_practice: bool = False


def shell_of(visit: Visit, state: JobState | None) -> Shell:
    """Return what stands around a page."""
    settings = visit.desk.book.site().settings
    rail = () if state is None else _rail(visit, state)
    here = next((place for place, stop in enumerate(rail, start=1) if stop.is_here), 0)
    words = f"{rail[here - 1].name}, {here} of {len(rail)}" if here else "Whole job"
    bench = visit.bench
    demo = bench.demo if state is None else bench.machine_of(state.number)
    return Shell(
        headline="Fillwright" if state is None else state.known.product.name,
        subline=f"at {visit.desk.bench}" if state is None else _subline(state),
        wires=_wires(visit, state),
        rail=rail,
        rail_words=words,
        check_ask=check_ask(visit.desk, state) if state and visit.path.endswith("/run") else "",
        keys_on=settings.keys_on,
        notice=visit.bench.notice,
        is_demo=demo is not None,
        demo_name=_DEMO if bench.demo is not None else _PRACTICE,
        demo_switches=_switches(demo),
        demo_seen=() if demo is None or state is None else demo.seen,
        demo_told=() if demo is None else demo.told,
        is_practice=state is not None and is_practice(state.number),
    )


def _subline(state: JobState) -> str:
    """Return container, machine and number in one line."""
    facts = state.known
    quantity = facts.label_words
    return f"{quantity} {facts.container.word} on {facts.machine.name}, job {state.number}"


def _rail(visit: Visit, state: JobState) -> tuple[Stop, ...]:
    """Return the seven stages as they stand."""
    now = stage_now(state)
    order = list(Stage)
    stops = []
    for stage in order:
        if stage.value in state.reopened:
            status = "again"
        elif stage is now:
            status = "now"
        else:
            status = "done" if order.index(stage) < order.index(now) else "later"
        is_here = visit.path.startswith(f"/job/{state.number}/{stage.value}") or (
            visit.path.endswith(_WITHIN.get(stage, ()))
        )
        stops.append(
            Stop(
                key=stage.value,
                name=STAGE_WORDS[stage],
                status=status,
                mark=_MARKS[status],
                words=_SAID[status] + (", you are here" if is_here else ""),
                is_here=is_here,
            )
        )
    return tuple(stops)


def _wires(visit: Visit, state: JobState | None) -> tuple[Wire, ...]:
    """Return what is wired, and what was read in Set up."""
    wires: list[Wire] = []
    hub = visit.bench.scale if state is None else visit.bench.scale_of(state.number)
    if hub.is_joined:
        latest = hub.latest()
        gone = latest.get("event") == "no-signal"
        wires.append(Wire(name="Scale", is_scale=True, is_gone=gone))
    for key, name, is_optional in (("air", "Air", True), ("product", "Product", False)):
        step = None if state is None else state.steps.get(key)
        if step is not None and step.reading:
            wires.append(Wire(name=name, reading=step.reading, is_optional=is_optional))
    return tuple(wires)


def _switches(demo: DemoBench | None) -> tuple[tuple[str, str], ...]:
    """Return the switches of the demo strip, each with the words that say what it does."""
    if demo is None:
        return ()
    creep = ("creep-off", "Stop the creep") if demo.creeps else ("creep-on", "Let the dose creep")
    scale = (
        ("plug-in", "Bring the scale back")
        if demo.unplugged
        else ("unplug", "Take the scale away")
    )
    return (creep, scale)
