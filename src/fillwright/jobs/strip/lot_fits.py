"""Whether a lot of seals may go in a place: shelf date, material, the product, and its size."""

from __future__ import annotations

import re
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.match.seal_choice import seal_choice
from fillwright.jobs.strip.shelf import lot_row
from fillwright.knowledge.procedures_types import SealPlace
from fillwright.knowledge.seal_sizes import is_same, size_told
from fillwright.knowledge.seal_tables import materials
from fillwright.records.entities import JobFacts
from fillwright.records.entries import SealsShelved
from fillwright.records.localtime import local
from fillwright.records.nearest import nearest, plain_code

__all__ = ["TICK", "asked_material", "lot_that_fits", "other_size"]

TICK: Final = "a tick"
"""What a question is answered with, where the lot may go in all the same."""


def lot_that_fits(
    desk: Desk, facts: JobFacts, place: SealPlace, code: str, *, is_confirmed: bool
) -> SealsShelved | None:
    """Return the lot on the shelf that a new seal comes from; None where it is on no shelf.

    Parameters
    ----------
    desk : Desk
        Where the shelf is.
    facts : JobFacts
        The job: its product decides which materials must not be used.
    place : SealPlace
        Where the seal goes.
    code : str
        Lot as typed from the bag; blanks and case do not count.
    is_confirmed : bool
        True where the person ticked that it may go in all the same.

    Raises
    ------
    BadInput
        If the lot is past its shelf date or its material is none for this place and product;
        and, while that is not confirmed, if its material or its size is not the one that the
        place asks for, the product may attack it, or no such lot is on the shelf.
    """
    shelf = desk.book.site().shelf
    if not code.strip():
        return None
    lot = next((one for key, one in shelf.items() if plain_code(key) == plain_code(code)), None)
    if lot is None:
        if shelf and not is_confirmed:
            raise _unknown(code, tuple(shelf))
        return None
    dated = lot_row(lot, local(desk.clock.now(), desk.clock.zone()).date())
    if dated.state == "stop":
        message = f"Lot {lot.seal_lot} ran out of date on {dated.until}. Fit another lot."
        raise BadInput(message, field="seal_lot", given=code, allowed="a lot in date")
    _hold_against(facts, place, lot, is_confirmed=is_confirmed)
    return lot


def asked_material(place: SealPlace, material: str) -> str:
    """Return the material that a place asks for, where `material` is another one; else nothing.

    A profile may name several, as ``FKM or EPDM``, or none of the table.
    """
    wanted = {name.casefold() for name in re.findall(r"\w+", place.material)}
    known = {name.casefold() for name in materials().materials}
    if not wanted & known or material.casefold() in wanted:
        return ""
    return place.material


def other_size(place: SealPlace, lot: SealsShelved) -> tuple[str, str] | None:
    """Return the size of a lot and that of a place in words, where they differ; else None.

    None too where either of them is not known: a profile may say "by bore", a bag nothing.
    """
    wanted, told = size_told(place.size, place.kind), size_told(lot.size, place.kind)
    if wanted is None or told is None or is_same(wanted, told):
        return None
    return told.words, wanted.words


def _hold_against(
    facts: JobFacts, place: SealPlace, lot: SealsShelved, *, is_confirmed: bool
) -> None:
    """Refuse a material that the place or the product does not bear, or ask about it.

    One tick answers every doubt, so all of them stand in the question.
    """
    choice = seal_choice(facts.product.media, facts.product.product_c)
    attacked = choice is not None and lot.material in choice.never
    worst = choice.worst[lot.material] if choice is not None and attacked else ""
    asks = asked_material(place, lot.material)
    said = f"Lot {lot.seal_lot} is {lot.material}"
    if asks and attacked:
        message = (
            f"{said}, which does not stand {worst} ({facts.product.name}), and {place.position} "
            f"asks for {asks}. Fit a lot of {asks}."
        )
        raise BadInput(message, field="seal_lot", given=lot.material, allowed=asks)
    if is_confirmed:
        return
    told, wanted = other_size(place, lot) or ("", "")
    beside = f" Its size is another one too: {told}, not {wanted}." if told else ""
    if asks:
        message = (
            f"{said}, but {place.position} asks for {asks}. Fit a lot of {asks}, or tick that "
            f"the seal maker confirmed {lot.material} for {facts.product.name}.{beside}"
        )
        raise BadInput(message, field="seal_lot", given=lot.material, allowed=TICK)
    if attacked:
        good = choice.good if choice is not None else ()
        other = f"Fit {' or '.join(good[:2])}, or tick" if good else "Tick"
        message = (
            f"{said}, which does not stand {worst} ({facts.product.name}). {other} that the seal "
            f"maker confirmed {lot.material} for it.{beside}"
        )
        raise BadInput(message, field="seal_lot", given=lot.material, allowed=TICK)
    if told:
        message = (
            f"Lot {lot.seal_lot} is of size {told}, but {place.position} takes {wanted}. Fit a "
            f"lot of size {place.size}, or tick that the new one was measured and fits."
        )
        raise BadInput(message, field="seal_lot", given=lot.size, allowed=TICK)


def _unknown(code: str, shelf: tuple[str, ...]) -> BadInput:
    """Return the question where no such lot is on the shelf."""
    near = nearest(code, shelf, most=3) or shelf[:3]
    message = (
        f"There is no lot {code.strip()[:60]!r} on the shelf; nearest: {', '.join(near)}. Type "
        "the lot as on the bag, or tick that it was never put on the shelf."
    )
    return BadInput(message, field="seal_lot", given=code[:60], allowed=TICK)
