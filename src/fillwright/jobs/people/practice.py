"""Practice: jobs that count nowhere, on the simulated machine or on the real one with water.

The number of a practice job is its mark, and its entries stand in a stream apart, so that
learning, costs, trace, exports and the list of released lots never meet it.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Final, Literal

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.words import in_steps
from fillwright.records.book import is_practice, stream_of
from fillwright.records.entities import JobFacts, Product, RunsLike
from fillwright.records.entries import ComplaintPractised, JobOpened
from fillwright.records.fold import JobState

__all__ = [
    "Complaint",
    "answer_complaint",
    "complaint_of",
    "is_simulated",
    "open_practice",
    "patterns",
]

On = Literal["simulated", "water"]

_LOT_OF_WATER: Final = 120
_LOT_SIMULATED: Final = 360
"""Enough to prove, to see a creep, to answer it, and to weigh on; our own choice."""
_STEP_G: Final = Decimal("0.1")
_WATER: Final = Product(
    name="Water, for practice",
    density_g_per_ml=Decimal("0.9982"),
    expansion_per_k=Decimal("0.00021"),
    runs_like=RunsLike.WATER,
    notes="practice",
)
"""Density and expansion of water at 20 °C, common tables, from memory."""
_CODES: Final = {"simulated": "PRACTICE, SIMULATED", "water": "PRACTICE, WATER"}


def is_simulated(desk: Desk, number: str) -> bool:
    """Return True for a practice job that was opened for the simulated machine.

    Its first entry says so, and no change of facts takes that off.
    """
    if not is_practice(number):
        return False
    first = next(desk.journal.entries(stream_of(number)), None)
    fact = None if first is None else first.payload
    return isinstance(fact, JobOpened) and fact.facts.lot_code == _CODES["simulated"]


def patterns(desk: Desk) -> tuple[JobFacts, ...]:
    """Return the jobs that practice can be like: the latest of each product and machine."""
    found: dict[tuple[str, str], JobFacts] = {}
    for number in reversed(desk.book.numbers()):
        with desk.book.lock:
            state = desk.book.job(number)
        if state is not None and state.facts is not None:
            facts = state.known
            found.setdefault((facts.product.name, facts.machine.name), facts)
    return tuple(found.values())


def open_practice(desk: Desk, like: str, on: On, press: Press) -> str:
    """Open a practice job that is like a real one.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    like : str
        Number of the job to be like.
    on : str
        ``"simulated"``: its own product on the simulated machine. ``"water"``: water on the
        real machine, the same dose by volume.
    press : Press
        Who practises.

    Returns
    -------
    str
        Its number.

    Raises
    ------
    BadInput
        If there is no such job.
    """
    with desk.book.lock:
        pattern = find_job(desk, like).known
        used = [int(one.rpartition("-")[2]) for one in desk.book.practice_numbers()]
        number = f"practice-{max(used, default=0) + 1}"
        facts = replace(
            pattern,
            number=number,
            lot_code=_CODES[on],
            lot_size=min(pattern.lot_size, _LOT_OF_WATER) if on == "water" else _LOT_SIMULATED,
            second_rules="",
        )
        if on == "water":
            facts = _with_water(facts)
        open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
        return number


def _with_water(facts: JobFacts) -> JobFacts:
    """Return the facts with water at the temperature of the room, the same volume in each."""
    if facts.unit == "mL":
        return replace(facts, product=_WATER)
    share = _WATER.density_g_per_ml / facts.product.density_g_per_ml
    nominal = in_steps(facts.nominal * share, _STEP_G, ROUND_HALF_UP)
    aim = in_steps(facts.aim_g * share, _STEP_G, ROUND_HALF_UP)
    return replace(facts, product=_WATER, nominal=nominal, aim_g=aim)


class Complaint:
    """An invented complaint about one container of a practised run, and what the record says.

    Parameters
    ----------
    state : JobState
        A practice job whose run has at least three weighed containers.
    """

    def __init__(self, state: JobState) -> None:
        self.job = state.number
        weighed = {
            one.fact.container: one.fact.state
            for one in state.weighings
            if one.counts and one.fact.purpose in ("proof", "dose") and one.fact.container
        }
        numbers = sorted(weighed)
        between = [n for n in range(numbers[0], numbers[-1]) if n not in weighed]
        choice = between or numbers
        self.container = choice[len(choice) // 2]
        self.was_weighed = self.container in weighed
        good = [n for n in numbers if weighed[n] in ("on", "low", "high") and n != self.container]
        self.first = max((n for n in good if n < self.container), default=0) + 1
        after = min((n for n in good if n > self.container), default=state.filled_to + 1)
        self.last = after - 1

    @property
    def because(self) -> str:
        """Return what the record says of it."""
        weighed = "was weighed" if self.was_weighed else "was not weighed"
        return (
            f"{self.container} {weighed}. The nearest ones that were weighed and not short are "
            f"{self.first - 1 or 'none'} before and {self.last + 1} after it, so {self.first} "
            f"to {self.last} are suspect. Hold what is left of them first, then look further."
        )


def complaint_of(state: JobState) -> Complaint | None:
    """Return the complaint to practise on; None before enough was weighed in a run."""
    few = 3
    weighed = [
        one
        for one in state.weighings
        if one.counts and one.fact.purpose in ("proof", "dose") and one.fact.container
    ]
    return Complaint(state) if len(weighed) >= few else None


def answer_complaint(
    desk: Desk,
    number: str,
    press: Press,
    *,
    first: int,
    last: int,
    was_weighed: bool,
    then: str,
) -> ComplaintPractised:
    """Keep the answer to the practised complaint, with what the record says.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        The practice job.
    press : Press
        Who answers.
    first, last : int
        Which containers are called suspect.
    was_weighed : bool
        Whether the one in question is said to have been weighed.
    then : str
        What would be done first.

    Returns
    -------
    ComplaintPractised
        What was kept.

    Raises
    ------
    BadInput
        If it is no practice job, not enough was weighed, or the answer is none.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        asked = complaint_of(state) if is_practice(number) else None
        if asked is None:
            message = f"Job {number[:40]} has no run to complain about. Practise a run first."
            raise BadInput(message, field="job", given=number[:40], code="missing")
        if then not in ("hold-and-look", "replace-and-forget", "turn-the-wheel"):
            message = "Say what you would do first: pick one of the three."
            raise BadInput(message, field="then", given=then[:40], code="choice")
        if not 1 <= first <= last <= state.filled_to:
            message = f"Say which are suspect: from 1 to {state.filled_to}, the first first."
            allowed = f"1 to {state.filled_to}"
            raise BadInput(message, field="suspect_from", given=first, allowed=allowed)
        fact = ComplaintPractised(
            container=asked.container,
            first=first,
            last=last,
            was_weighed=was_weighed,
            then=then,  # type: ignore[arg-type]  # one of the three words above
            is_right=(first, last, was_weighed, then)
            == (asked.first, asked.last, asked.was_weighed, "hold-and-look"),
            because=asked.because,
        )
        keep(desk, state, [fact], press)
        return fact
