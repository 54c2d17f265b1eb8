"""A real pseudo-terminal and a real socket: lines come, plugs are pulled, nothing is invented."""

from __future__ import annotations

import os
import socket
import struct
import threading
import time
import tty
from datetime import UTC, datetime
from decimal import Decimal

import numpy as np
import pytest

from fillwright.errors import BadInput, PortGone
from fillwright.scale.capture import PanReader
from fillwright.scale.pan_events import NoSignal, PanEmpty, Resting, Settled
from fillwright.scale.ports import open_line
from fillwright.scale.simulated import SimulatedScale
from fillwright.scale.watching import ScaleWatch

PATIENCE_S = 20.0
JAR = b"gross +268.2 g steady\r\n"
NEXT = b"gross +270.9 g steady\r\n"
EMPTY = b"gross +0.0 g steady\r\n"
# The end of a line of 268.2 g that looks like another weight.
TAIL = b"8.2 g steady\r\n"


class StandingClock:
    """A clock at one moment."""

    def now(self):
        """Return the moment."""
        return datetime(2030, 5, 6, 7, 8, 9, tzinfo=UTC)

    def zone(self):
        """Return a zone."""
        return "UTC"


class Bench:
    """A watch on a line, and a way to wait for what it tells."""

    def __init__(self, open_port):
        self._changed = threading.Condition()
        self._open_port = open_port
        self.opened = 0
        self.events = []
        self.watch = ScaleWatch(
            self._opening, PanReader(StandingClock()), self._told, pause_s=0.01, read_s=0.02
        )

    def _opening(self):
        """Open the port and tell that it is open."""
        line = self._open_port()
        with self._changed:
            self.opened += 1
            self._changed.notify_all()
        return line

    def _told(self, event):
        """Keep an event."""
        with self._changed:
            self.events.append(event)
            self._changed.notify_all()

    def wait_open(self, times):
        """Wait until the port was opened so many times."""
        with self._changed:
            assert self._changed.wait_for(lambda: self.opened >= times, PATIENCE_S)

    def wait(self, kind, times=1):
        """Wait until so many events of a kind were told; give the last."""
        with self._changed:
            assert self._changed.wait_for(lambda: len(self.of(kind)) >= times, PATIENCE_S)
            return self.of(kind)[-1]

    def of(self, kind):
        """The events of a kind."""
        return [event for event in self.events if isinstance(event, kind)]

    def figures(self):
        """Every figure that was told."""
        return {str(event.value) for event in self.events if not isinstance(event, NoSignal)}


@pytest.fixture
def bench_on():
    """Watch a line until the test is over."""
    watches = []

    def watched(open_port):
        bench = Bench(open_port)
        watches.append(bench.watch)
        bench.watch.start()
        return bench

    yield watched
    for watch in watches:
        watch.stop()
        assert not watch.is_running


class Cable:
    """A pseudo-terminal behind one fixed path, as a serial device comes and goes."""

    def __init__(self, path):
        self.path = path
        self._ends = ()
        self.plug_in()

    def plug_in(self):
        """Make the device appear."""
        self._ends = os.openpty()
        tty.setraw(self._ends[1])
        self.path.unlink(missing_ok=True)
        self.path.symlink_to(os.ttyname(self._ends[1]))

    def send(self, data):
        """Let the scale send."""
        os.write(self._ends[0], data)

    def received(self):
        """The line that the scale was sent."""
        data = b""
        while not data.endswith(b"\n"):
            data += os.read(self._ends[0], 100)
        return data

    def pull(self):
        """Make the device vanish."""
        for end in self._ends:
            os.close(end)
        self._ends = ()


@pytest.fixture
def cable(tmp_path):
    """A cable that is plugged in, pulled at the end."""
    cable = Cable(tmp_path / "scale")
    yield cable
    cable.pull()


@pytest.fixture
def server():
    """A scale on the network: a listening socket."""
    with socket.create_server(("127.0.0.1", 0)) as listener:
        listener.settimeout(PATIENCE_S)
        yield listener


def whole_line(line):
    """Read until a line is whole."""
    data = b""
    while not data.endswith(b"\n"):
        data += line.read(PATIENCE_S)
    return data


def live_through_a_loss(bench, send, lose, come_back):
    """Weigh a jar, lose the line in mid-line, get it back in mid-line, weigh the next."""
    bench.wait_open(1)
    send(TAIL + JAR * 3)
    first = bench.wait(Settled)
    send(b"gross +2")
    lose()
    bench.wait(NoSignal)
    send = come_back()
    bench.wait_open(2)
    send(TAIL + JAR * 3)
    again = bench.wait(Resting)
    send(EMPTY * 2)
    bench.wait(PanEmpty)
    send(NEXT * 2)
    bench.wait(Settled, 2)

    assert again.weighing_id == first.weighing_id
    assert [str(event.value) for event in bench.of(Settled)] == ["268.2", "270.9"]
    assert bench.figures() == {"268.2", "0.0", "270.9"}
    assert len(bench.of(NoSignal)) == 1
    assert bench.watch.bad_count == 0


