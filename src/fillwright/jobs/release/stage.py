"""Release: draw a sample by chance, judge the lot by its rule set, sign, and let it go."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

import numpy as np

from fillwright.errors import BadInput
from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.held.fates import fate_lines
from fillwright.jobs.limits import Limits, judge_weight, limits_of
from fillwright.jobs.release.acts import act_of, goes_under_label, next_words
from fillwright.jobs.release.lot import LotView, judged, may_not_go, sample_of, view_of
from fillwright.jobs.release.markets import small_lot_words
from fillwright.jobs.words import plain, shown_g
from fillwright.records.entities import Person
from fillwright.records.entries import (
    LotJudged,
    LotJudgedElsewhere,
    Payload,
    Released,
    SampleDrawn,
    Signed,
    WeighingTaken,
)
from fillwright.records.fold import JobState
from fillwright.records.sheets_held import FateLine
from fillwright.records.spans import count, words

__all__ = ["ReleaseLook", "RuleRow", "close", "draw", "judge_sample", "look", "release", "sign"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleRow:
    """One rule of the lot test: its result and what is allowed."""

    name: str
    result: str
    allowed: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseLook:
    """Everything the Release page shows."""

    act: Act
    limits: Limits
    headline: str
    filled: int
    going_out: int
    scrapped: int
    emptied: int
    relabelled: int
    relabelled_words: tuple[str, ...]
    fates: tuple[FateLine, ...]
    held: int
    held_words: str
    sample_size: int
    still_to_weigh: tuple[int, ...]
    next_words: str
    sample_g: tuple[Decimal, ...]
    mean_g: float | None
    rules: tuple[RuleRow, ...]
    verdict: LotJudged | None
    other_rules: tuple[RuleRow, ...]
    other: LotJudged | None
    small_lot: str
    giveaway_g: float | None
    giveaway_words: str
    signatures: tuple[Signed, ...]
    signatures_wanted: int


def look(desk: Desk, state: JobState) -> ReleaseLook:
    """Return what the Release page shows."""
    facts = state.known
    limits = limits_of(facts, desk.rule_sets)
    lot = view_of(desk, state)
    wanted = desk.book.site().settings.signatures
    order = act_of(state, lot, wanted)
    mean_g = float(np.mean([float(g) for g in lot.sample_g])) if lot.sample_g else None
    giveaway = None if mean_g is None else mean_g - float(limits.label_g)
    return ReleaseLook(
        act=order,
        limits=limits,
        headline=_headline(state, lot),
        filled=lot.filled,
        going_out=lot.going_out,
        scrapped=lot.scrapped,
        emptied=lot.emptied,
        relabelled=lot.relabelled,
        relabelled_words=_relabelled_words(state),
        fates=fate_lines(state) if state.holds or state.lots.kept else (),
        held=count(state.open_spans),
        held_words=words(state.open_spans),
        sample_size=len(lot.drawn),
        still_to_weigh=lot.still_to_weigh,
        next_words=next_words(state, lot),
        sample_g=lot.sample_g,
        mean_g=mean_g,
        rules=_rules(state.lot),
        verdict=state.lot,
        other_rules=_rules(state.other_lot if state.lot is not None else None),
        other=state.other_lot if state.lot is not None else None,
        small_lot=small_lot_words(desk, replace(facts, lot_size=max(lot.going_out, 1))),
        giveaway_g=giveaway,
        giveaway_words=_giveaway_words(state, lot, giveaway),
        signatures=tuple(signed for _, signed in state.signatures),
        signatures_wanted=wanted,
    )


def draw(desk: Desk, number: str, press: Press, *, seed: int) -> ReleaseLook:
    """Draw the sample by chance; what is weighed already counts.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    number : str
        Job number.
    press : Press
        Who pressed.
    seed : int
        Seed of the draw; it is kept, so that the draw can be repeated.

    Returns
    -------
    ReleaseLook
        The page as it stands then.

    Raises
    ------
    BadInput
        If the run is open, something is held, nothing is left to go out, or the rule set has
        no plan for this lot.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        lot = view_of(desk, state)
        _refuse_early(state)
        if not lot.going_out:
            message = "Nothing of this lot is left to go out. Close it with the reason."
            raise BadInput(message, field="lot_size", given=0, code="inconsistent")
        if lot.required is None:
            raise BadInput(
                lot.because, field="lot_size", given=lot.going_out, code="not-available"
            )
        is_second = state.lot is not None and state.lot.verdict == "second-sample"
        if state.samples and not is_second:
            again = state if state.lot is not None else _judge_if_complete(desk, state, press)
            return look(desk, again)
        taken = set(lot.drawn) if is_second else set()
        open_ones = [n for n in lot.eligible if n not in taken]
        order = np.random.Generator(np.random.PCG64(seed)).permutation(open_ones)
        if lot.required >= len(open_ones) and not state.known.second_rules:
            # Every one is weighed, so they may come as they stand on the trays.
            order = np.sort(order)
        fact = SampleDrawn(
            seed=seed,
            first_sample=len(lot.drawn) if is_second else 0,
            containers=tuple(int(n) for n in order[: lot.required]),
        )
        with_draw = keep(desk, state, [fact], press)
        return look(desk, _judge_if_complete(desk, with_draw, press))


