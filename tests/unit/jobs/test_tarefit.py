"""A tare that is not sure enough: said at Set up and at a new carton, with what to do."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.jobs.opening import change_facts
from fillwright.jobs.papers import batch_record
from fillwright.jobs.run import changes
from fillwright.jobs.run import stage as run
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.tare_fit import tare_note, tare_warning, warning_now
from fillwright.records.entries import TareSet


@pytest.fixture
def shop():
    """A run with twenty filled that takes an average empty off."""
    shop = Workshop(job(tare_way="zeroed")).to_proved()
    mean = replace(shop.facts, tare_way="mean")
    change_facts(shop.desk, shop.number, mean, "empties are alike", shop.press)
    run.start(shop.desk, shop.number, shop.press)
    return shop.look_at_first()


def carton(shop, weights):
    """Take a new carton and weigh empties of it."""
    last = shop.state.filled_to
    changes.take_lot(shop.desk, shop.number, "container", "K-2", shop.press, last_filled=last)
    for weight in weights:
        shop.weigh(weight, purpose="tare")
    return shop


def tare(sd_g, empties=5):
    """An average empty of 35 g."""
    return TareSet(tare_g=Decimal(35), sd_g=sd_g, empties=empties)


def test_the_words_say_how_sure_and_what_to_do(shop):
    """Nothing where it is enough; how many would do; or each empty by itself."""
    rules, facts = shop.desk.rule_sets, shop.facts

    assert tare_warning(rules, facts, tare(0.05)) == ""
    assert tare_note(rules, facts, tare(0.05)) == (
        "The average is sure to ±0.062 g, 19 times in 20."
    )
    more = tare_warning(rules, facts, tare(0.45))
    assert more.startswith("Five empties leave their average uncertain by ±0.56 g")
    assert "empties would do, or zero each jar away" in more
    each = tare_warning(rules, facts, tare(4.0))
    assert "weigh each empty instead" in each
    assert tare_warning(rules, facts, tare(None, 1)) == ""


def test_a_carton_goes_on_where_five_are_too_few(shop):
    """It asks for as many as would do, ten at most, says why, and then warns."""
    base = Decimal(shop.state.known.container.tare_g or 35)
    step = Decimal("0.5")
    weights = [base + step * k for k in (-1, 0, 1, 0, 1)]
    carton(shop, weights)

    act = run.look(shop.desk, shop.state).act
    assert act.what == "weigh-empty"
    assert "empty jar 6 of" in act.order
    assert "uncertain by" in act.why
    for k in (0, -1, 0, 1, 0):
        if shop.state.lots.carton_due is not None:
            shop.weigh(base + step * k, purpose="tare")
    assert shop.state.lots.carton_due is None
    assert 5 < shop.state.lots.tare_of(None).empties <= 10


def test_a_carton_of_unlike_empties_is_warned_of_where_it_matters(shop):
    """On the Run page and in the batch record; five are enough to know it."""
    base = Decimal(shop.state.known.container.tare_g or 35)
    carton(shop, [base + k for k in (-6, 6, 0, -6, 6)])

    assert shop.state.lots.carton_due is None
    assert "weigh each empty instead" in warning_now(shop.desk.rule_sets, shop.state)
    assert any("weigh each empty" in note for note in batch_record(shop.desk, shop.state).notes)


def test_set_up_says_how_sure_the_average_is():
    """After the last empty, on the page that weighed them."""
    shop = Workshop(job(tare_way="mean")).to_trim()
    for weight in ("40.0", "40.2") * 5:
        shop.weigh(weight)
    look = setup.look(shop.desk, shop.state)

    assert "The average is sure to" in look.tare_words
    assert look.tare_warning == ""
