"""The trial of the search: its page as printed, a smaller draw, and where its answers come from.

A promise is broken when its figure is beyond the bound by more than three standard errors.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from fault_trial import FROZEN, PROMISES, frozen_hash, trial
from fault_trial_machine import run_of
from fault_trial_search import BOOK, OBSERVED, checklist, drawn
from fault_trial_state import CHECK_CLASS, LOOKS, MENDS, REMEDIES, SCENARIOS, SYMPTOMS, WEIGHTS

PAGE = Path(__file__).parents[3] / "docs" / "reference" / "fault-trial.md"
ROW = re.compile(
    r"^\| (.+) \| (at least|at most) (\S+) \| (\S+) ± (\S+) \| (\d+) \| (yes|no) \|$", re.MULTILINE
)
FEW, SEED = 23, 2026


@pytest.fixture(scope="module")
def few():
    """A small draw: one fault of each cause."""
    return trial(FEW, SEED)


def printed():
    """The page."""
    return PAGE.read_text(encoding="utf-8")


def test_the_page_was_made_from_what_is_frozen():
    """Fault data, looks, rates and machines are those of the printed trial.

    Where this fails because they were changed for a good reason, make the trial anew.
    """
    assert f"SHA-256 | {frozen_hash()} |" in printed()
    assert str(int(frozen_hash()[:12], 16)) in printed()


def test_the_page_holds_every_promise():
    """Each promise has its row with its bound, and what it says of it follows from its figures."""
    rows = ROW.findall(printed())

    assert [(what, sense, float(bound)) for what, sense, bound, *_ in rows] == [
        (promise.what, promise.sense, promise.bound) for promise in PROMISES
    ]
    for promise, (*_, value, error, count, kept) in zip(PROMISES, rows, strict=True):
        assert int(count) == 500
        assert kept == ("no" if promise.broken(float(value), float(error)) else "yes")


def test_the_page_says_plainly_what_the_first_promise_leaves_out():
    """The figure at the first repair, and how many were cured, stand where the promise stands."""
    page = printed()
    first = re.search(r"^\| at the first repair, .*\| (\S+) ± \S+ \|$", page, re.MULTILINE)[1]
    cured = re.search(r"^\| search, next step .*\| (\S+) ± \S+ \| \S+ \|$", page, re.MULTILINE)[1]

    assert f"among the first three in {first} of a hundred, below 90" in page
    assert f"and {cured} of a hundred are cured" in page


@pytest.mark.parametrize("promise", PROMISES, ids=lambda promise: promise.what)
def test_a_promise_is_kept_on_a_smaller_draw(promise, few):
    """With few faults and a fixed seed no bound is passed by three standard errors."""
    assert not promise.broken(*promise.find(few))


def test_every_fault_that_is_searched_for_was_noticed(few):
    """Nobody looks for what nobody sees, and every cause has its turns."""
    assert len(few.cases) == FEW
    assert all(one.person.noticed for one in few.cases)
    assert [one.run.scenario.cause for one in few.cases[: len(SCENARIOS)]] == [
        scenario.cause for scenario in SCENARIOS
    ]


def test_it_is_the_same_whoever_computes_it(few):
    """Two processes draw and search as one does."""
    pair = trial(6, SEED, workers=2)

    assert [one.minutes for one in pair.ours] == [one.minutes for one in few.ours[:6]]


def test_the_same_seed_draws_the_same_fault():
    """A case can be had again."""
    one, again = drawn(7, SEED), drawn(7, SEED)

    assert one.run.readings.tolist() == again.run.readings.tolist()
    assert one.person.seen == again.person.seen


def test_the_table_of_looks_covers_the_checks():
    """Each check has a class of observer; findings, remedies and mends exist in the data."""
    checks = [name for names in CHECK_CLASS.values() for name in names]
    findings = {name for check in BOOK.checks.values() for name in check.findings}

    assert sorted(checks) == sorted(BOOK.checks)
    assert set(OBSERVED) == findings
    assert set(LOOKS) <= findings
    assert set(SYMPTOMS) | set(WEIGHTS) <= set(BOOK.findings) - findings
    assert set(REMEDIES) <= findings
    assert set(REMEDIES.values()) | set(MENDS) <= set(BOOK.repairs)
    assert {cause for causes in MENDS.values() for cause in causes} == {
        scenario.cause for scenario in SCENARIOS
    }


def test_answers_never_come_from_the_fault_data():
    """The files that say what a look shows name neither links nor the book that holds them."""
    for name in FROZEN[1:]:
        text = (PAGE.parents[2] / name).read_text(encoding="utf-8")
        assert "faults_load" not in text
        assert ".links" not in text
        assert "fault_book" not in text


def test_each_cause_can_be_looked_for_and_mended():
    """With the worst severity, some look shows each cause, in at least one product."""
    unseen = []
    for place, scenario in enumerate(SCENARIOS):
        seen = set()
        for product in ("water", "syrup, 5 Pa·s"):
            run = run_of(scenario, 0.95, product, np.random.default_rng(place))
            seen |= {name for name, shows in LOOKS.items() if shows(run.state)}
        if not seen:
            unseen.append(scenario.cause)
    assert unseen == []


def test_the_checklist_begins_with_the_quickest():
    """Minutes never fall along the list, and every check is on it once."""
    minutes = [BOOK.checks[name].minutes for name in checklist()]

    assert minutes == sorted(minutes)
    assert sorted(checklist()) == sorted(BOOK.checks)
