"""A week at an invented small maker: four weeks of jobs behind it, a clock that the test moves.

No scale is joined: every weight is typed on the number pad, so every figure is known beforehand.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import re
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path

import history
import httpx2
import numpy as np
import pypdf
import pytest
import scipy
from history import BEGAN, JOBS, ScriptedClock, play_history
from playwright.sync_api import expect
from tests.e2e.conftest import Server, Visitor, free_port

import fillwright
from fillwright.jobs.desk import Desk
from fillwright.wiring.bench import desk_on

SERVED_BY = Path(__file__).parents[2] / "fakes" / "week_bench.py"
PAD = set("0123456789.,-*/+") | {"Enter", "NumpadAdd", "NumpadDecimal"}
TYPES = """document.activeElement.matches("textarea, select, input:not([type=checkbox], "
    + "[type=radio])")"""
MOST_STEPS = 160
PATIENCE_S = 60
MONDAY = date(2031, 3, 3)


@dataclass
class WeekServer(Server):
    """A server whose clock is so many seconds ahead as a file says."""

    ahead: Path = field(default_factory=Path)

    def command(self) -> list[str]:
        """Return what starts it."""
        words = (str(self.store), str(self.port), str(self.ahead))
        return [sys.executable, str(SERVED_BY), *words]

    def at(self, day: date, hour: float) -> None:
        """Let it be that hour of that day at the bench."""
        wanted = datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp() + 3600 * hour
        self.ahead.write_text(f"{wanted - datetime.now(UTC).timestamp():.3f}", encoding="ascii")

    def go(self, minutes: float) -> None:
        """Let so many minutes go by, or back."""
        now = float(self.ahead.read_text(encoding="ascii"))
        self.ahead.write_text(f"{now + 60 * minutes:.3f}", encoding="ascii")

    def paper(self, path: str) -> str:
        """Fetch a print and return its text; where a folder is named, keep it to be looked at."""
        got = httpx2.get(self.url + path, headers={"cookie": "fw_person=AB"}, timeout=PATIENCE_S)
        assert got.headers["content-type"] == "application/pdf", got.text[:300]
        folder = os.environ.get("FILLWRIGHT_PAPERS")
        if folder:
            name = re.sub(r"\W+", "-", path.removesuffix(".pdf")).strip("-")
            Path(folder, f"{name}.pdf").write_bytes(got.content)
        pages = pypdf.PdfReader(io.BytesIO(got.content)).pages
        return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


@dataclass
class Pad:
    """A number pad: every other key is refused."""

    visitor: Visitor
    server: WeekServer

    @property
    def page(self):
        """The page in front of the person."""
        return self.visitor.page

    def press(self, *keys: str) -> None:
        """Press keys of the pad, one after another."""
        assert set(keys) <= PAD
        self.visitor.press(*keys)

    def type(self, text: str) -> None:
        """Type digits and signs into the field that has the focus."""
        assert set(text) <= PAD
        self.visitor.rest()
        self.page.keyboard.type(text)

    def enter(self) -> str:
        """Press Enter and return the order that comes."""
        return self.visitor.after(lambda: self.press("Enter"))

    def to(self, selector: str) -> None:
        """Go on with the pad's plus until the thing named has the focus."""
        self.visitor.rest()
        for _ in range(MOST_STEPS):
            if self.page.evaluate(
                "one => document.activeElement?.matches(one) ?? false", selector
            ):
                return
            types = self.page.evaluate(TYPES)
            self.page.keyboard.press("NumpadAdd" if types else "NumpadDecimal")
        pytest.fail(f"the pad's plus does not reach {selector}", pytrace=False)

    def put(self, name: str, text: str) -> None:
        """Go to a field by its id and type into it; what stood there is selected and goes."""
        self.to(f"#{name}")
        self.type(text)

    def ticks(self) -> None:
        """Tick what the page wants ticked: cautions, and the nine of a look."""
        for group in ("#tick-{}", ".looklist [data-key='{}']"):
            for place in "123456789":
                if self.page.locator(f"{group.format(place)}:not(:checked)").count():
                    self.press(place)

    def weigh(self, reading: str) -> str:
        """Type what the scale shows and keep it; return the order that comes."""
        expect(self.page.locator("#weight")).to_be_focused()
        self.type(reading)
        return self.enter()

    def do(self, readings: Mapping[str, str], weights: Iterator[str], until: str) -> str:
        """Do act after act until an order begins with these words; return it.

        A reading is typed by the first word of its order, a weight is the next one given.
        """
        order = self.visitor.order()
        for _ in range(MOST_STEPS):
            if order.startswith(until):
                return order
            self.ticks()
            if self.page.locator("#weight").count():
                self.type(next(weights))
            elif self.page.locator("#reading").count():
                word = order.split()[0]
                if word in readings:
                    self.type(readings[word])
            order = self.enter()
        pytest.fail(f"{until!r} does not come; the order is {order!r}", pytrace=False)

    def shoot(self, name: str) -> None:
        """Keep a picture of the page, wide and narrow, where a folder for them is named."""
        folder = os.environ.get("FILLWRIGHT_PAPERS")
        if not folder:
            return
        self.visitor.rest()
        for width in (1180, 390):
            self.page.set_viewport_size({"width": width, "height": 820})
            high = self.page.evaluate("document.documentElement.scrollHeight")
            self.page.set_viewport_size({"width": width, "height": max(820, min(high, 3600))})
            self.page.screenshot(path=Path(folder, f"{name}-{width}.png"))
        self.page.set_viewport_size({"width": 1180, "height": 820})


