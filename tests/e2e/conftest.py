"""A real server as a child process, a real browser, and a page that tells what it asked for.

The journal is filled once, by playing jobs on the simulated bench; every server gets a copy.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from urllib.parse import urlsplit

import httpx2
import numpy as np
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from playwright.sync_api import TimeoutError as PlaywrightTimeoutError

from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.records.entities import JobFacts
from fillwright.records.fold import JobState
from fillwright.scale.simulated import bench_from
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on
from fillwright.wiring.demo import seed_demo
from fillwright.wiring.player import play

pytestmark = pytest.mark.browser

START_S = 60
PATIENCE_MS = 15_000
SHOTS = Path(__file__).parents[2] / "docs" / "shots"
DESK = {"width": 1180, "height": 820}
PHONE = {"width": 390, "height": 844}

TO_TRIM, TO_SAMPLE, TO_HELD, TO_SIGN, TO_PROVE = "0201", "0202", "0203", "0204", "0205"

expect.set_options(timeout=PATIENCE_MS)


@dataclass
class Server:
    """A server of the demo bench in a process of its own."""

    store: Path
    port: int
    kind: str = "demo"
    child: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Address of its pages."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it and wait until it answers."""
        command = [sys.executable, "-m", "fillwright", self.kind, "--no-browser"]
        command += ["--port", str(self.port), "--store", str(self.store)]
        self.child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        end = time.monotonic() + START_S
        while time.monotonic() < end:
            if self.child.poll() is not None:
                pytest.fail(f"the server ended with {self.child.returncode}", pytrace=False)
            with contextlib.suppress(httpx2.TransportError):
                httpx2.get(self.url, timeout=2)
                return
        pytest.fail("the server does not answer", pytrace=False)

    def kill(self) -> None:
        """Kill it, as a power cut of the process would."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """Ask it to stop."""
        self._end(signal.SIGTERM)

    def _end(self, how: signal.Signals) -> None:
        if self.child is not None and self.child.poll() is None:
            self.child.send_signal(how)
            self.child.wait(START_S)

    def state(self, number: str) -> dict[str, object]:
        """Where a job stands, as JSON."""
        return httpx2.get(f"{self.url}/api/v1/jobs/{number}").json()

    def weighings(self, number: str) -> list[str]:
        """Ids of the weights on record for a job, in order, read from the file itself."""
        with contextlib.closing(sqlite3.connect(f"file:{self.store}?mode=ro", uri=True)) as file:
            rows = file.execute(
                "SELECT id FROM entries WHERE stream = ? AND kind = 'weighing taken' ORDER BY seq",
                (f"job/{number}",),
            )
            return [row[0] for row in rows]

    def weights(self, number: str) -> list[str]:
        """What the scale showed for each weight on record, in order, read from the file."""
        with contextlib.closing(sqlite3.connect(f"file:{self.store}?mode=ro", uri=True)) as file:
            rows = file.execute(
                "SELECT json_extract(payload, '$.value') FROM entries "
                "WHERE stream = ? AND kind = 'weighing taken' ORDER BY seq",
                (f"job/{number}",),
            )
            return [row[0] for row in rows]


@dataclass
class Visitor:
    """A browser of its own, with what it asked for and what went wrong."""

    context: BrowserContext
    page: Page
    url: str
    asked: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def open(self, path: str) -> Page:
        """Open a page of the server."""
        self.page.goto(self.url + path)
        return self.page

    def order(self) -> str:
        """The order of the page."""
        return self.page.locator("#order").inner_text()

    def press(self, *keys: str) -> None:
        """Press keys, one after another, once the page rests."""
        for key in keys:
            self.rest()
            self.page.keyboard.press(key)

    def rest(self) -> None:
        """Wait until the page is all there and has come to rest after it moved."""
        expect(self.page.locator("html")).to_have_attribute("data-js", "on")
        expect(self.page.locator("html")).not_to_have_attribute("data-moved", re.compile("."))

    def click(self, selector: str) -> None:
        """Press a thing with the finger, once the page rests."""
        self.rest()
        self.page.locator(selector).click()

    def after(self, act: Callable[[], None]) -> str:
        """Do something and return the order that comes after it."""
        body = self.page.locator("body")
        page, revision = (body.get_attribute(f"data-{name}") for name in ("page", "revision"))
        act()
        moved = f'body:not([data-page="{page}"][data-revision="{revision}"])'
        try:
            self.page.locator(moved).wait_for(state="attached")
        except PlaywrightTimeoutError:
            told = self.page.locator(".wrong:visible").all_inner_texts()
            at = self.page.evaluate("document.activeElement.outerHTML.slice(0, 120)")
            pytest.fail(f"stayed at {self.order()!r}; {told}; focus on {at}", pytrace=False)
        self.rest()
        return self.order()

    def at_scale(self, path: str) -> Page:
        """Open a page that weighs; where the wheel must be turned first, turn it."""
        page = self.open(path)
        self._turn()
        return page

    def after_takeover(self) -> None:
        """Take the weighing over, as a person presses it."""
        self.click("#seat button")
        expect(self.page.locator("#seat")).to_be_hidden()
        expect(self.page.locator("#weight")).to_be_editable()

    def weigh(self) -> str:
        """Keep what the simulated scale settles at, and return the order that comes then."""
        self._turn()
        expect(self.page.locator("#weight")).to_have_value(re.compile(r"\d"))
        return self.after(lambda: self.press("Enter"))

    def _turn(self) -> None:
        """Do what stands before the next weight: a run may ask for a turn of the wheel."""
        while not self.page.locator("#weight").count():
            self.after(lambda: self.press("Enter"))

    def shoot(self, name: str, *, is_whole: bool = False) -> None:
        """Keep a picture for the docs, when pictures are wanted."""
        if os.environ.get("FILLWRIGHT_SHOTS") == "1":
            SHOTS.mkdir(parents=True, exist_ok=True)
            self.rest()
            if is_whole:
                # The foot bar sticks to the window: a window as high as the page shows it once.
                high = self.page.evaluate("document.documentElement.scrollHeight")
                self.page.set_viewport_size({"width": DESK["width"], "height": high})
            self.page.screenshot(path=SHOTS / f"{name}.png")
            if is_whole:
                self.page.set_viewport_size(DESK)


def free_port() -> int:
    """A port of this machine on which nobody listens now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture(scope="session")
