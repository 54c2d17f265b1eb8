"""Measure how soon two watching devices show a weight that a third one keeps.

Run as ``python benchmarks/bench_devices.py [FOLDER]``; needs Chromium. Two tablets and a phone
are contexts of one browser on this machine; the first keeps a weight with Enter. Timed by the
clock that all pages share, from the press to the answer on the first and to the change on the
others; beside them what the first page itself takes.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from decimal import Decimal
from pathlib import Path

from bench_page import ARGUMENTS, CHROMIUM, JOB, running
from bench_server import serve
from playwright.sync_api import Page, sync_playwright

WEIGHTS = 60
GAP_S = 0.15
SIZES = (("AB", 1024, 768), ("CD", 1024, 768), ("EF", 390, 844))
WATCH = """
() => {
    window.seen = {};
    new MutationObserver(() => { window.seen[document.body.dataset.revision] ??= Date.now(); })
        .observe(document.body, { attributes: true, attributeFilter: ["data-revision"] });
    addEventListener("submit", () => { window.pressed = Date.now(); }, true);
}
"""


def opened(pages: list[Page]) -> None:
    """Wait until the first page weighs and the others watch."""
    pages[0].locator("#weight:not([readonly])").wait_for()
    for page in pages[1:]:
        page.locator("#seat").wait_for()
    for page in pages:
        page.evaluate(WATCH)


def main() -> None:
    """Print it."""
    where = sys.argv[1] if sys.argv[1:] else None
    with tempfile.TemporaryDirectory(dir=where) as folder, sync_playwright() as driver:
        store = Path(folder) / "bench.sqlite"
        shown = running(store, WEIGHTS + 100)
        server, port = serve(store)
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            pages = []
            for person, wide, high in SIZES:
                context = browser.new_context(viewport={"width": wide, "height": high})
                address = f"http://127.0.0.1:{port}"
                context.add_cookies([{"name": "fw_person", "value": person, "url": address}])
                page = context.new_page()
                page.goto(f"{address}/job/{JOB}/run")
                page.locator("html[data-bench=there]").wait_for()
                pages.append(page)
            opened(pages)
            took: list[list[float]] = [[] for _ in pages]
            for number in range(WEIGHTS):
                before = pages[0].locator("body").get_attribute("data-revision")
                field = pages[0].locator("#weight")
                field.fill(str(shown + Decimal(number * 5 % 7 - 3) / 10))
                field.press("Enter")
                moved = f'body:not([data-revision="{before}"])'
                for page in pages:
                    page.locator(moved).wait_for(state="attached")
                pressed = pages[0].evaluate("window.pressed")
                revision = pages[0].locator("body").get_attribute("data-revision")
                for place, page in enumerate(pages):
                    page.locator(f'body[data-revision="{revision}"]').wait_for(state="attached")
                    took[place].append(page.evaluate(f"window.seen[{revision}]") - pressed)
                time.sleep(GAP_S)
            own = statistics.median(took[0])
            for (person, wide, _), times in zip(SIZES, took, strict=True):
                high = statistics.quantiles(times, n=20)[18]
                print(
                    f"{person}, {wide} px wide, from the press: p50 {statistics.median(times):.0f}"
                    f" ms, p95 {high:.0f} ms (most 200), worst {max(times):.0f} ms; "
                    f"{statistics.median(times) / own:.1f} times the page that weighs"
                )
        finally:
            browser.close()
            server.terminate()
            server.wait()


if __name__ == "__main__":
    main()
