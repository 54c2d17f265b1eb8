"""What an experienced technician would say, written down before the figures were looked at."""

from __future__ import annotations

import pytest

from fillwright.knowledge.faults_load import fault_book
from fillwright.science.faults import Evidence, class_factors, net_of
from fillwright.science.faults_menu import WALK
from fillwright.science.faults_next import advise, reason_of, told_by, word_of

BOOK = fault_book()
NET = net_of(BOOK)
HANDS_IN = {"air_isolated", "air_vented"}


def advised(present=(), absent=(), *, done=(), skipped=(), signature=None, net=NET):
    """What is advised."""
    factors = None if signature is None else class_factors(BOOK, signature)
    evidence = Evidence(present=frozenset(present), absent=frozenset(absent), factors=factors)
    return advise(BOOK, net, evidence, done=done, skipped=skipped)


def top(advice, count):
    """The likeliest causes."""
    return [one.cause for one in advice.causes[:count]]


@pytest.mark.parametrize(
    ("present", "absent", "cause", "within"),
    [
        (["no_motion"], [], "estop_in", 2),
        (["no_motion", "k_gauge_low"], ["k_estop_in"], "air_off", 1),
        (
            ["no_motion"],
            ["k_estop_in", "k_gauge_low", "k_guard_open", "k_mode_wrong"],
            "start_switch",
            1,
        ),
        (["no_cycle_end", "k_indicator_over"], [], "over_scale", 1),
        (["no_cycle_end", "k_rear_dark"], ["k_indicator_over"], "rear_sensor", 1),
        (["dose_creep"], [], "lock_open", 1),
        (["dose_creep", "k_lock_loose"], [], "lock_open", 1),
        (["dose_creep", "knock"], ["k_lock_loose"], "stop_loose", 1),
        (["jump_then_slow", "dose_spread"], [], "recharge_fast", 1),
        (["jump_then_slow", "dose_spread"], ["k_recharge_helps"], "suction_blocked", 4),
        (["outlier", "k_lumps"], [], "lumps", 1),
        (["first_low", "bubbles"], [], "not_purged", 1),
        (["dose_low", "k_suction_front", "k_blow_rear"], [], "valve_oring", 1),
        (["dose_low", "leak_behind"], [], "glide_worn", 1),
        (["drip", "k_pin_worn"], [], "suckback_pin", 1),
        (["bubbles", "dose_spread"], ["k_hopper_low"], "suction_ferrule", 2),
        (["slow_fill", "k_gauge_dips"], ["k_gauge_low"], "air_starved", 1),
        (["slow_fill", "slow_recharge", "k_temp_off"], [], "product_cold", 1),
        (["dose_spread", "k_tare_varies"], [], "tare_var", 1),
        (["scale_wander"], [], "scale_env", 1),
        (["dose_low", "k_checkmass_off"], [], "scale_cal", 1),
        (["splash"], [], "fill_fast", 2),
        (["leak_joint"], [], "discharge_gasket", 1),
        (["jerky", "squeal"], [], "drive_dry", 2),
        (["knock", "dose_spread"], ["k_stop_loose"], "coupling_play", 1),
    ],
)
def test_the_cause_that_a_technician_would_name(present, absent, cause, within):
    """What was seen names the cause, first or among the first."""
    assert cause in top(advised(present, absent), within)


def test_nothing_moves_begins_without_a_tool():
    """The first three steps for a machine that stands still need neither tool nor open air."""
    known, asked = set(), []
    for _ in range(3):
        step = advised(["no_motion"], known).steps[0]
        asked.append(step.key)
        assert BOOK.checks[step.key].needs == ()
        known |= set(BOOK.checks[step.key].findings)

    assert "see_estop" in asked
    assert "gauge_rest" in asked


def test_a_creeping_dose_asks_for_the_lock():
    """Half a minute at the wheel comes first, whose number is fourteen."""
    step = advised(["dose_creep"]).steps[0]

    assert step.key == "wheel_lock"
    assert BOOK.checks[step.key].number == 14


def test_a_reversed_valve_after_a_rebuild():
    """Right after a rebuild a machine that cycles and gives nothing has its valve reversed."""
    net = net_of(BOOK, cycles_since={"rebuild": 3})

    assert top(advised(["no_product", "backflow"], net=net), 1) == ["valve_reversed"]


