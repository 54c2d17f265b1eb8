"""Trim: from below, shot by shot, until the promise is reached or a cause is looked for."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs import trim
from fillwright.jobs.act import CAUTIONS
from fillwright.jobs.trimacts import MOST_SHOTS
from fillwright.records.entries import FactsChanged, SettingMoved, TrimJudged


def look(shop):
    """Return what Trim shows."""
    return trim.look(shop.desk, shop.state)


def shot(shop, deviation, **given):
    """Weigh one shot."""
    return shop.off(deviation, purpose="shot", **given)


def turn(shop, marks):
    """Turn the wheel and lock it."""
    return trim.moved(shop.desk, shop.number, Decimal(marks), shop.press, is_locked=True)


class TestOrder:
    """What is asked next."""

    def test_without_a_setting_the_wheel_comes_first(self):
        """Nothing can be weighed while nobody knows where the wheel stands."""
        shop = Workshop().to_setup()

        assert look(shop).face == "turn"
        with pytest.raises(BadInput, match=r"The setting is not known yet"):
            shot(shop, 0)

    def test_the_first_shot_is_at_the_starting_setting(self):
        """After Set up the first order is to fill and weigh, with the promise beside it."""
        seen = look(Workshop().to_trim())

        assert (seen.face, seen.act.what) == ("weigh", "weigh")
        assert seen.act.why == "The first shot says how far there is to go."
        assert seen.promise.startswith("19 times in 20 the next shot stays under ")
        assert (seen.low_marks, seen.high_marks, seen.last) == (None, None, None)

    def test_a_light_shot_turns_the_wheel_up(self):
        """Below the aim the order is up, locked, with the way in plain turns."""
        shop = Workshop().to_trim()
        now = shop.state.setting_marks
        shot(shop, -8)
        seen = look(shop)

        assert (seen.face, seen.act.what) == ("turn", "moved")
        assert seen.set_marks > now
        assert seen.act.main == f"Set to {seen.act.value} and locked"
        assert "clockwise" in seen.turns
        assert seen.via_marks is None
        assert seen.low_marks <= seen.set_marks <= seen.high_marks

    def test_a_heavy_shot_goes_down_past_it_and_up(self):
        """From above the wheel goes down by twice the lost motion and comes up."""
        shop = Workshop().to_trim()
        shot(shop, 9)
        seen = look(shop)

        assert seen.act.order.startswith("Turn the wheel down and up to")
        assert seen.via_marks == seen.set_marks - Decimal("1.0")
        assert any("first, then come up to" in step for step in seen.act.steps)

    def test_after_a_turn_one_is_weighed(self):
        """The wheel that was just turned is not turned again before a shot."""
        shop = Workshop().to_trim()
        shot(shop, -8)
        act = turn(shop, look(shop).act.value)

        assert act.what == "weigh"

    def test_the_promise_reached_ends_it(self):
        """The shot that settles it is judged in the same breath."""
        shop = Workshop().to_trim()
        shot(shop, 0)
        kept = shot(shop, 0)

        assert isinstance(shop.entries()[-1].payload, TrimJudged)
        assert shop.state.trim.verdict == "trimmed"
        assert shop.state.trim.setting_marks == shop.state.setting_marks
        assert kept.act.stage.value == "prove"
        assert look(shop).act.order.startswith("Trimmed at")
        assert shop.state.trim.p_within >= 0.9

    def test_a_spoilt_shot_changes_nothing(self):
        """It is in the list with its reason; the order stays."""
        shop = Workshop().to_trim()
        shot(shop, -8)
        before = look(shop).act
        shot(shop, -100, set_aside="missed the jar")

        assert look(shop).act.value == before.value
        assert look(shop).rows[-1].note == "missed the jar"

    def test_fifteen_shots_are_enough(self):
        """With no settled dose after fifteen shots the order is to look for the cause."""
        shop = Workshop().to_trim()
        for place in range(MOST_SHOTS):
            shot(shop, 9 if place % 2 else -9)

        act = look(shop).act
        assert act.order == "The trim does not settle. Look for the cause."
        assert "15 shots and no settled dose" in act.why
        assert (act.state, act.what) == ("warn", "weigh")

    def test_a_small_dose_in_a_big_cylinder_is_said(self):
        """Where the wheel is too coarse for the promise, it says so after the first shot."""
        shop = Workshop(
            job(machine={"wheel_sd_pct_of_cylinder": Decimal(2)}, claim_pct=Decimal("0.5"))
        ).to_trim()
        shot(shop, -1)

        assert look(shop).act.state_words == "Does not settle"


class TestTags:
    """How the last shot is named while trimming."""

    @pytest.mark.parametrize(
        ("deviation", "state", "words"),
        [
            ("-1", "on", "In band, below aim"),
            ("1", "on", "In band, above aim"),
            ("-4", "low", "Low"),
            ("4", "high", "High"),
            # On the way up from below a light shot is no short pack.
            ("-30", "low", "Low"),
            ("-15", "low", "Low"),
        ],
    )
    def test_the_last_shot_has_its_tag(self, deviation, state, words):
        """Aim and band are two words for two things."""
        shop = Workshop().to_trim()
        shot(shop, deviation)

        assert (look(shop).act.state, look(shop).act.state_words) == (state, words)

    def test_a_shot_at_the_aim_is_on_it(self):
        """Exactly the aim, and nothing else, is on the aim."""
        shop = Workshop().to_trim()
        shot(shop, 0)

        assert look(shop).act.state_words in ("On the aim", "Trimmed")

    def test_over_the_brim_is_overfull(self):
        """A shot that would have run over is said in its own word."""
        shop = Workshop().to_trim()
        shot(shop, 35)

        assert (look(shop).last.state, look(shop).act.state_words) == ("overfull", "Overfull")


class TestMoved:
    """The wheel on record."""

    @pytest.mark.parametrize("marks", ["0", "-1", "90.1"])
    def test_a_mark_that_is_not_on_the_scale(self, marks):
        """The scale runs from above nothing to 90."""
        with pytest.raises(BadInput, match=r"runs to 90; .* is not on it") as caught:
            turn(Workshop().to_trim(), marks)

        assert caught.value.field == "setting"

    def test_an_open_lock_is_refused(self):
        """A loose lock lets the dose creep: it is asked every time."""
        shop = Workshop().to_trim()

        with pytest.raises(BadInput, match=r"Lock the wheel before the next shot"):
            trim.moved(shop.desk, shop.number, Decimal(50), shop.press, is_locked=False)

    def test_the_way_is_kept(self):
        """From, to, and where it went back to first."""
        shop = Workshop().to_trim()
        start = shop.state.setting_marks
        shot(shop, 9)
        turn(shop, "45")
        moved = shop.entries()[-1].payload

        assert isinstance(moved, SettingMoved)
        assert (moved.from_marks, moved.to_marks, moved.via_marks) == (start, 45, 44)

    def test_a_trim_that_has_ended_is_not_moved(self):
        """What was trimmed and perhaps proved is moved by trimming again, or in the run."""
        with pytest.raises(BadInput, match=r"The trim has ended"):
            turn(Workshop().to_prove(), "50")


class TestAsItIs:
    """Ending the trim by hand."""

    def test_it_needs_a_shot_and_a_reason(self):
        """Both are asked for in words."""
        shop = Workshop().to_trim()
        with pytest.raises(BadInput, match=r"Nothing is weighed yet"):
            trim.take_as_is(shop.desk, shop.number, "good enough", shop.press)
        shot(shop, -1)
        with pytest.raises(BadInput, match=r"Say why the setting is taken as it is"):
            trim.take_as_is(shop.desk, shop.number, " ", shop.press)

    def test_it_is_on_record_as_that(self):
        """The verdict says that nobody reached the promise, and why."""
        shop = Workshop().to_trim()
        shot(shop, -8)
        act = trim.take_as_is(shop.desk, shop.number, "good enough", shop.press)

        assert (shop.state.trim.verdict, shop.state.trim.because) == ("taken-as-is", "good enough")
        assert (act.what, act.main) == ("next", "Go on with Prove")

    def test_trim_again_starts_without_the_old_shots(self):
        """The old shots stay on record; trim and proof are open with the reason in words."""
        shop = Workshop().to_proved()
        weighings = len(shop.state.weighings)

        trim.trim_again(shop.desk, shop.number, "the middle was off", shop.press)
        state = shop.state

        assert isinstance(shop.entries()[-1].payload, FactsChanged)
        assert (state.trim, state.proof, state.shots) == (None, None, [])
        assert state.reopened == {
            "trim": "the middle was off",
            "prove": "the middle was off",
        }
        assert len(state.weighings) == weighings


class TestCautions:
    """Where trimming can hurt."""

    def test_before_the_first_shot_hands_are_clear(self):
        """Guard on, once at the start of the trim; not repeated at every shot."""
        shop = Workshop().to_trim()
        assert CAUTIONS["pinch"] in look(shop).act.cautions

        shot(shop, -8)
        turn(shop, look(shop).act.value)

        assert look(shop).act.cautions == ()

    def test_the_brim_is_named_when_the_next_shot_may_pass_it(self):
        """A shot that may run over asks for a bigger jar under the nozzle."""
        shop = Workshop(job(container={"brim_ml": Decimal(250)}))
        shop.tell(SettingMoved(stage="setup", from_marks=None, to_marks=Decimal(48)))
        shot(shop, -8)

        assert "Hold a bigger jar under the nozzle" in look(shop).promise


@pytest.mark.parametrize(
    ("deviations", "words"),
    [
        (["-9", "9"], "The mean dose is not likely close enough to the aim yet."),
        (["0", "0"], "The mean dose is likely close enough to the aim."),
    ],
)
def test_how_sure_it_is_is_said_in_words(deviations, words):
    """Likely, possible, not likely: never a bare percentage to the operator."""
    shop = Workshop().to_trim()
    for deviation in deviations:
        shot(shop, deviation)

    assert look(shop).chance_words == words
    assert "%" not in look(shop).act.why
