"""Capture: each container once, whatever the scale says of rest and however the hand moves."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from uuid import UUID

import pytest

from fillwright.records.capture import Capture
from fillwright.scale.capture import PanReader, Sending, pan_reader_for
from fillwright.scale.lines import RawWeighing, Remark
from fillwright.scale.pan_events import Changed, NoSignal, PanEmpty, Resting, Settled, Settling


def line(value, mark=None, unit="g", basis=None):
    """One reading."""
    return RawWeighing(value=Decimal(value), unit=unit, is_stable=mark, basis=basis, raw=b"")


class Pan:
    """Feeds a pan reader ten readings a second and keeps what it says."""

    def __init__(self, reader):
        self.reader = reader
        self.now = 0.0
        self.events = []

    def show(self, value, times=1, mark=None, **more):
        """Let the scale show a value for some lines."""
        for _ in range(times):
            self.now = round(self.now + 0.1, 1)
            self.events += self.reader.feed(line(value, mark, **more), self.now)
        return self

    def names(self):
        """What was said, in short: kind and value."""
        return [(event.event, str(getattr(event, "value", ""))) for event in self.events]

    def settled(self):
        """The weighings."""
        return [event for event in self.events if isinstance(event, Settled)]


@pytest.fixture
def pan(clock):
    """A pan on a scale of 0.1 g."""
    return Pan(PanReader(clock))


def test_a_container_settles_once_and_is_forgotten_when_the_pan_is_empty(pan):
    """Two jars of the very same weight with an empty pan between are two weighings."""
    for _ in range(2):
        pan.show("0.0", 3, mark=True).show("180.0", mark=False).show("268.2", 30, mark=True)

    assert pan.names() == 2 * [
        ("pan-empty", "0.0"),
        ("settling", "180.0"),
        ("settling", "268.2"),
        ("settled", "268.2"),
    ]
    first, second = pan.settled()
    assert first.weighing_id != second.weighing_id
    assert UUID(first.weighing_id).version == 7


def test_a_scale_without_marks_settles_by_time_and_agreement(pan):
    """Without marks five readings within one step over one second make rest, not fewer."""
    pan.show("268.2", 10)
    assert not pan.settled()

    pan.show("268.3", 1)

    # Eleven readings 0.1 s apart span 1.0 s.
    assert [event.value for event in pan.settled()] == [Decimal("268.3")]


def test_readings_that_wander_by_more_than_a_step_do_not_settle(pan):
    """A drip of two steps every half second never comes to rest."""
    for more in range(30):
        pan.show(str(Decimal(250) + Decimal("0.2") * more), 5)

    assert not pan.settled()
    assert {event.event for event in pan.events} == {"settling"}


def test_too_few_readings_do_not_settle_however_long_they_take(clock):
    """A slow line must agree as often as a quick one."""
    reader = PanReader(clock, silent_s=60.0)
    events = [reader.feed(line("268.2"), 2.0 * n) for n in range(5)]

    assert [len(said) for said in events] == [1, 0, 0, 0, 1]
    assert isinstance(events[-1][0], Settled)


@pytest.mark.parametrize(("at_rest", "moving"), [(True, None), (None, False)])
def test_a_scale_that_marks_only_one_of_both_is_understood(pan, at_rest, moving):
    """Where only rest is marked a bare line moves; where only movement is, it rests."""
    pan.show("18.2", 2, mark=at_rest).show("0.0", 2, mark=moving).show("100.0", 2, mark=moving)
    pan.show("100.0", 20, mark=moving)
    before = len(pan.settled())
    pan.show("268.2", 2, mark=at_rest)

    assert pan.settled()[before:] == [pan.events[-1]]
    assert pan.events[-1].value == Decimal("268.2")
    assert all(event.value != Decimal("100.0") for event in pan.settled())


def test_one_odd_line_is_never_a_weighing(pan):
    """A line that lost a digit, marked steady, between good ones changes nothing."""
    pan.show("268.2", 3, mark=True)
    pan.show("28.2", 1, mark=True).show("268.2", 3, mark=True)
    pan.show("0.2", 1, mark=True).show("268.2", 3, mark=True)
    pan.show("2682.0", 1, mark=True).show("268.2", 3, mark=True)

    assert len(pan.settled()) == 1
    assert not any(isinstance(event, PanEmpty) for event in pan.events)


def test_a_hand_on_the_pan_leaves_the_same_container(pan):
    """Leaning on the pan and letting go shows the figure again without a second weighing."""
    pan.show("268.2", 3, mark=True).show("900.0", 5, mark=False).show("268.3", 5, mark=True)

    [settled] = pan.settled()
    last = pan.events[-1]
    assert isinstance(last, Resting)
    assert (last.weighing_id, last.value) == (settled.weighing_id, Decimal("268.3"))


def test_a_container_taken_off_between_two_lines_is_seen_by_half_its_weight(pan):
    """A slow scale that only dips below half before the next jar still gives two weighings."""
    pan.show("268.2", 3, mark=True).show("120.0", 2, mark=False).show("268.2", 3, mark=True)

    assert len(pan.settled()) == 2


def test_nothing_is_weighed_before_the_pan_was_seen_empty(pan):
    """What is added to a container, or put beside it, is told and makes no second weighing."""
    pan.show("10.1", 3, mark=True).show("20.3", 3, mark=True)
    assert [str(event.value) for event in pan.settled()] == ["10.1"]
    assert isinstance(pan.events[-1], Changed)
    assert pan.events[-1].weighing_id == pan.settled()[0].weighing_id

    pan.show("0.0", 2, mark=True).show("20.3", 3, mark=True)

    assert [str(event.value) for event in pan.settled()] == ["10.1", "20.3"]


def test_a_jar_taken_off_too_early_is_told(pan):
    """A container lifted before it came to rest is no weighing, and the words say so."""
    pan.show("0.0", 2, mark=True).show("268.2", 3, mark=False).show("0.0", 3, mark=True)

    assert not pan.settled()
    assert isinstance(pan.events[-1], PanEmpty)
    assert pan.events[-1].says.startswith("Taken off before it came to rest")


def test_beyond_the_range_is_told_once_and_the_container_stays_the_same(pan):
    """An overload blanks the figure; the container that was weighed is not weighed again."""
    pan.show("268.2", 3, mark=True)
    over = Remark(raw=b"OL", says="over")
    pan.events += pan.reader.remark(over, pan.now + 0.1) + pan.reader.remark(over, pan.now + 0.2)
    pan.show("268.2", 3, mark=True)

    assert [event.event for event in pan.events[1:]] == ["settled", "off-scale", "resting"]
    assert "Take it off" in pan.events[2].because


def test_a_tare_line_is_no_reading(pan):
    """A line that only repeats what was zeroed away changes nothing on the page."""
    assert pan.reader.remark(Remark(raw=b"T 18.2 g", says="tare"), 1.0) == []


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        ([250 + 0.2 * n for n in range(30)], "rises slowly"),
        ([250 - 0.2 * n for n in range(30)], "falls slowly"),
        ([250 + 0.5 * (n % 2) for n in range(30)], "shakes"),
        ([250 + 90 * (n % 3) for n in range(30)], "hands off"),
    ],
)
def test_why_a_figure_does_not_rest_is_told_in_words(pan, readings, says):
    """Drift, shaking and a hand on the pan are told apart; at the very first nothing is said."""
    for reading in readings:
        pan.show(f"{reading:.1f}", 1, mark=False)

    assert pan.events[0].says == ""
    assert says in pan.events[-1].says
    assert not pan.settled()


def test_far_below_zero_is_told(pan):
    """A negative figure beyond the drips asks for the zero key, where nothing was zeroed away."""
    pan.show("-18.2", 3, mark=True)

    assert "press zero" in pan.events[-1].says


def test_what_was_put_on_in_a_long_silence_is_not_weighed_by_itself(pan):
    """Somebody may have typed it meanwhile: it counts once the pan was seen empty."""
    pan.show("0.0", 3, mark=True)
    pan.events += pan.reader.lost("The plug is out.")
    pan.now += 3600.0
    pan.show("270.9", 20, mark=True)
    assert not pan.settled()
    assert "Type it, or take it off" in pan.events[-1].says

    pan.show("0.0", 3, mark=True).show("270.9", 3, mark=True)

    assert [str(event.value) for event in pan.settled()] == ["270.9"]


def test_a_scale_that_shows_millilitres_is_read_in_millilitres(pan):
    """Volumes that the scale works out are compared with their like and told as such."""
    pan.show("250.1", 3, mark=True, unit="ml")

    assert [(event.value, event.unit) for event in pan.settled()] == [(Decimal("250.1"), "ml")]


def test_a_negative_reading_is_an_empty_pan(pan):
    """With an empty zeroed away the bare pan shows less than nothing, and it is empty."""
    pan.show("-18.2", 3, mark=True, basis="net")

    assert pan.names() == [("pan-empty", "-18.2")]


def test_silence_is_said_once_and_the_container_is_remembered(pan):
    """After a silence the jar on the pan is shown again, not weighed again."""
    pan.show("268.2", 3, mark=True)
    pan.events += pan.reader.tick(pan.now + 3.0)
    pan.events += pan.reader.tick(pan.now + 3.1)
    pan.events += pan.reader.tick(pan.now + 9.0)
    pan.events += pan.reader.lost("The plug is out.")
    pan.now += 10.0
    pan.show("268.2", 3, mark=True)

    assert [event.event for event in pan.events[1:]] == ["settled", "no-signal", "resting"]
    assert pan.events[-1].weighing_id == pan.settled()[0].weighing_id


def test_a_container_that_had_not_settled_must_agree_anew_after_a_loss(pan):
    """Readings before and after a loss are not counted together."""
    pan.show("268.2", 9)
    pan.events += pan.reader.lost("The plug is out.")
    pan.show("268.2", 9)

    assert not pan.settled()


def test_a_line_that_never_speaks_is_no_signal(pan):
    """Silence counts from the first look, when nothing was ever heard."""
    assert pan.reader.tick(50.0) == []
    [event] = pan.reader.tick(53.1)

    assert isinstance(event, NoSignal)
    assert "cable" in event.because


def test_each_press_of_the_scales_own_key_is_a_weighing(clock):
    """Where the scale sends one line a press, equal lines are two, and silence is no fault."""
    pan = Pan(PanReader(clock, sends=Sending.ON_KEY))
    pan.show("268.2").show("268.2").show("270.0", mark=False).show("0.0").show("268.4", mark=True)

    assert [str(event.value) for event in pan.settled()] == ["268.2", "268.2", "268.4"]
    assert [event.event for event in pan.events[2:4]] == ["settling", "pan-empty"]
    assert pan.reader.tick(1e6) == []


def test_the_step_comes_from_the_digits_and_the_unit(clock):
    """A scale that shows 0.001 kg has a step of 1 g: ten of them are an empty pan."""
    pan = Pan(PanReader(clock))
    pan.show("0.010", 2, mark=True, unit="kg").show("0.012", 2, mark=True, unit="kg")

    assert [event.event for event in pan.events] == ["pan-empty", "settling", "settled"]


def test_events_are_ready_for_json(pan):
    """Every event says what it is; weights are text, so that no digit is lost."""
    pan.show("268.20", 2, mark=True, basis="gross")
    pan.events += pan.reader.lost("The plug is out.")
    settling, settled, lost = (event.as_dict() for event in pan.events)

    shown = {"value": "268.20", "unit": "g", "basis": "gross"}
    assert settling == {"event": "settling", **shown, "says": ""}
    assert settled == {
        "event": "settled",
        **shown,
        "weighing_id": pan.settled()[0].weighing_id,
    }
    assert lost == {"event": "no-signal", "because": "The plug is out."}
    assert json.loads(json.dumps([settling, settled, lost]))


def test_a_settled_container_is_a_weight_on_its_way_in(pan):
    """The event gives what the jobs take, with the id made here."""
    [settled] = pan.show("268.20", 2, mark=True, basis="gross").settled()

    assert settled.capture() == Capture(
        weighing_id=settled.weighing_id,
        value=Decimal("268.20"),
        unit="g",
        basis="gross",
        source="scale",
    )


def test_the_pan_of_a_job_knows_its_empties(facts, clock):
    """Half an empty jar is an empty pan with a drip on it; a whole empty jar is weighed."""
    pan = Pan(pan_reader_for(facts, clock))
    pan.show("9.1", 3, mark=True).show("18.2", 3, mark=True)

    assert [event.event for event in pan.events] == ["pan-empty", "settling", "settled"]


@pytest.mark.parametrize("tare_g", [None, Decimal(0), Decimal("18.2")])
def test_where_empties_are_zeroed_away_a_small_dose_is_weighed(facts, clock, tare_g):
    """Then the pan is empty only below ten steps of the scale, 1 g here."""
    container = replace(facts.container, tare_g=tare_g)
    way = "zeroed" if tare_g else "mean"
    pan = Pan(pan_reader_for(replace(facts, container=container, tare_way=way), clock))
    pan.show("1.0", 3, mark=True).show("1.2", 3, mark=True)

    assert [event.event for event in pan.events] == ["pan-empty", "settling", "settled"]


def test_a_fiftieth_of_the_aim_is_a_change(facts, clock):
    """2 % of 250.5 g is 5.01 g: 5.0 g more on the pan is the same jar at rest, 5.1 g is told."""
    pan = Pan(pan_reader_for(facts, clock))
    pan.show("268.0", 3, mark=True).show("273.0", 3, mark=True)
    assert pan.events[-1].event == "resting"

    pan.show("273.1", 3, mark=True)

    assert pan.events[-1].event == "changed"
    assert len(pan.settled()) == 1


def test_a_pan_can_be_fitted_to_the_job_at_hand(facts, clock):
    """Fitted, it takes half an empty jar as an empty pan, as one made for the job does."""
    pan = Pan(PanReader(clock))
    pan.reader.fit(facts)
    pan.show("9.1", 3, mark=True).show("18.2", 3, mark=True)

    assert [event.event for event in pan.events] == ["pan-empty", "settling", "settled"]


def test_settling_is_said_once_for_each_figure(pan):
    """A figure that stands still while moving is not said ten times a second."""
    pan.show("100.0", 10, mark=False).show("100.1", 10, mark=False)

    assert [type(event) for event in pan.events] == [Settling, Settling]