@pytest.fixture(scope="session")
def four_weeks(pytestconfig, tmp_path_factory) -> Path:
    """The journal of four weeks, three jobs a day, played once on the simulated bench.

    It is kept in the cache of the tests as long as every source is what it was.
    """
    kept = os.environ.get("FILLWRIGHT_HISTORY")
    if kept:
        return Path(kept)
    cache = getattr(pytestconfig, "cache", None)
    folder = tmp_path_factory.mktemp("weeks") if cache is None else cache.mkdir("weeks")
    path = folder / f"{_made_by()}.sqlite"
    if not path.exists():
        for old in folder.iterdir():
            old.unlink()
        fresh = tmp_path_factory.mktemp("played") / "bench.sqlite"
        clock = ScriptedClock(datetime(BEGAN.year, BEGAN.month, BEGAN.day, 6, tzinfo=UTC))
        desk = desk_on(fresh, clock=clock)
        play_history(desk, clock, jobs=JOBS)
        desk.journal.close()
        # It takes its name only once it is whole.
        shutil.copy(fresh, path.with_suffix(".part"))
        path.with_suffix(".part").replace(path)
    return path


def _made_by() -> str:
    """Return a mark of all that decides what a played journal holds."""
    digest = hashlib.sha256(f"{sys.version} {np.__version__} {scipy.__version__}".encode())
    sources = Path(fillwright.__file__).parent
    files = [*sources.rglob("*.py"), *sources.rglob("*.toml"), *sources.rglob("*.csv")]
    for file in (*sorted(files), Path(history.__file__)):
        digest.update(file.name.encode() + file.read_bytes())
    return digest.hexdigest()[:24]


@pytest.fixture
def morning(four_weeks, tmp_path) -> Iterator[Callable[..., WeekServer]]:
    """Opens the bench on a morning of the week, with what was put on the desk before."""
    with mornings(four_weeks, tmp_path) as opened:
        yield opened


@contextlib.contextmanager
def mornings(four_weeks: Path, folder: Path) -> Iterator[Callable[..., WeekServer]]:
    """Lend what opens the bench on a morning; every bench it opened is closed at the end."""
    started: list[WeekServer] = []

    def opened(
        day: date, hour: float, prepare: Callable[[Desk], None] | None = None
    ) -> WeekServer:
        store, ahead = folder / "bench.sqlite", folder / "ahead"
        shutil.copy(four_weeks, store)
        server = WeekServer(store, free_port(), ahead=ahead)
        server.at(day, hour)
        if prepare is not None:
            desk = desk_on(store, clock=ScriptedClock(_moment(day, hour - 0.5)))
            prepare(desk)
            desk.journal.close()
        started.append(server)
        server.start()
        # Four weeks of jobs are read once, before anybody waits for a page.
        httpx2.get(server.url, headers={"cookie": "fw_person=AB"}, timeout=PATIENCE_S)
        return server

    try:
        yield opened
    finally:
        for server in started:
            server.stop()


def _moment(day: date, hour: float) -> datetime:
    """Return the moment of an hour of a day."""
    return datetime.fromtimestamp(
        datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp() + 3600 * hour, tz=UTC
    )


@pytest.fixture
def pad(visitors) -> Callable[..., Pad]:
    """Makes a person with nothing but a number pad."""

    def at(server: WeekServer, **more: object) -> Pad:
        visitor = visitors(server, **more)
        visitor.context.set_default_timeout(1000 * PATIENCE_S)
        expect(visitor.page.locator("body")).to_be_attached()
        return Pad(visitor, server)

    return at
