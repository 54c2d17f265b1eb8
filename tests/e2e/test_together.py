"""Two people, a dead server, a full disk: every weight is kept once, and the page says so."""

from __future__ import annotations

import re
import resource
import signal
import uuid

import httpx2
import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

AT_MATCH, AT_RUN = "0104", "0102"


def _type_weight(visitor, weight: str) -> None:
    """Put a weight into the field, whatever is in it."""
    visitor.page.locator("#weight").fill(weight)


def _send(server, number: str, weight: str) -> int:
    """Keep a weight as a program does; the status that it is answered with."""
    body = {"id": str(uuid.uuid4()), "value": weight, "unit": "g", "person": "EF"}
    body["sender"] = "line reader"
    return httpx2.post(f"{server.url}/api/v1/jobs/{number}/weighings", json=body).status_code


def test_a_second_browser_sees_every_weight(shared, visitors):
    """What one tablet keeps, the other shows without being touched, and in its field nothing."""
    first, second = visitors(shared), visitors(shared, person="CD")
    first.at_scale(f"/job/{AT_RUN}/run")
    there = second.at_scale(f"/job/{AT_RUN}/run")

    for _ in range(3):
        order = first.weigh()
        expect(there.locator("#order")).to_have_text(order)


def test_a_half_typed_number_survives_what_others_do(server, visitors):
    """A weight kept elsewhere changes the page around the field, not the number in it."""
    first, second = visitors(server), visitors(server, person="CD")
    first.at_scale(f"/job/{AT_RUN}/run")
    there = second.at_scale(f"/job/{AT_RUN}/run")
    second.after_takeover()
    second.let_in("line reader", lambda: _send(server, AT_RUN, "337.9"))
    _type_weight(second, "33")
    before = there.locator("body").get_attribute("data-revision")

    assert _send(server, AT_RUN, "337.9") == 200

    expect(there.locator("body")).not_to_have_attribute("data-revision", before)
    expect(there.locator("#weight")).to_have_value("33")
    expect(there.locator("#weight")).to_be_focused()


def test_one_tablet_weighs_and_taking_over_is_asked(shared, visitors):
    """The second tablet only watches, says so, and weighs once a person pressed Take over."""
    first, second = visitors(shared), visitors(shared, person="CD")
    here = first.at_scale(f"/job/{AT_RUN}/run")
    there = second.at_scale(f"/job/{AT_RUN}/run")
    expect(there.locator("#seat")).to_contain_text("on the other tablet (AB). Take over?")
    expect(there.locator("#weight")).not_to_be_editable()
    expect(here.locator("#weight")).to_be_editable()

    second.after_takeover()

    expect(here.locator("#seat")).to_contain_text("on the other tablet (CD)")
    expect(here.locator("#weight")).not_to_be_editable()


def test_a_program_asks_at_the_tablet_that_weighs(server, visitors):
    """Its weight is refused until a person there lets it in; the other tablet is not asked."""
    first, second = visitors(server), visitors(server, person="CD")
    here = first.at_scale(f"/job/{AT_RUN}/run")
    expect(here.locator("html")).to_have_attribute("data-bench", "there")
    there = second.at_scale(f"/job/{AT_RUN}/run")
    expect(there.locator("#seat")).to_be_visible()
    before = server.weights(AT_RUN)
    assert _send(server, AT_RUN, "337.8") == 423
    expect(here.locator("#program")).to_contain_text("called “line reader” wants to weigh")
    expect(there.locator("#program")).to_be_hidden()
    first.click("#program button[value=no]")
    expect(here.locator("#program")).to_be_hidden()
    assert _send(server, AT_RUN, "337.8") == 423
    assert server.weights(AT_RUN) == before

    second.after_takeover()
    second.let_in("line reader", lambda: _send(server, AT_RUN, "337.8"))

    assert _send(server, AT_RUN, "337.8") == 200
    assert server.weights(AT_RUN) == [*before, "337.8"]


def test_a_tablet_without_its_network_keeps_on_weighing(server, visitors):
    """Cut off, it takes weights and shows them as not saved; back, they are there in order, once.

    A reload afterwards lands on the same act.
    """
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    before = server.weighings(AT_RUN)
    visitor.context.set_offline(True)
    for count, weight in enumerate(("337.1", "337.2", "337.3"), start=1):
        _type_weight(visitor, weight)
        page.locator("#weight").press("Enter")
        expect(page.locator("#unsaved")).to_contain_text(f"Not saved yet: {count} weight")
    assert server.weighings(AT_RUN) == before

    visitor.context.set_offline(False)
    expect(page.locator("#unsaved")).to_be_hidden()

    kept = [weight for weight in server.weights(AT_RUN) if weight in ("337.1", "337.2", "337.3")]
    assert kept == ["337.1", "337.2", "337.3"]
    assert len(server.weighings(AT_RUN)) == len(before) + 3
    visitor.rest()
    order = visitor.order()
    page.reload()
    assert visitor.order() == order


