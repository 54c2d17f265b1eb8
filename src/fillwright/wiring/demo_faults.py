"""Faults that a person sets on the demo bench: their words, and what each does to a product."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.units import share_from_pct
from fillwright.science.twin_faults import Effect, Fault, FaultKind, effect_of
from fillwright.wiring import maker
from fillwright.wiring.standing import twin_as_told

__all__ = ["FAULT_WORDS", "effect_words", "fault_named", "faults_named", "foretold"]

FAULT_WORDS: Final = {
    FaultKind.VALVE_LEAK: "ring of the product valve leaks",
    FaultKind.RING_WORN: "piston ring worn",
    FaultKind.SUCTION_AIR: "air comes in at a joint of the suction",
    FaultKind.RECHARGE_TOO_FAST: "recharge too fast for the product",
    FaultKind.WHEEL_CREEP: "hand wheel creeps",
    FaultKind.LOW_PRESSURE: "air pressure low",
    FaultKind.HOPPER_LOW: "hopper runs empty",
    FaultKind.START_AIR: "air left in after the start",
    FaultKind.STICKY_VALVE: "product valve turns late now and then",
    FaultKind.DRIP: "nozzle drips",
    FaultKind.TIGHT_SEAL: "seal swollen and tight",
    FaultKind.BACK_FLOW: "gooseneck runs empty in a pause",
    FaultKind.TEMPERATURE_DRIFT: "product cools",
    FaultKind.SCALE_MOVED: "volume scale moved",
}
_MIDDLE: Final = 0.6
_SOUND_SD: Final = 0.0025


def fault_named(text: str) -> Fault:
    """Return a fault from its name and its severity.

    Parameters
    ----------
    text : str
        ``drip`` or ``drip:0.4``; without a figure the severity is 0.6.

    Returns
    -------
    Fault
        Of the simulated machine.

    Raises
    ------
    BadInput
        If there is no such fault, or the severity is none.
    """
    name, _, figure = text.strip().partition(":")
    if name not in FAULT_WORDS:
        known = "".join(f"\n  {kind.value:<18} {words}" for kind, words in FAULT_WORDS.items())
        message = (
            f"The demo has no fault {name[:40]!r}. It has these, each as NAME or NAME:SEVERITY"
        )
        raise BadInput(
            f"{message} with 0.3 just findable and 1 the worst:{known}",
            field="fault",
            given=text[:60],
            allowed=", ".join(FAULT_WORDS),
            code="choice",
        )
    try:
        severity = float(figure) if figure else _MIDDLE
    except ValueError:
        severity = -1.0
    if not 0.0 <= severity <= 1.0:
        raise BadInput(
            f"The severity of {name} is {figure[:20]!r}; give 0 for nothing to 1 for the worst.",
            field="fault",
            given=text[:60],
            allowed="0 to 1",
        )
    return Fault(kind=FaultKind(name), severity=severity)


def faults_named(texts: Sequence[str]) -> tuple[Fault, ...]:
    """Return faults from their names, each kind at most once.

    Raises
    ------
    BadInput
        If one is unknown, or one comes twice.
    """
    faults = tuple(fault_named(text) for text in texts)
    kinds = [fault.kind for fault in faults]
    for kind in kinds:
        if kinds.count(kind) > 1:
            message = f"The fault {kind.value} is named twice; give it once, with one severity."
            raise BadInput(message, field="fault", given=kind.value, code="inconsistent")
    return faults


def effect_words(effect: Effect, product: str) -> str:
    """Return in one sentence what a fault does to the doses of a product."""
    fault = effect.fault
    named = f"{fault.kind.value}, severity {fault.severity:g}"
    if fault.severity == 0.0:
        return f"{named}: nothing is wrong."
    if not effect.shows:
        return f"{named}: present, no effect on the doses of {product}."
    return f"{named}: the doses of {product} show it."


def foretold(faults: Sequence[Fault]) -> tuple[str, ...]:
    """Return what faults do to each product of the demo, a sentence each."""
    told = []
    for facts in maker.JOBS:
        expected = facts.expected_sd_pct
        sd = _SOUND_SD if expected is None else share_from_pct(expected)
        bench = twin_as_told(facts, sd)
        told += [effect_words(effect_of(bench, fault), facts.product.name) for fault in faults]
    return tuple(told)
