"""A case from elsewhere is read by the fault data of here, and the words that came with it."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files

import pytest
from workshop import Workshop, job

from fillwright.jobs.fault import stage as fault
from fillwright.jobs.fault.case import case_file, look_into
from fillwright.jobs.field import case as fieldcase
from fillwright.jobs.field import case_sent as casesent
from fillwright.jobs.field import register as field
from fillwright.records.case_file import case_from_bytes, case_to_bytes

SHIPPED = (files("fillwright.knowledge") / "data" / "service" / "faults.toml").read_text("utf-8")


@pytest.fixture
def bench(tmp_path):
    """Makes a bench with a fault file of its own, in which words were replaced."""

    def made(number, *words):
        shop = Workshop(job(number)).to_run()
        text = SHIPPED
        for old, new in words:
            assert old in text
            text = text.replace(old, new, 1)
        path = tmp_path / f"{number}.toml"
        path.write_text(text, encoding="utf-8")
        shop.desk = replace(shop.desk, faults_at=path)
        assert not shop.desk.faults.problem
        return shop

    return made


def received(owner, reader, sign="nothing-moves", **changes):
    """Send the case of one bench to the other."""
    fault.begin(owner.desk, owner.number, sign, (), owner.press)
    sent = json.loads(case_to_bytes(case_file(owner.desk, owner.number))) | changes
    data = json.dumps(sent).encode()
    number = casesent.receive(reader.desk, data, "case.json", 0, reader.press)
    return number, case_from_bytes(data)


def test_what_the_owner_calls_it_comes_with_the_case(bench):
    """In the look, on the sheet and at the command line; the program's own words need not come."""
    owner = bench("0417", ('words = "Nothing moves"', 'words = "Dead as a post"'))
    number, sent = received(owner, reader := Workshop(job("0100")))
    case = field.case_of(reader.desk, number)

    assert sent.named() == {"nothing-moves": "Dead as a post"}
    assert fieldcase.look(reader.desk, case).sign == "Dead as a post"
    assert casesent.sheet(reader.desk, number).sign == "Dead as a post"
    assert look_into(sent).sign == "Dead as a post"
    plain = Workshop(job("0200")).to_run()
    assert received(plain, reader)[1].named() == {}


def test_a_check_that_only_the_owner_has_is_told_and_weighs_nothing(bench):
    """Its words came with it; what it found is unknown to the net of here."""
    reader = bench("0100")
    answers = [
        {
            "at": "2031-03-05T08:00:00Z",
            "check": "our_own",
            "present": ["k_our_own"],
            "absent": [],
            "was_possible": True,
        }
    ]
    names = [
        {"name": "our_own", "words": "Check 907: Lid of our own"},
        {"name": "k_our_own", "words": "The lid hums"},
    ]
    owner = Workshop(job("0417")).to_run()
    number, _ = received(owner, reader, answers=answers, names=names)
    case = field.case_of(reader.desk, number)

    told = fieldcase.done(reader.desk, case)[0]
    assert (told.name, told.words) == ("Check 907: Lid of our own", "The lid hums")
    bare = fieldcase.look(reader.desk, field.case_of(reader.desk, received(owner, reader)[0]))
    assert fieldcase.look(reader.desk, case).causes == bare.causes
    assert casesent.sheet(reader.desk, number).done[0].name == "Check 907: Lid of our own"


def test_the_answer_is_written_by_the_data_of_whoever_writes_it(bench):
    """A check is asked for in the words of here, by the number that both have."""
    reader = bench("0100", ('ask = "Is the wheel lock tight?"', 'ask = "Lock tight, truly?"'))
    owner = Workshop(job("0417")).to_run()
    number, _ = received(owner, reader, sign="creeps-up")
    casesent.reply(reader.desk, number, "/14", "", reader.press)
    answer = casesent.answer_file(reader.desk, number)

    assert "Do check 14: Lock tight, truly?" in casesent.answer_text(
        answer, reader.desk.faults.book
    )
    case = field.case_of(reader.desk, number)
    assert fieldcase.look(reader.desk, case, asked="/14").step.order == "Lock tight, truly?"
