"""Minutes that the steps of a search took, from the times of its entries."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from fillwright.jobs.fault.learn import KeptCase, learned_of
from fillwright.jobs.fault.times import minutes_taken
from fillwright.knowledge.faults_load import fault_book
from fillwright.records.entries import FaultAnswered, FaultClosed, FaultOpened, RepairTried
from fillwright.records.faultcase import FaultCase

BOOK = fault_book()
BEGAN = datetime(2030, 5, 6, 8, 0, tzinfo=UTC)


def at(minutes):
    """A time so many minutes after the search was opened."""
    return BEGAN + timedelta(minutes=minutes)


def searched(*entries):
    """A search with entries at their minutes."""
    case = FaultCase(number=1, opened=FaultOpened(sign="jumps"), at=BEGAN)
    for minutes, fact in entries:
        kept = case.repairs if isinstance(fact, RepairTried) else case.answers
        kept.append((at(minutes), fact))
    return case


def no(check, finding, **more):
    """A look that showed nothing."""
    return FaultAnswered(check=check, absent=(finding,), **more)


def test_a_step_takes_from_the_entry_before_to_its_own():
    """The first from when the search was opened, a repair like a check."""
    case = searched(
        (2.0, no("gauge_run", "k_gauge_dips")),
        (5.5, no("reweigh", "k_reweigh_spread")),
        (9.5, RepairTried(repair="set_needles", outcome="not-cured")),
    )

    assert minutes_taken(BOOK, case) == pytest.approx(
        {"gauge_run": 2.0, "reweigh": 3.5, "set_needles": 4.0}
    )


def test_a_check_of_several_findings_ends_with_its_last_answer():
    """Three findings of the suction test are one step."""
    case = searched(
        (10.0, no("suction_test", "k_suction_weak")),
        (11.0, no("suction_test", "k_suction_front")),
        (12.5, no("suction_test", "k_blow_rear")),
    )

    assert minutes_taken(BOOK, case) == pytest.approx({"suction_test": 12.5})


def test_looks_of_one_walk_teach_no_single_time():
    """They are put on record at one moment; the next step begins there."""
    case = searched(
        (3.0, no("bowl", "k_bowl_water")),
        (3.0, no("wheel_lock", "k_lock_loose")),
        (5.0, no("gauge_run", "k_gauge_dips")),
    )

    assert minutes_taken(BOOK, case) == pytest.approx({"gauge_run": 2.0})


@pytest.mark.parametrize("minutes", [0.05, 90.0])
def test_what_is_no_time_of_work_is_left_out(minutes):
    """An answer known beforehand, or after lunch, teaches nothing."""
    assert minutes_taken(BOOK, searched((minutes, no("reweigh", "k_reweigh_spread")))) == {}


def test_a_step_made_twice_is_left_out():
    """Nobody knows which of the two was the whole of it."""
    case = searched(
        (2.0, no("gauge_run", "k_gauge_dips")),
        (5.0, no("reweigh", "k_reweigh_spread")),
        (7.0, no("gauge_run", "k_gauge_dips")),
    )

    assert minutes_taken(BOOK, case) == pytest.approx({"reweigh": 3.0})


def test_a_check_that_could_not_be_made_ends_a_pause():
    """The time until it was given up belongs to no other step."""
    case = searched(
        (20.0, FaultAnswered(check="piston_pull", was_possible=False)),
        (23.0, no("reweigh", "k_reweigh_spread")),
    )

    assert minutes_taken(BOOK, case) == pytest.approx({"reweigh": 3.0})


def test_closed_cases_teach_the_minutes():
    """Six minutes for a look of three, once: (5 x 3 + 6) / 6, the shipped worth five cases."""
    case = searched((6.0, no("reweigh", "k_reweigh_spread")))
    case.closed, case.closed_at = FaultClosed(outcome="cured", cause="tare_var"), at(10.0)
    case.repairs.append((at(10.0), RepairTried(repair="tare_each", outcome="cured")))

    learned = learned_of(BOOK, (KeptCase(job="0101", case=case, left_out=""),)).minutes

    assert learned["reweigh"].shipped == 3.0
    assert learned["reweigh"].learned == pytest.approx(3.5)
    assert learned["reweigh"].count == 1
