"""Trim: from below, shot by shot, until the promise is reached or a cause is looked for."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS
from fillwright.jobs.trim import stage as trim
from fillwright.jobs.trim.unsettled import BEGUN_ANEW, MOST_SHOTS
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


def from_above(shop, marks):
    """Come down to a setting to learn the play."""
    return trim.moved_from_above(shop.desk, shop.number, Decimal(marks), shop.press)


def scattered(shop, middle):
    """Weigh as many shots as a trim may have, 1.5 g above and below a middle; turn nothing."""
    for place in range(MOST_SHOTS):
        shot(shop, Decimal(middle) + (Decimal("1.5") if place % 2 else Decimal("-1.5")))


def unsettled():
    """Return a shop whose trim has had all its shots, and nobody turned the wheel as ordered."""
    shop = Workshop().to_trim()
    scattered(shop, "-1.4")
    return shop


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

    def test_the_way_down_may_stop_where_it_turns_round_to_learn_the_play(self):
        """The stop is offered once; its shot is weighed, then the wheel comes on from below."""
        shop = Workshop().to_trim()
        shot(shop, 9)
        seen = look(shop)
        offered = next(o for o in seen.act.options if o.what == "from-above")
        assert offered.label == f"Learn the play at {seen.via_marks.normalize()}"
        assert f"come down to {seen.via_marks.normalize()}, lock" in seen.play_words

        act = from_above(shop, offered.value)
        assert (act.what, act.why) == (
            "weigh",
            "Come to from above: this shot shows the play of the wheel.",
        )
        shot(shop, 1)
        after = look(shop)
        assert shop.state.trim is None
        assert after.face == "turn"
        assert "from-above" not in [o.what for o in after.act.options]
        learnt = next(f.words for f in after.why.facts if f.name == "Play of the wheel")
        assert learnt != next(f.words for f in seen.why.facts if f.name == "Play of the wheel")

    def test_the_play_is_learnt_from_a_pair_at_one_setting(self):
        """Shots below and above the same mark, 1.5 g apart at 2.5 g a mark: some 0.6 marks."""
        shop = Workshop().to_trim()
        start = shop.state.setting_marks
        shot(shop, "-12.0")
        offered = next(o for o in look(shop).act.options if o.what == "from-above")
        assert Decimal(offered.value) == start
        assert "go past it, come back down to" in look(shop).play_words
        from_above(shop, offered.value)
        shot(shop, "-10.5")
        seen = look(shop)
        assert seen.act.why == "The way up takes up the play of the wheel."
        turn(shop, seen.act.value)
        shot(shop, 0)
        shot(shop, 0)

        ended = shop.state.trim
        assert ended.verdict == "trimmed"
        assert 0.3 < ended.lost_motion_marks < 2.0

    def test_from_above_where_it_is_not_asked_for_is_refused(self):
        """Only where the page offers it, so that the overfill promise holds."""
        shop = Workshop().to_trim()
        with pytest.raises(BadInput, match=r"not asked for now"):
            from_above(shop, 20)
        shot(shop, 9)
        with pytest.raises(BadInput, match=r"The shot from above is taken at"):
            from_above(shop, look(shop).set_marks)

    def test_a_setting_from_above_never_ends_the_trim(self):
        """Even on the aim: the play is not taken up, so the wheel goes down and comes up."""
        shop = Workshop().to_trim()
        shot(shop, 9)
        via = look(shop).via_marks
        from_above(shop, via)
        shot(shop, 0)
        shot(shop, 0)
        seen = look(shop)

        assert shop.state.trim is None
        assert seen.act.what == "moved"
        assert seen.via_marks is None or seen.via_marks < via

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
        """Then the cause is looked for, and the wheel comes up from below to begin anew."""
        shop = unsettled()
        seen = look(shop)

        assert seen.act.order == "The trim does not settle. Look for the cause."
        assert "15 shots and no settled dose" in seen.act.why
        assert (seen.act.state, seen.act.what, seen.face) == ("warn", "moved", "turn")
        assert seen.via_marks < seen.set_marks == Decimal(seen.act.value)
        assert "first, then come up to" in seen.act.steps[2]
        assert (seen.play_words, [o.what for o in seen.act.options]) == (
            "",
            ["undo", "take-as-is"],
        )

    def test_the_turn_begins_it_anew(self):
        """The shots before it stay on record and are not used; it must be surer than before."""
        shop = unsettled()
        weighed = len(shop.state.weighings)
        act = turn(shop, look(shop).act.value)

        assert (act.what, act.why) == ("weigh", "The first shot says how far there is to go.")
        assert (shop.state.shots, len(shop.state.weighings)) == ([], weighed)
        assert shop.state.reopened["trim"] == BEGUN_ANEW
        moved = shop.entries()[-1].payload
        assert moved.via_marks < moved.to_marks
        wanted = next(f.words for f in look(shop).why.facts if f.name == "Wanted")
        assert wanted.endswith("probability 0.97")

    def test_where_the_mean_may_be_right_the_proving_run_decides(self):
        """Fifteen more whose middle is likely close enough: taken as it is by the main button."""
        shop = unsettled()
        turn(shop, look(shop).act.value)
        scattered(shop, "-0.4")
        act = look(shop).act
        trim.take_as_is(shop.desk, shop.number, act.value, shop.press)

        assert act.order == "Take it as it is. The proving run decides."
        assert (shop.state.trim.verdict, shop.state.trim.because) == ("taken-as-is", BEGUN_ANEW)
        assert look(shop).act.main == "Go on with Prove"

    def test_where_the_mean_is_off_the_fault_is_looked_for(self):
        """Fifteen more whose middle is off: the fault first; other ways to end are offered."""
        shop = unsettled()
        turn(shop, look(shop).act.value)
        scattered(shop, "-2.0")
        act = look(shop).act

        assert (act.what, act.main) == ("fault", "Look for the fault")
        assert [o.what for o in act.options] == ["undo", "take-as-is", "again"]

    def test_a_small_dose_in_a_big_cylinder_is_said(self):
        """Where the wheel is too coarse it says so after the first shot, and is turned still."""
        shop = Workshop(
            job(machine={"wheel_sd_pct_of_cylinder": Decimal(2)}, claim_pct=Decimal("0.5"))
        ).to_trim()
        shot(shop, -15)
        act = look(shop).act

        assert (act.state_words, act.what) == ("Does not settle", "moved")
        assert "The wheel is too coarse for this" in act.why

    def test_a_wheel_too_coarse_ends_without_a_second_round(self):
        """To begin anew would not make the wheel finer."""
        shop = Workshop(
            job(machine={"wheel_sd_pct_of_cylinder": Decimal(2)}, claim_pct=Decimal("0.5"))
        ).to_trim()
        for place in range(MOST_SHOTS):
            shot(shop, 9 if place % 2 else -9)

        act = look(shop).act
        assert act.what in ("take-as-is", "fault")
        assert "too coarse" in act.why


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
