"""Changes in mid-run and in a proving run: another carton, drum or person; one key each.

A new carton has its own empties and its own tare from then on; a new drum its own density where
the label is a volume. What was filled before keeps what it was filled under.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from typing import Final, Literal, get_args

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import LABEL_C, content_of, density_at
from fillwright.jobs.words import in_steps, plain
from fillwright.records.entities import Product
from fillwright.records.entries import (
    DensityTaken,
    LotTaken,
    Payload,
    PersonChanged,
)
from fillwright.records.fold import JobState
from fillwright.records.kinds_lots import LotOf
from fillwright.science.quantity import reading_for_volume

__all__ = [
    "NAMES",
    "change_person",
    "is_proving",
    "lots_told",
    "take_drum",
    "take_lot",
    "tell_lots",
]

NAMES: Final[dict[LotOf, str]] = {
    "container": "carton of containers",
    "lid": "carton of lids",
    "drum": "drum",
}
_LONGEST: Final = 80
_DENSEST: Final = Decimal(3)
_FAR: Final = Decimal("0.1")
"""A drum whose density is so far from the last is a slip, or another product; our own choice."""


def tell_lots(
    desk: Desk, number: str, codes: dict[LotOf, str], press: Press, *, batch: str = ""
) -> JobState:
    """Keep the codes of what is there from the first container; those left empty are holes.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    codes : dict
        Lot code of the carton of containers, of lids, and of the drum.
    press : Press
        Who pressed.
    batch : str
        Batch of the product.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If a code is too long.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        facts = lots_told(state, codes, batch)
        return keep(desk, state, facts, press) if facts else state


def lots_told(state: JobState, codes: Mapping[LotOf, str], batch: str = "") -> list[LotTaken]:
    """Return what is told of cartons and drum from the first container; only what is new.

    Raises
    ------
    BadInput
        If a code is too long.
    """
    facts = []
    for what in get_args(LotOf):
        code = _code(codes.get(what, ""), what)
        of_drum = _code(batch, what) if what == "drum" else ""
        known = state.lots.at(what, 1)
        told = ("", "") if known is None else (known.fact.code, known.fact.batch)
        if (code or of_drum) and (code, of_drum) != told:
            facts.append(LotTaken(what=what, code=code, after_container=0, batch=of_drum))
    return facts


def take_lot(
    desk: Desk,
    number: str,
    what: Literal["container", "lid"],
    code: str,
    press: Press,
    *,
    last_filled: int | None = None,
    note: str = "",
) -> JobState:
    """Take a new carton of containers or lids into use.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    what : str
        Containers or lids.
    code : str
        Lot code on the carton.
    press : Press
        Who pressed.
    last_filled : int, optional
        Last container filled before it.
    note : str
        Why there is no code, or anything else.

    Returns
    -------
    JobState
        The job as it stands; for containers it waits for empties.

    Raises
    ------
    BadInput
        If no run is open, or there is neither a code nor a reason.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        after = _after(state, last_filled)
        fact = LotTaken(
            what=what,
            code=_code_or_note(code, note, what),
            after_container=after,
            note=note.strip(),
        )
        return keep(desk, state, [fact], press)


def take_drum(
    desk: Desk,
    number: str,
    code: str,
    press: Press,
    *,
    batch: str = "",
    last_filled: int | None = None,
    note: str = "",
    density_g_per_ml: Decimal | None = None,
    density_c: Decimal | None = None,
) -> JobState:
    """Take a new drum into use; where the label is a volume, with its density.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    code : str
        Lot code on the drum.
    press : Press
        Who pressed.
    batch : str
        Batch of the product in it; that of the drum before when left out.
    last_filled : int, optional
        Last container filled before it.
    note : str
        Why its density is taken to be that of the drum before, or why there is no code.
    density_g_per_ml, density_c : Decimal, optional
        Density, and the temperature at which it was taken; that of the drum before when left
        out.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If no run is open, there is neither a code nor a reason, the label is a volume and
        there is neither a density nor a reason, or the density cannot be of this product.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        after = _after(state, last_filled)
        told = _code_or_note(code, note, "drum")
        before = state.lots.at("drum", max(state.filled_to, 1))
        same = "" if before is None else before.fact.batch
        facts: list[Payload] = [
            LotTaken(
                what="drum",
                code=told,
                after_container=after,
                batch=_code(batch, "drum") or same,
                note=note.strip(),
            )
        ]
        if density_g_per_ml is not None:
            facts.append(_density(state, after, density_g_per_ml, density_c))
        elif state.known.unit == "mL" and not note.strip():
            message = (
                "The label is a volume: type the density of this drum, or say in the note why "
                "it is that of the last one."
            )
            raise BadInput(message, field="density_g_per_ml", code="missing")
        return keep(desk, state, facts, press)


