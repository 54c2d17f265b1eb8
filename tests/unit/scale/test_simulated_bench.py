"""The simulated bench knows what is truly in every jar and shows only what a scale would."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput, PortGone, SilentScale
from fillwright.scale.capture import pan_reader_for
from fillwright.scale.lines import LineReader
from fillwright.scale.pan_events import PanEmpty, Settled
from fillwright.scale.simulated import bench_from


@pytest.fixture
def bench(facts, seconds):
    """A bench for the invented job, with the air out."""
    bench = bench_from(facts, np.random.default_rng(11), seconds)
    bench.machine.turn_to(50)
    for _ in range(12):
        bench.place_next("purge")
    return bench


def test_the_gross_weight_is_the_jars_own_tare_and_its_dose(bench):
    """A reading is true gross within five repeatabilities of 0.05 g and half a step."""
    for purpose in ("shot", "proof", "dose"):
        placed = bench.place_next(purpose)
        gross_g = placed.tare_g + placed.dose_g

        assert float(bench.reading_now()) == pytest.approx(gross_g, abs=0.3)
        assert isinstance(bench.reading_now(), Decimal)


def test_empties_differ_as_said(bench):
    """The average of many empties is the average empty, and so is their spread."""
    tares = [bench.place_next("tare").tare_g for _ in range(400)]

    # 0.12 / sqrt(400) = 0.006 and 0.12 / sqrt(800) = 0.0042; four of each.
    assert np.mean(tares) == pytest.approx(18.2, abs=0.024)
    assert np.std(tares) == pytest.approx(0.12, abs=0.017)
    assert float(bench.reading_now()) == pytest.approx(tares[-1], abs=0.3)


def test_only_jars_of_the_batch_have_numbers(bench):
    """Purge and shots carry none; proof and run count on together."""
    numbers = [bench.place_next(purpose).number for purpose in ("shot", "proof", "proof", "dose")]

    assert numbers == [None, 1, 2, 3]
    assert bench.filled_to == 3


def test_every_jar_up_to_the_one_weighed_is_filled_and_kept(bench):
    """Weighing each tenth fills all; each can be weighed again with the same content."""
    tenth = bench.place_jar(10)
    doses = [bench.true_dose(number) for number in range(1, 11)]
    bench.place_jar(20)

    assert len(set(doses)) == 10
    assert bench.place_jar(10) == tenth
    assert [bench.true_dose(number) for number in range(1, 11)] == doses
    assert bench.filled_to == 20


def test_weighing_again_changes_no_later_dose(facts, seconds):
    """The scale's chance is its own: looking twice at a jar leaves the next ones alone."""
    doses = []
    for looks in (1, 5):
        bench = bench_from(facts, np.random.default_rng(3), seconds)
        for _ in range(looks):
            bench.place_jar(1)
        doses.append([bench.place_jar(number).dose_g for number in range(2, 8)])

    assert doses[0] == doses[1]


def test_the_batch_may_begin_after_proving(bench):
    """When the proving jars do not count, the next jar gets the number that is said."""
    bench.place_next("proof")
    bench.number_from(1)
    first = bench.place_next("dose")

    assert first.number == 1
    assert bench.true_dose(1) == first.dose_g


def test_a_bench_set_up_again_holds_the_doses_on_record(bench):
    """Doses that are known are those; the others are filled anew, and the count goes on."""
    bench.remember(1, 250.5)
    bench.remember(2, None)
    bench.remember(1, 250.5)

    assert bench.true_dose(1) == 250.5
    assert 240.0 < bench.true_dose(2) < 260.0
    assert bench.place_next("dose").number == 3
    bench.place_jar(1)
    assert float(bench.reading_now()) == pytest.approx(250.5 + 18.2, abs=0.9)


@pytest.mark.parametrize("number", [0, -1])
def test_a_jar_that_was_never_filled_is_refused(bench, number):
    """A number outside the batch is told with what there is."""
    bench.place_jar(4)

    with pytest.raises(BadInput, match="was not filled on this bench; there are 1 to 4"):
        bench.place_jar(number)
    with pytest.raises(BadInput, match="Container 9 was not filled"):
        bench.true_dose(9)


@pytest.mark.parametrize("purpose", ["held", "sample"])
def test_jars_weighed_again_need_their_number(bench, purpose):
    """A held jar or a sample is one of the batch."""
    with pytest.raises(BadInput, match=f"weighed as {purpose} is one of the batch"):
        bench.place_next(purpose)


def test_the_check_weight_reads_what_it_is(bench):
    """200 g read 200 g within five repeatabilities and half a step; then the pan is clear."""
    bench.place_check_weight()
    assert float(bench.reading_now()) == pytest.approx(200.0, abs=0.3)

    bench.take_off()
    assert bench.reading_now() == 0


def test_an_empty_that_is_zeroed_away_leaves_the_dose(facts, seconds):
    """On a bench that zeroes empties the scale shows the dose; empties still read gross."""
    bench = bench_from(replace(facts, tare_way="zeroed"), np.random.default_rng(2), seconds)
    bench.machine.turn_to(50)
    placed = bench.place_next("dose")
    assert float(bench.reading_now()) == pytest.approx(placed.dose_g, abs=0.3)

    empty = bench.place_empty()
    assert float(bench.reading_now()) == pytest.approx(empty.tare_g, abs=0.3)


def test_an_unknown_empty_weight_is_invented(facts, seconds):
    """Before the empties are weighed a jar weighs a tenth of a gram for each mL of its brim."""
    container = replace(facts.container, tare_g=None, tare_sd_g=None)
    bench = bench_from(replace(facts, container=container), np.random.default_rng(2), seconds)
    tares = [bench.place_empty().tare_g for _ in range(100)]

    # 280 mL: 28 g; spread 0.5 %: 0.14 g. Four standard errors of 100.
    assert np.mean(tares) == pytest.approx(28.0, abs=0.056)


def test_an_unplugged_scale_gives_no_reading(bench):
    """Without a line there is no figure, not the last one."""
    bench.scale.unplug()

    with pytest.raises(PortGone, match="Plug it in"):
        bench.reading_now()
    bench.scale.plug_in()
    assert bench.reading_now() > 200


def test_a_figure_beyond_any_scale_is_no_reading(bench):
    """A line that the reader refuses is silence, not a number."""
    bench.scale.put(1e16)

    with pytest.raises(SilentScale, match="sent no weight"):
        bench.reading_now()


def test_a_bench_read_line_by_line_gives_each_jar_once(bench, facts, seconds, clock):
    """Through the line, the reader and the pan, twenty jars give twenty weighings."""
    reader, pan = LineReader(), pan_reader_for(facts, clock)
    weighed, shown, events = [], [], []
    for _ in range(20):
        bench.take_off()
        seconds.go(0.9)
        events += _read(bench, reader, pan, seconds)
        bench.place_next("dose")
        shown.append(bench.reading_now())
        seconds.go(1.1)
        said = _read(bench, reader, pan, seconds)
        weighed += [event.value for event in said if isinstance(event, Settled)]

    assert weighed == shown
    assert sum(isinstance(event, PanEmpty) for event in events) == 20
    assert reader.bad_count == 0


def _read(bench, reader, pan, seconds):
    """Take what has come through reader and pan."""
    return [
        event
        for line in reader.feed(bench.scale.read(0.0))
        for event in pan.feed(line, seconds.now)
    ]