def judge_sample(
    desk: Desk, state: JobState, fact: WeighingTaken, weighing_id: str
) -> list[Payload]:
    """Weigh one of the sample; with the last of them the lot is judged."""
    _ = weighing_id
    lot = view_of(desk, state)
    container = fact.container or (lot.still_to_weigh[0] if lot.still_to_weigh else 0)
    if container not in lot.still_to_weigh:
        waiting = ", ".join(str(n) for n in lot.still_to_weigh[:5])
        tail = f"Next: {waiting}." if waiting else "Nothing of the sample is left to weigh."
        message = f"{container or 'That one'} is not waiting to be weighed. {tail}"
        raise BadInput(message, field="container", given=container, code="choice")
    limits = limits_of(state.lots.facts_for(state.known, container), desk.rule_sets)
    weighed = replace(fact, container=container, state=judge_weight(limits, fact.net_g))
    if fact.set_aside:
        message = "A container of the sample may not be set aside; weigh it again."
        raise BadInput(message, field="spoilt", given=fact.set_aside, code="inconsistent")
    if len(lot.still_to_weigh) > 1:
        return [weighed]
    nets = sample_of(state, extra={container: fact.net_g})
    return [weighed, *_judgements(desk, state, nets, lot)]


def sign(
    desk: Desk,
    number: str,
    role: Literal["filled", "checked"],
    person: Person,
    press: Press,
) -> ReleaseLook:
    """Put a name to the lot.

    Raises
    ------
    BadInput
        If the lot is not judged yet or may not be released, the name is missing, or one
        person signs twice.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        is_other = not goes_under_label(view_of(desk, state))
        if state.lot is None and not (is_other and not state.open_spans):
            message = "The lot is not judged yet. Weigh the sample first."
            raise BadInput(message, field="role", code="inconsistent")
        lot = state.lot
        goes = lot is None or (lot.verdict != "second-sample" and not may_not_go(lot))
        if not goes or role not in ("filled", "checked"):
            because = "" if lot is None else lot.because
            message = f"This lot is not signed for release. {because}"
            raise BadInput(message, field="role", given=role, code="inconsistent")
        if not person.initials.strip():
            message = "Give the initials of the person who signs."
            raise BadInput(message, field="initials", given=person.initials, code="missing")
        others = [s for _, s in state.signatures if s.role != role]
        mine = person.initials.strip().casefold()
        if any(s.signed_by.initials.strip().casefold() == mine for s in others):
            message = f"{person.initials} has signed already; a second person checks."
            raise BadInput(message, field="initials", given=person.initials)
        fact = Signed(role=role, signed_by=person)
        return look(desk, keep(desk, state, [fact], press))


def release(desk: Desk, number: str, press: Press) -> ReleaseLook:
    """Release the lot.

    Raises
    ------
    BadInput
        If anything is held, the lot test does not allow it, or a signature is missing.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        seen = look(desk, state)
        if seen.act.what != "release":
            message = seen.act.missing or seen.act.order
            raise BadInput(message, field="release", code="inconsistent")
        fact = Released(outcome="released", containers=seen.going_out + seen.relabelled)
        return look(desk, keep(desk, state, [fact], press))