def seeded(tmp_path_factory) -> Path:
    """A journal with jobs at every stage, played once on the simulated bench."""
    path = tmp_path_factory.mktemp("seeded") / "bench.sqlite"
    desk = desk_on(path)
    seed_demo(desk)
    _played(desk, TO_TRIM, lambda s: len(s.empties) >= 10 and len(s.steps) >= 9)
    _played(desk, TO_SAMPLE, lambda s: bool(s.samples) and _left(s) <= 2)
    _played(desk, TO_HELD, lambda s: bool(s.open_spans) and s.run is not None, drop_at=30)
    _played(desk, TO_SIGN, lambda s: s.lot is not None)
    _played(desk, TO_PROVE, lambda s: _shots_left(s) == 3)
    desk.journal.close()
    return path


def _facts(number: str) -> JobFacts:
    return replace(maker.JOBS[0], number=number, lot_code=f"NE-{number}")


def _left(state: JobState) -> int:
    """How many of the sample are still to be weighed."""
    weighed = {w.fact.container for w in state.weighings if w.counts}
    return len([n for drawn in state.samples for n in drawn.containers if n not in weighed])


def _shots_left(state: JobState) -> int | None:
    """How many shots of the open proving run are still to be weighed."""
    if state.proof_plan is None or state.proof is not None:
        return None
    return state.proof_plan.shots - len([w for w in state.proof_shots if w.counts])


def _played(
    desk: Desk, number: str, until: Callable[[JobState], bool], *, drop_at: int | None = None
) -> None:
    """Open a job and play it to where it shall stand; the dose drops at a container."""
    person = maker.PEOPLE[0]
    facts = _facts(number)
    aimed = replace(facts, aim_g=propose_aim(desk, facts).aim_g)
    open_job(desk, aimed, Press(person=person.initials))
    # Drawn as the demo draws it, so that the machine is the same when a server goes on.
    chance = np.random.Generator(np.random.PCG64([20, int(number)]))
    bench = bench_from(aimed, chance, time.monotonic)

    def stop(state: JobState) -> bool:
        if drop_at is not None and state.filled_to >= drop_at and not state.open_spans:
            bench.machine.creep_on(-0.02 * bench.machine.mean_dose_g)
        return until(state)

    play(desk, number, bench, person, until=stop, seed=5)


@pytest.fixture(scope="session")
def browser(chromium_path, chromium_args) -> Iterator[Browser]:
    """The browser of this system."""
    with sync_playwright() as play_wright:
        started = play_wright.chromium.launch(executable_path=chromium_path, args=chromium_args)
        yield started
        started.close()


@pytest.fixture
def server(seeded, tmp_path) -> Iterator[Server]:
    """A server on a copy of the seeded journal."""
    store = tmp_path / "bench.sqlite"
    shutil.copy(seeded, store)
    started = Server(store, free_port())
    started.start()
    yield started
    started.stop()


@pytest.fixture(scope="module")
def shared(seeded, tmp_path_factory) -> Iterator[Server]:
    """A server for a whole file of tests that only look, or each use a job of their own."""
    store = tmp_path_factory.mktemp("shared") / "bench.sqlite"
    shutil.copy(seeded, store)
    started = Server(store, free_port())
    started.start()
    yield started
    started.stop()


@pytest.fixture
def visitors(browser) -> Iterator[Callable[..., Visitor]]:
    """Makes browsers of their own; at the end each is asked what it fetched and what failed."""
    made: list[Visitor] = []

    def visit(
        server: Server,
        *,
        person: str = "AB",
        size: dict[str, int] = DESK,
        light: str = "day",
        **more: object,
    ) -> Visitor:
        context = browser.new_context(viewport=size, **more)
        context.set_default_timeout(PATIENCE_MS)
        cookies = {"fw_person": person, "fw_light": light}
        context.add_cookies(
            [{"name": n, "value": v, "url": server.url} for n, v in cookies.items() if v]
        )
        visitor = Visitor(context, context.new_page(), server.url)
        context.on("request", lambda request: visitor.asked.append(request.url))
        context.on("weberror", lambda error: visitor.errors.append(str(error.error)))
        context.on("console", lambda message: _listen(visitor, message))
        made.append(visitor)
        return visitor

    yield visit
    for visitor in made:
        visitor.context.close()
        own = urlsplit(visitor.url).netloc
        elsewhere = [url for url in visitor.asked if urlsplit(url).netloc not in ("", own)]
        assert elsewhere == []
        assert visitor.errors == []


def _listen(visitor: Visitor, message) -> None:
    """Remember errors of the page; an answer with a status is told by the page itself."""
    if message.type in ("error", "warning") and "Failed to load resource" not in message.text:
        visitor.errors.append(message.text)
