"""The watch: what is believed after opening, after silence and after a loss."""

from __future__ import annotations

import logging
import threading

import pytest

from fillwright.errors import PortGone
from fillwright.scale.capture import PanReader, Sending
from fillwright.scale.pan_events import Settled
from fillwright.scale.watching import ScaleWatch

GONE = PortGone("The plug is out.")
JAR = b"gross +268.2 g steady\r\n"
NEXT = b"gross +270.9 g steady\r\n"
EMPTY = b"gross +0.0 g steady\r\n"


class Script:
    """A line that gives what a test wrote: bytes, seconds of silence, a loss."""

    def __init__(self, seconds, steps):
        self._seconds = seconds
        self._steps = list(steps)
        self._rest = threading.Event()
        self.done = threading.Event()
        self.closed = 0
        self.opened = 0

    def open(self):
        """Open the port, unless the script says that it is gone."""
        self.opened += 1
        if self._steps and self._steps[0] == "no port":
            self._steps.pop(0)
            raise GONE
        return self

    def read(self, timeout_s):
        """Give the next step; after the last one there is only silence."""
        if not self._steps:
            self.done.set()
            self._rest.wait(timeout_s)
            return b""
        step = self._steps.pop(0)
        if isinstance(step, bytes):
            return step
        if isinstance(step, Exception):
            raise step
        self._seconds.go(step)
        return b""

    def write(self, data):
        """Take nothing."""

    def close(self):
        """Count."""
        self.closed += 1


@pytest.fixture
def play(seconds, clock):
    """Let a watch live through a script; give it and its events."""

    def played(*steps, on_event=None, sends=Sending.STREAM):
        events = []

        def told(event):
            events.append(event)
            if on_event is not None:
                on_event(event)

        script = Script(seconds, steps)
        watch = ScaleWatch(
            script.open,
            PanReader(clock, sends=sends),
            told,
            monotonic=seconds,
            pause=lambda _: None,
        )
        watch.start()
        assert script.done.wait(10.0)
        watch.stop()
        assert not watch.is_running
        assert script.closed > 0
        return watch, [event.as_dict() for event in events]

    return played


def short(events):
    """Events in short."""
    return [(event["event"], event.get("value", "")) for event in events]


def test_what_comes_at_once_after_opening_may_be_a_tail(play):
    """A tail that looks like a weight is dropped; the lines after it count."""
    watch, events = play(b"8.2 g steady\r\n", JAR, JAR)

    assert short(events) == [("settling", "268.2"), ("settled", "268.2")]
    assert watch.bad_count == 0


def test_the_first_line_after_silence_is_whole(play):
    """On a line that was quiet after opening, the very first line of a key press counts."""
    _, events = play(0.2, 0.2, JAR, sends=Sending.ON_KEY)

    assert short(events) == [("settled", "268.2")]


def test_a_line_cut_by_silence_never_joins_with_another(play):
    """The beginning before a silence and the tail after it are both dropped."""
    _, events = play(
        0.4, JAR, JAR, EMPTY, EMPTY, b"gross +2", 0.4, b"8.2 g steady\r\n", NEXT, NEXT
    )

    assert short(events)[1:] == [
        ("settled", "268.2"),
        ("pan-empty", "0.0"),
        ("settling", "270.9"),
        ("settled", "270.9"),
    ]


def test_a_line_that_is_only_slow_is_kept(play):
    """A pause within a line that is shorter than the quiet time breaks nothing."""
    _, events = play(0.4, b"gross +2", 0.2, b"68.2 g steady\r\n", sends=Sending.ON_KEY)

    assert short(events) == [("settled", "268.2")]


def test_a_loss_in_mid_line_is_said_once_and_nothing_is_doubled_or_made_up(play):
    """Lost in a line, gone for three tries, back in a line: one weighing, shown again."""
    watch, events = play(
        *(0.4, JAR, JAR, b"gross +2", GONE),
        *("no port", "no port", b"0.5 g steady\r\n", JAR, JAR),
    )

    assert short(events) == [
        ("settling", "268.2"),
        ("settled", "268.2"),
        ("no-signal", ""),
        ("resting", "268.2"),
    ]
    assert events[2]["because"] == "The plug is out."
    assert events[3]["weighing_id"] == events[1]["weighing_id"]
    assert watch.losses == 3


def test_silence_of_a_stream_is_no_signal(play):
    """A line that is open and says nothing for two seconds is told once."""
    _, events = play(1.0, 1.0, 1.0, 1.0, 1.0, JAR, JAR)

    assert short(events) == [("no-signal", ""), ("settling", "268.2"), ("settled", "268.2")]


def test_bad_lines_are_counted_and_the_last_ones_kept(play, caplog):
    """Each bad line is counted; the last twenty are held, and one in ten seconds is logged."""
    with caplog.at_level(logging.WARNING, "fillwright.scale.watching"):
        watch, events = play(0.4, b"".join(b"noise %d\r\n" % n for n in range(30)), JAR, JAR)

    assert watch.bad_count == 30
    assert [bad.raw for bad in watch.last_bad] == [b"noise %d" % n for n in range(10, 30)]
    assert len(caplog.records) == 1
    assert short(events)[-1] == ("settled", "268.2")


def test_a_listener_that_fails_stops_nothing(play, caplog):
    """What listens may fail at every event; the next ones still come, and it is logged."""

    def fail(event):
        raise ValueError(event)

    with caplog.at_level(logging.ERROR, "fillwright.scale.watching"):
        _, events = play(0.4, JAR, JAR, EMPTY, EMPTY, on_event=fail)

    assert len(events) == 3
    assert [record.message for record in caplog.records] == [
        "What listens to the weighing scale failed."
    ] * 3


def test_a_port_that_fails_in_its_own_way_is_opened_again(play, caplog):
    """Even an error that nobody foresaw is a loss, logged, and the watch goes on."""
    with caplog.at_level(logging.ERROR, "fillwright.scale.watching"):
        watch, events = play(
            0.4, JAR, JAR, ValueError("odd driver"), 0.4, EMPTY, EMPTY, NEXT, NEXT
        )

    assert short(events)[2:] == [
        ("no-signal", ""),
        ("pan-empty", "0.0"),
        ("settling", "270.9"),
        ("settled", "270.9"),
    ]
    assert watch.losses == 1
    assert "odd driver" in caplog.text


def test_a_watch_can_be_started_again(seconds, clock):
    """Stopped and started, a watch goes on with the same pan."""
    script = Script(seconds, [0.4, JAR, JAR])
    events = []
    watch = ScaleWatch(script.open, PanReader(clock), events.append, monotonic=seconds)
    watch.stop()
    for _ in range(2):
        script.done.clear()
        watch.start()
        assert script.done.wait(10.0)
        watch.stop()

    assert script.opened == script.closed == 2
    assert sum(isinstance(event, Settled) for event in events) == 1
