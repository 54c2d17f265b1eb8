"""A real pseudo-terminal joined from the page: learnt, kept, watched, pulled and back again."""

from __future__ import annotations

import contextlib
import os
import re
import socket
import threading
import time
import tty
from decimal import Decimal

import pytest

from fillwright.wiring import open_bench

PATIENCE_S = 20.0


class PtyScale:
    """A scale on a pseudo-terminal that sends a line every few milliseconds."""

    def __init__(self, path):
        self.path = path
        self.load = Decimal("0.0")
        self.noise = b""
        self._ends = None
        self._lock = threading.Lock()
        self._stopping = threading.Event()
        self.plug_in()
        self._thread = threading.Thread(target=self._send, daemon=True)
        self._thread.start()

    def plug_in(self):
        """Make the device appear."""
        with self._lock:
            self._ends = os.openpty()
            tty.setraw(self._ends[1])
            os.set_blocking(self._ends[0], False)
            self.path.unlink(missing_ok=True)
            self.path.symlink_to(os.ttyname(self._ends[1]))

    def pull(self):
        """Make the device vanish."""
        with self._lock:
            for end in self._ends or ():
                os.close(end)
            self._ends = None

    def stop(self):
        """End it."""
        self._stopping.set()
        self._thread.join(5)
        self.pull()

    def _send(self):
        before = self.load
        while not self._stopping.wait(0.01):
            load = self.load
            mark = b"R" if load == before else b"M"
            line = self.noise or b"W %s %+9.1f g\r\n" % (mark, load)
            before = load
            with self._lock:
                if self._ends:
                    try:
                        os.write(self._ends[0], line)
                    except BlockingIOError:
                        continue


@pytest.fixture
def scale(tmp_path):
    """A scale that is plugged in."""
    scale = PtyScale(tmp_path / "tty")
    yield scale
    scale.stop()


@pytest.fixture
def bench(tmp_path):
    """A bench without a scale."""
    bench = open_bench(tmp_path / "bench.sqlite")
    yield bench
    bench.close()


def press(client, what, **fields):
    """Press a button of the page Weighing scale."""
    token = re.search(r'name="token" value="(\w+)"', client.get("/scale").text).group(1)
    return client.post(f"/scale/{what}", data={"token": token, **fields})


def until(told):
    """Wait until something is so."""
    end = time.monotonic() + PATIENCE_S
    pause = threading.Event()
    while time.monotonic() < end:
        found = told()
        if found:
            return found
        pause.wait(0.02)
    raise AssertionError(told)


def learnt(client, scale):
    """Join the scale by putting three things on it."""
    press(client, "listen", address=str(scale.path), sends="stream", baud="find")
    page = until(lambda: "Put something on" in client.get("/scale").text)
    for count, load in enumerate(("250.1", "900.3", "18.2"), start=1):
        scale.load = Decimal(load)
        until(lambda n=count: loads(client) >= n)
        scale.load = Decimal("0.0")
        # Seen empty again, for some lines, before the next.
        until(lambda: all("+0.0 g" in line for line in link_of(client).session().lines))
    assert page
    return until(lambda: "Does the scale" in (text := client.get("/scale").text) and text)


def link_of(client):
    """The line behind the page."""
    return client.app.state.bench.link


def loads(client):
    """How many things were seen so far."""
    session = link_of(client).session()
    return 0 if session is None else session.learnt.loads


def test_a_scale_is_learnt_kept_and_back_after_a_restart(client, bench, scale, tmp_path):
    """Three things on the pan, one press; from then on it is watched, also by a new program."""
    page = learnt(client, scale)
    assert "while it moves" in page

    press(client, "keep", check_every_min="60")
    line = bench.desk.book.site().scale_line
    assert (line.port, line.sends, line.check_every_min) == (str(scale.path), "stream", 60)
    scale.load = Decimal("250.1")
    until(lambda: bench.scale.latest().get("event") == "settled")
    assert bench.scale.latest()["value"] == "250.1"
    bench.close()

    again = open_bench(tmp_path / "bench.sqlite")
    again.link.start()
    until(lambda: again.scale.latest().get("value") == "250.1")
    again.close()


def test_a_pulled_cable_and_noise_are_told_and_counted(client, bench, scale):
    """The page says no signal, then comes back by itself; rubbish is counted with its bytes."""
    learnt(client, scale)
    press(client, "keep")
    until(lambda: bench.scale.latest().get("event") == "pan-empty")
    scale.pull()
    until(lambda: bench.scale.latest().get("event") == "no-signal")
    assert "No signal" in client.get("/scale").text
    scale.plug_in()
    until(lambda: bench.scale.latest().get("event") == "pan-empty")

    scale.noise = b"\xff\x00rubbish\r\n"
    until(lambda: bench.scale.latest().get("event") == "no-signal")

    status = bench.link.status()
    assert status.bad_lines > 0
    assert status.losses >= 1
    assert "rubbish" in client.get("/scale").text


def test_a_format_by_hand_and_a_typing_scale_are_kept(client, bench, scale):
    """Either is one press; a format that cannot be right is shown again with the reason."""
    wrong = press(client, "by-hand", address=str(scale.path), sends="stream", form="[[line]]")
    assert wrong.status_code == 422
    assert bench.desk.book.site().scale_line is None

    form = '[[line]]\nshape = "W {word} {value} {unit}"\n'
    press(client, "by-hand", address=str(scale.path), sends="stream", form=form, baud="9600")
    until(lambda: bench.scale.latest().get("event") == "pan-empty")
    press(client, "keys")
    assert bench.desk.book.site().scale_line.port == "keys"
    press(client, "leave")

    assert bench.desk.book.site().scale_line is None
    assert "Weights are typed" in client.get("/scale").text


class AskedScale:
    """A scale in the network that answers each request with one line, and else is silent."""

    def __init__(self):
        self.load = Decimal("0.0")
        self.asked = 0
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"socket://127.0.0.1:{self._listener.getsockname()[1]}"
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self):
        with contextlib.suppress(OSError):
            while True:
                peer, _ = self._listener.accept()
                with peer, contextlib.suppress(OSError):
                    while data := peer.recv(100):
                        for _ in range(data.count(b"?")):
                            self.asked += 1
                            peer.sendall(b"%9.1f g\r\n" % self.load)

    def stop(self):
        """Stop listening."""
        self._listener.close()


def test_a_scale_that_answers_when_asked_is_learnt_and_asked(client, bench):
    """Over TCP, with a request and no marks of rest: learnt, kept, and asked from then on."""
    scale = AskedScale()
    how = {"sends": "asked", "request": r"?\r\n", "every_s": "0.05"}
    press(client, "listen", address=scale.address, **how)
    for count, load in enumerate(("250.1", "900.3", "18.2"), start=1):
        until(lambda: len(lines := link_of(client).session().lines) > 5 and "0.0 g" in lines[-1])
        scale.load = Decimal(load)
        until(lambda n=count: loads(client) >= n)
        scale.load = Decimal("0.0")
        until(lambda: all(" 0.0 g" in line for line in link_of(client).session().lines[-4:]))
    press(client, "keep")
    assert bench.desk.book.site().scale_line.sends == "asked"
    asked = scale.asked
    until(lambda: bench.scale.latest().get("event") == "pan-empty")
    assert scale.asked > asked

    scale.load = Decimal("250.1")
    until(lambda: bench.scale.latest().get("event") == "settled")

    assert bench.scale.latest()["value"] == "250.1"
    scale.stop()
