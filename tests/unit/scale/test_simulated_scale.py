"""The simulated scale sends, settles, rounds, and can be unplugged in the middle of a line."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import PortGone
from fillwright.scale.lines import LineReader
from fillwright.scale.simulated import SimulatedScale


@pytest.fixture
def scale(seconds):
    """A scale of 0.1 g without chance."""
    return SimulatedScale(Decimal("0.1"), 0.0, np.random.default_rng(1), seconds)


def read(scale):
    """What has come since the last read, by the usual reader."""
    return LineReader().feed(scale.read(0.0))


def test_ten_lines_a_second_settle_after_six_tenths(scale, seconds):
    """Five moving lines, then steady ones at exactly what stands there."""
    scale.put(250.13)
    seconds.go(1.0)
    lines = read(scale)

    assert [line.is_stable for line in lines] == [False] * 5 + [True] * 5
    assert {line.value for line in lines[5:]} == {Decimal("250.1")}
    assert len({line.value for line in lines[:5]}) == 5
    assert {(line.unit, line.basis) for line in lines} == {("g", "gross")}


def test_time_that_goes_in_small_steps_gives_the_same_lines(seconds):
    """How often the line is read changes nothing of what it sends."""
    sent = []
    for steps in (1, 30, 300):
        began = seconds.now = 100.0
        scale = SimulatedScale(Decimal("0.01"), 0.02, np.random.default_rng(5), seconds)
        scale.put(268.2)
        said = b""
        for step in range(steps):
            seconds.now = began + (step + 1) * 1.5 / steps
            said += scale.read(0.0)
        sent.append(said)

    assert sent[0] == sent[1] == sent[2]
    assert sent[0].count(b"\r\n") == 15


def test_what_was_put_on_before_a_line_is_due_is_in_it(scale, seconds):
    """A load taken off again in the middle swings back from where it was."""
    scale.put(100.0)
    seconds.go(0.3)
    scale.clear()
    seconds.go(0.7)
    lines = read(scale)

    assert len(lines) == 10
    assert [str(line.value) for line in lines[-2:]] == ["0.0", "0.0"]
    assert lines[-1].is_stable


@pytest.mark.parametrize(
    ("readability", "mass_g", "shown"),
    [
        ("0.1", 250.06, "+250.1"),
        ("0.02", 250.131, "+250.14"),
        ("1", 249.6, "+250"),
        ("5", 252.4, "+250"),
        ("0.1", -0.04, "+0.0"),
    ],
)
def test_readings_are_whole_steps(seconds, readability, mass_g, shown):
    """Every figure is a multiple of the readability, with its digits and no negative zero."""
    scale = SimulatedScale(Decimal(readability), 0.0, np.random.default_rng(1), seconds)
    scale.put(mass_g)

    assert scale.settled_line() == f"gross {shown} g steady\r\n".encode()


def test_one_load_put_on_again_reads_anew(seconds):
    """Readings of one load scatter by the repeatability; standing there it does not change."""
    scale = SimulatedScale(Decimal("0.001"), 0.05, np.random.default_rng(2), seconds)
    values = []
    for _ in range(400):
        scale.put(268.2)
        assert scale.settled_line() == scale.settled_line()
        values.append(float(LineReader().feed(scale.settled_line())[0].value))

    # 0.05 / sqrt(2 x 400) = 0.0018; four of them.
    assert np.std(values) == pytest.approx(0.05, abs=0.0075)


def test_what_is_zeroed_away_is_off_every_figure(scale):
    """With an empty of 18.2 g zeroed away the dose is shown, net; the bare pan shows less."""
    scale.zero(18.2)
    scale.put(268.7)
    assert scale.settled_line() == b"net +250.5 g steady\r\n"
    scale.clear()
    assert scale.settled_line() == b"net -18.2 g steady\r\n"
    scale.zero(0.0)
    assert scale.settled_line() == b"gross +0.0 g steady\r\n"


def test_a_line_that_nobody_reads_keeps_the_last_two_seconds(scale, seconds):
    """After an hour there are twenty lines, as in a small buffer, not thirty-six thousand."""
    seconds.go(3600.0)

    assert len(read(scale)) == 20


def test_a_pulled_plug_cuts_a_line_and_then_the_port_is_gone(scale, seconds):
    """What was sent is still read, its last line cut; after it every read says it is gone."""
    scale.put(250.1)
    seconds.go(0.1)
    scale.unplug()
    reader = LineReader()

    assert len(reader.feed(scale.read(0.0))) == 1
    assert reader.has_partial
    for act in (lambda: scale.read(0.0), lambda: scale.write(b"?"), scale.settled_line):
        with pytest.raises(PortGone, match="unplugged"):
            act()
    scale.close()
    with pytest.raises(PortGone, match="unplugged"):
        scale.read(0.0)


def test_a_plug_put_back_needs_the_port_opened_anew_and_begins_in_mid_line(scale, seconds):
    """The old port stays gone; the new one begins with a tail that looks like a weight of 2 g."""
    scale.put(250.1)
    seconds.go(1.0)
    scale.unplug()
    scale.put(268.2)
    scale.plug_in()
    seconds.go(1.0)
    scale.read(0.0)
    with pytest.raises(PortGone, match="unplugged"):
        scale.read(0.0)
    scale.close()
    seconds.go(0.3)

    assert [str(line.value) for line in read(scale)] == ["2", "268.2", "268.2"]
    assert scale.settled_line() == b"gross +268.2 g steady\r\n"
    scale.write(b"?")


def test_a_thread_may_wait_for_the_next_line(seconds):
    """With a way to wait, a read that finds nothing waits a tenth of a second at most."""
    scale = SimulatedScale(Decimal("0.1"), 0.0, np.random.default_rng(1), seconds, wait=seconds.go)

    assert scale.read(5.0) == b"gross +0.0 g steady\r\n"
    assert scale.read(0.01) == b""
    assert seconds.now == pytest.approx(100.11)
