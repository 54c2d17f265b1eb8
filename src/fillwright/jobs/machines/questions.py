"""The questions that describe a machine, as data; every front end only renders them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from fillwright.jobs.machines.shipped import USUAL_NOZZLE_MM, stroke_mm
from fillwright.jobs.words import plain
from fillwright.records.entities import Machine
from fillwright.records.machine_parts import NOZZLE_KINDS, PIECE_KINDS

__all__ = ["Ask", "Question", "question_at", "questions_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One field of a question.

    Parameters
    ----------
    field, label : str
        Its name, and what people call it.
    value : str
        What it is so far.
    unit, hint : str
        Unit of the figure; how to find it.
    choices : tuple of (str, str)
        Words to choose from, where it is no figure.
    is_text : bool
        True where it takes words.
    """

    field: str
    label: str
    value: str
    unit: str = ""
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    is_text: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question.

    Parameters
    ----------
    key : str
        Its name, with the number of the part where there are several.
    title : str
        What it is about, in a word or two.
    order, how : str
        What to do, and why or how.
    asks : tuple of Ask
        What is to be typed or chosen.
    part : str
        Key of the part in the sketch that it is about.
    may_add, may_drop : str
        Words on the buttons that put one more part behind this, or leave this one out.
    """

    key: str
    title: str
    order: str
    how: str
    asks: tuple[Ask, ...]
    part: str = ""
    may_add: str = ""
    may_drop: str = ""

    @property
    def words(self) -> str:
        """Return what is known so far, in a line."""
        parts = []
        for ask in self.asks:
            if ask.choices:
                parts.append(dict(ask.choices).get(ask.value, ask.value))
            elif ask.value and not ask.is_text:
                label = f"{ask.label[:1].lower()}{ask.label[1:]}"
                parts.append(" ".join(w for w in (label, ask.value, ask.unit) if w))
        return ", ".join(parts)


def questions_of(machine: Machine) -> tuple[Question, ...]:
    """Return the questions that describe a machine, filled with what is known of it."""
    return (
        _name(machine),
        _scale(machine),
        _wheel(machine),
        *(_cylinder(machine, place) for place in range(len(machine.cylinders))),
        _air(machine),
        _controls(machine),
        _limits(machine),
        *(_piece(machine, "suction", place) for place in range(len(machine.suction))),
        *(_piece(machine, "outward", place) for place in range(len(machine.outward))),
        *(_nozzle(machine, place) for place in range(len(machine.nozzles))),
        _hopper(machine),
        _valve(machine),
    )


def question_at(machine: Machine, key: str) -> int:
    """Return the place of a question, or of the last one where there is no such key."""
    keys = [question.key for question in questions_of(machine)]
    return keys.index(key) if key in keys else len(keys) - 1


def _shown(value: Decimal | None) -> str:
    """Return a figure as it stands in a field."""
    return "" if value is None else plain(value)


def _name(machine: Machine) -> Question:
    """Ask for its name."""
    return Question(
        key="name",
        title="Name",
        order="What does the bench call it?",
        how="As on its tag. Jobs and papers name it so.",
        asks=(
            Ask(
                field="name",
                label="Name",
                value="" if machine.is_invented else machine.name,
                is_text=True,
            ),
        ),
    )


def _scale(machine: Machine) -> Question:
    """Ask for the volume scale."""
    return Question(
        key="scale",
        title="Volume scale",
        order="Read the volume scale.",
        how="The numbers engraved beside the pointer, at the longest stroke.",
        asks=(
            Ask(field="last_mark", label="Highest number", value=_shown(machine.last_mark)),
            Ask(field="step_marks", label="One tick is", value=_shown(machine.step_marks)),
        ),
        part="cylinder",
    )


def _wheel(machine: Machine) -> Question:
    """Ask for the wheel."""
    return Question(
        key="wheel",
        title="Wheel",
        order="Turn the wheel once round.",
        how="Read the pointer before and after, from below.",
        asks=(
            Ask(
                field="marks_per_turn",
                label="The pointer moves",
                value=_shown(machine.marks_per_turn),
                unit="marks",
            ),
            Ask(
                field="clockwise",
                label="Clockwise makes the dose",
                value="raises" if machine.clockwise_raises else "lowers",
                choices=(("raises", "bigger"), ("lowers", "smaller")),
            ),
        ),
        part="cylinder",
    )


def _cylinder(machine: Machine, place: int) -> Question:
    """Ask for one product cylinder."""
    one, many = machine.cylinders[place], len(machine.cylinders)
    return Question(
        key=f"cylinder-{place + 1}",
        title=f"Cylinder {place + 1}",
        order=f"Product cylinder {place + 1} of {many}.",
        how="Out of the machine, air off. Bore with a calliper, in two directions.",
        asks=(
            Ask(field="bore_mm", label="Bore", value=_shown(one.bore_mm), unit="mm"),
            Ask(
                field="stroke_mm",
                label=f"Stroke at {plain(machine.last_mark)} on the scale",
                value=_shown(stroke_mm(one)),
                unit="mm",
                hint="From the front stop to where the piston stands then.",
            ),
        ),
        part="cylinder",
        may_add="One more cylinder",
        may_drop="Leave this one out" if many > 1 else "",
    )


def _air(machine: Machine) -> Question:
    """Ask for the air cylinder."""
    air = machine.air
    return Question(
        key="air",
        title="Air cylinder",
        order="Read the air cylinder.",
        how="Bore and rod stand on its plate; the rod is easy to measure too.",
        asks=(
            Ask(
                field="air_bore_mm",
                label="Bore of the air cylinder",
                value=_shown(air.bore_mm if air else None),
                unit="mm",
            ),
            Ask(
                field="rod_mm",
                label="Its rod",
                value=_shown(air.rod_mm if air else None),
                unit="mm",
            ),
        ),
        part="air",
    )


def _controls(machine: Machine) -> Question:
    """Ask for the flow controls."""
    air = machine.air
    fill = air.fill.points[-1].open_turns if air else None
    back = air.recharge.points[-1].open_turns if air else None
    return Question(
        key="controls",
        title="Flow controls",
        order="Count the turns of the flow controls.",
        how="From shut to fully open. Air off; then put them back where they were.",
        asks=(
            Ask(field="fill_turns", label="Fill control", value=_shown(fill), unit="turns"),
            Ask(
                field="recharge_turns", label="Recharge control", value=_shown(back), unit="turns"
            ),
        ),
        part="air",
    )


def _limits(machine: Machine) -> Question:
    """Ask for pressures and temperatures."""
    plate, air = machine.plate, machine.air
    return Question(
        key="limits",
        title="Plates",
        order="Read the plates.",
        how="The least rating on the pressure side counts: clamps, hose, sight glass.",
        asks=(
            Ask(
                field="usual_bar",
                label="Air when it runs",
                value=_shown(air.usual_bar_g if air else None),
                unit="bar",
            ),
            Ask(
                field="air_bar",
                label="Air, at most",
                value=_shown(plate.air_bar_g if plate else machine.air_max_bar_g),
                unit="bar",
            ),
            Ask(
                field="wet_bar",
                label="Wet end, at most",
                value=_shown(plate.wet_bar_g if plate else None),
                unit="bar",
                hint="Leave empty when nothing says it.",
            ),
            Ask(
                field="product_c",
                label="Product, at most",
                value=_shown(plate.product_c if plate else None),
                unit="°C",
                hint="Leave empty when nothing says it.",
            ),
        ),
    )


def _piece(machine: Machine, side: str, place: int) -> Question:
    """Ask for one piece of the wet path."""
    path = machine.suction if side == "suction" else machine.outward
    one = path[place]
    way = "hopper to cylinder" if side == "suction" else "cylinder to nozzle"
    return Question(
        key=f"{side}-{place + 1}",
        title=f"{one.name}, {side}",
        order=f"{one.name}: piece {place + 1} of {len(path)}, {way}.",
        how="Inside measures. Air off and vented, hands out of ports: a calliper, a tape.",
        asks=(
            Ask(field="bore_mm", label="Bore", value=_shown(one.bore_mm), unit="mm"),
            Ask(field="length_mm", label="Length", value=_shown(one.length_mm), unit="mm"),
            Ask(field="kind", label="It is a", value=one.kind, choices=tuple(PIECE_KINDS.items())),
            Ask(field="piece_name", label="Called", value=one.name, is_text=True),
        ),
        part=f"{side}-{place + 1}",
        may_add="One more piece behind it",
        may_drop="Leave this piece out" if len(path) > 1 else "",
    )


def _nozzle(machine: Machine, place: int) -> Question:
    """Ask for one nozzle."""
    one, many = machine.nozzles[place], len(machine.nozzles)
    return Question(
        key=f"nozzle-{place + 1}",
        title=f"Nozzle {place + 1}",
        order=f"Nozzle {place + 1} of {many}.",
        how="Outside at the tip, bore inside, length of the narrow part.",
        asks=(
            Ask(field="outside_mm", label="Outside", value=_shown(one.outside_mm), unit="mm"),
            Ask(field="bore_mm", label="Bore", value=_shown(one.bore_mm), unit="mm"),
            Ask(
                field="length_mm",
                label="Length",
                value=_shown(one.length_mm or USUAL_NOZZLE_MM),
                unit="mm",
            ),
            Ask(
                field="kind",
                label="It ends a dose as",
                value=one.kind,
                choices=tuple(NOZZLE_KINDS.items()),
            ),
        ),
        part=f"nozzle-{place + 1}",
        may_add="One more nozzle",
        may_drop="Leave this one out" if many > 1 else "",
    )


def _hopper(machine: Machine) -> Question:
    """Ask for the hopper."""
    one = machine.hoppers[0] if machine.hoppers else None
    return Question(
        key="hopper",
        title="Hopper",
        order="Measure the hopper.",
        how="Heights above the middle of the product cylinder.",
        asks=(
            Ask(
                field="usable_ml",
                label="Between full and low",
                value=_shown(one.usable_ml if one else None),
                unit="mL",
            ),
            Ask(
                field="full_above_mm",
                label="Product when full, above",
                value=_shown(one.full_above_mm if one else None),
                unit="mm",
            ),
            Ask(
                field="low_above_mm",
                label="Product at the low mark, above",
                value=_shown(one.low_above_mm if one else None),
                unit="mm",
            ),
        ),
        part="hopper",
    )


def _valve(machine: Machine) -> Question:
    """Ask for the product valve."""
    one = machine.valves[0] if machine.valves else None
    return Question(
        key="valve",
        title="Product valve",
        order="Which product valve is fitted?",
        how="Its warmest product is in the machine's papers.",
        asks=(
            Ask(
                field="valve_kind",
                label="It is a",
                value=one.kind if one else "rotary",
                choices=(
                    ("rotary", "rotary valve"),
                    ("spool", "spool valve"),
                    ("check", "pair of check valves"),
                ),
            ),
            Ask(
                field="hot_limit_c",
                label="Warmest product",
                value=_shown(machine.hot_limit_c),
                unit="°C",
            ),
        ),
        part="valve",
    )
