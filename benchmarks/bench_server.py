"""Measure a weighing over HTTP against a bare insert-and-commit, and the Run page of a big job.

Run as ``python benchmarks/bench_server.py [FOLDER]``; the folder decides which disk is measured.
The server is a process of its own on loopback; both sides take turns in one run.
"""

from __future__ import annotations

import http.client
import json
import os
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.opening import open_job
from fillwright.records.codec import draft, new_id
from fillwright.records.entries import RunStarted, SettingMoved, TareSet, WeighingTaken
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

TURNS = 400
MANY = 100_000
BATCH = 2000


def big_job(desk: Desk, number: str, weighings: int) -> None:
    """Put a running job with so many weighings into the journal."""
    facts = replace(maker.JOBS[0], number=number, lot_size=5_000_000)
    open_job(desk, facts, Press(person="AB"))
    at = datetime(2031, 3, 5, tzinfo=UTC)

    def kept(payload: object, second: int) -> object:
        return draft(
            payload,  # type: ignore[arg-type]
            stream=f"job/{number}", at=at + timedelta(seconds=second), zone="UTC",
            person="AB", bench="bench 1",
        )  # fmt: skip

    start = [
        SettingMoved(stage="setup", from_marks=None, to_marks=Decimal(50)),
        TareSet(tare_g=Decimal("26.40"), sd_g=0.12, empties=10),
        RunStarted(first_container=1, sd_g=0.45, sd_readings=30),
    ]
    desk.journal.append([kept(one, 0) for one in start])  # type: ignore[misc]
    wobble = [((i * 7919) % 13 - 6) / 10 for i in range(weighings)]
    for low in range(0, weighings, BATCH):
        rows = []
        for i in range(low, min(low + BATCH, weighings)):
            net = facts.aim_g + Decimal(str(wobble[i]))
            rows.append(
                kept(
                    WeighingTaken(
                        purpose="dose",
                        value=str(net + Decimal("26.4")),
                        unit="g",
                        basis="gross",
                        tare_g=Decimal("26.40"),
                        net_g=net,
                        container=12 * (i + 1),
                        filled_to=12 * (i + 1),
                        setting_marks=Decimal(50),
                        state="on",
                        source="scale",
                    ),
                    i,
                )
            )
        desk.journal.append(rows)  # type: ignore[arg-type]


def serve(store: Path) -> tuple[subprocess.Popen[bytes], int]:
    """Start the server and wait until it answers."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    words = ["-m", "fillwright", "serve", "--store", str(store), "--port", str(port)]
    server = subprocess.Popen([sys.executable, *words], stdout=subprocess.DEVNULL)
    for _ in range(600):
        try:
            with socket.create_connection(("127.0.0.1", port), timeout=0.1):
                break
        except OSError:
            time.sleep(0.05)
    # The port takes calls before the server is up; what is timed begins when it answers.
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    line.request("GET", "/favicon.ico")
    line.getresponse().read()
    return server, port


def answer(line: http.client.HTTPConnection, method: str, path: str, body: str = "") -> bytes:
    """Return what the server says; the cookie is the person's initials."""
    sent = {"Cookie": "fw_person=AB", "Content-Type": "application/json"}
    line.request(method, path, body, sent)
    said = line.getresponse()
    data = said.read()
    if said.status != 200:
        sys.exit(f"{path}: {said.status} {data[:300]!r}")
    return data


def weighing_against_insert(folder: Path) -> None:
    """Time one weighing from request to answer against one bare insert-and-commit."""
    store = folder / "small.sqlite3"
    desk = desk_on(store)
    big_job(desk, "0001", 200)
    desk.journal.close()  # type: ignore[attr-defined]
    bare = sqlite3.connect(folder / "bare.sqlite3", isolation_level=None)
    bare.execute("PRAGMA journal_mode=WAL")
    bare.execute("PRAGMA synchronous=FULL")
    bare.execute("CREATE TABLE bare (seq INTEGER PRIMARY KEY, id TEXT UNIQUE, payload TEXT)")
    server, port = serve(store)
    ours, theirs, hello = [], [], []
    try:
        line = http.client.HTTPConnection("127.0.0.1", port)
        line.connect()
        line.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        for turn in range(TURNS):
            net = Decimal("322.9") + Decimal((turn * 7) % 9 - 4) / 10
            body = json.dumps(
                {"id": new_id(datetime.now(UTC)), "value": str(net), "unit": "g",
                 "basis": "gross", "source": "http", "purpose": "dose", "person": "AB"}
            )  # fmt: skip
            begun = time.perf_counter()
            answer(line, "POST", "/api/v1/jobs/0001/weighings", body)
            ours.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            bare.execute("BEGIN IMMEDIATE")
            bare.execute("INSERT INTO bare VALUES (NULL, ?, ?)", (body[8:44], body))
            bare.execute("COMMIT")
            theirs.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            answer(line, "GET", "/static/tokens.css")
            hello.append(time.perf_counter() - begun)
    finally:
        server.terminate()
        server.wait()
    half, base, plain = (statistics.median(x[50:]) * 1000 for x in (ours, theirs, hello))
    print(f"weighing by HTTP, committed and answered: {half:.2f} ms")
    print(f"bare insert-and-commit through the driver: {base:.2f} ms, ratio {half / base:.1f}")
    print(f"the same server handing out a small file:  {plain:.2f} ms, ratio {half / plain:.1f}")


def run_page(folder: Path) -> None:
    """Time the Run page of a job with many weighings, cold and warm, against a small job."""
    store = folder / "big.sqlite3"
    desk = desk_on(store)
    big_job(desk, "0001", 200)
    big_job(desk, "0002", MANY)
    desk.journal.close()  # type: ignore[attr-defined]
    server, port = serve(store)
    # A store that this machine never served is folded once from its first entry ...
    begun = time.perf_counter()
    answer(http.client.HTTPConnection("127.0.0.1", port), "GET", "/job/0002/run")
    strange = time.perf_counter() - begun
    server.kill()
    server.wait()
    # ... and after a restart, here as hard as they come, from the state that was kept.
    server, port = serve(store)
    try:
        line = http.client.HTTPConnection("127.0.0.1", port)
        begun = time.perf_counter()
        cold = answer(line, "GET", "/job/0002/run")
        first = time.perf_counter() - begun
        sizes, warm, small = [], [], []
        for _ in range(15):
            begun = time.perf_counter()
            sizes.append(len(answer(line, "GET", "/job/0002/run")))
            warm.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            little = len(answer(line, "GET", "/job/0001/run"))
            small.append(time.perf_counter() - begun)
    finally:
        server.terminate()
        server.wait()
    big, lean = statistics.median(warm) * 1000, statistics.median(small) * 1000
    print(f"Run page of {MANY:,} weighings, store new to this machine: {strange * 1000:.0f} ms")
    print(f"the same after a restart: first time {first * 1000:.0f} ms, then {big:.0f} ms")
    print(f"Run page of 200 weighings: {lean:.0f} ms, ratio {big / lean:.1f}")
    print(f"page size: {len(cold):,} and {little:,} bytes, ratio {len(cold) / little:.2f}")


if __name__ == "__main__":
    os.environ.setdefault("FILLWRIGHT_STORE", "")
    place = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    with tempfile.TemporaryDirectory(dir=place) as name:
        weighing_against_insert(Path(name))
        run_page(Path(name))
