"""The technician in a real browser: a case file is chosen, answered and opened by its owner."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser


def test_a_case_goes_out_by_file_and_its_answer_comes_back(server, visitors, tmp_path):
    """Saved on the Fault page, chosen under Cases, answered; the answer leads to the check."""
    visitor = visitors(server)
    page = visitor.open("/job/0102/fault")
    visitor.press("3")
    visitor.press("Enter")
    expect(page.locator("#order")).not_to_have_text("What do you see?")
    order = page.locator("#order").text_content()
    visitor.rest()
    with page.expect_download() as saved:
        page.get_by_role("link", name="Case file").click()
    sent = tmp_path / "case.json"
    saved.value.save_as(sent)

    visitor.open("/case")
    page.set_input_files("#file", sent)
    visitor.click("#main-action")
    expect(page.locator("#order")).to_have_text(order)
    assert page.url.endswith("/case/1")
    page.locator("#do").fill("14")
    page.locator("#words").fill("Pull at it once, air off.")
    visitor.click("#main-action")
    answer = page.get_by_role("link", name="Answer file")
    answer.wait_for()
    visitor.rest()
    with page.expect_download() as answered:
        answer.click()
    back = tmp_path / "answer.json"
    answered.value.save_as(back)

    visitor.open("/case")
    page.set_input_files("#file", back)
    visitor.click("#main-action")
    expect(page.locator("#order")).to_contain_text("Do check 14")
    visitor.click("#main-action")
    expect(page.locator(".check-no")).to_have_text("Check 14")
    assert "/job/0102/fault" in page.url


def test_practice_is_begun_and_left_by_the_number_pad(server, visitors):
    """Enter opens a practice job, Enter goes on in it; its strip is there, minus leads back."""
    visitor = visitors(server)
    page = visitor.open("/practice")
    visitor.press("Enter")
    expect(page.locator("#practice")).to_contain_text("Nothing of this job leaves the bench")
    assert "/job/practice-1" in page.url
    visitor.press("Enter")
    expect(page).to_have_url(f"{server.url}/job/practice-1/match")
    visitor.open("/practice")
    visitor.press("-")
    expect(page).to_have_url(f"{server.url}/")
    expect(page.locator("main")).not_to_contain_text("practice-1")


def test_a_search_without_a_job_goes_by_keys(server, visitors):
    """A sign by its number, the answer by one key, minus back to the cases."""
    visitor = visitors(server)
    page = visitor.open("/fault")
    page.locator("#machine").select_option("bench:East filler")
    page.locator("#sign-3").focus()
    visitor.press("3")
    visitor.press("Enter")
    expect(page.locator("#order")).to_have_text("Is the wheel lock tight?")
    visitor.press("2")
    expect(page.locator("#order")).not_to_have_text("Is the wheel lock tight?")
    visitor.press("-")
    expect(page).to_have_url(f"{server.url}/case")
    expect(page.locator(".joblist").first).to_contain_text("East filler")
