"""Set up: the steps in their order, the scale's check, the average empty."""

from __future__ import annotations

from decimal import Decimal

import pytest
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Expects
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.steps import key_now, keys_of
from fillwright.records.entries import CheckTaken, SettingMoved

ORDER = [
    "wet-end",
    "setting",
    "air",
    "nozzle",
    "scale",
    "empties",
    "product",
    "strokes",
    "flush",
    "air-out",
]


def mean_tare(**changes):
    """Return a shop whose empties are weighed once and taken off."""
    return Workshop(job(tare_way="mean", **changes)).to_setup()


def steps(shop):
    """Return the steps by their keys."""
    return {step.key: step for step in setup.steps_of(shop.desk, shop.state)}


def do(shop, key, reading=""):
    """Do one step."""
    return setup.done(shop.desk, shop.number, key, reading, shop.press)


class TestOrder:
    """One step at a time."""

    def test_the_steps_stand_in_their_order(self):
        """Wet end first, the product last; the scale is checked before anything is filled."""
        assert list(steps(mean_tare())) == ORDER
        assert list(steps(Workshop().to_setup())) == [k for k in ORDER if k != "empties"]

    @pytest.mark.parametrize("shop", [mean_tare(), Workshop().to_setup(), Workshop().to_proved()])
    def test_the_keys_are_those_of_the_steps(self, shop):
        """What asks only for the step in hand is told the same as the page."""
        now = setup.look(shop.desk, shop.state).now

        assert keys_of(shop.state) == tuple(steps(shop))
        assert key_now(shop.state) == (None if now is None else now.key)

    def test_each_step_done_brings_the_next(self):
        """The act is always the first step that is neither done nor impossible."""
        shop = mean_tare()
        readings = {
            "setting": "48",
            "air": "5.8",
            "product": "22",
            "strokes": "44",
            "scale": "200",
        }

        for key in ORDER[:-1]:
            assert setup.look(shop.desk, shop.state).now.key == key
            if key == "empties":
                shop.weigh("40.0")
                shop.weigh("40.1")
            do(shop, key, readings.get(key, ""))

        look = setup.look(shop.desk, shop.state)
        assert (look.now.key, look.act.what) == ("air-out", "weigh")
        assert [row.status for row in look.rows] == ["done"] * 9 + ["now"]

    def test_all_done_leads_to_trim(self):
        """With every step done the order is to go on."""
        act = setup.look((shop := Workshop().to_trim()).desk, shop.state).act

        assert (act.what, act.main) == ("next", "Go on with Trim")

    def test_a_step_that_cannot_be_done_keeps_its_reason(self):
        """The job goes on; the record has why."""
        shop = mean_tare()

        act = setup.cannot(shop.desk, shop.number, "wet-end", " no spanner ", shop.press)

        assert act.order.startswith("Turn the wheel to")
        row = setup.look(shop.desk, shop.state).rows[0]
        assert (row.status, row.reason) == ("cannot", "no spanner")

    @pytest.mark.parametrize(
        ("key", "reason", "words"),
        [
            ("paint", "no time", r"There is no step 'paint'"),
            ("air", " ", r"Say why it cannot be done"),
        ],
    )
    def test_what_is_refused(self, key, reason, words):
        """A step that is not there; a reason that is missing."""
        shop = mean_tare()

        with pytest.raises(BadInput, match=words):
            setup.cannot(shop.desk, shop.number, key, reason, shop.press)


class TestReadings:
    """What is read and typed."""

    @pytest.mark.parametrize(("typed", "kept"), [("5.8", "5.8 bar"), (" 5,8 ", " 5,8  bar")])
    def test_a_reading_is_kept_as_typed(self, typed, kept):
        """A comma counts as a point."""
        shop = mean_tare()
        do(shop, "air", typed)

        assert shop.state.steps["air"].reading == kept.strip()

    @pytest.mark.parametrize(
        ("typed", "words", "code"),
        [
            ("", r"'' is not a number\. Type what it reads, in bar", "type"),
            ("five", r"'five' is not a number", "type"),
            ("-1", r"-1 cannot be read here", "range"),
            ("NaN", r"NaN cannot be read here", "range"),
        ],
    )
    def test_what_is_no_reading(self, typed, words, code):
        """Nothing is kept, and the message says what to type."""
        shop = mean_tare()
        entries = len(shop.entries())

        with pytest.raises(BadInput, match=words) as caught:
            do(shop, "air", typed)

        assert caught.value.code == code
        assert len(shop.entries()) == entries

    def test_the_setting_goes_on_record(self):
        """The wheel's place is kept in marks, as on the metal."""
        shop = mean_tare()
        do(shop, "setting", "48.05")

        assert shop.state.setting_marks == Decimal("48.05")
        [moved] = [e.payload for e in shop.entries() if isinstance(e.payload, SettingMoved)]
        assert (moved.stage, moved.from_marks) == ("setup", None)

    def test_never_past_full_scale(self):
        """The stop sensor is behind the last mark."""
        with pytest.raises(BadInput, match=r"runs to 90; 90\.1 is not on it"):
            do(mean_tare(), "setting", "90.1")

    def test_a_trimmed_wheel_is_not_set_by_the_way(self):
        """After the trim the wheel is moved by Trim or Run, which know what hangs on it."""
        with pytest.raises(BadInput, match=r"trimmed already"):
            do(Workshop().to_prove(), "setting", "48")


