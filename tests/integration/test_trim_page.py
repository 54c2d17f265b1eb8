"""The Trim page where shots do not settle: anew by the main button, then Prove or the fault."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press, find_job
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run.weigh import weigh
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.trim.unsettled import BEGUN_ANEW, MOST_SHOTS
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")
JOB = "0101"
PAGE = f"/job/{JOB}/trim"


@pytest.fixture
def bench(tmp_path):
    """A bench with a job whose wheel is set."""
    bench = open_bench(tmp_path / "bench.sqlite")
    list_person(bench.desk, maker.PEOPLE[0], PRESS)
    facts = replace(maker.JOBS[0], number=JOB, lot_code=f"NE-{JOB}")
    open_job(bench.desk, replace(facts, aim_g=propose_aim(bench.desk, facts).aim_g), PRESS)
    match.take(bench.desk, JOB, PRESS)
    setup.done(bench.desk, JOB, "setting", "50", PRESS)
    yield bench
    bench.close()


def scattered(bench, middle):
    """Weigh as many shots as a trim may have, 1.5 g above and below a middle."""
    facts = find_job(bench.desk, JOB).known
    for place in range(MOST_SHOTS):
        off = Decimal(middle) + (Decimal("1.5") if place % 2 else Decimal("-1.5"))
        value = (facts.aim_g + facts.container.tare_g + off).quantize(Decimal("0.1"))
        weighed = Capture(weighing_id=new_id(bench.desk.clock.now()), value=value, source="typed")
        weigh(bench.desk, JOB, weighed, PRESS, purpose="shot")


def press_main(client):
    """Send the form of the main button as the page fills it in; return the order it had."""
    page = client.get(PAGE).text
    form = re.search(r'<form method="post" action="([^"]+)" id="act".*?</form>', page, re.DOTALL)
    given = {}
    for tag in re.findall(r"<input [^>]*>", form.group(0)):
        name, value = re.search(r'name="(\w+)"', tag), re.search(r'value="([^"]*)"', tag)
        given[name.group(1)] = value.group(1) if value else ""
    answer = client.post(form.group(1), data=given, follow_redirects=False)
    assert answer.status_code == 303, answer.text[:2000]
    return re.search(r'<h1 id="order"[^>]*>([^<]*)</h1>', page).group(1)


def test_the_main_button_leads_to_an_end(bench, client):
    """Fifteen shots, down and up, fifteen more, and the proving run decides."""
    scattered(bench, "-1.4")
    assert press_main(client) == "The trim does not settle. Look for the cause."
    assert find_job(bench.desk, JOB).shots == []

    scattered(bench, "-0.4")
    assert press_main(client) == "Take it as it is. The proving run decides."

    trimmed = find_job(bench.desk, JOB).trim
    assert (trimmed.verdict, trimmed.because) == ("taken-as-is", BEGUN_ANEW)


def test_a_mean_that_is_off_leads_to_the_fault(bench, client):
    """Then the main button opens the search, which comes back here."""
    scattered(bench, "-1.4")
    press_main(client)
    scattered(bench, "-2.0")
    page = client.get(PAGE).text

    main = re.search(r'<a class="btn main" id="main-action" href="([^"]+)"[^>]*>([^<]*)', page)
    assert main.group(2).strip() == "Look for the fault"
    search = client.get(main.group(1))
    assert search.status_code == 200
    assert PAGE in search.text
