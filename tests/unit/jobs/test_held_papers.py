"""Many held, few rows: what became of them by trays and counts, and every number in one row."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.jobs.held.papers import settled_words
from fillwright.jobs.papers import batch_record
from fillwright.records.entries import (
    ContainersEmptied,
    ContainersHeld,
    ContainersSettled,
    RunFinished,
    SettlingStruck,
)
from fillwright.records.spans import Span
from fillwright.report import held_words

SIZE = 300


@pytest.fixture
def shop():
    """A finished run of 300 on trays of ten, all held for one reason, in two entries."""
    made = Workshop(job(lot_size=SIZE)).to_run()
    made.fill_up()
    made.tell(
        RunFinished(filled=SIZE),
        ContainersHeld(first=1, last=120, reason="weight in doubt"),
        ContainersHeld(first=121, last=SIZE, reason="weight in doubt"),
    )
    return made


def weighed(shop, numbers):
    """Settle containers one by one by their weights."""
    shop.tell(
        *(
            ContainersSettled(
                first=n, last=n, outcome="weighed-good", reason=f"{250 + n % 7}.5 g net"
            )
            for n in numbers
        )
    )


def numbers_of(words):
    """Return the numbers that spans in words hold."""
    found = set()
    for part in words.replace(" and ", ", ").split(", "):
        first, _, last = part.partition(" to ")
        found |= set(range(int(first), int(last or first) + 1))
    return found


def test_three_hundred_weighed_one_by_one_are_one_row(shop):
    """One line for the reason, one for what became of them, with the range of their weights."""
    weighed(shop, range(1, SIZE + 1))
    (line,) = batch_record(shop.desk, shop.state).held

    assert (line.numbers, line.containers, line.trays) == ("1 to 300", 300, "1 to 30")
    (said,) = line.outcomes
    assert (said.numbers, said.containers) == ("1 to 300", 300)
    assert said.reason == "250.5 to 256.5 g net"
    assert line.still == ""
    assert settled_words(shop.state) == ("Jar 1 to 300: weighed good, 250.5 to 256.5 g net (AB).",)


def test_every_number_stands_in_the_row_of_what_became_of_it(shop):
    """Alternating outcomes, a strike-out, some held still: nobody is lost or counted twice."""
    weighed(shop, range(1, 201, 2))
    shop.tell(
        *(
            ContainersSettled(first=n, last=n, outcome="scrapped", reason="cracked")
            for n in range(2, 201, 2)
        ),
        *(
            ContainersEmptied(
                spans=(Span(n, n),), into="drum", back_g=Decimal("250.5"), is_weighed=True,
                after_container=SIZE, reason="overfull",
            )
            for n in range(201, 211)
        ),
    )  # fmt: skip
    scrapped = [one for one in shop.state.held.settlings if one.outcome == "scrapped"]
    shop.tell(SettlingStruck(settling_id=scrapped[0].id, reason="wrong one"))
    (line,) = batch_record(shop.desk, shop.state).held

    good, struck, out, emptied = line.outcomes
    assert numbers_of(good.numbers) == set(range(1, 201, 2))
    assert (struck.numbers, struck.struck) == ("2", "wrong one (AB)")
    assert numbers_of(out.numbers) == set(range(4, 201, 2))
    assert (emptied.numbers, emptied.more) == (
        "201 to 210",
        "2505 g into a drum of its own, weighed",
    )
    assert (line.still, line.still_containers) == ("2 and 211 to 300", 91)
    rows = held_words.held_blocks(batch_record(shop.desk, shop.state), "jar")
    assert len(rows[1]["rows"]) == 5


def test_reasons_that_differ_stand_apart(shop):
    """Another reason, in somebody's own words, is a row of its own, for the hold and after it."""
    shop.tell(ContainersHeld(first=7, last=7, reason="a chip at the rim"))
    shop.tell(
        ContainersSettled(first=7, last=7, outcome="scrapped", reason="chipped"),
        ContainersSettled(first=8, last=8, outcome="scrapped", reason="dirty"),
    )
    doubt, chip = batch_record(shop.desk, shop.state).held

    assert [(one.numbers, one.reason) for one in doubt.outcomes] == [
        ("7", "chipped"),
        ("8", "dirty"),
    ]
    assert (chip.numbers, chip.trays, chip.outcomes[0].numbers) == ("7", "1", "7")


def test_what_is_held_again_is_told_by_its_own_reason(shop):
    """What was said before a hold says nothing of it."""
    weighed(shop, [5])
    shop.tell(ContainersHeld(first=5, last=5, reason="lid in doubt"))
    doubt, lid = batch_record(shop.desk, shop.state).held

    assert [one.numbers for one in doubt.outcomes] == ["5"]
    assert (lid.outcomes, lid.still) == ((), "5")
