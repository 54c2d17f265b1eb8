"""The guided strip: order, several people, evidence, bench, suction test, held jars."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from workshop import Workshop

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS
from fillwright.jobs.desk import Press
from fillwright.jobs.strip import stage as strip
from fillwright.jobs.strip.acts import Evidence, begin, see_seal, tick
from fillwright.jobs.strip.guide import guide_of
from fillwright.knowledge.procedures_load import shipped_profiles
from fillwright.records.entries import SealSeen
from fillwright.records.spans import Span

PROFILE = next(iter(shipped_profiles()))
GOOD = ("pull", "none", "none", "push")
FULL = Evidence(reading="0", photo="tablet, 1", air_is_off=True, ports=GOOD)


def begun():
    """A shop whose lot is released and whose guided strip has begun."""
    shop = Workshop().to_released()
    begin(shop.desk, shop.number, PROFILE, shop.press)
    return shop


def seal(shop, position, *, state="good", action="kept", reason=""):
    """Say how a seal looks."""
    seen = SealSeen(
        job="", machine="", product="", material="", size="",
        position=position, state=state, action=action, reason=reason,
    )  # fmt: skip
    return see_seal(shop.desk, shop.number, seen, shop.press)


def guide(shop, person="AB"):
    """Return the guide as it stands."""
    return guide_of(shop.desk, shop.state, person=person)


def go_to(shop, name, evidence=FULL):
    """Tick one open step after the other until `name` is open."""
    for _ in range(50):
        if name in {step.id for step in guide(shop).open_steps}:
            return shop
        step = next(s for s in guide(shop).open_steps)
        if step.id == "inspect_seals":
            for row in guide(shop).seals:
                if not row.state:
                    seal(shop, row.place.position)
        tick(shop.desk, shop.number, step.id, evidence, shop.press)
    raise AssertionError(name)


def test_a_step_opens_when_those_before_it_are_ticked():
    """Two steps are open at first; isolating waits for parking and for the settings."""
    shop = begun()

    assert {step.id for step in guide(shop).open_steps} == {"empty", "note_settings"}
    with pytest.raises(BadInput, match="not open now"):
        tick(shop.desk, shop.number, "hopper_off", FULL, shop.press)


def test_several_steps_are_open_at_once_for_several_people():
    """After isolating, hopper, nozzle and piston coupling can be done by three people."""
    shop = go_to(begun(), "hopper_off")

    assert {step.id for step in guide(shop).open_steps} == {
        "hopper_off",
        "nozzle_off",
        "piston_uncouple",
    }
    wanted = strip.look(shop.desk, shop.state, person="AB", wanted="nozzle_off")
    assert wanted.act.value == "nozzle_off"


def test_evidence_is_asked_for():
    """A photo, a reading and a gauge that must read zero are not taken on trust."""
    shop = begun()
    with pytest.raises(BadInput, match="Take the photo"):
        tick(shop.desk, shop.number, "note_settings", Evidence(), shop.press)
    go_to(shop, "isolate")

    with pytest.raises(BadInput, match="Write down"):
        tick(shop.desk, shop.number, "isolate", Evidence(air_is_off=True), shop.press)
    for reading in ("0.4", "nearly"):
        with pytest.raises(BadInput, match=r"must read 0\.0"):
            tick(
                shop.desk,
                shop.number,
                "isolate",
                Evidence(reading=reading, air_is_off=True),
                shop.press,
            )


def test_the_look_at_the_air_is_each_persons_own_and_ends_with_a_pause():
    """One person's tick is not another's, and after a pause it is asked for again."""
    shop = go_to(begun(), "hopper_off")
    asks = CAUTIONS["air"]

    def cautions(person):
        return strip.look(shop.desk, shop.state, person=person).act.cautions

    assert asks not in cautions("AB")
    assert asks in cautions("CD")
    with pytest.raises(BadInput, match="look at the gauge yourself"):
        tick(shop.desk, shop.number, "hopper_off", Evidence(), Press(person="CD"))
    shop.clock.at += timedelta(minutes=25)
    assert asks in cautions("AB")


def test_air_on_ends_every_look_at_the_air():
    """After the suction test hands go in only after a new look."""
    shop = go_to(begun(), "hopper_on", FULL)

    assert not guide(shop).air_is_off
    assert CAUTIONS["air"] in strip.look(shop.desk, shop.state, person="AB").act.cautions


def test_a_bad_suction_test_stays_open_and_says_what_it_means():
    """A pull at the front is read by the table; the step is not done."""
    shop = go_to(begun(), "suction_test")
    bad = replace(FULL, ports=("pull", "pull", "none", "push"))
    tick(shop.desk, shop.number, "suction_test", bad, shop.press)

    assert "suction_test" in {step.id for step in guide(shop).open_steps}
    assert "Ports not parted" in guide(shop).last_test
    unlisted = replace(FULL, ports=("push", "push", "pull", "pull"))
    tick(shop.desk, shop.number, "suction_test", unlisted, shop.press)
    assert "Not in the table" in guide(shop).last_test
    with pytest.raises(BadInput, match="what the film did"):
        tick(shop.desk, shop.number, "suction_test", Evidence(), shop.press)


def test_no_seal_is_passed_over():
    """The seals are not inspected before each one that is off was looked at."""
    shop = go_to(begun(), "inspect_seals")

    with pytest.raises(BadInput, match="Say first how this seal looks: gooseneck clamp"):
        tick(shop.desk, shop.number, "inspect_seals", FULL, shop.press)


def test_a_seal_on_the_machine_cannot_be_looked_at():
    """It must come off first; a damaged one must not go back; a new one needs a reason."""
    shop = begun()
    with pytest.raises(BadInput, match="still on the machine"):
        seal(shop, "valve rotor")
    go_to(shop, "rinse")

    with pytest.raises(BadInput, match="does not go back in"):
        seal(shop, "valve rotor", state="damaged")
    with pytest.raises(BadInput, match="why it is replaced"):
        seal(shop, "valve rotor", action="replaced")
    with pytest.raises(BadInput, match="no seal"):
        seal(shop, "left boot")


def test_every_step_done_ends_the_job():
    """To the end by the list; the count of parts comes out, and the job is done."""
    shop = go_to(begun(), "reprove")
    with pytest.raises(BadInput, match="guided strip is not done"):
        strip.stripped(shop.desk, shop.number, shop.press, air_is_off=True, missing_piece="")
    tick(shop.desk, shop.number, "reprove", FULL, shop.press)

    assert guide(shop).now is None
    assert guide(shop).on_bench == ()
    assert {row.where for row in guide(shop).seals} == {"fitted"}
    assert "accounted for?" in strip.look(shop.desk, shop.state).act.order
    seen = strip.stripped(shop.desk, shop.number, shop.press, air_is_off=True, missing_piece="")
    assert seen.act.order == "Stripped and cleaned. The job is done."


def test_a_missing_piece_of_a_seal_holds_every_jar_and_the_strip_goes_on():
    """All jars of the lot are held, also after the release; the next step is still there."""
    shop = go_to(begun(), "inspect_seals")
    seal(shop, "valve rotor", state="piece-missing", action="replaced", reason="failed")

    seen = strip.look(shop.desk, shop.state, person="AB")
    assert shop.state.open_spans == (Span(1, 120),)
    assert seen.held_words.startswith("Hold every jar")
    assert seen.act.what == "tick"


def test_cycles_are_counted_from_the_journal():
    """A seal that was never changed has run every jar on record; a new one none."""
    shop = go_to(begun(), "rinse")
    rows = {row.place.position: row for row in guide(shop).seals}
    assert rows["valve rotor"].run_cycles == 132  # besides two trim shots, ten timed

    seal(shop, "valve rotor", state="worn", action="replaced", reason="due")
    seen = shop.desk.book.site().seals[-1][2]
    assert (seen.life_cycles, seen.reason, seen.material) == (132, "due", "FKM")
