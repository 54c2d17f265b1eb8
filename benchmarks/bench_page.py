"""Measure a Run page in a browser on a slowed processor, and for as long as a shift.

Run as ``python benchmarks/bench_page.py [JARS [FOLDER]]``; needs Chromium, see tests/conftest.py.
The processor of the page is slowed sixfold by the browser itself, with software drawing. An
update is timed by the clock that program and page share: from the moment when a program begins to
send a weight, over its being kept, to the end of the frame in which the page shows all of it, the
drawing included. "In place" is the same up to the moment when figure, order and drawing stand in
the page and the frame is still to be drawn.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import tempfile
import time
import uuid
from dataclasses import replace
from decimal import Decimal
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

from bench_server import serve
from playwright.sync_api import Page, sync_playwright

from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

JOB = "0101"
SLOWED = 6
TIMED = 100
WARM = 300
GAP_S = 0.4
DESK = {"width": 1180, "height": 820}
CHROMIUM = os.environ.get("FILLWRIGHT_CHROMIUM", "/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
TIMER = """
() => {
    window.updates = [];
    const clock = () => performance.timeOrigin + performance.now();
    document.addEventListener("bench:shown", () => {
        const { revision } = document.body.dataset;
        const shown = clock();
        // A task after the frame in which it is drawn.
        requestAnimationFrame(() => setTimeout(() => {
            window.updates.push([Number(revision), clock(), shown]);
        }));
    });
}
"""


# The least that any update costs: a small file asked for, and a frame.
LEAST = """
async () => {
    const began = performance.now();
    await (await fetch("/static/icon.svg")).text();
    await new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
    return performance.now() - began;
}
"""


def running(store: Path, jars: int) -> Decimal:
    """Put a job whose run waits for weights into a new journal; return what a jar shows."""
    desk = desk_on(store)
    press = Press(person="AB")
    facts = replace(maker.JOBS[0], number=JOB, lot_code="NE-0101", lot_size=jars, weigh_every=1)
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
    match.take(desk, JOB, press)
    run.start(desk, JOB, press, without_proof="a benchmark")
    firstjar.skip_look(desk, JOB, "a benchmark", press)
    known = desk.book.job(JOB).known  # type: ignore[union-attr]
    desk.journal.close()  # type: ignore[attr-defined]
    return (known.aim_g + known.container.tare_g).quantize(Decimal("0.1"))  # type: ignore[operator]


class Filler:
    """A program that sends one weight after another."""

    def __init__(self, port: int, shown: Decimal) -> None:
        self.line = HTTPConnection("127.0.0.1", port, timeout=60)
        self.shown = shown
        self.count = 0

    def weigh(self) -> tuple[int, int]:
        """Send the next jar; return the status and the revision."""
        value = self.shown + Decimal((self.count + 1) * 5 % 7 - 3) / 10
        body = {
            "id": str(uuid.uuid4()), "value": str(value), "unit": "g", "purpose": "dose",
            "person": "AB", "sender": "filler",
        }  # fmt: skip
        self.line.request("POST", f"/api/v1/jobs/{JOB}/weighings", json.dumps(body))
        answer = self.line.getresponse()
        told = json.loads(answer.read())
        self.count += answer.status == 200
        return answer.status, told.get("revision", 0)


def let_in(page: Page, filler: Filler) -> None:
    """Let the program weigh beside the page."""
    page.locator("#weight:not([readonly])").wait_for()
    while filler.weigh()[0] != 200:
        page.locator("#program button[value=yes]").click()
        page.locator("#program").wait_for(state="hidden")


def follow(page: Page, revision: int) -> None:
    """Wait until the page shows a revision."""
    page.locator(f'body[data-revision="{revision}"]').wait_for(state="attached", timeout=120_000)


def updates(page: Page, filler: Filler) -> None:
    """Time updates one by one on the slowed page."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    least = [page.evaluate(LEAST) for _ in range(TIMED // 2)]
    page.evaluate(TIMER)

    def metrics() -> dict[str, float]:
        told = session.send("Performance.getMetrics")["metrics"]
        return {one["name"]: one["value"] for one in told}

    before = metrics()
    sent = {}
    for _ in range(TIMED):
        began = time.time()
        _, revision = filler.weigh()
        sent[revision] = began * 1e3
        time.sleep(GAP_S)
        # Asked seldom: on the slowed page each question costs what is to be measured.
        while page.evaluate("document.body.dataset.revision") != str(revision):
            time.sleep(GAP_S)
    time.sleep(GAP_S)
    after = metrics()
    session.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    seen: dict[int, tuple[float, float]] = {}
    for revision, drawn, shown in page.evaluate("window.updates"):
        if revision in sent:
            seen.setdefault(revision, (drawn - sent[revision], shown - sent[revision]))
    whole, placed = zip(*seen.values(), strict=True)
    high, high_in_place = (statistics.quantiles(one, n=20)[18] for one in (whole, placed))
    print(
        f"update on a processor slowed {SLOWED} times, {len(seen)} weights, sent to drawn: ",
        end="",
    )
    print(f"p50 {statistics.median(whole):.0f} ms, p95 {high:.0f} ms (most 100)", end="; ")
    print(f"in place p50 {statistics.median(placed):.0f} ms, p95 {high_in_place:.0f} ms;", end=" ")
    ratio = statistics.median(whole) / statistics.median(least)
    print(f"{ratio:.1f} times a small file and a frame")
    for name in ("ScriptDuration", "RecalcStyleDuration", "LayoutDuration", "TaskDuration"):
        print(f"  {name} {(after[name] - before[name]) / TIMED * 1e3:.1f} ms an update", end="")
    print()