class TestScaleCheck:
    """The known weight on the scale: two steps of it are allowed."""

    @pytest.mark.parametrize("read", ["200", "199.8", "200.2", "200.20"])
    def test_within_two_steps_passes(self, read):
        """200 g read within 0.2 g on a scale of 0.1 g is good."""
        shop = mean_tare()
        do(shop, "scale", read)

        assert shop.state.checks[-1][1].passed
        assert shop.state.steps["scale"].outcome == "done"

    @pytest.mark.parametrize("read", ["199.7", "200.3", "0"])
    def test_further_off_is_kept_and_the_step_is_not_done(self, read):
        """A check that failed is on record; the step waits for one that passes."""
        shop = mean_tare()

        with pytest.raises(BadInput, match=r"more than 0\.2 g away\. Level it, zero it"):
            do(shop, "scale", read)

        [(_, check)] = shop.state.checks
        assert (check.passed, check.reading_g) == (False, Decimal(read))
        assert "scale" not in shop.state.steps
        assert isinstance(shop.entries()[-1].payload, CheckTaken)


class TestEmpties:
    """Ten empties, one average."""

    def test_ten_empties_fix_the_average(self):
        """The mean of ten is kept to a tenth of the step, the step is done by itself."""
        shop = Workshop(job(tare_way="mean")).to_trim()
        weights = ["40.0", "40.1", "39.9", "40.2", "40.0", "40.1", "40.0", "39.8", "40.1", "40.0"]
        for place, weight in enumerate(weights):
            act = setup.look(shop.desk, shop.state).act
            assert act.order == f"Weigh empty jar {place + 1} of 10."
            shop.weigh(weight)

        # By hand: 400.2 / 10 = 40.02; squares 0.0004+0.0064+0.0144+0.0324+0.0004+0.0064+0.0004
        # +0.0484+0.0064+0.0004 = 0.116, over 9, root 0.1135.
        assert shop.state.tare.tare_g == Decimal("40.02")
        assert shop.state.tare.sd_g == pytest.approx(0.11353, abs=1e-5)
        assert setup.look(shop.desk, shop.state).now is None

    def test_a_spoilt_empty_does_not_count(self):
        """A full jar among the empties is set aside with a reason."""
        shop = Workshop(job(tare_way="mean")).to_trim()
        shop.weigh("290", set_aside="it was full")
        for _ in range(9):
            shop.weigh("40.0")
        assert shop.state.tare is None

        shop.weigh("40.0")

        assert (shop.state.tare.tare_g, shop.state.tare.empties) == (Decimal("40.00"), 10)

    def test_two_empties_are_the_least(self):
        """The step may be ended early, but one empty has no spread."""
        shop = Workshop(job(tare_way="mean")).to_trim()
        shop.weigh("40.0")
        with pytest.raises(BadInput, match=r"Only 1 empties are weighed\. Weigh at least two"):
            do(shop, "empties")

        shop.weigh("40.2")
        do(shop, "empties")

        assert (shop.state.tare.tare_g, shop.state.tare.empties) == (Decimal("40.10"), 2)

    def test_empties_that_differ_too_much_are_said(self):
        """A spread above a quarter of the way from label to T1 asks for each its own tare."""
        shop = Workshop(job(tare_way="mean")).to_trim()
        for weight in ["37", "43"] * 5:
            shop.weigh(weight)

        words = setup.look(shop.desk, shop.state).tare_warning

        assert words.startswith("Empties differ by 3.2 g (1 s), more than a quarter of the ")
        assert "weigh each empty instead" in words

    def test_a_purge_shot_is_kept_and_never_used(self):
        """It is on record, set aside as what it is."""
        shop = Workshop().to_trim()
        kept = shop.weigh("120", purpose="purge").weighing

        assert kept.set_aside == "purge"
        assert not shop.state.weighings[-1].counts
        assert shop.state.shots == []


class TestCautions:
    """Where the work can hurt, the caution stands above the step."""

    def test_hands_go_in_only_with_the_air_off(self):
        """The wet end asks for a tick that the air is off, and keeps fingers out of ports."""
        step = steps(mean_tare())["wet-end"]

        assert step.cautions == (CAUTIONS["air"], CAUTIONS["ports"])
        assert CAUTIONS["air"].must_tick

    @pytest.mark.parametrize("key", ["air", "strokes"])
    def test_the_first_strokes_are_guarded(self, key):
        """Air on and the timed strokes: guard on, hands clear."""
        assert CAUTIONS["pinch"] in steps(mean_tare())[key].cautions

    @pytest.mark.parametrize("key", ["setting", "nozzle", "scale", "empties"])
    def test_where_nothing_hurts_there_is_none(self, key):
        """A caution that is not true there is not there, also for a hot product."""
        assert steps(mean_tare(product={"product_c": Decimal(58)}))[key].cautions == ()

    @pytest.mark.parametrize("key", ["wet-end", "air", "product", "strokes", "flush"])
    def test_hot_product_is_said_where_it_is_handled(self, key):
        """Gloves and sleeve, with the temperature."""
        found = steps(mean_tare(product={"product_c": Decimal(58)}))[key].cautions

        assert any(c.words.startswith("58 °C. Gloves") for c in found)

    def test_the_hopper_is_filled_with_care(self):
        """Lifting and a wet floor are said at the hopper."""
        assert CAUTIONS["refill"] in steps(mean_tare())["product"].cautions


def test_the_first_setting_is_reached_from_below():
    """The step names the starting setting and the lock."""
    step = steps(mean_tare())["setting"]

    assert step.expects is Expects.SETTING
    assert f"Come up to {step.value} from below." in step.hands
    assert any("Lock the wheel" in hand for hand in step.hands)
