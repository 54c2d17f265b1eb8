"""Weights from a real broker: kept once, answered, and none lost while the program was away."""

from __future__ import annotations

import contextlib
import json
import shutil
import socket
import subprocess
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from fillwright.errors import BadInput
from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.records.codec import new_id
from fillwright.web.broker import BrokerListener
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

PATIENCE_S = 20.0
JOB = "0101"
PROGRAM = shutil.which("mosquitto") or next(
    (path for path in ("/usr/sbin/mosquitto",) if Path(path).exists()), None
)


@pytest.fixture(scope="module")
def broker(tmp_path_factory):
    """A broker of this machine on a free port; its address."""
    if PROGRAM is None:
        pytest.skip("No MQTT broker is installed: `apt-get install mosquitto`")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    settings = tmp_path_factory.mktemp("broker") / "broker.conf"
    settings.write_text(f"listener {port} 127.0.0.1\nallow_anonymous true\n", encoding="utf-8")
    with subprocess.Popen(
        [PROGRAM, "-c", str(settings)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as child:
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            with contextlib.suppress(OSError):
                socket.create_connection(("127.0.0.1", port), timeout=1).close()
                break
        yield f"mqtt://127.0.0.1:{port}"
        child.terminate()


@pytest.fixture
def desk(tmp_path):
    """A desk with a run that waits for its first weight."""
    desk = desk_on(tmp_path / "bench.sqlite")
    facts = replace(maker.JOBS[0], number=JOB, lot_code="NE-0101")
    press = Press(person="AB")
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
    match.take(desk, JOB, press)
    run.start(desk, JOB, press, without_proof="a test")
    firstjar.look_at_first(desk, JOB, dict.fromkeys(firstjar.KEYS), press)
    yield desk
    desk.journal.close()


class Box:
    """A small box at the scale: sends weights, and collects the answers."""

    def __init__(self, url):
        from paho.mqtt import client as mqtt  # noqa: PLC0415  where a broker is
        from paho.mqtt.enums import CallbackAPIVersion  # noqa: PLC0415  where a broker is

        self._changed = threading.Condition()
        self.answers = []
        self._ready = threading.Event()
        self._client = mqtt.Client(CallbackAPIVersion.VERSION2)
        self._client.on_message = self._came
        self._client.on_subscribe = lambda *_: self._ready.set()
        host, port = url.removeprefix("mqtt://").split(":")
        self._client.connect(host, int(port))
        self._client.subscribe("fillwright/jobs/+/kept", qos=1)
        self._client.loop_start()
        assert self._ready.wait(PATIENCE_S)

    def _came(self, _client, _data, message):
        with self._changed:
            self.answers.append(json.loads(message.payload))
            self._changed.notify_all()

    def send(self, text):
        """Send a message and wait until the broker has it."""
        self._client.publish(f"fillwright/jobs/{JOB}/weighings", text, qos=1).wait_for_publish(
            PATIENCE_S
        )

    def wait(self, count):
        """Wait until so many answers have come."""
        with self._changed:
            assert self._changed.wait_for(lambda: len(self.answers) >= count, PATIENCE_S)
        return self.answers

    def close(self):
        """Leave the broker."""
        self._client.disconnect()
        self._client.loop_stop()


@pytest.fixture
def box(broker):
    """A box at the broker."""
    box = Box(broker)
    yield box
    box.close()


def weight(desk, value):
    """A weight as the box sends it."""
    return json.dumps({"id": new_id(desk.clock.now()), "value": value, "unit": "g"})


def listening(desk, broker, name):
    """A listener that has joined the broker."""
    listener = BrokerListener(desk, broker, client_id=name)
    listener.start()
    assert listener.wait(PATIENCE_S)
    return listener


def test_a_weight_from_the_broker_is_kept_once_and_answered(desk, broker, box):
    """Sent twice it is answered twice and kept once; what is no weight is told in words."""
    sent = weight(desk, "337.4")
    listener = listening(desk, broker, "once")
    try:
        box.wait(0)
        box.send(sent)
        box.send(sent)
        box.send("no weight")
        answers = box.wait(3)
    finally:
        listener.close()

    assert [answer.get("repeat") for answer in answers] == [False, True, None]
    assert answers[2]["error"]["field"] == "body"
    [kept] = desk.book.job(JOB).weighings
    assert (kept.fact.value, kept.fact.source) == ("337.4", "broker")


def test_what_comes_while_the_program_is_away_waits_at_the_broker(desk, broker, box):
    """Messages of an absence come in order after the return, none lost, none doubled."""
    listening(desk, broker, "away").close()
    values = ["337.1", "337.2", "337.3"]
    for value in values:
        box.send(weight(desk, value))
    assert len(desk.book.job(JOB).weighings) == 0

    listener = listening(desk, broker, "away")
    try:
        box.wait(3)
    finally:
        listener.close()

    assert [kept.fact.value for kept in desk.book.job(JOB).weighings] == values


@pytest.mark.parametrize("url", ["", "http://a", "mqtt://", "mqtt://a:x"])
def test_an_address_that_cannot_be_a_broker_is_refused(url):
    """The message says what would do."""
    with pytest.raises(BadInput, match="give mqtt://host"):
        BrokerListener(None, url)
