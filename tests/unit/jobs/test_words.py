"""Figures and entries in the operator's words."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from workshop import Workshop

from fillwright.jobs.words import (
    described,
    in_steps,
    plain,
    shown_g,
    step_down,
    step_up,
    trays,
)
from fillwright.records.entries import (
    ContainersHeld,
    ContainersSettled,
    RunFinished,
    SettingMoved,
    StruckOut,
)


@pytest.mark.parametrize(
    ("number", "text"),
    [("50.80", "50.8"), ("50", "50"), ("1E+2", "100"), ("0.00", "0"), ("1000", "1000")],
)
def test_a_number_is_written_plainly(number, text):
    """No exponent, no zeros that say nothing; zeros of whole numbers stay."""
    assert plain(Decimal(number)) == text


@pytest.mark.parametrize(
    ("value", "step", "rounding", "rounded"),
    [
        ("249.48", "0.1", ROUND_CEILING, "249.5"),
        ("249.50", "0.1", ROUND_CEILING, "249.5"),
        ("254.52", "0.1", ROUND_FLOOR, "254.5"),
        ("252.05", "0.1", ROUND_HALF_UP, "252.1"),
        ("252.04", "0.1", ROUND_HALF_UP, "252.0"),
        ("251.3", "0.5", ROUND_HALF_UP, "251.5"),
        ("251", "2", ROUND_CEILING, "252"),
        ("251", "2", ROUND_FLOOR, "250"),
        ("-0.05", "0.1", ROUND_FLOOR, "-0.1"),
    ],
)
def test_a_weight_is_shown_in_steps_of_the_scale(value, step, rounding, rounded):
    """Whole steps, rounded as named, with the decimals of the step."""
    assert str(in_steps(Decimal(value), Decimal(step), rounding)) == rounded


def test_legal_weights_go_up_and_limits_down():
    """A third of a gram is rounded up where the law compares, down at the brim."""
    third = Fraction(724, 3)

    assert (step_up(third, Decimal("0.1")), step_down(third, Decimal("0.1"))) == (
        Decimal("241.4"),
        Decimal("241.3"),
    )
    assert shown_g(241.349999, Decimal("0.1")) == "241.3 g"


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (1, 10, "tray 1"),
        (10, 11, "trays 1 to 2"),
        (177, 181, "trays 18 to 19"),
        (60, 60, "tray 6"),
    ],
)
def test_containers_are_named_by_tray(first, last, words):
    """With ten on a tray, number ten is the last of tray one."""
    assert trays(first, last, 10) == words


@pytest.mark.parametrize(
    ("fact", "words"),
    [
        (SettingMoved(stage="trim", from_marks=None, to_marks=Decimal("50.8")), "set to 50.8"),
        (StruckOut(entry_id="w", reason="spilled"), "a weight was struck out (spilled)"),
        (ContainersHeld(first=3, last=9, reason="low"), "numbers 3 to 9 were held"),
        (
            ContainersSettled(first=3, last=9, outcome="released-with-reason", reason="x"),
            "numbers 3 to 9 were settled: released with reason",
        ),
        (RunFinished(filled=120), "run finished"),
    ],
)
def test_an_entry_is_told_in_a_few_words(fact, words):
    """What happened and who did it, for a second person who comes too late."""
    shop = Workshop()
    [entry] = shop.tell(fact)

    assert words in described(entry)
    assert described(entry).endswith(" by AB")


def test_a_weight_is_told_with_its_number():
    """A shot has no number, a dose has one."""
    shop = Workshop().to_prove()
    shot = next(e for e in shop.entries() if e.payload.kind == "weighing taken")
    run_shop = Workshop().to_run()
    run_shop.weigh("252.1")

    assert described(shot) == "252.0 g was kept by AB"
    assert described(run_shop.entries()[-1]) == "number 12 was weighed, 252.1 g by AB"
