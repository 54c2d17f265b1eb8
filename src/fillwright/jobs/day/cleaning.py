"""Cleaning: what a machine bears, which clean the next job asks for, and the record of it.

Minutes of changing over are judgement; the site's own allergen plan goes before them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.knowledge.changeover_rules import shipped_rules
from fillwright.records.entities import JobFacts, RunsLike
from fillwright.records.entries import CleanDone
from fillwright.records.fold import JobState
from fillwright.records.units import min_from_s, s_from_min
from fillwright.science import changeover

__all__ = [
    "CLEANS",
    "RESIDUES",
    "TRAITS",
    "CleanRow",
    "CleaningLook",
    "clean_for",
    "cleaned_before",
    "first_gap",
    "keep_clean",
    "last_filled",
    "look",
    "rules",
    "traits",
]

CLEANS: Final = {
    "flush-through": "flush through",
    "wet-end-clean": "wet-end clean",
    "full-strip": "full strip",
}
"""The three cleans, least first, in the words of the pages."""
_UP_TO_MIN: Final = {"flush-through": 10.0, "wet-end-clean": 30.0, "full-strip": math.inf}
_RANK: Final = tuple(CLEANS)
RESIDUES: Final = {
    "rinse-clear": "rinse water runs clear",
    "rinse-test-good": "rinse water tested, good",
    "swab-good": "swab, good",
    "swab-bad": "swab, not good",
    "not-checked": "not checked",
}
"""How residue was looked for, in the words of the pages."""
_TESTED: Final = ("rinse-test-good", "swab-good")
TRAITS: Final = ("allergen", "colour", "scent", "base")
"""What of a product the cleaning depends on."""
_WITH_PRODUCT: Final = ("purge", "shot", "proof", "dose")
_PARTS: Final = "parts"
_NONE: Final = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanRow:
    """A clean on record, in words."""

    at: datetime
    person: str
    fact: CleanDone
    words: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CleaningLook:
    """Everything the page of cleaning shows.

    Parameters
    ----------
    machine : str
        Which machine.
    bears : str
        Product that it filled last; empty where it has filled nothing.
    next_job, next_product : str
        The job that comes next; empty where none is open.
    wanted : str
        The clean that is asked for; empty where nothing is to be cleaned.
    because : str
        Why that one.
    is_done : bool
        Whether a clean that is enough was kept since.
    due_words : str
        When it is due by its date; empty where no date was given.
    is_overdue : bool
        Whether that date has passed.
    rows : tuple of CleanRow
        Cleans on record, the latest first.
    machines : tuple of str
        All machines, for the choice.
    """

    machine: str
    bears: str
    next_job: str
    next_product: str
    wanted: str
    because: str
    is_done: bool
    due_words: str
    is_overdue: bool
    rows: tuple[CleanRow, ...]
    machines: tuple[str, ...]


def rules(forbidden: frozenset[tuple[str, str]] = frozenset()) -> changeover.Rules:
    """Return the times of changing over that come with the program."""
    times = shipped_rules()
    return changeover.Rules(
        base=s_from_min(times.base_min),
        tables={
            name: {pair: s_from_min(value) for pair, value in table.items()}
            for name, table in times.tables.items()
        },
        default={name: s_from_min(value) for name, value in times.default.items()},
        forbidden=forbidden,
    )


def traits(desk: Desk, facts: JobFacts) -> dict[str, str]:
    """Return what the cleaning after a job depends on: as kept of its product, else as usual."""
    kept = desk.book.site().product_traits.get(facts.product.name)
    words = {
        "allergen": _NONE,
        "colour": "light",
        "scent": _NONE,
        "base": "oil" if facts.product.runs_like is RunsLike.OIL else "water",
    }
    if kept is not None:
        words = {name: getattr(kept, name) for name in TRAITS}
    return words | {_PARTS: f"{facts.machine.name}, {facts.cylinder.capacity_ml:f} mL"}


def last_filled(desk: Desk, machine: str) -> JobState | None:
    """Return the job that was filled last on a machine; None where none was."""
    found: JobState | None = None
    for number in desk.book.numbers():
        state = desk.book.job(number)
        if state is None or state.facts is None or state.known.machine.name != machine:
            continue
        if _filled_at(state) is None:
            continue
        if found is None or _when(state) >= _when(found):
            found = state
    return found


def clean_for(gap_min: float) -> str:
    """Return the clean that a changeover of so many minutes asks for."""
    return next(name for name, most in _UP_TO_MIN.items() if gap_min <= most)


def first_gap(
    desk: Desk, last: JobState | None, words: Mapping[str, str], times: changeover.Rules
) -> tuple[float, str]:
    """Return the minutes before a job if it is the next after `last` on its machine, and why.

    A clean on record that is enough leaves only the setting up.
    """
    base_min = _minutes(times.base)
    if last is None:
        return base_min, ""
    gap = changeover.between(traits(desk, last.known), words, times)
    gap_min = gap if math.isinf(gap) else _minutes(gap)
    product = last.known.product.name
    done = _since(desk, last.known.machine.name, _when(last))
    wanted = clean_for(gap_min)
    if done is not None and _RANK.index(done.fact.clean) >= _RANK.index(wanted):
        return base_min, f"after {product}: {CLEANS[done.fact.clean]} on record"
    return gap_min, f"after {product}, not cleaned since" if gap_min > base_min else ""


def look(desk: Desk, machine: str, *, next_job: str = "") -> CleaningLook:
    """Return what the page of cleaning shows.

    Raises
    ------
    BadInput
        If there is no such machine, or the next job is not of it.
    """
    with desk.book.lock:
        site = desk.book.site()
        names = tuple(site.machines)
        if machine not in site.machines:
            message = f"There is no machine {machine[:60]!r}. Pick one from the list."
            raise BadInput(message, field="machine", given=machine[:60], code="choice")
        last = last_filled(desk, machine)
        coming = _next(desk, machine, next_job)
        wanted, because = _wanted(desk, last, coming)
        rows = tuple(
            CleanRow(at=at, person=person, fact=fact, words=words_of(fact), state=_state(fact))
            for at, person, fact in reversed(site.cleans)
            if fact.machine == machine
        )
        since = None if last is None else _since(desk, machine, _when(last))
        due = rows[0].fact.next_due_on if rows else ""
        today = desk.clock.now().date()
        overdue = bool(due) and date.fromisoformat(due) < today
        return CleaningLook(
            machine=machine,
            bears="" if last is None else last.known.product.name,
            next_job="" if coming is None else coming.number,
            next_product="" if coming is None else coming.known.product.name,
            wanted=wanted,
            because=because,
            is_done=bool(wanted)
            and since is not None
            and _RANK.index(since.fact.clean) >= _RANK.index(wanted),
            due_words=f"Due again on {due}." if due else "",
            is_overdue=overdue,
            rows=rows,
            machines=names,
        )


def keep_clean(desk: Desk, fact: CleanDone, press: Press) -> CleanDone:
    """Keep that a machine was cleaned; what it was of, and what was wanted, is looked up.

    Returns
    -------
    CleanDone
        As it was kept.

    Raises
    ------
    BadInput
        If clean or residue is none of the choices, the date is none, the cleaner is missing,
        or less was done than is wanted and no reason is given.
    """
    with desk.book.lock:
        seen = look(desk, fact.machine, next_job=fact.before_job)
        last = last_filled(desk, fact.machine)
        whole = replace(
            fact,
            after_job="" if last is None else last.number,
            after_product=seen.bears,
            before_job=seen.next_job,
            wanted=seen.wanted,
        )
        _refuse(desk, whole, last)
        keep_on_site(desk, [whole], press)
        return whole


def words_of(fact: CleanDone) -> str:
    """Return a clean in one sentence."""
    after = f" after {fact.after_product}, job {fact.after_job}" if fact.after_job else ""
    agent = ", ".join(
        words
        for words in (fact.agent, f"batch {fact.agent_batch}" if fact.agent_batch else "")
        if words
    )
    parts = [
        f"{CLEANS[fact.clean].capitalize()}{after}",
        f"cleaner {agent}" if agent else "no cleaner",
        RESIDUES[fact.residue] + (f" ({fact.reading})" if fact.reading else ""),
        f"{fact.discarded_l:f} L discarded" if fact.discarded_l is not None else "",
    ]
    reason = f" {fact.because}." if fact.because else ""
    return "; ".join(part for part in parts if part) + "." + reason


def cleaned_before(desk: Desk, state: JobState) -> str:
    """Return how the machine of a job was cleaned before its run, for the record."""
    began = next((w.at for w in state.weighings if w.fact.purpose in _WITH_PRODUCT), None)
    if began is None:
        return ""
    found = [
        (at, person, fact)
        for at, person, fact in desk.book.site().cleans
        if fact.machine == state.known.machine.name and at <= began
    ]
    if not found:
        return ""
    at, person, fact = found[-1]
    return f"Cleaned before, {at:%Y-%m-%d} by {person}: {words_of(fact)}"


def _refuse(desk: Desk, fact: CleanDone, last: JobState | None) -> None:
    """Refuse a clean that cannot be, or that leaves out what it must not."""
    for value, allowed, field in (
        (fact.clean, tuple(CLEANS), "clean"),
        (fact.residue, tuple(RESIDUES), "residue"),
    ):
        if value not in allowed:
            words = ", ".join(allowed)
            message = f"{value!r} is none of {words}. Pick one."
            if not value:
                asked = "what was done" if field == "clean" else "how residue was looked for"
                message = f"Pick {asked}."
            raise BadInput(message, field=field, given=value, allowed=words, code="choice")
    if fact.next_due_on:
        try:
            date.fromisoformat(fact.next_due_on)
        except ValueError as error:
            message = f"{fact.next_due_on!r} is no date. Type it as 2026-03-31."
            raise BadInput(
                message, field="next_due_on", given=fact.next_due_on, code="type"
            ) from error
    if fact.clean != "flush-through" and not fact.agent:
        message = "Type the cleaner, as on its can; water is one too."
        raise BadInput(message, field="agent", given="", code="missing")
    bears = _NONE if last is None else traits(desk, last.known)["allergen"]
    less = bool(fact.wanted) and _RANK.index(fact.clean) < _RANK.index(fact.wanted)
    bare = bears != _NONE and fact.residue not in _TESTED
    if fact.residue == "swab-bad":
        message = "The swab is not good: clean again, then keep the clean."
        raise BadInput(message, field="residue", given=fact.residue, code="inconsistent")
    if (less or bare) and not fact.because:
        message = (
            f"A {CLEANS[fact.wanted]} is wanted here. Say why less was done."
            if less
            else f"{bears.capitalize()} was in the machine: test the rinse water or swab, or say "
            "why not."
        )
        raise BadInput(message, field="because", given="", code="missing")


def _wanted(desk: Desk, last: JobState | None, coming: JobState | None) -> tuple[str, str]:
    """Return the clean that is asked for, and why."""
    if last is None:
        return "", "It has filled nothing yet."
    if coming is None:
        return "full-strip", "No job is open on it: a full strip leaves it fit for any."
    words = traits(desk, coming.known)
    gap = changeover.between(traits(desk, last.known), words, rules())
    gap_min = _minutes(gap)
    before = traits(desk, last.known)
    changes = [
        f"{name} {before[name]} to {words[name]}"
        for name in (*TRAITS, _PARTS)
        if before[name] != words[name]
    ]
    told = ", ".join(changes) if changes else "nothing changes"
    return clean_for(gap_min), f"{last.known.product.name} to {coming.known.product.name}: {told}."


def _next(desk: Desk, machine: str, wanted: str) -> JobState | None:
    """Return the job that comes next on a machine: the one named, else the first open one."""
    for number in desk.book.numbers():
        state = desk.book.job(number)
        if state is None or state.facts is None or state.known.machine.name != machine:
            continue
        if wanted == number or (not wanted and _filled_at(state) is None and not _closed(state)):
            return state
    if wanted:
        message = f"Job {wanted[:20]} is not on {machine}. Pick one of its open jobs."
        raise BadInput(message, field="before_job", given=wanted[:20], code="choice")
    return None


def _closed(state: JobState) -> bool:
    """Return whether a job takes nothing more."""
    return state.released is not None


def _since(desk: Desk, machine: str, when: datetime) -> CleanRow | None:
    """Return the thoroughest clean of a machine since a time; None where there is none."""
    found = [
        CleanRow(at=at, person=person, fact=fact, words="", state="")
        for at, person, fact in desk.book.site().cleans
        if fact.machine == machine and at >= when
    ]
    return max(found, key=lambda row: _RANK.index(row.fact.clean), default=None)


def _filled_at(state: JobState) -> datetime | None:
    """Return when a job last put product through its machine; None where it never did."""
    return next((w.at for w in reversed(state.weighings) if w.fact.purpose in _WITH_PRODUCT), None)


def _when(state: JobState) -> datetime:
    """Return when a job that has filled last did."""
    found = _filled_at(state)
    assert found is not None  # noqa: S101  only asked of jobs that have filled
    return found


def _state(fact: CleanDone) -> str:
    """Return the tag of a clean: less than was wanted is a warning."""
    less = bool(fact.wanted) and _RANK.index(fact.clean) < _RANK.index(fact.wanted)
    return "warn" if less or fact.because else "on"


def _minutes(time: float) -> float:
    """Return minutes, without the last digit's noise of the conversion."""
    return float(f"{min_from_s(time):.10g}")
