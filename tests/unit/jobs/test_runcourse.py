"""The course of a run as the record tells it: watch, signatures, hopper levels."""

from __future__ import annotations

from decimal import Decimal

from workshop import Workshop

from fillwright.jobs import papers
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.course import course_of
from fillwright.records.entries import HopperRead, SignatureSeen


def test_watch_signature_and_level_stand_on_the_record_in_their_order():
    """Each in one sentence, with its figures; a job without a run has none."""
    shop = Workshop().to_proved()
    assert papers.batch_record(shop.desk, shop.state).course == ()

    run.start(shop.desk, shop.number, shop.press, watch="average")
    shop.off("0.3")
    shop.tell(
        SignatureSeen(
            container=20,
            readings=12,
            kinds=("step",),
            is_at_once=False,
            stated_probability=0.93,
            runner_up="creep",
            change_low=8,
            change_high=10,
            size_g=1.5,
            size_low_g=1.2,
            size_high_g=1.9,
            words="Is a step",
        ),
        HopperRead(after_container=20, value=Decimal("12.50"), unit="cm"),
    )

    assert papers.batch_record(shop.desk, shop.state).course == (
        (
            "Watched by: single ones, and the average of the last ones. A false alarm once in 221 "
            "weights, on average."
        ),
        (
            "At jar 20, from 12 weights: Is a step. Size +1.50 g (80 %: +1.20 to +1.90 g). "
            "Stated probability 0.93."
        ),
        "Hopper level after jar 20: 12.5 cm.",
    )


def test_other_entries_say_nothing():
    """Only what belongs to the course of the run is told."""
    shop = Workshop().to_prove()

    assert course_of(shop.entries(), "jar") == ()
