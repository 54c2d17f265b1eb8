"""A lot of thirty jars from two cartons, two drums and two boxes of lids, traced by hand."""

from __future__ import annotations

import pytest
from tests.fakes.workshop import Workshop, job

from fillwright.jobs.opening import open_job
from fillwright.jobs.run import changes
from fillwright.jobs.run import stage as run
from fillwright.jobs.trace.both_ways import trace

# jar          1 ........ 10 | 11 ....... 16 | 17 ....... 22 | 23 ....... 30
# carton       K-1           | K-1           | K-2           | K-2
# drum, batch  D-1, B-1      | D-2, B-2      | D-2, B-2      | D-2, B-2
# lids         L-1           | L-1           | L-1           | L-2
CODES = {"container": "K-1", "lid": "L-1", "drum": "D-1"}
# From the table above: code, first and last jar, how many.
BACK = (
    ("K-1", "1 to 16", 16),
    ("K-2", "17 to 30", 14),
    ("D-1", "1 to 10", 10),
    ("B-1", "1 to 10", 10),
    ("D-2", "11 to 30", 20),
    ("B-2", "11 to 30", 20),
    ("L-1", "1 to 22", 22),
    ("L-2", "23 to 30", 8),
    ("L-0417", "1 to 30", 30),
)


def fill_to(shop, last):
    """Weigh one after the other up to a jar."""
    while shop.state.filled_to < last:
        shop.off(0, purpose="dose")


@pytest.fixture
def shop():
    """The lot of the table, each jar weighed."""
    shop = Workshop(job(lot_size=30, weigh_every=1))
    changes.tell_lots(shop.desk, shop.number, CODES, shop.press, batch="B-1")
    # Jars proved are jars of the batch; this lot begins with jar 1 in the run.
    shop.to_trim()
    run.start(shop.desk, shop.number, shop.press, without_proof="a test")
    shop.look_at_first()
    fill_to(shop, 10)
    changes.take_drum(shop.desk, shop.number, "D-2", shop.press, batch="B-2")
    shop.look_at_first()
    fill_to(shop, 16)
    changes.take_lot(shop.desk, shop.number, "container", "K-2", shop.press)
    shop.look_at_first()
    fill_to(shop, 22)
    changes.take_lot(shop.desk, shop.number, "lid", "L-2", shop.press)
    shop.look_at_first()
    fill_to(shop, 30)
    return shop


@pytest.mark.parametrize(("code", "numbers", "many"), BACK)
def test_back_from_a_code_to_its_jars(shop, code, numbers, many):
    """Each carton, drum, batch and box of lids leads to the jars of the table and no others."""
    found = trace(shop.desk, code)

    assert [(line.lot_code, line.numbers, line.containers) for line in found.jars] == [
        ("L-0417", numbers, many)
    ]
    assert (found.holes, found.lots[0].holes, found.lots[0].clock) == ((), (), ())


def test_there_from_the_lot_to_all_of_them(shop):
    """The lot names every row of the table, from which jar to which."""
    rows = {
        (one.what, one.code, one.batch, one.first, one.last)
        for one in trace(shop.desk, "L-0417").lots[0].filled_from
    }

    assert rows == {
        ("container", "K-1", "", 1, 16),
        ("container", "K-2", "", 17, 30),
        ("lid", "L-1", "", 1, 22),
        ("lid", "L-2", "", 23, 30),
        ("drum", "D-1", "B-1", 1, 10),
        ("drum", "D-2", "B-2", 11, 30),
    }


def test_a_drum_that_went_into_two_lots_leads_to_both(shop):
    """The rest of the second drum filled 6 of the next lot: 20 + 6 are concerned."""
    open_job(shop.desk, job("0418", lot_size=30, weigh_every=1), shop.press)
    shop.number = "0418"
    codes = {"container": "K-2", "lid": "L-2", "drum": "D-2"}
    changes.tell_lots(shop.desk, "0418", codes, shop.press, batch="B-2")
    shop.to_setup()
    run.start(shop.desk, "0418", shop.press, without_proof="a test")
    shop.look_at_first()
    fill_to(shop, 6)

    found = trace(shop.desk, "D-2")

    assert [(line.lot_code, line.containers) for line in found.jars] == [
        ("L-0417", 20),
        ("L-0418", 6),
    ]