def close(desk: Desk, number: str, reason: str, press: Press) -> ReleaseLook:
    """Close the lot without release, with a reason.

    Raises
    ------
    BadInput
        If the reason is missing or the lot has been released.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        if state.released is not None:
            message = "The lot is closed already."
            raise BadInput(message, field="release", code="inconsistent")
        if not reason.strip():
            message = "Say why the lot is not released; the record prints it."
            raise BadInput(message, field="reason", given=reason, code="missing")
        fact = Released(outcome="not-released", containers=0, reason=reason.strip())
        return look(desk, keep(desk, state, [fact], press))


def _judge_if_complete(desk: Desk, state: JobState, press: Press) -> JobState:
    """Judge the lot at once when every one of the sample is weighed already."""
    lot = view_of(desk, state)
    if lot.still_to_weigh or not lot.drawn:
        return state
    facts = _judgements(desk, state, sample_of(state, extra={}), lot)
    return keep(desk, state, facts, Press(person=press.person))


def _judgements(
    desk: Desk, state: JobState, nets: Mapping[int, Decimal], lot: LotView
) -> list[Payload]:
    """Return what is kept of the lot test: what decides, then the other market."""
    first, *others = judged(desk, state, nets, lot)
    return [first, *(LotJudgedElsewhere(judgement=other) for other in others)]


def _refuse_early(state: JobState) -> None:
    """Refuse a draw from a lot that is not whole yet."""
    if state.run is None or state.run.finished is None:
        message = "The run is not finished. Finish it first."
        raise BadInput(message, field="run", code="inconsistent")
    if state.open_spans:
        message = f"Still held: {words(state.open_spans)}. Settle them first."
        raise BadInput(message, field="held", code="inconsistent")


def _headline(state: JobState, lot: LotView) -> str:
    """Return the page's first words."""
    if state.released is not None:
        done = state.released
        if done.outcome == "released":
            return f"Released {done.containers}."
        return "Not released."
    if state.lot is None:
        return f"Lot {state.known.lot_code}: {lot.going_out} to go out."
    if state.lot.verdict == "accepted" and state.lot.is_compliant is not False:
        held = count(state.open_spans)
        more = f" And {lot.relabelled} re-labelled." if lot.relabelled else ""
        return f"Release {lot.going_out}.{more}" + (f" Hold {held}." if held else "")
    return "Do not release."


def _relabelled_words(state: JobState) -> tuple[str, ...]:
    """Return the lots of their own that go out under another label."""
    word = state.known.container.word
    return tuple(
        f"Lot {fact.lot_code}: {count(spans)} {word}{'s' if count(spans) > 1 else ''} as "
        f"{plain(fact.nominal)} {fact.unit} under {fact.rules}"
        for fact, spans in state.held.relabelled()
    )


def _rules(lot: LotJudged | None) -> tuple[RuleRow, ...]:
    """Return the rules of the lot test as rows."""
    if lot is None or lot.mean is None:
        return ()
    unit = lot.unit
    least = "" if lot.limit is None else f"least {lot.limit:.2f} {unit}"
    rows = [
        RuleRow(
            name="Average of the lot",
            result=f"{lot.mean:.2f} {unit}",
            allowed=least,
            state="on" if lot.is_mean_ok else "stop",
        )
    ]
    if lot.individual_test is None:
        rows.append(RuleRow(name="Short ones", result="not evaluated", allowed="", state="warn"))
        return tuple(rows)
    rows.append(
        RuleRow(
            name="Short ones, below T1",
            result=f"{lot.count_below_t1} of {lot.n}",
            allowed="" if lot.acceptance_number is None else f"most {lot.acceptance_number}",
            state="on" if lot.individual_test == "accepted" else "stop",
        )
    )
    if lot.t2_limit:
        rows.append(
            RuleRow(
                name="Far short ones, below T2",
                result=f"{lot.count_below_t2} of {lot.n}",
                allowed="none allowed",
                state="on" if lot.count_below_t2 == 0 else "stop",
            )
        )
    return tuple(rows)


def _giveaway_words(state: JobState, lot: LotView, giveaway: float | None) -> str:
    """Return what is given away in the lot."""
    if giveaway is None:
        return ""
    step = state.known.scale.readability_g
    whole_g = giveaway * lot.going_out
    per = shown_g(giveaway, step)
    word = state.known.container.word
    return f"{per} above the label in each {word}, {whole_g / 1000:.2f} kg in this lot."