def test_a_serial_line_pulled_in_mid_line_comes_back(bench_on, cable):
    """On a pseudo-terminal: the jar on the pan is one weighing, the next jar is another."""

    def come_back():
        cable.plug_in()
        return cable.send

    bench = bench_on(lambda: open_line(str(cable.path)))

    live_through_a_loss(bench, cable.send, cable.pull, come_back)


@pytest.mark.parametrize("is_reset", [False, True])
def test_a_socket_closed_in_mid_line_comes_back(bench_on, server, is_reset):
    """On a socket, closed in order or reset: the same."""
    bench = bench_on(lambda: open_line(f"socket://127.0.0.1:{server.getsockname()[1]}"))
    peers = [server.accept()[0]]

    def lose():
        if is_reset:
            # To linger for no time makes the close a reset.
            peers[-1].setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        peers[-1].close()

    def come_back():
        peers.append(server.accept()[0])
        return peers[-1].sendall

    try:
        live_through_a_loss(bench, peers[0].sendall, lose, come_back)
    finally:
        for peer in peers:
            peer.close()


def test_bytes_one_by_one_make_the_same_lines(bench_on, cable):
    """A slow line that brings single bytes gives whole lines."""
    bench = bench_on(lambda: open_line(str(cable.path)))
    bench.wait_open(1)
    for byte in TAIL + JAR * 2:
        cable.send(bytes([byte]))
    bench.wait(Settled)

    assert bench.figures() == {"268.2"}


def test_what_is_written_reaches_the_scale(cable):
    """A scale that answers when asked gets its question; its answer comes back."""
    line = open_line(str(cable.path), baud_per_s=19200)
    line.write(b"?\r\n")
    assert cable.received() == b"?\r\n"
    cable.send(JAR)

    assert whole_line(line) == JAR
    line.close()


def test_a_parity_that_the_device_does_not_know_does_no_harm(cable):
    """A pseudo-terminal has no parity: opened with one, it still reads, at any timeout."""
    line = open_line(str(cable.path), parity="E", data_bits=7)
    cable.send(JAR)

    assert whole_line(line) == JAR
    assert line.read(0.0) == b""
    line.close()


def test_settings_that_the_device_refuses_are_told(cable):
    """Asked for nothing but a parity that it has not, a pseudo-terminal refuses."""
    open_line(str(cable.path)).close()

    with pytest.raises(BadInput, match="cannot be set up: "):
        open_line(str(cable.path), parity="E", data_bits=7)


def test_a_device_is_taken_for_one_reader_alone(cable):
    """A second reader is refused instead of getting half of the bytes."""
    line = open_line(str(cable.path))

    with pytest.raises(PortGone, match=r"is not there: .* lock"):
        open_line(str(cable.path))
    line.close()
    open_line(str(cable.path)).close()


def test_a_vanished_device_is_gone_for_reading_and_writing(cable):
    """Both ways tell the same loss; closing afterwards is quiet."""
    line = open_line(str(cable.path))
    cable.pull()

    with pytest.raises(PortGone, match="Look at its cable"):
        line.read(PATIENCE_S)
    with pytest.raises(PortGone, match="Look at its cable"):
        line.write(b"?\r\n")
    line.close()


def test_a_flood_is_handed_over_piece_by_piece(server):
    """However much waits, a read ends, so that the thread can be stopped; nothing is lost."""
    line = open_line(f"socket://127.0.0.1:{server.getsockname()[1]}")
    with server.accept()[0] as peer:
        peer.sendall(b"7" * 20_000)
        pieces = []
        while sum(map(len, pieces)) < 20_000:
            pieces.append(line.read(PATIENCE_S))
        line.close()

    assert max(map(len, pieces)) <= 4096
    assert b"".join(pieces) == b"7" * 20_000


def test_nobody_listening_is_gone(server):
    """A refused connection is a port that is gone."""
    port = server.getsockname()[1]
    server.close()

    with pytest.raises(PortGone, match=f"socket://127.0.0.1:{port} is not there"):
        open_line(f"socket://127.0.0.1:{port}")


def test_a_watch_on_the_simulated_scale_survives_its_plug(bench_on):
    """The simulated scale in real time: settled, unplugged in mid-line, back, shown again."""
    rng = np.random.default_rng(1)
    never = threading.Event()
    scale = SimulatedScale(Decimal("0.1"), 0.0, rng, time.monotonic, wait=never.wait)
    scale.put(268.2)
    bench = bench_on(lambda: scale)
    bench.wait(Settled)
    scale.unplug()
    bench.wait(NoSignal)
    scale.plug_in()
    bench.wait(Resting)

    assert [str(event.value) for event in bench.of(Settled)] == ["268.2"]
    assert bench.watch.bad_count == 0
