"""A real server as a child process, a real browser, and a page that tells what it asked for.

The journal is filled once, by playing jobs on the simulated bench; every server gets a copy.
"""

from __future__ import annotations

import contextlib
import importlib.util
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
from decimal import Decimal
from pathlib import Path
from urllib.parse import urlsplit

import httpx2
import pytest
import stages
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright
from playwright.sync_api import TimeoutError as PlaywrightTimeoutError

from fillwright.jobs.desk import Press
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

pytestmark = pytest.mark.browser

START_S = 180
PATIENCE_MS = 15_000
SHOTS = Path(__file__).parents[2] / "docs" / "shots"
DESK = {"width": 1180, "height": 820}
PHONE = {"width": 390, "height": 844}

STEADY = "0101"
TO_TRIM, TO_SAMPLE, TO_HELD = stages.TO_TRIM, stages.TO_SAMPLE, stages.TO_HELD
TO_SIGN, TO_PROVE = stages.TO_SIGN, stages.TO_PROVE

RULES = (
    "{resultTypes: ['violations'], "
    "runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']}"
)

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

    def command(self) -> list[str]:
        """Return what starts it."""
        command = [sys.executable, "-m", "fillwright", self.kind, "--no-browser"]
        return [*command, "--port", str(self.port), "--store", str(self.store)]

    def start(self) -> None:
        """Start it and wait until it answers."""
        self.child = subprocess.Popen(self.command(), stdout=subprocess.DEVNULL)
        end = time.monotonic() + START_S
        while time.monotonic() < end:
            # Waits for its end, so that asking again and again takes no time from its start.
            with contextlib.suppress(subprocess.TimeoutExpired):
                ended = self.child.wait(0.25)
                pytest.fail(f"the server ended with {ended}", pytrace=False)
            with contextlib.suppress(httpx2.TransportError):
                # A small thing: the job list of many jobs may take longer than one asking.
                httpx2.get(f"{self.url}/static/icon.svg", timeout=2)
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
        """Open a page that weighs; what stands before the weight, a turn or a look, is done."""
        page = self.open(path)
        self._turn()
        return page

    def after_takeover(self) -> None:
        """Take the weighing over, as a person presses it."""
        self.click("#seat button")
        expect(self.page.locator("#seat")).to_be_hidden()
        expect(self.page.locator("#weight")).to_be_editable()

    def let_in(self, sender: str, send: Callable[[], int]) -> None:
        """Let a program weigh beside this page, as a person does when it asks."""
        assert send() == 423
        expect(self.page.locator("#program")).to_contain_text(sender)
        self.click("#program button[value=yes]")
        expect(self.page.locator("#program")).to_be_hidden()

    def weigh(self) -> str:
        """Keep what the simulated scale settles at, and return the order that comes then."""
        self._turn()
        expect(self.page.locator("#weight")).to_have_value(re.compile(r"\d"))
        return self.after(lambda: self.press("Enter"))

    def _turn(self) -> None:
        """Do what stands before the next weight: a turn of the wheel, a look after a stop."""
        while not self.page.locator("#weight").count():
            for box in self.page.locator(".looklist input[type=checkbox]").all():
                box.check()
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
    stages.fill_with_stages(path)
    return path


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


@pytest.fixture
def steady_run(tmp_path) -> Iterator[tuple[Server, Decimal]]:
    """A server without a simulated scale, a run of many jars before it, what one at aim shows."""
    store = tmp_path / "bench.sqlite"
    desk = desk_on(store)
    press = Press(person="AB")
    facts = replace(
        maker.JOBS[0], number=STEADY, lot_code=f"NE-{STEADY}", lot_size=5000, weigh_every=1
    )
    open_job(desk, replace(facts, aim_g=propose_aim(desk, facts).aim_g), press)
    match.take(desk, STEADY, press)
    run.start(desk, STEADY, press, without_proof="a test")
    firstjar.skip_look(desk, STEADY, "a test", press)
    known = desk.book.job(STEADY).known
    desk.journal.close()
    server = Server(store, free_port(), kind="serve")
    server.start()
    yield server, (known.aim_g + known.container.tare_g).quantize(Decimal("0.1"))
    server.stop()


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


@pytest.fixture(scope="session")
def engine() -> str:
    """The engine as text, from the package that ships it."""
    found = importlib.util.find_spec("axe_playwright_python")
    if found is None or found.origin is None:
        pytest.skip("The accessibility engine is not installed: pip install -e .[test]")
    return (Path(found.origin).parent / "axe.min.js").read_text(encoding="utf-8")


def violations(page, engine) -> list[str]:
    """What the engine finds on a page as it stands."""
    # As high as the page: the foot bar, which stays in view, then covers nothing.
    size = page.viewport_size
    high = page.evaluate("document.documentElement.scrollHeight")
    page.set_viewport_size({"width": size["width"], "height": max(high, size["height"])})
    page.evaluate(engine)
    found = page.evaluate(f"() => axe.run(document, {RULES})")["violations"]
    page.set_viewport_size(size)
    return [f"{one['id']}: {node['html'][:110]}" for one in found for node in one["nodes"][:2]]
