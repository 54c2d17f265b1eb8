"""Strip: the gate before it, and what a missing piece means."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS
from fillwright.jobs.strip import stage as strip
from fillwright.jobs.traveller import next_act
from fillwright.records.spans import Span


def stripped(shop, *, air_is_off=True, missing_piece=""):
    """Keep that the machine was stripped."""
    return strip.stripped(
        shop.desk, shop.number, shop.press, air_is_off=air_is_off, missing_piece=missing_piece
    )


def test_the_cautions_stand_before_the_first_step():
    """Air off and vented, foot switch away, fingers out of the ports: two of them ticked."""
    shop = Workshop().to_released()
    act = strip.look(shop.desk, shop.state).act

    assert act.cautions == (CAUTIONS["air"], CAUTIONS["starts"], CAUTIONS["ports"])
    assert [c.must_tick for c in act.cautions] == [True, True, False]
    assert act.steps[0] == "Air off and vented before hands go in."


@pytest.mark.parametrize(
    ("product", "words"),
    [
        ({"product_c": Decimal(58)}, "58 °C. Gloves and sleeve."),
        ({"is_flammable": True}, "Earthed, aired"),
    ],
)
def test_hot_and_flammable_are_said_too(product, words):
    """What the product brings stands with them."""
    shop = Workshop(job(product=product))
    act = strip.look(shop.desk, shop.state).act

    assert any(words in caution.words for caution in act.cautions)


def test_not_with_the_air_on():
    """Nothing is kept while the air is on."""
    shop = Workshop().to_released()
    entries = len(shop.entries())

    with pytest.raises(BadInput, match=r"Air off and vented first: the gauge must read 0"):
        stripped(shop, air_is_off=False)

    assert len(shop.entries()) == entries


def test_a_sound_strip_ends_the_job():
    """Every seal accounted for: done, and nothing is held."""
    shop = Workshop().to_released()
    seen = stripped(shop)

    assert seen.act.order == "Stripped and cleaned. The job is done."
    assert seen.act.cautions == ()
    assert shop.state.open_spans == ()
    assert next_act(shop.desk, shop.state) == seen.act


@pytest.mark.parametrize(
    ("stage", "words"), [("to_released", "tell whoever can call them back"), ("to_finished", "")]
)
def test_a_missing_piece_holds_the_lot(stage, words):
    """A torn seal may be in the product: every jar of the lot is held, also after the release."""
    shop = getattr(Workshop(), stage)()
    seen = stripped(shop, missing_piece=" hopper joint ")

    assert seen.seals_words == "torn or missing: hopper joint"
    assert seen.act.order.startswith("Hold every jar of lot L-0417.")
    assert words in seen.act.order
    assert seen.act.state == "stop"
    assert shop.state.open_spans == (Span(1, 120),)


def test_a_missing_piece_before_the_release_blocks_it():
    """The held ones come first, and no weight settles them."""
    shop = Workshop().to_judged()
    shop.sign()
    stripped(shop, missing_piece="hopper joint")

    act = next_act(shop.desk, shop.state)
    assert act.order == "Hold every jar of lot L-0417."
    assert "A weight does not show a missing piece: scrap them" in act.why
    with pytest.raises(BadInput, match=r"a weight does not show that"):
        shop.off("0", purpose="held")


def test_a_missing_piece_after_the_release_stays_in_sight():
    """The job's next act is to hold and call back, not to weigh."""
    shop = Workshop().to_released()
    stripped(shop, missing_piece="hopper joint")

    assert next_act(shop.desk, shop.state).order.startswith("Hold every jar")
