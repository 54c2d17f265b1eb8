"""A lot of seals held against its place, the product and its shelf date, before it goes in."""

from __future__ import annotations

from dataclasses import replace

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.strip import shelf
from fillwright.jobs.strip.acts import Evidence, begin, see_seal, tick
from fillwright.jobs.strip.guide import guide_of
from fillwright.jobs.strip.lot_fits import TICK, asked_material
from fillwright.jobs.strip.papers import strip_record
from fillwright.knowledge.procedures_load import shipped_profiles
from fillwright.knowledge.procedures_types import SealPlace
from fillwright.records.entries import SealSeen, SealsShelved

PROFILE = next(iter(shipped_profiles()))
ROTOR, HOPPER = "valve rotor", "hopper clamp"
LOTS = {"S-EP-3": "EPDM", "S-FK-1": "FKM", "S-PT-2": "PTFE"}
FULL = Evidence(
    reading="0", photo="tablet, 1", air_is_off=True, ports=("pull", "none", "none", "push")
)


def opened(*media):
    """A shop whose guided strip waits for the look at the seals, with lots on the shelf."""
    facts = job()
    facts = replace(facts, product=replace(facts.product, media=media))
    shop = Workshop(facts).to_released()
    for code, material in LOTS.items():
        lot = SealsShelved(
            seal_lot=code, material=material, size="224", pieces=8, cured_on="2026-01-01"
        )
        shelf.shelve(shop.desk, lot, shop.press)
    begin(shop.desk, shop.number, PROFILE, shop.press)
    while not any(step.id == "inspect_seals" for step in guide(shop).open_steps):
        tick(shop.desk, shop.number, guide(shop).open_steps[0].id, FULL, shop.press)
    return shop


def guide(shop):
    """Return the strip as it stands."""
    return guide_of(shop.desk, shop.state, person="AB")


def fit(shop, lot, *, position=ROTOR, is_confirmed=False):
    """Say that a worn seal is replaced by one of a lot."""
    seen = SealSeen(
        job="", machine="", product="", material="", size="",
        position=position, state="worn", action="replaced", reason="due", seal_lot=lot,
    )  # fmt: skip
    return see_seal(shop.desk, shop.number, seen, shop.press, is_confirmed=is_confirmed)


def kept(shop):
    """Return the seals on record."""
    return [seal for _, _, seal in shop.desk.book.site().seals]


def test_a_lot_of_the_material_that_the_place_asks_for_goes_in():
    """However its code is typed, it is kept as on the shelf, and leaves the shelf."""
    shop = opened()
    fit(shop, " s-fk-1 ")

    assert kept(shop)[-1].seal_lot == "S-FK-1"
    assert shop.desk.book.site().shelf["S-FK-1"].pieces == 7


def test_another_material_is_asked_about_and_kept_only_when_it_is_confirmed():
    """One sentence names both materials; nothing is kept before the tick."""
    shop = opened()
    with pytest.raises(BadInput, match="S-EP-3 is EPDM, but valve rotor asks for FKM") as asked:
        fit(shop, "S-EP-3")
    assert (asked.value.field, asked.value.allowed) == ("seal_lot", TICK)
    assert kept(shop) == []

    fit(shop, "S-EP-3", is_confirmed=True)
    (line,) = strip_record(shop.desk, shop.number).seals
    assert line.what.startswith("FKM")
    assert line.action == "replaced: it was due, lot S-EP-3, of EPDM"


def test_what_the_product_attacks_is_refused_where_the_place_asks_for_another():
    """No tick helps: with oil in the product EPDM is rated as not to be used."""
    shop = opened("limonene")
    for is_confirmed in (False, True):
        with pytest.raises(BadInput, match=r"does not stand .* asks for FKM. Fit a lot"):
            fit(shop, "S-EP-3", is_confirmed=is_confirmed)
    assert kept(shop) == []


def test_what_the_place_asks_for_is_asked_about_where_the_product_attacks_it():
    """The hopper gasket is EPDM by the profile; with oil the page asks first."""
    shop = opened("limonene")
    with pytest.raises(BadInput, match=r"does not stand .* Fit FKM or"):
        fit(shop, "S-EP-3", position=HOPPER)
    fit(shop, "S-EP-3", position=HOPPER, is_confirmed=True)
    assert kept(shop)[-1].position == HOPPER


