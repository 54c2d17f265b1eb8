"""What an inspector at the door is shown: last lots, scales, tare and density, cleaning."""

from __future__ import annotations

from datetime import date
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.day.cleaning import words_of
from fillwright.jobs.desk import Desk
from fillwright.jobs.release.rehearsal import Typed, lot_of_today, rehearse
from fillwright.jobs.trace.complaint_look import complaint_words, complaints_on_record
from fillwright.jobs.words import plain
from fillwright.records.entities import WeighingScale
from fillwright.records.entries import CheckTaken, LotJudged
from fillwright.records.fold import JobState
from fillwright.records.localtime import local
from fillwright.records.sheets_inspector import (
    CleanLine,
    ComplaintLine,
    InspectorSheet,
    RehearsalSheet,
    ScaleLine,
    StockLine,
    TestedLotLine,
)

__all__ = ["CALIBRATE_EVERY", "inspector_sheet"]

CALIBRATE_EVERY: Final = "at least once a year (OIML G 21)"
_MOST_LOTS: Final = 8
_MOST_CHECKS: Final = 5
_MOST_CLEANS: Final = 8
_MOST_COMPLAINTS: Final = 8
_MOST_STOCK: Final = 8
_LOOKED: Final = 60


def inspector_sheet(
    desk: Desk, *, seed: int, typed: Typed | None = None, number: str = ""
) -> InspectorSheet:
    """Return everything that an inspector at the door is shown.

    Parameters
    ----------
    desk : Desk
        Where the journal is.
    seed : int
        Seed of the rehearsal of his sample.
    typed : Typed, optional
        Weights typed for it.
    number : str
        Job of the lot that is rehearsed; the lot of today when empty.

    Returns
    -------
    InspectorSheet
        One page, in his order of asking.

    Raises
    ------
    BadInput
        If there is no job of that number.
    """
    with desk.book.lock:
        site = desk.book.site()
        states = [
            state
            for name in desk.book.numbers()[: -_LOOKED - 1 : -1]
            if (state := desk.book.job(name)) is not None
        ]
        today = lot_of_today(desk)
        lot = number or (today.number if today is not None else "")
        return InspectorSheet(
            maker=site.settings.maker,
            lots=tuple(_lot(state, state.lot) for state in states if state.lot is not None)[
                :_MOST_LOTS
            ],
            scales=_scales(desk, states),
            stock=_stock(states),
            cleans=_cleans(desk, states),
            complaints=_complaints(desk),
            rehearsal=_rehearsal(desk, lot, seed, typed or Typed(), is_asked=bool(number)),
            made_at=desk.clock.now(),
            zone=desk.clock.zone(),
            program=desk.program,
            is_invented=site.settings.is_invented or any(s.known.is_invented for s in states),
        )


def _rehearsal(
    desk: Desk, lot: str, seed: int, typed: Typed, *, is_asked: bool
) -> RehearsalSheet | None:
    """Return the rehearsal; a lot that cannot be drawn from leaves the rest of the page."""
    if not lot:
        return None
    try:
        return rehearse(desk, lot, seed=seed, typed=typed)
    except BadInput:
        if is_asked:
            raise
        return None


def _lot(state: JobState, lot: LotJudged) -> TestedLotLine:
    """Return one lot with its evidence."""
    facts, done = state.known, state.released
    at = state.released_at or state.changed_at
    if at is None:
        message = f"job {state.number} has no entry"
        raise LookupError(message)
    mean = "" if lot.mean is None else f"average {lot.mean:.2f} {lot.unit} of {lot.n}"
    short = "" if lot.individual_test is None else f", {lot.count_below_t1} below T1"
    far = f", {lot.count_below_t2} below T2" if lot.t2_limit and lot.individual_test else ""
    outcome = "not closed yet"
    if done is not None and done.outcome == "released":
        outcome = f"released {done.containers}"
    elif done is not None:
        outcome = f"not released: {done.reason}"
    is_good = lot.verdict == "accepted" and lot.is_compliant is not False
    other = state.other_lot
    more = "" if other is None else f"; {other.rules}: {other.verdict.replace('-', ' ')}"
    return TestedLotLine(
        job=facts.number,
        what=f"{facts.product.name}, {facts.label_words}",
        lot_code=facts.lot_code,
        at=at,
        rules=f"{lot.rules}, {lot.plan}{more}",
        found=f"{lot.verdict.replace('-', ' ')}: {mean}{short}{far}",
        outcome=outcome,
        is_good=is_good,
    )


