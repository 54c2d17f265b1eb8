"""Which container somebody complains about: its lot, its number, and the label that it carries."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.trace.complaint_facts import About
from fillwright.jobs.words import trays
from fillwright.records.entities import JobFacts
from fillwright.records.entries import ContainersRelabelled
from fillwright.records.fold import JobState
from fillwright.records.nearest import nearest, plain_code
from fillwright.records.spans import Span, words

__all__ = ["Told", "Which", "near_lots", "which_one"]

_SHOWN: Final = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the person who complains tells.

    Parameters
    ----------
    code : str
        Lot code on the container.
    container, tray, place : int or None
        Its number, or its tray and its place on it, where they are known.
    about : str
        What is wrong with it.
    found_g : Decimal or None
        What is left in it, net, where somebody weighed it.
    job : str
        Its job, where that is known; the latest job with the code when empty.
    """

    code: str
    container: int | None = None
    tray: int | None = None
    place: int | None = None
    about: About = "short"
    found_g: Decimal | None = None
    job: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Which:
    """The container that is meant.

    Parameters
    ----------
    state : JobState
        The job that filled it.
    facts : JobFacts
        Of that job, with the density of its filling and the label that it carries.
    lot_code : str
        As on its label.
    number : int or None
        None where nobody knows it.
    among : tuple of Span
        The containers of the lot.
    others : tuple of str
        Other jobs with the same lot code.
    """

    state: JobState
    facts: JobFacts
    lot_code: str
    number: int | None
    among: tuple[Span, ...]
    others: tuple[str, ...] = ()


def which_one(desk: Desk, told: Told) -> Which:
    """Return the container that is meant.

    Raises
    ------
    BadInput
        If no lot has the code (the nearest are offered), the container is not of the lot, or
        number, tray and place do not go together.
    """
    wanted = plain_code(told.code)
    found = _jobs(desk, wanted)
    state = find_job(desk, told.job) if told.job else (found[-1] if found else None)
    if state is None:
        near = near_lots(desk, told.code)
        hint = f" Nearest: {', '.join(near)}." if near else ""
        shown = told.code.strip()[:_SHOWN]
        message = f"No lot has the code {shown!r}.{hint} Read it again on the label."
        raise BadInput(message, field="code", given=shown, allowed=", ".join(near), code="choice")
    labels = state.held.relabelled()
    label = next((one for one in labels if plain_code(one[0].lot_code) == wanted), None)
    among = label[1] if label is not None else (Span(1, state.filled_to),)
    number = _number(state, told, among)
    if label is None and number is not None:
        here = Span(number, number)
        label = next((one for one in labels if _in(here, one[1])), None)
    return Which(
        state=state,
        facts=_labelled(state, number, None if label is None else label[0]),
        lot_code=state.known.lot_code if label is None else label[0].lot_code,
        number=number,
        among=among,
        others=tuple(one.number for one in found if one.number != state.number),
    )


def near_lots(desk: Desk, code: str) -> tuple[str, ...]:
    """Return the lot codes on record that are nearest to one that is not."""
    found: list[str] = []
    for name in desk.book.numbers():
        state = desk.book.job(name)
        if state is not None:
            found.append(state.known.lot_code)
            found += [fact.lot_code for fact, _ in state.held.relabelled()]
    return nearest(code, found)


def _jobs(desk: Desk, wanted: str) -> list[JobState]:
    """Return the jobs of a lot code, of re-labelled lots too, oldest first."""
    states = (desk.book.job(name) for name in desk.book.numbers()) if wanted else ()
    return [
        state
        for state in states
        if state is not None
        and (
            plain_code(state.known.lot_code) == wanted
            or any(plain_code(fact.lot_code) == wanted for fact, _ in state.held.relabelled())
        )
    ]


def _labelled(state: JobState, number: int | None, label: ContainersRelabelled | None) -> JobFacts:
    """Return the facts of a container with the label that it carries."""
    facts = state.lots.facts_for(state.known, number)
    if label is None:
        return facts
    return replace(
        facts,
        nominal=label.nominal,
        unit=label.unit,
        rules=label.rules,
        second_rules="",
        label_unit="",
    )


def _number(state: JobState, told: Told, among: tuple[Span, ...]) -> int | None:
    """Return the number of the container, from itself or from tray and place."""
    size = max(state.known.tray_size, 1)
    most = -(-state.filled_to // size)
    if told.tray is not None and not 1 <= told.tray <= most:
        message = f"This lot has no tray {told.tray}: it stood on {most}."
        raise BadInput(message, field="tray", given=told.tray, allowed=f"1 to {most}")
    if told.place is not None and not 1 <= told.place <= size:
        message = f"A tray has {size} places; {told.place} is none of them."
        raise BadInput(message, field="place", given=told.place, allowed=f"1 to {size}")
    number = told.container
    if number is None and told.place is not None:
        if told.tray is None:
            message = "Type the tray too, or leave the place empty: each tray has that place."
            raise BadInput(message, field="tray", given="", code="missing")
        number = (told.tray - 1) * size + told.place
    if number is None:
        return None
    if not 1 <= number <= state.filled_to:
        message = f"{number} is none of this lot: {state.filled_to} were filled."
        raise BadInput(message, field="container", given=number, allowed=f"1 to {state.filled_to}")
    if not _in(Span(number, number), among):
        message = f"{number} is none of this re-labelled lot: it holds {words(among)}."
        raise BadInput(message, field="container", given=number, allowed=words(among))
    stood, place = (number - 1) // size + 1, (number - 1) % size + 1
    if told.tray not in (None, stood) or told.place not in (None, place):
        tray = trays(number, number, size)
        message = (
            f"Number {number} stood on {tray}, place {place}. Correct the number, or leave tray "
            "and place empty."
        )
        raise BadInput(message, field="container", given=number, code="inconsistent")
    return number


def _in(here: Span, spans: tuple[Span, ...]) -> bool:
    """Say whether one container is in spans."""
    return any(span.first <= here.first <= span.last for span in spans)
