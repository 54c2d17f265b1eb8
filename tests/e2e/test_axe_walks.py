"""Walks through Fault, Strip and what stands around every page, each state held against axe."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing

import httpx2
import pytest
from playwright.sync_api import Page, expect

from .conftest import DESK, PHONE, STEADY, TO_TRIM, Server, Visitor, free_port, violations

pytestmark = pytest.mark.browser

AT_RUN, RELEASED = "0102", "0101"
PAGES = (
    "/day",
    "/shelf",
    "/fault",
    "/case",
    "/faults",
    "/demo",
    "/data/in",
    "/cleaning",
    "/field",
    "/quote",
    "/manual/howto/find-a-fault",
    f"/job/{AT_RUN}/cost",
    f"/job/{AT_RUN}/run?ask=strike",
    f"/job/{AT_RUN}/run?ask=check-scale",
    f"/job/{TO_TRIM}/trim?ask=spoilt",
)
MOST_CHECKS, MOST_STEPS = 12, 40
NAMES = "fields => fields.map(field => field.name || field.id)"


class Walk:
    """What the engine finds on the way, by the words of each state."""

    def __init__(self, page: Page, engine: str) -> None:
        self.page = page
        self.engine = engine
        self.seen: dict[str, list[str]] = {}

    def look(self, state: str = "") -> None:
        """Open every fold, so that what is in it counts too, and hold the page against it."""
        self.page.evaluate(
            "document.querySelectorAll('details').forEach(fold => { fold.open = true; })"
        )
        named = f"{len(self.seen)} {state or self.page.locator('#order').inner_text()}"
        self.seen[named] = violations(self.page, self.engine)

    def wrong(self) -> dict[str, list[str]]:
        """The states in which something is wrong."""
        return {state: found for state, found in self.seen.items() if found}


@pytest.fixture(params=[(DESK, "day"), (PHONE, "night")], ids=["desk", "phone"])
def seat(request):
    """Size and light of a screen."""
    size, light = request.param
    return {"size": size, "light": light}


def test_no_other_page_breaks_a_rule(shared, visitors, engine, seat):
    """The pages beside a job, and the questions that open on one, with all folds open."""
    visitor = visitors(shared, **seat)
    walk = Walk(visitor.page, engine)
    for path in PAGES:
        answer = visitor.page.goto(visitor.url + path)
        assert answer.status == 200, path
        walk.look(path)

    assert walk.wrong() == {}


def test_no_state_of_fault_breaks_a_rule(server, visitors, engine, seat):
    """Signs, a press without one, checks one after another, an error, another check, the end."""
    visitor = visitors(server, **seat)
    page = visitor.open(f"/job/{AT_RUN}/fault")
    walk = Walk(page, engine)
    walk.look()
    visitor.click("#main-action")
    page.locator(".wrong").first.wait_for()
    walk.look("no sign picked")
    page.locator("#sign-1").check()
    visitor.after(lambda: page.locator("#act").evaluate("form => form.requestSubmit()"))
    walk.look()
    page.goto(f"{server.url}/job/{AT_RUN}/fault?check=9999")
    walk.look("a check that is not there")
    page.goto(f"{server.url}/job/{AT_RUN}/fault?walk=1")
    walk.look("a walk round")
    page.goto(f"{server.url}/job/{AT_RUN}/fault")
    for _ in range(MOST_CHECKS):
        if page.locator("button[value=handed-over].main").count():
            break
        # A finger that comes in the blink after a page moved is not counted.
        visitor.rest()
        for box in page.locator(".tick input").all():
            box.check()
        button = page.locator("#act button.main, #act button[name=said]").nth(
            1 if page.locator("#act button[name=said]").count() else 0
        )
        visitor.rest()
        before = page.locator("body").get_attribute("data-revision")
        # By key: two quick presses of one finger on the same words count once.
        button.press("Space")
        expect(page.locator("body")).not_to_have_attribute("data-revision", before)
        walk.look()
    page.goto(f"{server.url}/job/{AT_RUN}/fault")
    page.locator("button[value=left]").last.click()
    page.goto(f"{server.url}/job/{AT_RUN}/fault")
    walk.look("after the end")

    assert len(walk.seen) > 8
    assert walk.wrong() == {}


def test_no_step_of_strip_breaks_a_rule(server, visitors, engine):
    """Before the first step, each step on the way, a seal looked at, an empty place refused."""
    visitor = visitors(server)
    page = visitor.open(f"/job/{RELEASED}/strip")
    walk = Walk(page, engine)
    walk.look("before it begins")
    visitor.click("#main-action")
    walk.look("without a tick")
    page.goto(f"{server.url}/job/{RELEASED}/strip")
    visitor.rest()
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.locator("#begin-form button").click()
    page.locator("#seals-head").wait_for()
    kinds: set[str] = set()
    for _ in range(MOST_STEPS):
        page.goto(f"{server.url}/job/{RELEASED}/strip")
        if not page.locator("#act input[name=step]").count():
            break
        # Steps that ask for the same look alike: one of each kind is enough.
        kind = ",".join(page.locator("[form=act], #act [name]").evaluate_all(NAMES))
        is_new = kind not in kinds
        kinds.add(kind)
        if is_new:
            walk.look()
        _send(visitor)
        if page.locator("#act .wrong").count():
            if is_new:
                walk.look("refused")
            _fill(page)
            _send(visitor)
    page.goto(f"{server.url}/job/{RELEASED}/strip")
    walk.look("the last of it")

    assert len(walk.seen) > 5
    assert walk.wrong() == {}


def _send(visitor: Visitor) -> None:
    """Do what the main button does, and wait until the page shows the answer."""
    visitor.rest()
    with visitor.page.expect_response(lambda answer: answer.request.method == "POST"):
        visitor.page.locator("#act").evaluate("form => form.requestSubmit()")
    visitor.rest()


def _fill(page: Page) -> None:
    """Tick and type what a step of the strip asks for."""
    for box in page.locator(".cautions input[type=checkbox]").all():
        box.check()
    for field in page.locator("#act input#reading, #act input#photo").all():
        field.fill("1")
    for pick in page.locator("#act select").all():
        pick.select_option(index=1)


def test_what_stands_around_a_page_breaks_no_rule(steady_run, visitors, engine, seat):
    """A program that asks, weights that wait, and a bench that is gone."""
    server, shown = steady_run
    visitor = visitors(server, **seat)
    page = visitor.open(f"/job/{STEADY}/run")
    visitor.rest()
    walk = Walk(page, engine)
    expect(page.locator("#weight")).to_be_editable()
    body = {"id": "a program's own", "value": str(shown), "unit": "g", "sender": "line reader"}
    path = f"{server.url}/api/v1/jobs/{STEADY}/weighings"
    assert httpx2.post(path, json=body).status_code == 423
    page.locator("#program").wait_for()
    walk.look("a program asks")
    visitor.context.set_offline(True)
    page.locator("#weight").fill(str(shown))
    page.locator("#weight").press("Enter")
    page.locator("#unsaved").wait_for()
    walk.look("a weight waits")
    visitor.context.set_offline(False)

    assert walk.wrong() == {}


def test_a_damaged_journal_breaks_no_rule(seeded, tmp_path, visitors, engine, seat):
    """The strip that says what is lost, on the list of jobs and on a page of one."""
    store = tmp_path / "bench.sqlite"
    shutil.copy(seeded, store)
    with closing(sqlite3.connect(store)) as file:
        file.execute("DROP TRIGGER entries_keep")
        file.execute("UPDATE entries SET bench = 'x' WHERE seq = 400")
        file.commit()
    server = Server(store, free_port(), kind="serve")
    server.start()
    try:
        visitor = visitors(server, **seat)
        walk = Walk(visitor.page, engine)
        for path in ("/", f"/job/{AT_RUN}"):
            visitor.open(path).locator("#notice").wait_for()
            walk.look(path)
    finally:
        server.stop()

    assert walk.wrong() == {}