def test_a_bench_that_stops_answering_is_told_within_two_seconds(server, visitors):
    """A line that is cut without a word is noticed by its silence; weights wait and are kept."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    visitor.rest()
    before = len(server.weighings(AT_RUN))
    server.child.send_signal(signal.SIGSTOP)
    expect(page.locator("#no-bench")).to_be_visible()
    _type_weight(visitor, "337.4")
    page.locator("#weight").press("Enter")
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet: 1 weight")

    server.child.send_signal(signal.SIGCONT)
    expect(page.locator("#unsaved")).to_be_hidden()

    assert server.weights(AT_RUN)[before:] == ["337.4"]


def test_the_later_of_two_presses_is_told_what_changed(shared, visitors):
    """Both saw the same page; the later press keeps nothing and says who was first."""
    first = visitors(shared)
    # Without scripts a page does not follow the bench, so it still shows what was.
    second = visitors(shared, person="CD", java_script_enabled=False)
    first.open(f"/job/{AT_MATCH}/match")
    late = second.open(f"/job/{AT_MATCH}/match")

    first.press("Enter")
    expect(first.page).to_have_url(re.compile("/setup$"))
    late.locator("#main-action").click()

    expect(late.locator(".wrong")).to_contain_text("by AB")
    expect(late.locator("#order")).to_be_visible()


def test_every_page_works_without_scripts(shared, visitors):
    """Plain forms keep a weight; the question behind a button opens by its own address."""
    visitors(shared).at_scale(f"/job/{AT_RUN}/run")
    visitor = visitors(shared, java_script_enabled=False)
    page = visitor.open(f"/job/{AT_RUN}/run")
    before = shared.state(AT_RUN)["weighings"]

    page.locator("#weight").fill("337,9")
    page.locator("#weight").press("Enter")

    assert shared.state(AT_RUN)["weighings"] == before + 1
    if page.locator("#setting").count():
        # What the run has seen by now may ask for a turn first.
        page.locator("#main-action").click()
    page.locator("[data-ask=ask-spoilt]").click()
    expect(page.locator("#ask-spoilt")).to_be_visible()


def test_a_killed_server_loses_nothing(server, visitors):
    """Killed in the middle of a run and started again: every weight is there, once."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    for _ in range(3):
        visitor.weigh()
    before = server.weighings(AT_RUN)
    order = visitor.order()

    server.kill()
    expect(page.locator("#no-bench")).to_be_visible()
    server.start()

    expect(page.locator("#no-bench")).to_be_hidden()
    assert server.weighings(AT_RUN) == before
    assert visitor.order() == order
    assert visitor.weigh() != order


def test_weights_wait_in_the_page_and_are_sent_once(server, visitors):
    """With the server gone, weights wait in order; with it back each is on record once."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    before = server.weighings(AT_RUN)
    server.kill()

    for weight in ("338.1", "338.2"):
        _type_weight(visitor, weight)
        visitor.press("Enter")
        expect(page.locator("#weight")).to_have_value("")
    expect(page.locator("#unsaved")).to_contain_text("Not saved yet: 2 weights")
    expect(page.locator("#waiting-tag")).to_be_visible()
    expect(page.locator("#weight-tag")).to_be_hidden()
    server.start()

    expect(page.locator("#unsaved")).to_be_hidden()
    after = server.weighings(AT_RUN)
    assert after[: len(before)] == before
    assert len(after) == len(before) + 2
    assert len(set(after)) == len(after)


def test_a_full_disk_is_said_and_the_weight_stays(server, visitors):
    """What could not be kept stays in the field; with room again it is kept."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    before = server.weighings(AT_RUN)
    _, hard = resource.prlimit(server.child.pid, resource.RLIMIT_FSIZE)

    resource.prlimit(server.child.pid, resource.RLIMIT_FSIZE, (1, hard))
    _type_weight(visitor, "338.4")
    visitor.press("Enter")
    expect(page.locator("#problem")).to_contain_text("The weight was not kept")
    expect(page.locator("#weight")).to_have_value("338.4")
    assert server.weighings(AT_RUN) == before

    resource.prlimit(server.child.pid, resource.RLIMIT_FSIZE, (hard, hard))
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        visitor.press("Enter")
    expect(page.locator("#weight")).not_to_have_value("338.4")
    assert len(server.weighings(AT_RUN)) == len(before) + 1


def test_a_scale_that_types_is_told_from_fingers(shared, visitors):
    """Keys closer than 40 ms are recorded as from a scale, slower ones as typed."""
    visitor = visitors(shared)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))

    page.evaluate(
        """() => {
            const field = document.getElementById("weight");
            field.value = "";
            for (const key of "338.3") {
                field.value += key;
                field.dispatchEvent(new InputEvent("input", { bubbles: true, data: key }));
            }
        }"""
    )
    expect(page.locator("#from")).to_have_text("From the scale, as typed keys.")
    page.locator("#weight").select_text()
    page.locator("#weight").press_sequentially("338.3", delay=60)

    expect(page.locator("#from")).to_have_text("Typed.")


def test_the_scale_is_taken_away_and_brought_back(shared, visitors):
    """With no signal the figure is blank and the field is open; back again it fills it."""
    visitor = visitors(shared)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))

    visitor.click("button[value=unplug]")
    expect(page.locator("[data-pan-tag=no-signal]")).to_be_visible()
    expect(page.locator("#weight")).to_have_value("")
    expect(page.locator("[data-wire=gone]")).to_be_visible()
    visitor.click("button[value=plug-in]")

    expect(page.locator("[data-wire=ready]")).to_be_visible()
    expect(page.locator("#weight")).to_have_value(re.compile(r"\d"))


def test_a_stopped_server_lets_go_of_open_pages(server, visitors):
    """Asked to stop while a page follows it, the server is gone at once."""
    visitor = visitors(server)
    page = visitor.at_scale(f"/job/{AT_RUN}/run")
    expect(page.locator("html")).to_have_attribute("data-bench", "there")

    server.stop()

    assert server.child.returncode is not None
    expect(page.locator("#no-bench")).to_be_visible()
