"""How a drawn fault is searched for: by the next step of expected cost, and by fixed lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from fault_trial_machine import MILD, PRODUCTS, Person, Run, person_at, run_of
from fault_trial_state import (
    CHECK_CLASS,
    FAILS,
    MENDS,
    REMEDIES,
    SCENARIOS,
    SYMPTOMS,
    WEIGHTS,
    Scenario,
)

from fillwright.jobs.fault.evidence import evidence_of
from fillwright.knowledge.faults_load import fault_book
from fillwright.records.faultcase import FaultCase
from fillwright.records.kinds_fault import FaultAnswered, FaultOpened, RepairTried
from fillwright.science.faults import net_of
from fillwright.science.faults_menu import WALK
from fillwright.science.faults_next import DOSE_SIGNS, Advice, advise
from fillwright.science.faults_signature import clear_classes, signature_classes
from fillwright.science.signature import recognise

FIRST, TRIES, MOST_STEPS = 3, 40, 60
AT = datetime(2030, 1, 1, tzinfo=UTC)
BOOK = fault_book()
NET = net_of(BOOK)
OBSERVED = {
    finding: kind
    for kind, checks in CHECK_CLASS.items()
    for check in checks
    for finding in BOOK.checks[check].findings
}


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """A fault with the person who looks for it."""

    run: Run
    person: Person
    tries: int


@dataclass(kw_only=True)
class Search:
    """How a search went."""

    minutes: float = 0.0
    is_cured: bool = False
    steps: int = 0
    wrong_repairs: int = 0
    rank_at_once: int = 0
    rank_after_three: int = 0
    rank_at_repair: int = 0
    rank_at_end: int = 0


def drawn(place: int, seed: int) -> Drawn | None:
    """Return the fault at a place of the draw; None where nobody ever noticed anything.

    Causes take turns, severity is even from mild to the worst, and the product is any. A fault
    that this product does not show, or that nobody notices, is drawn again: nobody looks for it.
    """
    scenario: Scenario = SCENARIOS[place % len(SCENARIOS)]
    rng = np.random.default_rng([seed, place])
    names = list(PRODUCTS)
    for tries in range(1, TRIES + 1):
        severity = float(rng.uniform(MILD, 1.0))
        product = names[int(rng.integers(len(names)))]
        run = run_of(scenario, severity, product, rng)
        person = person_at(run, OBSERVED, tuple(BOOK.repairs), FAILS, rng)
        if _is_real(run, person):
            return Drawn(run=run, person=person, tries=tries)
    return None


def _is_real(run: Run, person: Person) -> bool:
    """Return True where something that is noticed is there."""
    truth = {**SYMPTOMS, **WEIGHTS}
    return any(truth[name](run.state) for name in person.noticed)


def opened(one: Drawn) -> FaultCase:
    """Return the search as the Fault page opens it: sign, what was seen besides, doses."""
    run, person = one.run, one.person
    sign, besides = person.sign, person.besides
    stated = set(besides) | set(BOOK.signs[sign].findings if sign else ())
    signature: dict[str, float] = {}
    if stated & DOSE_SIGNS:
        found = recognise(run.readings, target=run.target, readability=run.readability)
        said = signature_classes(found, run.readings, target=run.target)
        signature = clear_classes(said, stated)
    fact = FaultOpened(sign=sign, findings=besides, signature=signature, doses=len(run.readings))
    return FaultCase(number=1, opened=fact, at=AT)


def searched(one: Drawn) -> Search:
    """Follow the first proposal of each step until the cure or the hand-over."""
    case, done = opened(one), Search()
    for _ in range(MOST_STEPS):
        advice = advise(
            BOOK, NET, evidence_of(BOOK, case), done=case.uncured, skipped=case.skipped
        )
        rank = [ranked.cause for ranked in advice.causes].index(one.run.scenario.cause) + 1
        step = advice.steps[0]
        ends = bool(advice.hand_over) or step.kind == "hand-over"
        done.rank_at_end = rank
        done.rank_at_once = done.rank_at_once or rank
        if done.steps == FIRST:
            done.rank_after_three = rank
        if ends or step.kind == "repair":
            done.rank_at_repair = done.rank_at_repair or rank
        if ends:
            done.minutes += BOOK.costs.technician_call
            break
        done.steps += 1
        if step.kind != "repair":
            _looked(one, case, advice, step.key, done)
        elif _repaired(one, step.key, done):
            break
        else:
            case.repairs.append((AT, RepairTried(repair=step.key, outcome="not-cured")))
    done.rank_at_repair = done.rank_at_repair or done.rank_at_end
    done.rank_after_three = done.rank_after_three or done.rank_at_end
    return done


def _looked(one: Drawn, case: FaultCase, advice: Advice, key: str, done: Search) -> None:
    """Answer a check or the walk-round from the state of the machine."""
    checks = advice.walk if key == WALK else (key,)
    if key == WALK:
        done.minutes += BOOK.walk_minutes * len(checks) / len(BOOK.walk_checks)
    else:
        done.minutes += BOOK.checks[key].minutes
    for name in checks:
        findings = BOOK.checks[name].findings
        there = tuple(finding for finding in findings if one.person.seen[finding])
        gone = tuple(finding for finding in findings if finding not in there)
        case.answers.append((AT, FaultAnswered(check=name, present=there, absent=gone)))


def _repaired(one: Drawn, key: str, done: Search) -> bool:
    """Make a repair; True where it ends the fault."""
    done.minutes += BOOK.repairs[key].minutes
    mends = one.run.scenario.cause in MENDS.get(key, set())
    done.is_cured = mends and one.person.holds[key]
    done.wrong_repairs += not mends
    return done.is_cured


def checklist() -> tuple[str, ...]:
    """Return all checks as a handbook prints them: the quickest first."""
    return tuple(
        sorted(BOOK.checks, key=lambda key: (BOOK.checks[key].minutes, BOOK.checks[key].number))
    )


def sign_list(one: Drawn) -> tuple[str, ...]:
    """Return the checks that go with what was noticed, the quickest first, then the rest."""
    case = opened(one)
    sign = BOOK.signs[case.opened.sign].findings if case.opened.sign else ()
    stated = {*case.opened.findings, *sign}
    fitting = {
        repair.confirm
        for repair in BOOK.repairs.values()
        for cause in repair.fixes
        if stated & BOOK.causes[cause].links.keys()
    }
    return tuple(sorted(checklist(), key=lambda key: key not in fitting))


def by_list(one: Drawn, order: Sequence[str]) -> Search:
    """Work through a list, do what it says where a check shows something, and call at the end."""
    done = Search()
    for key in order:
        done.minutes += BOOK.checks[key].minutes
        done.steps += 1
        for finding in BOOK.checks[key].findings:
            remedy = REMEDIES.get(finding, "")
            if remedy and one.person.seen[finding] and _repaired(one, remedy, done):
                return done
    done.minutes += BOOK.costs.technician_call
    return done
