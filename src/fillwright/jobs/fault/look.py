"""What the Fault page shows: what it can be, what is ruled out, and what to do next."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Final

from fillwright.jobs.act import Caution
from fillwright.jobs.desk import Desk
from fillwright.jobs.fault.evidence import evidence_of
from fillwright.jobs.fault.learn import figures_of
from fillwright.jobs.fault.since import cycles_since
from fillwright.jobs.run.sign import seen_in
from fillwright.knowledge.faults_types import Check, FaultBook, Repair
from fillwright.records.faultcase import FaultCase
from fillwright.records.fold import JobState
from fillwright.records.units import kg_from_g
from fillwright.science.faults import FaultNet
from fillwright.science.faults_menu import WALK
from fillwright.science.faults_next import Advice, advise, reason_of, told_by
from fillwright.science.faults_plan import Candidate
from fillwright.science.faults_signature import clear_classes, signature_classes

__all__ = ["CaseLook", "CauseLine", "StepLook", "look_at", "preset", "signature_of"]

_CAUSES: Final = 5
_OTHERS: Final = 3
_RULED_OUT: Final = 4
_SURE_LINK: Final = 0.85
_FLAMMABLE: Final = (
    "Flammable product: earthed, aired; nothing electric in the zone unless certified"
)
_OLD_SIGNS: Final = {"creeps": ("creeps-up", "creeps-down")}


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseLine:
    """A cause in words, with the share that its bar shows."""

    key: str
    name: str
    explain: str
    word: str
    share_pct: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLook:
    """A step as the page asks for it.

    Parameters
    ----------
    kind : str
        ``check``, ``repair``, ``walk-round`` or ``hand-over``.
    key, order, why, caution, note : str
        Name, the order in the largest words, the reason, the caution, and parts or tools.
    number : int
        Number of the check; 0 where it has none.
    minutes : float
        How long it takes.
    needs : tuple of str
        What is ticked first, in words.
    steps : tuple of str
        What the hands do.
    finding, finding_words : str
        What is asked, where it is a check.
    part : str
        Which of several findings of the check is asked; empty where there is one.
    looks : tuple of tuple of str
        Check, question and finding of each quick look of a walk-round.
    """

    kind: str
    key: str
    order: str
    why: str
    number: int = 0
    minutes: float = 0.0
    needs: tuple[str, ...] = ()
    caution: str = ""
    note: str = ""
    steps: tuple[str, ...] = ()
    finding: str = ""
    finding_words: str = ""
    part: str = ""
    looks: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseLook:
    """Everything that the page shows of an open search."""

    sign: str
    step: StepLook
    others: tuple[StepLook, ...]
    causes: tuple[CauseLine, ...]
    ruled_out: tuple[tuple[str, str], ...]
    spoken_for: tuple[str, ...]
    spoken_against: tuple[str, ...]
    pair: str
    phone: tuple[str, ...]
    figures: str
    cautions: tuple[Caution, ...] = field(default=())


def signature_of(state: JobState, stated: Collection[str] = ()) -> tuple[dict[str, float], int]:
    """Return what the doses of the run say, in the classes of the fault data, and how many.

    Nothing where they do not clearly wander: then what the person saw counts, and not a run
    that was weighed too seldom to show it.
    """
    seen = seen_in(state)
    if seen is None:
        return {}, 0
    found, nets_g = seen
    doses = [kg_from_g(net) for net in nets_g]
    said = signature_classes(found, doses, target=kg_from_g(state.known.aim_g))
    classes = clear_classes(said, stated)
    return (classes, len(doses)) if classes else ({}, 0)


def preset(book: FaultBook, state: JobState, asked: str) -> str:
    """Return the sign that is chosen already: the one asked for, or what the run has shown."""
    signs = book.signs
    if asked in signs:
        return asked
    classes, _ = signature_of(state)
    best = max(classes, key=lambda name: classes[name], default="")
    shown = {"drift_up": "creeps-up", "drift_down": "creeps-down", "spread": "jumps"}
    if asked in _OLD_SIGNS:
        return shown.get(best, _OLD_SIGNS[asked][0])
    return shown.get(best, "")


def sign_words(book: FaultBook, case: FaultCase) -> str:
    """Return what was seen, in words."""
    sign = book.signs.get(case.opened.sign)
    words = [] if sign is None else [sign.words]
    words += [book.findings[name].text for name in case.opened.findings if name in book.findings]
    return ", ".join(words)


def look_at(
    desk: Desk, state: JobState, case: FaultCase, *, asked: str = "", walks: bool = False
) -> CaseLook:
    """Return what the page shows of an open search.

    Parameters
    ----------
    desk : Desk
        For what the records teach.
    state : JobState
        The job.
    case : FaultCase
        The search.
    asked : str
        Number or key of a check that the technician asks for, or key of a repair.
    walks : bool
        True where the person wants all quick looks in one walk.
    """
    figures = figures_of(desk, cycles_since(desk, state))
    return look_with(
        desk.faults.book,
        figures.net,
        case,
        minutes=figures.minutes,
        figures=figures.words,
        who=f"{state.known.machine.name}, job {state.number}",
        asked=asked,
        walks=walks,
        is_flammable=state.known.product.is_flammable,
    )


def look_with(
    book: FaultBook,
    net: FaultNet,
    case: FaultCase,
    *,
    minutes: dict[str, float] | None = None,
    figures: str = "",
    who: str = "",
    asked: str = "",
    walks: bool = False,
    is_flammable: bool = False,
) -> CaseLook:
    """Return what the page shows of a search, by a net that was made before."""
    evidence = evidence_of(book, case)
    done = tuple(name for name in case.uncured if name in book.repairs)
    advice = advise(book, net, evidence, done=done, skipped=case.skipped, minutes=minutes)
    steps = [one for one in advice.steps if one.kind != "hand-over"]
    chosen = _asked_for(book, asked)
    walk = next((one for one in steps if one.key == WALK), None)
    hand = Candidate(kind="hand-over", key="", for_repair="", expected_cost=0.0)
    if chosen is not None:
        first = chosen
    elif advice.hand_over or not steps:
        first = hand
    else:
        first = walk if walks and walk is not None else steps[0]
    known = evidence.present | evidence.absent
    step = _step(book, advice, first, known, is_flammable=is_flammable)
    others = tuple(
        _step(book, advice, one, known, is_flammable=is_flammable)
        for one in steps
        if one.key != first.key
    )[:_OTHERS]
    top = advice.causes[0].cause
    told = told_by(net, evidence, top)
    sign = sign_words(book, case)
    return CaseLook(
        sign=sign,
        step=step,
        others=others if not advice.hand_over or chosen is not None else (),
        causes=tuple(
            CauseLine(
                key=one.cause,
                name=book.causes[one.cause].name,
                explain=book.causes[one.cause].explain,
                word=one.word,
                share_pct=round(100 * one.chance),
            )
            for one in advice.causes[:_CAUSES]
        ),
        ruled_out=_ruled_out(book, advice, case),
        spoken_for=tuple(
            _told(book, one.finding, there=one.is_present) for one in told[:2] if one.weight > 0.0
        ),
        spoken_against=tuple(
            _told(book, one.finding, there=one.is_present) for one in told[-1:] if one.weight < 0.0
        ),
        pair=""
        if advice.pair is None
        else f"{book.causes[advice.pair.first].name}, and {book.causes[advice.pair.second].name}",
        phone=_phone(book, case, who, sign, step),
        figures=figures,
    )


def _asked_for(book: FaultBook, asked: str) -> Candidate | None:
    """Return the check of a number, or the check or repair of a key; none that is kept back."""
    wanted = asked.strip().lstrip("/")
    for key, check in book.checks.items():
        if wanted in {key, str(check.number)}:
            return Candidate(kind="check", key=key, for_repair="", expected_cost=0.0)
    if wanted in book.repairs and book.repairs[wanted].is_offered:
        return Candidate(kind="repair", key=wanted, for_repair=wanted, expected_cost=0.0)
    return None


def needs_of(book: FaultBook, row: Check | Repair, *, is_flammable: bool) -> tuple[str, ...]:
    """Return what is ticked before a step, in words."""
    words = [book.needs[name] for name in row.needs]
    return tuple([_FLAMMABLE, *words] if is_flammable else words)


def _step(
    book: FaultBook,
    advice: Advice,
    step: Candidate,
    known: frozenset[str],
    *,
    is_flammable: bool,
) -> StepLook:
    """Return a step as the page asks for it."""
    why = reason_of(book, advice, step)
    if step.kind == "hand-over":
        order = "Hand it to a qualified technician."
        return StepLook(kind="hand-over", key="", order=order, why=why)
    if step.key == WALK:
        looks = tuple(
            (name, book.checks[name].ask, book.findings[book.checks[name].findings[0]].text)
            for name in advice.walk
        )
        return StepLook(
            kind=WALK,
            key=WALK,
            order=f"Walk round the machine: {len(looks)} quick looks.",
            why=why,
            minutes=book.walk_minutes * len(looks) / len(book.walk_checks),
            caution="Stop the cycle first. Touch nothing yet. No hands in the hopper.",
            looks=looks,
        )
    if step.kind == "repair":
        repair = book.repairs[step.key]
        parts = [f"Parts: {repair.parts}." if repair.parts else ""]
        parts.append(f"Tools: {repair.tools}." if repair.tools else "")
        return StepLook(
            kind="repair",
            key=step.key,
            order=f"{repair.name}.",
            why=why,
            minutes=repair.minutes,
            needs=needs_of(book, repair, is_flammable=is_flammable),
            caution=repair.caution,
            note=" ".join(part for part in parts if part),
            steps=(repair.explain, f"Then test: {repair.after}"),
        )
    check = book.checks[step.key]
    left = [name for name in check.findings if name not in known] or list(check.findings)
    part = ""
    if len(check.findings) > 1:
        part = f"{check.findings.index(left[0]) + 1} of {len(check.findings)}"
    return StepLook(
        kind="check",
        key=step.key,
        order=check.ask if not part else f"{book.findings[left[0]].text}?",
        why=why,
        number=check.number,
        minutes=check.minutes,
        needs=needs_of(book, check, is_flammable=is_flammable),
        caution=check.caution,
        note=f"Tools: {check.tools}." if check.tools else "",
        steps=check.steps,
        finding=left[0],
        finding_words=book.findings[left[0]].text,
        part=part,
    )


def _told(book: FaultBook, finding: str, *, there: bool) -> str:
    """Return a finding in words."""
    text = book.findings[finding].text
    return text if there else f"Not: {text[0].lower()}{text[1:]}"


def _ruled_out(book: FaultBook, advice: Advice, case: FaultCase) -> tuple[tuple[str, str], ...]:
    """Return causes that are out, and by what: a sure look, or a repair."""
    chances = {one.cause: one.word for one in advice.causes}
    found: dict[str, str] = {}
    for _, answer in case.answers:
        for name in answer.absent:
            for key, cause in book.causes.items():
                is_sure = cause.links.get(name, 0.0) >= _SURE_LINK
                if is_sure and chances[key] == "not likely" and answer.check in book.checks:
                    found[key] = f"check {book.checks[answer.check].number}"
    for name in case.uncured:
        for key in book.repairs[name].fixes if name in book.repairs else ():
            if chances[key] == "not likely":
                found[key] = "repair made, not cured"
    last = list(found.items())[-_RULED_OUT:]
    return tuple((book.causes[key].name, by) for key, by in last)


def _phone(
    book: FaultBook, case: FaultCase, who: str, sign: str, step: StepLook
) -> tuple[str, ...]:
    """Return four short sentences to be read out."""
    there = [book.findings[name].text for name in sorted(case.present) if name in book.findings]
    clear = [
        str(book.checks[fact.check].number)
        for _, fact in case.answers
        if fact.check in book.checks and fact.absent and not fact.present
    ]
    at = f"I am at check {step.number}." if step.number else f"Next: {step.order}"
    return (
        f"{who}. {sign}." if who else f"{sign}.",
        f"Found: {'; '.join(there)}." if there else "Nothing found yet.",
        f"Checks without a finding: {', '.join(clear)}." if clear else "No check is clear yet.",
        at,
    )
