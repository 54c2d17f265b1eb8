"""A run on a bench that is killed again and again: a real server, a real line, a pushed weight.

The scale is a pseudo-terminal; what stands on it goes the way of every reading: line, form,
capture, event stream, weighing by HTTP, journal. Run as ``bench_run.py FOLDER DOSES KILLS``.
"""

from __future__ import annotations

import contextlib
import json
import os
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path

import httpx2

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press, keep_on_site
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.records.entries import ScaleLineKept
from fillwright.store.verify import verify
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

JOB = "0101"
FORM = '[[line]]\nshape = "W R {value} {unit}"\nrest = "still"\n'
PATIENCE_S = 30.0


class Scale:
    """A scale on a pseudo-terminal that outlives the server."""

    def __init__(self, path: Path, at_aim_g: Decimal) -> None:
        self.at_aim_g = at_aim_g
        self.ours, theirs = os.openpty()
        tty.setraw(theirs)
        os.set_blocking(self.ours, False)
        path.symlink_to(os.ttyname(theirs))
        self.load = Decimal("0.0")
        self._theirs = theirs
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._send, daemon=True)
        self._thread.start()

    def _send(self) -> None:
        while not self._stopping.wait(0.002):
            with contextlib.suppress(OSError):
                os.write(self.ours, b"W R %+9.1f g\r\n" % self.load)

    def stop(self) -> None:
        """End it."""
        self._stopping.set()
        self._thread.join(5)
        os.close(self.ours)
        os.close(self._theirs)


@dataclass
class KilledRun:
    """What came of a run: weights acknowledged by id, kills, and what did not fit."""

    store: Path
    acknowledged: list[str] = field(default_factory=list)
    kills: int = 0
    problems: list[str] = field(default_factory=list)


def prepare(store: Path, tty_path: Path, doses: int) -> Decimal:
    """Open a job, start its run, keep the line of its scale; return what a jar at aim shows."""
    desk = desk_on(store)
    press = Press(person="AB")
    list_person(desk, maker.PEOPLE[0], press)
    facts = replace(maker.JOBS[0], number=JOB, lot_code="NE-0101", lot_size=doses + 10)
    facts = replace(facts, tray_size=10, weigh_every=1)
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
    match.take(desk, JOB, press)
    run.start(desk, JOB, press, without_proof="a test")
    firstjar.look_at_first(desk, JOB, dict.fromkeys(firstjar.KEYS), press)
    keep_on_site(desk, [ScaleLineKept(port=str(tty_path), form=FORM)], press)
    aim_g = desk.book.job(JOB).known.aim_g
    desk.journal.close()
    return (aim_g + (facts.container.tare_g or 0)).quantize(Decimal("0.1"))


def play(folder: Path, doses: int, kills: int, seed: int = 1) -> KilledRun:
    """Weigh so many doses while the server is killed so many times, at moments nobody chose."""
    store, tty_path = folder / "bench.sqlite", folder / "tty"
    at_aim_g = prepare(store, tty_path, doses)
    chance = random.Random(seed)  # noqa: S311  moments of a test
    scale = Scale(tty_path, at_aim_g)
    outcome = KilledRun(store)
    after = sorted(chance.sample(range(1, doses), min(kills, doses - 1)))
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    try:
        while len(outcome.acknowledged) < doses:
            upto = after.pop(0) if after else doses
            _until_killed(outcome, scale, port, upto, doses, chance)
            _check(outcome)
    finally:
        scale.stop()
    return outcome


def _until_killed(
    outcome: KilledRun, scale: Scale, port: int, upto: int, doses: int, chance: random.Random
) -> None:
    """Start the server, weigh up to a dose, and kill it somewhere in the next one."""
    command = [sys.executable, "-m", "fillwright", "serve", "--no-browser"]
    command += ["--port", str(port), "--store", str(outcome.store)]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as child:
        try:
            client = _joined(child, port)
            with contextlib.closing(client):
                _page_goes_on(outcome, client)
                while len(outcome.acknowledged) < upto:
                    _weigh(outcome, client, scale)
                if upto >= doses:
                    return
                timer = threading.Timer(
                    chance.uniform(0, 0.03), child.send_signal, (signal.SIGKILL,)
                )
                timer.start()
                with contextlib.suppress(httpx2.HTTPError, StopIteration):
                    while True:
                        _weigh(outcome, client, scale)
        finally:
            child.send_signal(signal.SIGKILL)
            child.wait(PATIENCE_S)
            outcome.kills += 1