def change_person(
    desk: Desk, number: str, initials: str, press: Press, *, last_filled: int | None = None
) -> JobState:
    """Keep that somebody else takes over at the machine.

    Raises
    ------
    BadInput
        If no run is open, the initials are not on the list of names, or nobody changes.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        after = _after(state, last_filled)
        now = initials.strip()
        people = desk.book.site().people
        if now not in people:
            message = f"{now or 'Nobody'} is not on the list of names. Add the name first."
            raise BadInput(message, field="initials", given=initials, code="choice")
        if now == press.person:
            message = f"{now} is at the machine already. Pick who takes over."
            raise BadInput(message, field="initials", given=initials, code="inconsistent")
        fact = PersonChanged(after_container=after, before=press.person, now=now)
        return keep(desk, state, [fact], Press(person=now, seen=press.seen))


def _density(
    state: JobState, after: int, density: Decimal, density_c: Decimal | None
) -> DensityTaken:
    """Return the density of a drum, with the aim that holds the same volume above the label."""
    facts = state.known
    old = facts.product
    if not density.is_finite() or not 0 < density <= _DENSEST:
        message = f"Density {density} g/mL: give what one millilitre weighs in grams."
        raise BadInput(message, field="density_g_per_ml", given=str(density), allowed="above 0")
    if abs(density - old.density_g_per_ml) > _FAR * old.density_g_per_ml:
        message = (
            f"{plain(density)} g/mL is more than a tenth from the last drum "
            f"({plain(old.density_g_per_ml)}). Type it again; another product is another job."
        )
        raise BadInput(message, field="density_g_per_ml", given=str(density), code="range")
    at_c = old.density_c if density_c is None else density_c
    product: Product = replace(old, density_g_per_ml=density, density_c=at_c)
    aim_g = facts.aim_g
    if facts.unit == "mL":
        same = reading_for_volume(
            Fraction(content_of(facts, facts.aim_g)),
            density_20_g_per_ml=density_at(product, LABEL_C),
            buoyancy=not product.is_apparent,
        )
        aim_g = in_steps(same, facts.scale.readability_g, ROUND_CEILING)
    return DensityTaken(
        after_container=after,
        density_g_per_ml=density,
        density_c=at_c,
        is_apparent=old.is_apparent,
        aim_g=aim_g,
    )


def is_proving(state: JobState) -> bool:
    """Return True while shots of a proving run are weighed."""
    run = state.run
    runs = run is not None and run.started is not None and run.finished is None
    return state.proof_plan is not None and state.proof is None and not runs


def _after(state: JobState, last_filled: int | None) -> int:
    """Return the last container filled before a change, checked against the lot."""
    run = state.run
    runs = run is not None and run.started is not None and run.finished is None
    if not runs and not is_proving(state):
        message = "No run is open in this job, and no proving run."
        raise BadInput(message, field="run", code="inconsistent")
    facts = state.known
    most = max(facts.lot_size, state.filled_to) + facts.tray_size
    proved = (shot.fact.container or 0 for shot in state.proof_shots)
    least = run.last_weighed if runs and run is not None else max(proved, default=0)
    after = state.filled_to if last_filled is None else last_filled
    if not least <= after <= most:
        message = f"{after} cannot be the last one filled: type {least} to {most}."
        raise BadInput(
            message, field="last_filled", given=after, allowed=f"{least} to {most}", code="range"
        )
    return after


def _code(code: str, what: LotOf) -> str:
    """Return a lot code without blanks around it; refuses one that is too long."""
    told = " ".join(code.split())
    if len(told) > _LONGEST:
        message = f"A code of {len(told)} letters is no lot code of a {NAMES[what]}."
        raise BadInput(message, field="code", given=told, allowed=f"to {_LONGEST} letters")
    return told


def _code_or_note(code: str, note: str, what: LotOf) -> str:
    """Return the code; refuses where there is neither a code nor a reason."""
    told = _code(code, what)
    if not told and not note.strip():
        message = (
            f"Type the lot code of the {NAMES[what]}. Where it has none, say so in the note: a "
            "trace will end there."
        )
        raise BadInput(message, field="code", given=code, code="missing")
    return told