def _scales(desk: Desk, states: list[JobState]) -> tuple[ScaleLine, ...]:
    """Return every scale on file or in use, with its last checks."""
    known = {state.known.scale.name: state.known.scale for state in reversed(states)}
    known |= desk.book.site().scales
    return tuple(_scale(desk, scale, states) for scale in known.values())


def _scale(desk: Desk, scale: WeighingScale, states: list[JobState]) -> ScaleLine:
    """Return one scale: calibration, due date, checks with a weight."""
    due = _due(scale.checked_on)
    checks = sorted(
        (
            check
            for state in states
            if state.known.scale.name == scale.name
            for check in state.checks
        ),
        key=lambda check: check[0],
        reverse=True,
    )[:_MOST_CHECKS]
    return ScaleLine(
        scale=scale.name,
        step=f"steps of {plain(scale.readability_g)} g, to {plain(scale.capacity_g)} g",
        calibrated_on=scale.checked_on or "not on file",
        due_on="not known" if due is None else due.isoformat(),
        is_due=due is None or due <= local(desk.clock.now(), desk.clock.zone()).date(),
        checks="; ".join(
            f"{local(at, desk.clock.zone()):%Y-%m-%d %H:%M} {_check(fact)}" for at, fact in checks
        )
        or "no check on file",
        is_good=bool(checks) and checks[0][1].passed,
    )


def _check(fact: CheckTaken) -> str:
    """Return one check with a known weight in words."""
    verdict = "passed" if fact.passed else "failed"
    return f"{plain(fact.weight_g)} g read {plain(fact.reading_g)} g, {verdict}"


def _due(checked_on: str) -> date | None:
    """Return the day a year after a calibration; None where its date cannot be read."""
    try:
        day = date.fromisoformat(checked_on.strip()[:10])
    except ValueError:
        return None
    try:
        return day.replace(year=day.year + 1)
    except ValueError:
        return day.replace(year=day.year + 1, day=28)


def _stock(states: list[JobState]) -> tuple[StockLine, ...]:
    """Return density and tare on file, product by product, the latest first."""
    found: dict[tuple[str, str], StockLine] = {}
    for state in states:
        facts = state.known
        product, container = facts.product, facts.container
        key = (product.name, container.name)
        if key in found or len(found) >= _MOST_STOCK:
            continue
        air = ", weighed in air" if product.is_apparent else ""
        found[key] = StockLine(
            product=product.name,
            density=f"{plain(product.density_g_per_ml)} g/mL at {plain(product.density_c)} °C"
            f"{air}",
            container=container.name,
            tare=_tare(state),
            job=facts.number,
        )
    return tuple(found.values())


def _tare(state: JobState) -> str:
    """Return the average empty, with how many it rests on."""
    if state.tare is not None:
        sd = "" if state.tare.sd_g is None else f", s {state.tare.sd_g:.2f} g"
        return f"{plain(state.tare.tare_g)} g{sd}, {state.tare.empties} empties"
    container = state.known.container
    if state.known.tare_way == "zeroed":
        return "each empty is zeroed away"
    return "not on file" if container.tare_g is None else f"{plain(container.tare_g)} g, as typed"


def _cleans(desk: Desk, states: list[JobState]) -> tuple[CleanLine, ...]:
    """Return cleans and strips, the latest first."""
    found = [
        CleanLine(
            machine=fact.machine,
            at=at,
            person=person,
            words=words_of(fact).removesuffix("."),
            is_good=fact.residue != "swab-bad",
        )
        for at, person, fact in desk.book.site().cleans
    ]
    for state in states:
        at = state.step_times.get("strip")
        if at is not None:
            words = f"stripped and rebuilt after {state.known.product.name}, job {state.number}"
            found.append(
                CleanLine(
                    machine=state.known.machine.name,
                    at=at,
                    person="",
                    words=words,
                    is_good=state.steps["strip"].outcome == "done",
                )
            )
    return tuple(sorted(found, key=lambda line: line.at, reverse=True)[:_MOST_CLEANS])


def _complaints(desk: Desk) -> tuple[ComplaintLine, ...]:
    """Return the last complaints, the latest first."""
    found = sorted(complaints_on_record(desk), key=lambda one: -one.number)[:_MOST_COMPLAINTS]
    states = {one.taken.job: desk.book.job(one.taken.job) for one in found}
    words = {
        number: "container" if state is None else state.known.container.word
        for number, state in states.items()
    }
    return tuple(
        ComplaintLine(
            complaint=one.number,
            lot_code=one.taken.lot_code,
            words=complaint_words(one, words[one.taken.job]),
            is_closed=not one.is_open,
        )
        for one in found
    )