def _joined(child: subprocess.Popen[bytes], port: int) -> httpx2.Client:
    """Return a client of the server once it answers."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end and child.poll() is None:
        with contextlib.suppress(httpx2.TransportError):
            client = httpx2.Client(base_url=f"http://127.0.0.1:{port}", timeout=10)
            client.get(f"/api/v1/jobs/{JOB}")
            return client
        with contextlib.suppress(subprocess.TimeoutExpired):
            child.wait(0.02)
    message = f"the server ended with {child.poll()}"
    raise RuntimeError(message)


def _weigh(outcome: KilledRun, client: httpx2.Client, scale: Scale) -> None:
    """Put the next jar on, wait for its one weighing, send it as the page does."""
    number = len(outcome.acknowledged) + 1
    scale.load = Decimal("0.0")
    with client.stream("GET", "/scale/events") as stream:
        events = _events(stream)
        next(event for event in events if event["event"] == "pan-empty")
        scale.load = scale.at_aim_g + Decimal(number * 5 % 7 - 3) / 10
        settled = next(event for event in events if event["event"] == "settled")
    body = {name: settled[key] for name, key in (("id", "weighing_id"), ("value", "value"))}
    body |= {"unit": settled["unit"], "source": "scale", "purpose": "dose", "container": number}
    answer = client.post(f"/api/v1/jobs/{JOB}/weighings", json=body)
    if answer.status_code == 422 and _is_stored(outcome.store, number):
        # The kill fell between commit and answer; the jar is on record once.
        outcome.acknowledged.append(_stored_ids(outcome.store)[-1])
        return
    if answer.status_code != 200:
        outcome.problems.append(f"dose {number}: {answer.status_code} {answer.text[:200]}")
    outcome.acknowledged.append(settled["weighing_id"])


def _events(stream: httpx2.Response) -> Iterator[dict[str, str]]:
    """Yield what the scale says."""
    name = ""
    for line in stream.iter_lines():
        if line.startswith("event: "):
            name = line.removeprefix("event: ")
        elif line.startswith("data: ") and name == "scale":
            yield json.loads(line.removeprefix("data: "))


def _page_goes_on(outcome: KilledRun, client: httpx2.Client) -> None:
    """After a start the next jar is the one after the last on record."""
    stored = _stored_ids(outcome.store)
    # The one that was committed and never answered counts from now on.
    if len(stored) == len(outcome.acknowledged) + 1:
        outcome.acknowledged.append(stored[-1])
    state = client.get(f"/api/v1/jobs/{JOB}").json()
    if state["filled"] != len(stored):
        outcome.problems.append(f"the page goes on after {state['filled']}, not {len(stored)}")


def _check(outcome: KilledRun) -> None:
    """Every acknowledged weight is there once and in order, and the chain is whole."""
    report = verify(outcome.store)
    if not report.ok:
        outcome.problems.append(report.because)
    stored = _stored_ids(outcome.store)
    extra = len(stored) - len(outcome.acknowledged)
    if stored[: len(outcome.acknowledged)] != outcome.acknowledged or extra not in (0, 1):
        outcome.problems.append(
            f"{len(outcome.acknowledged)} acknowledged, {len(stored)} stored, not the same"
        )


def _stored_ids(store: Path) -> list[str]:
    """Ids of the weights on record, in order."""
    with contextlib.closing(sqlite3.connect(f"file:{store}?mode=ro", uri=True)) as file:
        rows = file.execute("SELECT id FROM entries WHERE kind = 'weighing taken' ORDER BY seq")
        return [row[0] for row in rows]


def _is_stored(store: Path, number: int) -> bool:
    """Whether the weight of a jar is on record."""
    return len(_stored_ids(store)) >= number


if __name__ == "__main__":
    done = play(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
    print(f"{len(done.acknowledged)} doses, {done.kills} kills, problems: {done.problems[:5]}")  # noqa: T201  what it found
    sys.exit(bool(done.problems))
