"""Faults of the demo bench: by the command, on its page, and as they show at the machine."""

from __future__ import annotations

import re

import numpy as np
import pytest
from starlette.testclient import TestClient

from fillwright.errors import BadInput
from fillwright.records.fold import JobState
from fillwright.science.twin_faults import Fault, FaultKind
from fillwright.web import create_app
from fillwright.wiring import maker
from fillwright.wiring.demo import open_demo
from fillwright.wiring.demo_faults import (
    FAULT_WORDS,
    effect_words,
    fault_named,
    faults_named,
    foretold,
)


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """A demo bench that was opened with a fault."""
    opened = open_demo(tmp_path_factory.mktemp("demo") / "demo.sqlite3", [fault_named("drip:0.9")])
    yield opened
    opened.close()


@pytest.fixture
def client(bench):
    """A browser of one person at the bench."""
    with TestClient(create_app(bench), base_url="http://localhost") as started:
        started.cookies.set("fw_person", maker.PEOPLE[0].initials)
        yield started


def state_of(bench, number) -> JobState:
    """A job of the demo as it stands."""
    return bench.desk.book.job(number)


def test_every_fault_of_the_machine_has_its_words():
    """All can be named, and each is said in plain words."""
    assert set(FAULT_WORDS) == set(FaultKind)
    assert [fault_named(kind.value).kind for kind in FaultKind] == list(FaultKind)
    assert all(words[0].islower() for words in FAULT_WORDS.values())


def test_a_severity_may_be_given():
    """After a colon; without it the fault is plain to see."""
    assert fault_named("drip:0.25") == Fault(kind=FaultKind.DRIP, severity=0.25)
    assert fault_named("ring-worn").severity == 0.6


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (["gremlin"], "has no fault 'gremlin'"),
        (["drop"], "recharge-too-fast"),
        (["drip:much"], "severity of drip is 'much'; give 0 for nothing to 1"),
        (["drip:1.5"], "give 0 for nothing to 1"),
        (["drip", "drip:0.2"], "drip is named twice"),
    ],
)
def test_what_is_no_fault_is_told_with_what_there_is(texts, words):
    """A wrong name lists all of them; a wrong severity says what is allowed."""
    with pytest.raises(BadInput, match=words):
        faults_named(texts)


def test_what_a_fault_does_to_each_product_is_told_beforehand():
    """A worn ring shows in the thin cordial and not in the thick plum butter."""
    told = foretold([fault_named("ring-worn:0.9")])

    assert len(told) == len(maker.JOBS)
    assert told[0] == "ring-worn, severity 0.9: the doses of Elderflower cordial show it."
    assert told[3].endswith("present, no effect on the doses of Plum butter.")


def test_the_faults_act_on_the_machine_of_the_job(bench, client):
    """Opened with a drip, the machine drips; its strip says what is seen and what it does."""
    thick = maker.JOBS[3].number
    client.get(f"/job/{thick}/match")
    machine = bench.demo.current().machine
    for _ in range(3):
        machine.fill()
    page = client.get(f"/job/{thick}/match").text

    assert "Last cycle: recharge" in client.get("/demo").text
    assert "A drop hangs at the nozzle and falls." in page
    assert "A drop hangs at the nozzle and falls." in bench.demo.seen
    assert bench.demo.told == (
        "drip, severity 0.9: present, no effect on the doses of Plum butter.",
    )


def test_a_fault_is_set_and_taken_away_on_the_page(bench, client):
    """What is picked acts from the next dose on; "nothing" makes the machine sound again."""
    thick = maker.JOBS[3].number
    client.get(f"/job/{thick}/match")
    machine = bench.demo.current().machine
    machine.turn_to(90)
    form = {"switch": "fault", "kind": "recharge-too-fast", "severity": "0.9", "back": "/"}
    token = _token(client.get("/demo").text)
    answer = client.post("/demo", data={**form, **token}, follow_redirects=False)
    short = np.mean([machine.fill() for _ in range(12)][-4:])
    page = client.get("/demo").text
    client.post("/demo", data={**form, **token, "kind": ""})

    assert answer.status_code == 303
    assert short < 0.95 * machine.mean_dose_g
    assert "the doses of Plum butter show it" in page
    assert bench.demo.faults == machine.effects == ()


def test_a_severity_that_is_none_is_refused_on_the_page(bench, client):
    """The page comes again with what is allowed, and the fault stays as it was."""
    token = _token(client.get("/demo").text)
    before = bench.demo.faults
    form = {"switch": "fault", "kind": "drip", "severity": "9", **token}
    answer = client.post("/demo", data=form)

    assert answer.status_code == 422
    assert "give 0 for nothing to 1 for the worst" in answer.text
    assert bench.demo.faults == before


def test_the_effect_of_nothing_is_nothing(bench):
    """Severity 0 is said as what it is."""
    machine = bench.demo.current().machine
    machine.set_faults([Fault(kind=FaultKind.DRIP, severity=0.0)])
    said = effect_words(machine.effects[0], "syrup")
    machine.set_faults([])

    assert said == "drip, severity 0: nothing is wrong."


def _token(page):
    """Return what the form of a page carries, as a browser sends it."""
    return {"token": re.findall(r'name="token" value="([^"]*)"', page)[0]}
