"""The checks by number for the job card, from the fault data that the site works with."""

from __future__ import annotations

from typing import Final

from fillwright.knowledge.faults_types import Check, FaultBook
from fillwright.records.sheets_checks import CheckLine, CheckPlace, CheckRow

__all__ = ["check_places", "first_looks"]

_MOST_WORDS: Final = 140
_MOST_FIRST: Final = 60
_PLACES: Final[tuple[tuple[str, tuple[str, ...]], ...]] = (
    (
        "A first look round the machine",
        ("see_estop", "gauge_rest", "wheel_end", "see_guard", "see_mode"),
    ),
    ("Air supply", ("gauge_run", "bowl", "hiss_walk", "exhaust_feel")),
    (
        "Start, stop sensors, pause at the ends",
        ("start_test", "front_sensor_look", "rear_sensor_look", "dwell_time"),
    ),
    (
        "Hand-wheel and speeds",
        ("wheel_lock", "wheel_reading", "range_check", "needles", "slow_fill_trial"),
    ),
    (
        "Hopper and inlet",
        ("hopper_look", "lid_vent", "slow_recharge_trial", "strainer_look", "ferrule_look"),
    ),
    (
        "Joints, product valve, suck-back pin",
        ("joint_look", "suction_test", "valve_travel", "valve_marks", "valve_open", "pin_look"),
    ),
    (
        "Piston, seals and drive",
        ("piston_pull", "seal_measure", "hand_move", "coupling_look", "stop_look"),
    ),
    ("Nozzle", ("nozzle_look", "nozzle_fit", "cutoff_watch")),
    ("Product", ("flush", "product_air", "product_temp", "density_check", "layers", "lump_look")),
    ("Weighing and parts", ("tare_ten", "reweigh", "check_mass", "target_sum", "parts_match")),
)
_OWN: Final = "Checks of this site"
_PLACE_OF: Final = {key: name for name, keys in _PLACES for key in keys}
_VENTED: Final = frozenset({"air_isolated", "air_vented", "nozzle_off"})
_MOVING: Final = frozenset({"guard_fitted"})
_FIRST: Final = {
    "hopper_drained": "hopper drained",
    "nozzle_off": "nozzle off",
    "two_person_if_heavy": "two people",
    "power_off": "switched off and unplugged",
    "qualified": "qualified technician only",
    "qualified_if_box_open": "control box: qualified technician only",
    "cover_food_surfaces": "product surfaces covered",
}
_LOOKS: Final = (
    (
        ("see_estop", "gauge_rest", "wheel_end"),
        "Nothing moves: emergency stop out? Air at its pressure? Pointer not past full scale?",
    ),
    (
        ("wheel_lock", "wheel_reading"),
        "Dose creeps: is the wheel lock tight? Read the pointer first, then try the wheel.",
    ),
    (
        ("slow_recharge_trial", "product_air"),
        "Dose jumps about: slow the recharge. Air spitting at the nozzle?",
    ),
)


def check_places(book: FaultBook) -> tuple[CheckPlace, ...]:
    """Return every check once, by where one stands and there by its number.

    Parameters
    ----------
    book : FaultBook
        The fault data of the program, or the site's own.

    Returns
    -------
    tuple of CheckPlace
        A check that only the site knows stands in the last one.
    """
    found: dict[str, list[CheckRow]] = {name: [] for name in (*dict(_PLACES), _OWN)}
    for check in sorted(book.checks.values(), key=lambda check: check.number):
        found[_PLACE_OF.get(check.key, _OWN)].append(_row(book, check))
    return tuple(CheckPlace(name=name, checks=tuple(rows)) for name, rows in found.items() if rows)


def first_looks(book: FaultBook) -> tuple[CheckLine, ...]:
    """Return what to look at first for the three commonest signs.

    Parameters
    ----------
    book : FaultBook
        Gives the numbers; a check that it does not have is not named.
    """
    return tuple(
        CheckLine(
            numbers=tuple(sorted(book.checks[key].number for key in keys if key in book.checks)),
            words=words,
        )
        for keys, words in _LOOKS
    )


def _row(book: FaultBook, check: Check) -> CheckRow:
    """Return one check in a line."""
    needs = set(check.needs)
    vented, moving = bool(needs & _VENTED), bool(needs & _MOVING)
    marks = tuple(
        name
        for name, holds in (
            ("vented", vented),
            ("moving", moving),
            ("standing", not vented and not moving),
        )
        if holds
    )
    return CheckRow(
        number=check.number,
        words=_short(check.ask, _MOST_WORDS),
        marks=marks,
        first=tuple(
            _FIRST[need] if need in _FIRST else _short(book.needs[need], _MOST_FIRST)
            for need in check.needs
            if need in _FIRST or need not in _VENTED | _MOVING
        ),
    )


def _short(words: str, most: int) -> str:
    """Return words of at most so many letters, with dots for what is left out."""
    if len(words) <= most:
        return words
    kept = words[: most - 2]
    return (kept.rpartition(" ")[0] or kept).rstrip(",;: ") + " …"