def test_a_lot_on_no_shelf_is_asked_about_with_the_nearest():
    """A slip of a code would go past the look at the material."""
    shop = opened()
    with pytest.raises(BadInput, match=r"no lot 'S-EP-4' on the shelf; nearest: S-EP-3"):
        fit(shop, "S-EP-4")
    fit(shop, "S-EP-4", is_confirmed=True)
    assert kept(shop)[-1].seal_lot == "S-EP-4"
    long = "<b>" * 200
    with pytest.raises(BadInput, match="There is no lot '<b><b>") as asked:
        fit(shop, long)
    assert len(asked.value.message) < 220


def test_a_lot_past_its_date_is_not_fitted():
    """The page of the shelf says so, and the strip holds to it."""
    shop = opened()
    old = SealsShelved(seal_lot="OLD", material="FKM", size="224", pieces=2, cured_on="2010-02-28")
    shelf.shelve(shop.desk, old, shop.press)
    with pytest.raises(BadInput, match="ran out of date on 2020-02-28"):
        fit(shop, "OLD", is_confirmed=True)


def test_what_was_fitted_is_what_the_next_life_is_of():
    """The old one ended as FKM; what runs in the place from now on is EPDM."""
    shop = opened()
    fit(shop, "S-EP-3", is_confirmed=True)
    rows = {row.material: row for row in shelf.look(shop.desk, shelf.ShelfWishes()).rows}

    assert (rows["FKM"].good, rows["FKM"].run_cycles) == (1, 0)
    assert rows["EPDM"].good == 0


CLAMP = "valve to cylinder clamp"


def test_another_size_is_asked_about_and_the_record_names_it():
    """The clamp takes 152: a ring of 224 goes in only with the tick, and is on record as such."""
    shop = opened()
    with pytest.raises(BadInput, match="is of size 224") as asked:
        fit(shop, "S-FK-1", position=CLAMP)
    assert asked.value.message == (
        "Lot S-FK-1 is of size 224 (44.04 x 3.53 mm), but valve to cylinder clamp takes 152 "
        "(82.22 x 2.62 mm). Fit a lot of size 152, or tick that the new one was measured and fits."
    )
    assert (asked.value.field, asked.value.allowed) == ("seal_lot", TICK)
    assert kept(shop) == []

    fit(shop, "S-FK-1", position=CLAMP, is_confirmed=True)
    (line,) = strip_record(shop.desk, shop.number).seals
    assert (line.what, line.action) == ("FKM 152", "replaced: it was due, lot S-FK-1, size 224")


def test_one_tick_is_asked_with_every_doubt():
    """Material and size are both another: the one question says both."""
    shop = opened()
    with pytest.raises(
        BadInput, match=r"asks for FKM.* Its size is another one too: 224"
    ) as asked:
        fit(shop, "S-EP-3", position=CLAMP)
    assert asked.value.allowed == TICK

    oily = opened("limonene")
    lot = SealsShelved(
        seal_lot="S-E2", material="EPDM", size="224", pieces=1, cured_on="2026-01-01"
    )
    shelf.shelve(oily.desk, lot, oily.press)
    with pytest.raises(BadInput, match="does not stand") as refused:
        fit(oily, "S-E2", position=CLAMP, is_confirmed=True)
    assert refused.value.allowed == "FKM"


@pytest.mark.parametrize(
    "size", ["AS568-152", "82,2 x 2,6 mm", "2.62 x 82.22", "", "large", "999"]
)
def test_the_size_of_the_place_or_none_that_can_be_read_goes_in(size):
    """However the bag writes it; what is not known is not asked about."""
    shop = opened()
    lot = SealsShelved(seal_lot="B", material="FKM", size=size, pieces=1, cured_on="2026-01-01")
    shelf.shelve(shop.desk, lot, shop.press)

    fit(shop, "B", position=CLAMP)

    (line,) = strip_record(shop.desk, shop.number).seals
    assert line.action == "replaced: it was due, lot B"


@pytest.mark.parametrize(
    ("named", "asks"),
    [("FKM", "FKM"), ("FKM or EPDM", ""), ("epdm", ""), ("as in the manual", ""), ("", "")],
)
def test_a_profile_may_name_several_materials_or_none(named, asks):
    """Only a material of the table, and another one, is held against a lot."""
    place = SealPlace(position="x", kind="O-ring", size="1", material=named, side="both", count=1)
    assert asked_material(place, "EPDM") == asks
