"""Trace both ways: from the code on a jar to what it was made of, and from a drum to its jars.

What is not on record is a hole, and a hole is named where it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Final, get_args

from fillwright.errors import BadInput
from fillwright.jobs.clockback import clock_went_back
from fillwright.jobs.desk import Desk
from fillwright.jobs.held.fates import fate_lines
from fillwright.jobs.held.papers import mixed_words, settled_words
from fillwright.jobs.run.around_words import changes_of
from fillwright.jobs.run.first_jar import OCCASIONS
from fillwright.jobs.trace.complaint_look import complaint_words, complaints_of_job
from fillwright.jobs.words import plain, trays
from fillwright.records.book import stream_of
from fillwright.records.entries import Entry, SealSeen
from fillwright.records.fold import JobState
from fillwright.records.kinds_lots import LotOf
from fillwright.records.localtime import local
from fillwright.records.nearest import nearest, plain_code
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_trace import (
    FromLine,
    JarsLine,
    LotTrace,
    PersonLine,
    TracedAs,
    TraceSheet,
)
from fillwright.records.spans import Span, count, words

__all__ = ["NAMES", "codes_on_record", "lot_trace", "near_codes", "trace"]

NAMES: Final[dict[TracedAs, str]] = {
    "lot": "lot",
    "relabelled": "lot re-labelled out of another",
    "batch": "batch of product",
    "drum": "drum",
    "container": "carton of containers",
    "lid": "carton of lids",
}
_STAMP: Final = "%Y-%m-%d %H:%M:%S"
_SHOWN: Final = 60


def trace(desk: Desk, code: str) -> TraceSheet:
    """Return what a code leads to, whether it is of a lot, a batch, a drum or a carton.

    Parameters
    ----------
    desk : Desk
        Where the records are.
    code : str
        As on the jar, the drum or the carton; case and blanks make no difference.

    Returns
    -------
    TraceSheet
        All containers concerned, and their lots whole.

    Raises
    ------
    BadInput
        If nothing on record has this code; the message offers the nearest.
    """
    wanted = plain_code(code)
    if not wanted:
        message = "Type the code as it stands on the jar, the drum or the carton."
        raise BadInput(message, field="code", given=code, code="missing")
    with desk.book.lock:
        found: list[tuple[JobState, tuple[Span, ...], tuple[TracedAs, ...]]] = []
        for state in _jobs(desk):
            spans, kinds = _concerned(state, wanted)
            if kinds:
                found.append((state, spans, kinds))
        if not found:
            near = near_codes(desk, code)
            hint = f" Nearest: {', '.join(near)}." if near else ""
            shown = code.strip()[:_SHOWN]
            message = f"Nothing on record has the code {shown!r}.{hint}"
            allowed = ", ".join(near)
            raise BadInput(message, field="code", given=shown, allowed=allowed, code="choice")
        kinds = tuple(kind for kind in NAMES if any(kind in one[2] for one in found))
        lots = tuple(lot_trace(desk, state) for state, _, _ in found)
        return TraceSheet(
            code=_as_written(found[0][0], wanted) or code.strip(),
            traced_as=kinds,
            jars=tuple(_jars(state, spans) for state, spans, _ in found),
            lots=lots,
            holes=_holes_beside(desk, kinds),
            made_at=desk.clock.now(),
            zone=desk.clock.zone(),
            program=desk.program,
            is_invented=any(state.known.is_invented for state, _, _ in found),
        )


def lot_trace(desk: Desk, state: JobState) -> LotTrace:
    """Return everything that the record holds of one lot."""
    facts = state.known
    entries = list(desk.journal.entries(stream_of(state.number)))
    counted = [w for w in state.weighings if w.counts and w.fact.container is not None]
    numbers = {w.fact.container for w in counted}
    struck = sum(1 for w in state.weighings if not w.counts)
    told = changes_of(state, entries)
    return LotTrace(
        job=state.number,
        lot_code=facts.lot_code,
        product=facts.product.name,
        container=facts.container.name,
        machine=facts.machine.name,
        word=facts.container.word,
        filled=state.filled_to,
        opened_at=state.opened_at,
        closed_at=state.released_at,
        fates=fate_lines(state),
        filled_from=_filled_from(state),
        parts=_parts(desk, state),
        people=_people(desk, entries),
        weighed=len(numbers),
        weighings=f"{len(numbers)} of {state.filled_to} {facts.container.word}s were weighed"
        + (f"; {struck} weights do not count, each with its reason" if struck else ""),
        checks=tuple(
            f"{local(at, desk.clock.zone()).strftime(_STAMP)}: {plain(check.weight_g)} g read "
            f"{plain(check.reading_g)} g, " + ("good" if check.passed else "not good")
            for at, check in state.checks
        ),
        looks=(*told, *settled_words(state)),
        kept=tuple(
            f"{facts.container.word.capitalize()} {words(Span(n, n) for n in one.containers)}"
            f": {one.place}" + (f", until {one.until}" if one.until else "")
            for one in state.lots.kept
        ),
        holes=_holes(state),
        clock=clock_went_back(entries),
        complaints=tuple(
            complaint_words(one, facts.container.word)
            for one in complaints_of_job(desk, state.number)
        ),
    )


def codes_on_record(desk: Desk) -> tuple[str, ...]:
    """Return every code that a trace can begin at."""
    found: list[str] = []
    for state in _jobs(desk):
        found.append(state.known.lot_code)
        found += [fact.lot_code for fact, _ in state.held.relabelled()]
        for use in state.lots.uses:
            found += [code for code in (use.fact.code, use.fact.batch) if code]
    return tuple(dict.fromkeys(found))


def near_codes(desk: Desk, code: str) -> tuple[str, ...]:
    """Return the codes on record that are nearest to one that is not."""
    return nearest(code, codes_on_record(desk))


def _jobs(desk: Desk) -> Iterator[JobState]:
    """Yield every job, oldest first."""
    for number in desk.book.numbers():
        state = desk.book.job(number)
        if state is not None:
            yield state


def _concerned(state: JobState, wanted: str) -> tuple[tuple[Span, ...], tuple[TracedAs, ...]]:
    """Return the containers of a job that a code concerns, and what it is the code of."""
    filled = state.filled_to
    kinds: list[TracedAs] = []
    spans: list[Span] = []
    if plain_code(state.known.lot_code) == wanted:
        kinds.append("lot")
        spans += [Span(1, filled)] if filled else []
    for fact, mine in state.held.relabelled():
        if plain_code(fact.lot_code) == wanted:
            kinds.append("relabelled")
            spans += mine
    if any(plain_code(use.fact.batch) == wanted for use in state.lots.uses):
        kinds.append("batch")
        spans += state.lots.from_batch(wanted, filled)
    for what in get_args(LotOf):
        if any(
            use.fact.what == what and plain_code(use.fact.code) == wanted
            for use in state.lots.uses
        ):
            kinds.append(what)
            spans += state.lots.from_code(what, wanted, filled)
    return tuple(spans), tuple(dict.fromkeys(kinds))


def _as_written(state: JobState, wanted: str) -> str:
    """Return a code as somebody wrote it."""
    written = [state.known.lot_code]
    written += [fact.lot_code for fact, _ in state.held.relabelled()]
    for use in state.lots.uses:
        written += [use.fact.code, use.fact.batch]
    return next((one for one in written if plain_code(one) == wanted), "")


def _jars(state: JobState, spans: Iterable[Span]) -> JarsLine:
    """Return the containers of one lot that are concerned."""
    mine = tuple(spans)
    facts = state.known
    size = max(facts.tray_size, 1)
    places = "; ".join(dict.fromkeys(trays(s.first, s.last, size) for s in mine))
    return JarsLine(
        job=state.number,
        lot_code=facts.lot_code,
        product=facts.product.name,
        word=facts.container.word,
        numbers=words(mine),
        trays=places,
        containers=count(mine),
        fates=fate_lines(state, mine),
    )


def _filled_from(state: JobState) -> tuple[FromLine, ...]:
    """Return cartons, lids and drums by containers, holes among them."""
    return tuple(
        FromLine(
            what=what,
            code="" if under.use is None else under.use.fact.code,
            batch="" if under.use is None else under.use.fact.batch,
            first=under.span.first,
            last=under.span.last,
            at=None if under.use is None else under.use.at,
            person="" if under.use is None else under.use.person,
        )
        for what in get_args(LotOf)
        for under in state.lots.under(what, state.filled_to)
    )


def _parts(desk: Desk, state: JobState) -> tuple[FactLine, ...]:
    """Return the parts that the product touched, with the lots of seals on record."""
    facts = state.known
    found = [
        FactLine(name="Cylinder", words=f"{plain(facts.cylinder.capacity_ml)} mL"),
        FactLine(name="Nozzle", words=f"{plain(facts.nozzle.outside_mm)} mm, {facts.nozzle.kind}"),
        FactLine(
            name="Weighing scale",
            words=f"{facts.scale.name}, steps of {plain(facts.scale.readability_g)} g",
        ),
    ]
    fitted: dict[str, list[str]] = {}
    for at, seal, is_during in _seals_of(desk, state):
        new = desk.book.site().shelf.get(seal.seal_lot)
        material = seal.material if new is None else new.material
        what = " ".join(w for w in (material, seal.size) if w)
        lot = f"lot {seal.seal_lot}" if seal.seal_lot else "no lot on record"
        day = local(at, desk.clock.zone()).date()
        told = f"{what}, {lot}, fitted {day} after job {seal.job}"
        before = fitted.get(seal.position, []) if is_during else []
        fitted[seal.position] = [*before, told]
    return (*found, *(FactLine(name=f"Seal, {p}", words="; ".join(w)) for p, w in fitted.items()))


def _seals_of(desk: Desk, state: JobState) -> Iterator[tuple[datetime, SealSeen, bool]]:
    """Yield the new seals that a lot may have touched, and whether they came while it was filled.

    A job that was opened ahead is filled on what was fitted since; what was fitted after its last
    container touched none of it.
    """
    filled = [w.at for w in state.weighings if w.fact.container is not None]
    first, last = min(filled, default=None), max(filled, default=None)
    for at, _, seal in desk.book.site().seals:
        is_of_it = seal.machine == state.known.machine.name and seal.action == "replaced"
        if is_of_it and (last is None or at <= last):
            yield at, seal, first is not None and at > first


def _people(desk: Desk, entries: Iterable[Entry]) -> tuple[PersonLine, ...]:
    """Return who has entries, in the order in which they came."""
    known = desk.book.site().people
    by: dict[str, list[Entry]] = {}
    for entry in entries:
        by.setdefault(entry.person, []).append(entry)
    return tuple(
        PersonLine(
            initials=initials or "nobody named",
            name=known[initials].name if initials in known else "",
            entries=len(mine),
            first_at=mine[0].at,
            last_at=mine[-1].at,
        )
        for initials, mine in by.items()
    )


def _holes(state: JobState) -> tuple[str, ...]:
    """Return what is not on record of a lot, and where."""
    word = state.known.container.word.capitalize()
    found = []
    if not state.filled_to:
        return ("Nothing of it is filled yet.",)
    for what in get_args(LotOf):
        bare = [u.span for u in state.lots.under(what, state.filled_to) if u.use is None]
        if bare:
            found.append(f"{word} {words(bare)}: no {NAMES[what]} on record.")
        elif what == "drum":
            batchless = [
                u.span
                for u in state.lots.under(what, state.filled_to)
                if u.use is not None and not u.use.fact.batch
            ]
            if batchless:
                found.append(f"{word} {words(batchless)}: no batch of the product on record.")
    if state.filled_to and not state.lots.looks:
        found.append("No first one was looked at.")
    if state.lots.look_due is not None and state.filled_to >= state.lots.look_from:
        since = OCCASIONS[state.lots.look_due]
        found.append(f"{word} {state.lots.look_from} was not looked at, the first since {since}.")
    if not state.checks:
        found.append("No check of the weighing scale is on record.")
    if state.released is not None and not state.lots.kept:
        found.append("No sample of this lot is kept.")
    return (*found, *mixed_words(state))


def _holes_beside(desk: Desk, kinds: tuple[TracedAs, ...]) -> tuple[str, ...]:
    """Return the lots that may be concerned too: nothing is on record of their cartons."""
    found = []
    for what in get_args(LotOf):
        is_batch = what == "drum" and "batch" in kinds
        if what not in kinds and not is_batch:
            continue
        for state in _jobs(desk):
            bare = [
                one.span
                for one in state.lots.under(what, state.filled_to)
                if one.use is None or (is_batch and not one.use.fact.batch)
            ]
            if bare:
                name = NAMES["batch" if is_batch else what]
                found.append(
                    f"Lot {state.known.lot_code}, {state.known.container.word} {words(bare)}: "
                    f"no {name} on record; nobody can say that it was another one."
                )
    return tuple(found)
