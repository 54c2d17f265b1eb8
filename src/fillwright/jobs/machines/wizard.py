"""Describe a machine, one question at a time: only what can be read or measured at the bench.

An answer gives the next draft of the machine, or names the field that cannot be. Nothing is
kept before the end.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final

from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.machines.answers import (
    air_answered,
    controls_answered,
    cylinder_answered,
    hopper_answered,
    limits_answered,
    nozzle_answered,
    piece_answered,
    refuse_taken_name,
    scale_answered,
    valve_answered,
    wheel_answered,
    words_in,
)
from fillwright.records.entities import Machine

__all__ = ["added", "answered", "dropped", "keep_described"]

Values = Mapping[str, str]

_WHOLE: Final[dict[str, Callable[[Machine, Values], Machine]]] = {
    "scale": scale_answered,
    "wheel": wheel_answered,
    "air": air_answered,
    "controls": controls_answered,
    "limits": limits_answered,
    "hopper": hopper_answered,
    "valve": valve_answered,
}
_PARTS: Final[dict[str, Callable[[Machine, int, Values], Machine]]] = {
    "cylinder": cylinder_answered,
    "nozzle": nozzle_answered,
    "suction": lambda machine, place, values: piece_answered(machine, "suction", place, values),
    "outward": lambda machine, place, values: piece_answered(machine, "outward", place, values),
}
_FIELD_OF: Final = {
    "cylinder": "cylinders",
    "nozzle": "nozzles",
    "suction": "suction",
    "outward": "outward",
}


def answered(desk: Desk, machine: Machine, key: str, values: Values) -> Machine:
    """Return the draft with one question answered.

    Parameters
    ----------
    desk : Desk
        Knows the names that are taken.
    machine : Machine
        The draft so far.
    key : str
        Which question.
    values : mapping of str to str
        What was typed, by field.

    Returns
    -------
    Machine
        The next draft.

    Raises
    ------
    BadInput
        If an answer cannot be; names the field.
    """
    what, place = _place(key)
    if what in _PARTS:
        return _PARTS[what](machine, place, values)
    if what in _WHOLE:
        return _WHOLE[what](machine, values)
    name = words_in(values, "name", "The machine's name")
    refuse_taken_name(desk, machine, name)
    return replace(machine, name=name, is_invented=False)


def added(machine: Machine, key: str) -> tuple[Machine, str]:
    """Return the draft with one more part like that of a question, and the new one's key."""
    what, place = _place(key)
    parts = _parts(machine, what)
    like = parts[place]
    if what in ("suction", "outward"):
        like = replace(like, name="New piece")
    more = (*parts[: place + 1], like, *parts[place + 1 :])
    return _with_parts(machine, what, more), f"{what}-{place + 2}"


def dropped(machine: Machine, key: str) -> tuple[Machine, str]:
    """Return the draft without the part of a question, and the key to go on with."""
    what, place = _place(key)
    parts = _parts(machine, what)
    left = parts[:place] + parts[place + 1 :] or parts
    return _with_parts(machine, what, left), f"{what}-{min(place + 1, len(left))}"


def keep_described(desk: Desk, machine: Machine, press: Press) -> None:
    """Keep the machine as it is described now.

    Raises
    ------
    BadInput
        If it has no name of its own yet.
    """
    words_in({"name": "" if machine.is_invented else machine.name}, "name", "The machine's name")
    keep_thing(desk, machine, press)


def _place(key: str) -> tuple[str, int]:
    """Return what a question is about, and the place of its part, from 0."""
    what, _, number = key.partition("-")
    return what, int(number) - 1 if number.isdigit() else 0


def _parts(machine: Machine, what: str) -> tuple[Any, ...]:
    """Return the parts of one list; none where there is no such list."""
    return getattr(machine, _FIELD_OF[what]) if what in _FIELD_OF else ()


def _with_parts(machine: Machine, what: str, parts: tuple[Any, ...]) -> Machine:
    """Return the draft with other parts in one list."""
    changed: dict[str, Any] = {_FIELD_OF[what]: parts}
    return replace(machine, **changed)