def test_the_signature_of_a_run_points_to_a_cause():
    """Doses that drift upwards point to the lock or the stop without any stated sign."""
    drift = dict.fromkeys(BOOK.classes, 0.01) | {"drift_up": 1.0}

    assert set(top(advised(signature=drift), 2)) == {"lock_open", "stop_loose"}


def test_what_is_kept_for_a_technician_is_handed_over():
    """A steady blow at the exhaust is a seal or a valve in the air: nothing to do oneself."""
    advice = advised(["slow_fill", "slow_recharge", "k_exhaust_blows"])

    assert advice.hand_over.endswith("a qualified technician mends this.")


def test_three_repairs_without_a_cure_are_enough():
    """After three repairs a qualified technician takes it."""
    done = ("lock_wheel", "tighten_stop", "stir")

    assert advised(["dose_creep"], done=done).hand_over.startswith("3 repairs were made")


def test_findings_that_fit_nothing_are_handed_over():
    """Signs that no listed cause explains together are no reason to go on trying."""
    odd = ["air_hiss", "scale_wander", "knock", "particles", "double_cycle", "stringing"]

    assert advised(odd).hand_over


def test_two_faults_are_named_where_they_explain_it_better():
    """A loose lock wets no drive rod, and a worn ring turns no wheel: both are there."""
    seen = ["k_lock_loose", "k_indicator_moved", "leak_behind", "k_glide_bad"]
    advice = advised(seen)

    assert advice.pair is not None
    assert {advice.pair.first, advice.pair.second} == {"lock_open", "glide_worn"}


def test_one_fault_that_explains_everything_stays_alone():
    """A valve ring that leaks gives low doses and pull at the front: no second fault is named."""
    assert advised(["dose_low", "k_suction_front", "k_valve_seal_bad"]).pair is None


def test_a_repair_that_did_not_cure_rules_its_cause_out():
    """The lock was set and the dose still creeps: it is something else."""
    before = {one.cause: one.chance for one in advised(["dose_creep"]).causes}
    after = {one.cause: one.chance for one in advised(["dose_creep"], done=["lock_wheel"]).causes}

    assert after["lock_open"] < 0.1 * before["lock_open"]


def test_a_check_that_cannot_be_made_is_not_asked_again():
    """Left out once, it is not proposed any more."""
    advice = advised(["dose_creep"], skipped=["wheel_lock"])

    assert all(step.key != "wheel_lock" for step in advice.steps)


@pytest.mark.parametrize("sign", sorted(BOOK.signs))
def test_nothing_unsafe_is_ever_offered(sign):
    """For no sign is a step offered that only a technician may do, or hands in with air on."""
    advice = advised(BOOK.signs[sign].findings[:1])
    for step in advice.steps:
        if step.key in {"", WALK}:
            continue
        row = BOOK.repairs[step.key] if step.kind == "repair" else BOOK.checks[step.key]
        assert "qualified" not in row.needs
        if HANDS_IN & set(row.needs):
            assert set(row.needs) >= HANDS_IN
            assert row.caution


def test_no_text_tells_anybody_to_do_what_hurts():
    """No step bypasses a guard, raises the air past its limit or pokes into a nozzle."""
    steps = [
        *(words for check in BOOK.checks.values() for words in check.steps),
        *(f"{repair.name} {repair.explain}" for repair in BOOK.repairs.values()),
    ]
    for word in ("bypass", "override", "defeat", "wedge", "tie down", "poke with"):
        told = [words for words in steps if word in words.lower()]
        assert all("never" in words.lower() for words in told), word


def test_the_reasons_are_sentences():
    """Each step says why, in words, with no share in percent."""
    advice = advised(["dose_creep"])
    for step in advice.steps[:8]:
        words = reason_of(BOOK, advice, step)
        assert words.endswith(".")
        assert "%" not in words


def test_what_speaks_for_and_against():
    """A loose lock speaks for itself first; the still pointer speaks against it."""
    evidence = Evidence(
        present=frozenset(["k_lock_loose"]), absent=frozenset(["k_indicator_moved"])
    )
    told = told_by(NET, evidence, "lock_open")

    assert (told[0].finding, told[0].weight > 0.0) == ("k_lock_loose", True)
    assert (told[-1].finding, told[-1].weight < 0.0) == ("k_indicator_moved", True)


@pytest.mark.parametrize(
    ("chance", "word"),
    [(0.35, "likely"), (0.349, "possible"), (0.05, "possible"), (0.049, "not likely")],
)
def test_words_for_chances(chance, word):
    """Likely from 0.35, possible from 0.05."""
    assert word_of(chance) == word
