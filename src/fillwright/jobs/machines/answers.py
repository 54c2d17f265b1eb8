"""What an answer makes of a machine, or which field cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final, TypeVar

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.machines.shipped import cylinder_of, stroke_mm
from fillwright.jobs.words import plain
from fillwright.records.entities import Cylinder, Machine, Nozzle
from fillwright.records.machine_parts import (
    NOZZLE_KINDS,
    PIECE_KINDS,
    AirDrive,
    FlowControl,
    Hopper,
    NeedlePoint,
    PlateLimits,
    Valve,
    WetPiece,
)

__all__ = [
    "air_answered",
    "controls_answered",
    "cylinder_answered",
    "hopper_answered",
    "limits_answered",
    "nozzle_answered",
    "number_in",
    "piece_answered",
    "refuse_taken_name",
    "scale_answered",
    "valve_answered",
    "wheel_answered",
    "words_in",
]

_SAME: Final = Decimal("0.05")
"""A cylinder kept by its plate may differ so much from bore and stroke; it keeps its plate."""
_LONGEST: Final = 60
_MOST_DIGITS: Final = 20
_SMALLEST: Final = Decimal("0.01")
_LARGEST: Final = 100_000
_VALVES: Final = ("rotary", "spool", "check")

Values = Mapping[str, str]
_Part = TypeVar("_Part")


def words_in(values: Values, field: str, name: str) -> str:
    """Return words that must be there."""
    words = values.get(field, "").strip()
    if not words:
        message = f"{name} is missing. Type it."
        raise BadInput(message, field=field, allowed="some words", code="missing")
    if len(words) > _LONGEST:
        message = f"{name} is too long. Use at most {_LONGEST} letters."
        raise BadInput(message, field=field, given=words[:40], allowed=f"{_LONGEST} letters")
    return words


def number_in(values: Values, field: str, name: str, *, may_be_zero: bool = False) -> Decimal:
    """Return a figure that must be there."""
    typed = values.get(field, "").strip().replace(",", ".")
    if not typed:
        message = f"{name} is missing. Measure it and type a number."
        raise BadInput(message, field=field, allowed="a number", code="missing")
    try:
        number = Decimal(typed)
    except ArithmeticError as error:
        message = f"{typed[:40]!r} is not a number for {name.lower()}. Type figures, such as 12.5."
        raise BadInput(
            message, field=field, given=typed[:40], allowed="a number", code="type"
        ) from error
    least = Decimal(0) if may_be_zero else _SMALLEST
    # Not a number compares with nothing, so it is asked about first.
    is_odd = not number.is_finite() or len(typed) > _MOST_DIGITS
    if is_odd or not least <= number <= _LARGEST:
        allowed = "zero or more" if may_be_zero else "0.01 or more"
        message = f"{name} cannot be {typed[:40]}. Type {allowed}."
        raise BadInput(message, field=field, given=typed[:40], allowed=allowed)
    return number


def refuse_taken_name(desk: Desk, machine: Machine, name: str) -> None:
    """Refuse the name of another machine."""
    if name != machine.name and name in desk.book.site().machines:
        message = f"There is a machine {name!r} already. Describe that one, or take another name."
        raise BadInput(message, field="name", given=name, code="inconsistent")


def scale_answered(machine: Machine, values: Values) -> Machine:
    """Take the numbers of the volume scale; each mark moves as much as its stroke says."""
    last = number_in(values, "last_mark", "The highest number")
    step = number_in(values, "step_marks", "One tick")
    if step >= last:
        message = f"One tick is {plain(step)}, as long as the whole scale. Type what one tick is."
        raise BadInput(
            message, field="step_marks", given=plain(step), allowed=f"below {plain(last)}"
        )
    cylinders = tuple(
        replace(one, ml_per_mark=one.capacity_ml / last) for one in machine.cylinders
    )
    if last == machine.last_mark:
        cylinders = machine.cylinders
    return replace(machine, last_mark=last, step_marks=step, cylinders=cylinders)


def wheel_answered(machine: Machine, values: Values) -> Machine:
    """Take how the wheel moves the pointer."""
    marks = number_in(values, "marks_per_turn", "What one turn moves")
    way = _choice(values, "clockwise", ("raises", "lowers"), "which way")
    return replace(machine, marks_per_turn=marks, clockwise_raises=way == "raises")


def cylinder_answered(machine: Machine, place: int, values: Values) -> Machine:
    """Take bore and stroke of a cylinder; one that was kept by its plate keeps that."""
    bore = number_in(values, "bore_mm", "The bore")
    stroke = number_in(values, "stroke_mm", "The stroke")
    measured = cylinder_of(bore, stroke, machine.last_mark)
    old = machine.cylinders[place]
    if (bore, stroke) == (old.bore_mm, stroke_mm(old)):
        # Answered as it stands: a volume that came from a plate is not rounded away.
        return machine
    found = measured
    if not machine.is_invented and old.bore_mm is None:
        if abs(measured.capacity_ml - old.capacity_ml) > _SAME * old.capacity_ml:
            message = (
                f"Bore and stroke make {plain(measured.capacity_ml)} mL, but this cylinder is "
                f"kept as {plain(old.capacity_ml)} mL. Measure both again."
            )
            raise BadInput(message, field="bore_mm", given=plain(bore), code="inconsistent")
        found = Cylinder(capacity_ml=old.capacity_ml, ml_per_mark=old.ml_per_mark, bore_mm=bore)
    return replace(machine, cylinders=_put(machine.cylinders, place, found))


def air_answered(machine: Machine, values: Values) -> Machine:
    """Take bore and rod of the air cylinder."""
    bore = number_in(values, "air_bore_mm", "The bore of the air cylinder")
    rod = number_in(values, "rod_mm", "The rod")
    if rod >= bore:
        message = (
            f"The rod is {plain(rod)} mm, no thinner than the bore of the air cylinder "
            f"({plain(bore)} mm). Measure both again."
        )
        raise BadInput(
            message,
            field="rod_mm",
            given=plain(rod),
            allowed=f"below {plain(bore)}",
            code="inconsistent",
        )
    return replace(machine, air=replace(_drive(machine), bore_mm=bore, rod_mm=rod))


def controls_answered(machine: Machine, values: Values) -> Machine:
    """Take how many turns the flow controls have; their tables are stretched to them."""
    air = _drive(machine)
    return replace(
        machine,
        air=replace(
            air,
            fill=_stretched(air.fill, number_in(values, "fill_turns", "The fill control")),
            recharge=_stretched(
                air.recharge, number_in(values, "recharge_turns", "The recharge control")
            ),
        ),
    )


def limits_answered(machine: Machine, values: Values) -> Machine:
    """Take pressures and temperatures from the plates."""
    usual = number_in(values, "usual_bar", "The air when it runs")
    most = number_in(values, "air_bar", "The air, at most")
    if usual > most:
        message = (
            f"The air when it runs is {plain(usual)} bar, above the plate's {plain(most)} bar. "
            "Read the gauge and the plate again."
        )
        raise BadInput(
            message,
            field="usual_bar",
            given=plain(usual),
            allowed=f"at most {plain(most)}",
            code="inconsistent",
        )
    wet = _number_or_none(values, "wet_bar", "The wet end")
    warm = _number_or_none(values, "product_c", "The product")
    return replace(
        machine,
        air=replace(_drive(machine), usual_bar_g=usual),
        air_max_bar_g=most,
        air_min_bar_g=min(machine.air_min_bar_g, usual),
        plate=PlateLimits(air_bar_g=most, wet_bar_g=wet, product_c=warm),
    )


def piece_answered(machine: Machine, side: str, place: int, values: Values) -> Machine:
    """Take one piece of the wet path."""
    path = machine.suction if side == "suction" else machine.outward
    kind = _choice(values, "kind", tuple(PIECE_KINDS), "what the piece is")
    piece = WetPiece(
        name=words_in(values, "piece_name", "The name of the piece"),
        kind=kind,  # type: ignore[arg-type]  # one of the kinds
        bore_mm=number_in(values, "bore_mm", "The bore"),
        length_mm=number_in(values, "length_mm", "The length", may_be_zero=True),
        rated_bar_g=path[place].rated_bar_g,
    )
    changed = _put(path, place, piece)
    return (
        replace(machine, suction=changed)
        if side == "suction"
        else replace(machine, outward=changed)
    )


def nozzle_answered(machine: Machine, place: int, values: Values) -> Machine:
    """Take one nozzle."""
    outside = number_in(values, "outside_mm", "The outside")
    bore = number_in(values, "bore_mm", "The bore")
    if bore >= outside:
        message = (
            f"The bore is {plain(bore)} mm, no narrower than the outside ({plain(outside)} mm). "
            "Measure both again."
        )
        raise BadInput(
            message,
            field="bore_mm",
            given=plain(bore),
            allowed=f"below {plain(outside)}",
            code="inconsistent",
        )
    nozzle = Nozzle(
        outside_mm=outside,
        bore_mm=bore,
        kind=_choice(values, "kind", tuple(NOZZLE_KINDS), "how it ends a dose"),
        length_mm=number_in(values, "length_mm", "The length"),
    )
    return replace(machine, nozzles=_put(machine.nozzles, place, nozzle))


def hopper_answered(machine: Machine, values: Values) -> Machine:
    """Take the hopper that stands on the machine."""
    full = number_in(values, "full_above_mm", "The full height", may_be_zero=True)
    low = number_in(values, "low_above_mm", "The low height", may_be_zero=True)
    if low > full:
        message = (
            f"The low mark is {plain(low)} mm above the cylinder, higher than when full "
            f"({plain(full)} mm). Measure both again."
        )
        raise BadInput(message, field="low_above_mm", given=plain(low), code="inconsistent")
    old = machine.hoppers[0] if machine.hoppers else None
    hopper = Hopper(
        name=old.name if old else "Hopper",
        usable_ml=number_in(values, "usable_ml", "The volume"),
        outlet_mm=machine.suction[0].bore_mm if machine.suction else full,
        full_above_mm=full,
        low_above_mm=low,
    )
    return replace(machine, hoppers=(hopper, *machine.hoppers[1:]))


def valve_answered(machine: Machine, values: Values) -> Machine:
    """Take the valve that is fitted."""
    kind = _choice(values, "valve_kind", _VALVES, "which valve is fitted")
    warm = number_in(values, "hot_limit_c", "The warmest product")
    port = machine.valves[0].port_mm if machine.valves else machine.suction[-1].bore_mm
    valve = Valve(kind=kind, port_mm=port, hot_limit_c=warm)  # type: ignore[arg-type]  # one of the kinds
    others = tuple(one for one in machine.valves[1:] if one.kind != kind)
    return replace(machine, valves=(valve, *others), hot_limit_c=warm)


def _stretched(control: FlowControl, turns: Decimal) -> FlowControl:
    """Return a flow control whose table ends at other turns."""
    share = turns / control.points[-1].open_turns
    return replace(
        control,
        points=tuple(
            NeedlePoint(open_turns=point.open_turns * share, c_dm3_per_s_bar=point.c_dm3_per_s_bar)
            for point in control.points
        ),
    )


def _drive(machine: Machine) -> AirDrive:
    """Return the air drive of a draft; every draft begins with one."""
    if machine.air is None:
        message = "This machine has no air drive to describe. Begin from a shipped machine."
        raise BadInput(message, field="air", code="missing")
    return machine.air


def _number_or_none(values: Values, field: str, name: str) -> Decimal | None:
    """Return a figure, or None where nothing was typed."""
    return number_in(values, field, name) if values.get(field, "").strip() else None


def _choice(values: Values, field: str, allowed: tuple[str, ...], name: str) -> str:
    """Return one of a few words."""
    picked = values.get(field, "").strip()
    if picked not in allowed:
        message = f"Choose {name} from the list."
        raise BadInput(
            message, field=field, given=picked[:40], allowed=", ".join(allowed), code="choice"
        )
    return picked


def _put(parts: tuple[_Part, ...], place: int, part: _Part) -> tuple[_Part, ...]:
    """Return the parts with one of them changed."""
    return (*parts[:place], part, *parts[place + 1 :])