def hours(page: Page, filler: Filler, jars: int) -> None:
    """Send weights as fast as the server takes them; print memory and nodes on the way."""
    session = page.context.new_cdp_session(page)
    session.send("Performance.enable")
    rows = []
    began, start = time.perf_counter(), filler.count
    for part in range(1, 11):
        revision = 0
        while filler.count < start + (jars - start) * part // 10:
            _, revision = filler.weigh()
        if revision:
            follow(page, revision)
        session.send("HeapProfiler.collectGarbage")
        told = session.send("Performance.getMetrics")["metrics"]
        at = {one["name"]: one["value"] for one in told}
        rows.append(at)
        print(
            f"  {filler.count:6} jars: {at['Nodes']:.0f} nodes, heap "
            f"{at['JSHeapUsedSize'] / 1e6:.2f} MB, {at['JSEventListeners']:.0f} listeners",
            flush=True,
        )
    rate = (filler.count - start) / (time.perf_counter() - began)
    first, last = rows[0], rows[-1]
    print(f"{filler.count} jars at {rate:.0f} a second, last against first tenth: ", end="")
    print(f"nodes {last['Nodes'] / first['Nodes']:.2f} (most 1.1), ", end="")
    print(f"heap {last['JSHeapUsedSize'] / first['JSHeapUsedSize']:.2f} (most 1.25)")


def main() -> None:
    """Print all of it."""
    jars = int(sys.argv[1]) if sys.argv[1:] else 2000
    where = sys.argv[2] if sys.argv[2:] else None
    with tempfile.TemporaryDirectory(dir=where) as folder, sync_playwright() as driver:
        store = Path(folder) / "bench.sqlite"
        shown = running(store, jars + 2000)
        server, port = serve(store)
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            context = browser.new_context(viewport=DESK)
            address = f"http://127.0.0.1:{port}"
            context.add_cookies([{"name": "fw_person", "value": "AB", "url": address}])
            asked: list[str] = []
            context.on("request", lambda request: asked.append(urlsplit(request.url).netloc))
            page = context.new_page()
            page.goto(f"{address}/job/{JOB}/run")
            filler = Filler(port, shown)
            let_in(page, filler)
            while filler.count < WARM:
                _, revision = filler.weigh()
            follow(page, revision)
            updates(page, filler)
            hours(page, filler, jars)
            elsewhere = {host for host in asked if host != f"127.0.0.1:{port}"}
            print(f"requests: {len(asked)}, to elsewhere: {len(elsewhere)} (none)")
        finally:
            browser.close()
            server.terminate()
            server.wait()


if __name__ == "__main__":
    main()
