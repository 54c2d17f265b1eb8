"""A tablet is cut off: its page, its queue and its secret are worth nothing from then on."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

import httpx2
import pytest
from playwright.sync_api import expect

from fillwright.wiring.network import own_addresses

from .conftest import STEADY, Server, free_port

pytestmark = pytest.mark.browser

TABLET = {"width": 1024, "height": 768}
PAGE = f"/job/{STEADY}/run"


@dataclass
class Shared(Server):
    """A server that lets other devices in by its code."""

    def command(self) -> list[str]:
        """Return what starts it."""
        return [*super().command(), "--share"]


@pytest.fixture
def shared_bench(steady_run):
    """The steady run behind a door, and where a tablet finds it."""
    addresses = own_addresses()
    if not addresses:
        pytest.skip("this machine has no address beyond its own loop")
    quiet, shown = steady_run
    quiet.stop()
    server = Shared(quiet.store, free_port(), kind="serve")
    server.start()
    yield server, f"http://{addresses[0]}:{server.port}", shown
    server.stop()


@pytest.fixture
def joined(shared_bench, visitors):
    """The bench machine at its page of devices, and a tablet that typed the code."""
    server, address, shown = shared_bench
    bench = visitors(server)
    code = bench.open("/devices").locator("#pair-code").inner_text()
    tablet = visitors(Server(server.store, server.port), size=TABLET)
    tablet.url = address
    tablet.context.add_cookies([{"name": "fw_person", "value": "CD", "url": address}])
    page = tablet.open(PAGE)
    expect(page.locator("h1")).to_have_text("Join the bench")
    page.locator("#code").fill(code)
    page.locator("#name").fill("lost tablet")
    page.locator("button").click()
    expect(page.locator("html")).to_have_attribute("data-bench", "there")
    return server, bench, tablet, shown


def type_in(visitor, weight) -> None:
    """Type a weight at a page and press Enter."""
    field = visitor.page.locator("#weight")
    field.fill(str(weight))
    field.press("Enter")


def cut_off(bench) -> None:
    """Let the tablet in no more, by the page of devices of the bench machine."""
    page = bench.open("/devices")
    expect(page.locator("#forget-form")).to_contain_text("lost tablet")
    bench.click("#forget-form button")
    expect(page.locator("#forget-form")).to_have_count(0)


def cookies_of(visitor) -> dict[str, str]:
    """What a thief would copy of it."""
    return {one["name"]: one["value"] for one in visitor.context.cookies(visitor.url)}


def test_an_open_page_goes_and_nothing_more_is_heard(joined):
    """The page that was open asks for the code, shows the job no more, and streams nothing."""
    server, bench, tablet, shown = joined
    tablet.after(lambda: type_in(tablet, shown))
    assert len(server.weights(STEADY)) == 1

    cut_off(bench)

    expect(tablet.page.locator("h1")).to_have_text("Join the bench")
    stolen = cookies_of(tablet)
    assert "fw_paired" in stolen
    sent = {"id": "01e1b0c0-0000-7000-8000-000000000001", "value": str(shown), "basis": "net"}
    with httpx2.Client(base_url=tablet.url, cookies=stolen) as thief:
        for path in (PAGE, f"/api/v1/jobs/{STEADY}", f"/job/{STEADY}/events?scale=1", "/data"):
            assert thief.get(path).status_code == 401, path
        told = thief.post(f"/api/v1/jobs/{STEADY}/weighings", json=sent)
        assert (told.status_code, told.json()["error"]["code"]) == (401, "not-available")
        assert thief.post(f"{PAGE}/weigh", data={"weight": str(shown)}).status_code == 401
    assert len(server.weights(STEADY)) == 1


def test_weights_that_waited_on_it_are_not_taken(joined):
    """Typed while it was out of reach, and sent once it was cut off: none is kept."""
    server, bench, tablet, shown = joined
    tablet.context.set_offline(True)
    for step in ("0.1", "-0.1"):
        type_in(tablet, shown + Decimal(step))
    expect(tablet.page.locator("#unsaved")).to_contain_text("Not saved yet: 2 weights")
    cut_off(bench)

    tablet.context.set_offline(False)

    expect(tablet.page.locator("h1")).to_have_text("Join the bench")
    assert server.weights(STEADY) == []
    # The bench goes on without it: its seat is free.
    page = bench.open(PAGE)
    expect(page.locator("#weight")).to_be_editable()
    bench.after(lambda: type_in(bench, shown))
    assert server.weights(STEADY) == [str(shown)]
    expect(tablet.page).to_have_title(re.compile("Join"))
