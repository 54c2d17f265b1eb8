"""The register of machines in the field, searches without a job, and cases that owners send."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from workshop import MACHINE, Workshop

from fillwright.errors import BadInput, Conflict
from fillwright.jobs.catalogue import keep_thing
from fillwright.jobs.desk import Press
from fillwright.jobs.fault import case as faultcase
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.fault.learn import cases_of
from fillwright.jobs.field import case as fieldcase
from fillwright.jobs.field import case_sent as casesent
from fillwright.jobs.field import register as field
from fillwright.records.answer_file import answer_from_bytes, answer_to_bytes
from fillwright.records.case_file import case_from_bytes, case_to_bytes
from fillwright.records.entries import FieldMachineKept, FieldVisited
from fillwright.records.kinds_field import FieldSeal

PRESS = Press(person="AB")
LINE = FieldMachineKept(machine=0, serial="E-2207", owner="the mill people")


@pytest.fixture
def shop():
    """A workshop with its machine kept."""
    shop = Workshop()
    keep_thing(shop.desk, MACHINE, PRESS)
    return shop


def begun(**changes):
    """A search on the machine of the bench."""
    given = {"machine": 0, "bench_machine": MACHINE.name, "sign": "creeps-up"}
    return fieldcase.Begun(**{**given, **changes})


def test_a_machine_is_kept_under_its_serial_number(shop):
    """The next number is given, a change keeps it, and a serial number stands once."""
    assert field.keep_machine(shop.desk, LINE, PRESS) == 1
    assert field.keep_machine(shop.desk, replace(LINE, serial="W-1"), PRESS) == 2
    changed = replace(LINE, machine=1, configuration="450 mL", profile=MACHINE.name)
    assert field.keep_machine(shop.desk, changed, PRESS) == 1

    machines = field.register(shop.desk).machines
    assert [one.line.serial for one in machines.values()] == ["E-2207", "W-1"]
    assert machines[1].line.configuration == "450 mL"


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (replace(LINE, serial=" "), "Type the serial number"),
        (replace(LINE, serial="e-2207"), "is machine 1 of the register already"),
        (replace(LINE, serial="X", profile="no such"), "is described"),
        (replace(LINE, machine=9), "no machine 9"),
    ],
)
def test_a_line_that_cannot_be_is_refused(shop, line, told):
    """No number, a number that is taken, a description that is not kept, a machine that is not."""
    field.keep_machine(shop.desk, LINE, PRESS)

    with pytest.raises(BadInput, match=told):
        field.keep_machine(shop.desk, line, PRESS)


def test_a_visit_replaces_the_seal_at_its_place(shop):
    """What is fitted follows the visits; what stood elsewhere stays."""
    seals = field.seals_from("piston: PTFE ring, 2031-01-02\n\nvalve: FKM 26 x 3, in pairs")
    assert seals == (
        FieldSeal(place="piston", what="PTFE ring", fitted_on="2031-01-02"),
        FieldSeal(place="valve", what="FKM 26 x 3, in pairs"),
    )
    field.keep_machine(shop.desk, replace(LINE, seals=seals), PRESS)
    put_in = (FieldSeal(place="piston", what="UHMWPE ring"),)
    fact = FieldVisited(machine=1, visited_on="2031-03-04", done="ring worn", seals=put_in)
    field.visit(shop.desk, fact, PRESS)

    fitted = {one.place: one.what for one in field.register(shop.desk).machines[1].seals}
    assert fitted == {"piston": "UHMWPE ring", "valve": "FKM 26 x 3, in pairs"}
    assert field.seals_from(field.seals_in_lines(seals)) == seals


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"visited_on": ""}, "Type the day"),
        ({"visited_on": "5.3.31"}, "is no day"),
        ({"visited_on": "2031-03-06"}, "has not come yet"),
        ({"next_on": "2031-03-01"}, "must come after"),
        ({"done": " "}, "Say what was found"),
        ({"machine": 4}, "no machine 4"),
    ],
)
def test_a_visit_that_cannot_be_is_refused(shop, changes, told):
    """A day that is none or lies wrong, nothing told, no such machine: nothing is kept."""
    field.keep_machine(shop.desk, LINE, PRESS)
    fact = FieldVisited(machine=1, visited_on="2031-03-04", done="looked at")

    with pytest.raises(BadInput, match=told):
        field.visit(shop.desk, replace(fact, **changes), PRESS)
    assert field.register(shop.desk).machines[1].visits == []


def told_visits(shop, machine=1):
    """Every visit of a machine, struck out or not."""
    return field.register(shop.desk).machines[machine].told


def test_a_wrong_visit_is_struck_out_and_counts_nowhere(shop):
    """It stays on record with who and why; seals and the next visit are as if it had not been."""
    seals = field.seals_from("piston: PTFE ring\nvalve: FKM 224")
    field.keep_machine(shop.desk, replace(LINE, seals=seals), PRESS)
    before = FieldVisited(
        machine=1, visited_on="2031-02-01", done="looked at", next_on="2031-08-01",
        seals=field.seals_from("Valve: FKM 224"),
    )  # fmt: skip
    wrong = FieldVisited(
        machine=1, visited_on="2031-03-04", done="of another mill", next_on="2031-03-05",
        seals=field.seals_from("valve: EPDM 224\nhopper: EPDM 2 in"),
    )  # fmt: skip
    for fact in (before, wrong):
        field.visit(shop.desk, fact, PRESS)
    field.keep_machine(shop.desk, replace(LINE, machine=1, seals=seals, owner="B"), PRESS)

    field.strike_visit(shop.desk, 1, told_visits(shop)[1].id, " wrong machine ", PRESS)

    machine = field.register(shop.desk).machines[1]
    assert [(one.fact, one.struck, one.struck_by) for one in machine.told] == [
        (before, "", ""),
        (wrong, "wrong machine", "AB"),
    ]
    assert [one.fact for one in machine.visits] == [before]
    assert (machine.next_on, machine.line.owner) == ("2031-08-01", "B")
    assert field.seals_in_lines(machine.seals) == "piston: PTFE ring\nValve: FKM 224, 2031-02-01"


def test_a_struck_visit_makes_nothing_overdue(shop):
    """The only visit struck out leaves no day, and the list says so."""
    field.keep_machine(shop.desk, LINE, PRESS)
    late = FieldVisited(machine=1, visited_on="2030-01-01", done="x", next_on="2030-07-01")
    field.visit(shop.desk, late, PRESS)
    (line,) = field.lines(shop.desk)
    assert line.is_overdue

    field.strike_visit(shop.desk, 1, told_visits(shop)[0].id, "wrong day", PRESS)

    (line,) = field.lines(shop.desk)
    assert (line.is_overdue, line.machine.next_on, line.machine.visits) == (False, "", [])


def test_what_cannot_be_struck_out_is_refused(shop):
    """No such visit, one of another machine, no reason, struck already: nothing is kept."""
    for serial in ("A", "B"):
        field.keep_machine(shop.desk, FieldMachineKept(machine=0, serial=serial), PRESS)
    field.visit(shop.desk, FieldVisited(machine=1, visited_on="2031-03-04", done="x"), PRESS)
    (one,) = told_visits(shop)
    for machine, visit_id, reason, told in (
        (1, "no-such", "wrong", "has no such visit"),
        (2, one.id, "wrong", "has no such visit"),
        (9, one.id, "wrong", "no machine 9"),
        (1, one.id, "  ", "Say why the visit is struck out"),
    ):
        with pytest.raises(BadInput, match=told):
            field.strike_visit(shop.desk, machine, visit_id, reason, PRESS)
    assert told_visits(shop)[0].struck == ""
    field.strike_visit(shop.desk, 1, one.id, "told twice", PRESS)

    with pytest.raises(BadInput, match="2031-03-04 is struck out already"):
        field.strike_visit(shop.desk, 1, one.id, "again", PRESS)


def test_what_is_open_or_overdue_stands_first(shop):
    """A machine with an open case leads, then one whose visit is overdue, retired ones last."""
    for serial, retired in (("A", True), ("B", False), ("C", False), ("D", False)):
        line = FieldMachineKept(machine=0, serial=serial, is_retired=retired)
        field.keep_machine(shop.desk, line, PRESS)
    late = FieldVisited(machine=3, visited_on="2030-01-01", done="x", next_on="2030-07-01")
    field.visit(shop.desk, late, PRESS)
    fieldcase.begin(shop.desk, begun(machine=4, bench_machine=""), PRESS)

    assert [line.machine.line.serial for line in field.lines(shop.desk)] == ["D", "C", "B", "A"]


def test_a_search_without_a_job_goes_the_way_of_a_jobs_own(shop):
    """The same next step as in a job; a cure closes it, counts once, and touches no job."""
    desk = shop.desk
    before = shop.journal.revision(f"job/{shop.number}")
    number = fieldcase.begin(desk, begun(), PRESS)
    look = fieldcase.look(desk, field.case_of(desk, number))
    assert (look.step.number, look.step.order) == (14, "Is the wheel lock tight?")

    fieldcase.answer(desk, number, "wheel_lock", "k_lock_loose", "yes", PRESS)
    repair = fieldcase.look(desk, field.case_of(desk, number)).step.key
    fieldcase.tried(desk, number, repair, "cured", PRESS)

    case = field.case_of(desk, number)
    assert (case.is_open, case.search.closed.cause) == (False, "lock_open")
    assert [kept.job for kept in cases_of(desk)] == ["case 1"]
    assert shop.journal.revision(f"job/{shop.number}") == before
    with pytest.raises(BadInput, match="Case 1 is closed"):
        fieldcase.answer(desk, number, "wheel_lock", "k_lock_loose", "no", PRESS)


def test_a_search_needs_its_machine_and_its_sign(shop):
    """Neither a machine that is not kept nor a sign that is none begins one."""
    with pytest.raises(BadInput, match="Pick the machine"):
        fieldcase.begin(shop.desk, begun(bench_machine="elsewhere"), PRESS)
    with pytest.raises(BadInput, match="pick one of the signs"):
        fieldcase.begin(shop.desk, begun(sign="smells"), PRESS)
    assert field.cases_of_field(shop.desk) == ()


def test_somebody_elses_answer_is_not_passed_over(shop):
    """A press that had seen an earlier state of the case is refused."""
    number = fieldcase.begin(shop.desk, begun(), PRESS)
    fieldcase.answer(shop.desk, number, "wheel_lock", "k_lock_loose", "no", PRESS)

    late = Press(person="CD", seen=2)

    with pytest.raises(Conflict, match="Somebody else went on"):
        fieldcase.answer(shop.desk, number, "wheel_lock", "k_lock_loose", "yes", late)


def test_another_sign_leaves_the_search_so_far(shop):
    """The new sign begins with nothing answered."""
    number = fieldcase.begin(shop.desk, begun(), PRESS)
    fieldcase.answer(shop.desk, number, "wheel_lock", "k_lock_loose", "no", PRESS)
    fieldcase.sign_again(shop.desk, number, "drips", (), PRESS)

    search = field.case_of(shop.desk, number).search
    assert (search.opened.sign, search.answers, search.closed) == ("drips", [], None)


def test_the_owner_is_in_no_file_and_on_no_sheet(shop):
    """Serial number, fitting and seals go out; who has the machine stays here."""
    line = replace(LINE, configuration="450 mL", seals=field.seals_from("piston: FKM"))
    field.keep_machine(shop.desk, line, PRESS)
    number = fieldcase.begin(shop.desk, begun(machine=1, bench_machine=""), PRESS)
    sent = casesent.as_sent(shop.desk, field.case_of(shop.desk, number))
    told = case_to_bytes(sent).decode() + repr(casesent.sheet(shop.desk, number))

    assert "E-2207" in told
    assert "seal: piston" in told
    assert "mill" not in told


@pytest.fixture
def sent(shop):
    """A case that the owner's own bench wrote, with one check answered."""
    fault.begin(shop.desk, shop.number, "creeps-up", (), PRESS)
    fault.answer(shop.desk, shop.number, "wheel_lock", "k_lock_loose", "no", PRESS)
    return case_to_bytes(faultcase.case_file(shop.desk, shop.number))


def test_a_case_is_taken_in_once_and_as_it_came(shop, sent):
    """The same file again is the same case; a path in its name is never more than a word."""
    number = casesent.receive(shop.desk, sent, "..\\..\\C:\\x/../a case.json", 0, PRESS)
    again = casesent.receive(shop.desk, sent, "other.json", 0, PRESS)

    case = field.case_of(shop.desk, number)
    assert (number, again) == (1, 1)
    assert case.received.content.encode() == sent
    assert case.received.file_name == "a case.json"
    assert case.search.absent == {"k_lock_loose"}
    other = json.loads(sent) | {"case": 2}
    assert casesent.receive(shop.desk, json.dumps(other).encode(), "b", 0, PRESS) == 2


def test_what_is_no_case_is_not_kept(shop):
    """A file that is refused leaves nothing behind."""
    with pytest.raises(BadInput, match="no case file"):
        casesent.receive(shop.desk, b"{}", "a", 0, PRESS)
    assert field.cases_of_field(shop.desk) == ()


def test_what_is_told_on_the_phone_stands_behind_what_came(shop, sent):
    """Answers from here follow the owner's, and go out with the case."""
    number = casesent.receive(shop.desk, sent, "a", 0, PRESS)
    fieldcase.answer(shop.desk, number, "stop_look", "k_stop_loose", "yes", PRESS)

    case = field.case_of(shop.desk, number)
    onward = case_from_bytes(case_to_bytes(casesent.as_sent(shop.desk, case)))
    assert [one.check for one in onward.answers] == ["wheel_lock", "stop_look"]
    assert len(fieldcase.done(shop.desk, case)) == 2


def test_the_answer_goes_back_as_file_and_as_text(shop, sent):
    """It names the search that it is for, the check by key and number, and the caution."""
    number = casesent.receive(shop.desk, sent, "a", 0, PRESS)
    with pytest.raises(BadInput, match="no answer yet"):
        casesent.answer_file(shop.desk, number)
    casesent.reply(shop.desk, number, "/21", " Slow  it\ndown. ", PRESS)

    answer = answer_from_bytes(answer_to_bytes(casesent.answer_file(shop.desk, number)))
    assert (answer.job, answer.case, answer.answered_by) == (shop.number, 1, "AB")
    assert answer.words == "Slow it down."
    text = casesent.answer_text(answer)
    assert "Do check 21:" in text
    assert "Air off and vented" in text


@pytest.mark.parametrize(
    ("asked", "words", "told"),
    [("", " ", "Say what the owner shall do"), ("999", "", "no check 999")],
)
def test_an_answer_says_something_that_is_known(shop, sent, asked, words, told):
    """Neither nothing nor a check that is none."""
    number = casesent.receive(shop.desk, sent, "a", 0, PRESS)

    with pytest.raises(BadInput, match=told):
        casesent.reply(shop.desk, number, asked, words, PRESS)


def test_a_received_case_is_closed_once(shop, sent):
    """Cured, a visit or left; after that nothing more is answered."""
    number = casesent.receive(shop.desk, sent, "a", 0, PRESS)
    with pytest.raises(BadInput, match="ends cured, with a visit, or left"):
        casesent.end(shop.desk, number, "forgotten", "", PRESS)
    casesent.end(shop.desk, number, "visit", "on Tuesday", PRESS)

    assert not field.case_of(shop.desk, number).is_open
    with pytest.raises(BadInput, match="is closed"):
        casesent.reply(shop.desk, number, "14", "", PRESS)


def test_a_line_that_is_changed_after_a_visit_keeps_what_is_fitted(shop):
    """The line is typed from what is fitted now; its seals can be put right there too."""
    seals = field.seals_from("Piston: PTFE ring\nvalve: EPDM 224")
    field.keep_machine(shop.desk, replace(LINE, seals=seals), PRESS)
    put_in = field.seals_from("valve: FKM 224")
    for on, what in (("2031-03-04", put_in), ("2031-02-01", field.seals_from("Valve: NBR 224"))):
        fact = FieldVisited(
            machine=1, visited_on=on, done="a new ring", seals=what, next_on=f"2032{on[4:]}"
        )
        field.visit(shop.desk, fact, PRESS)
    machine = field.register(shop.desk).machines[1]
    now = "Piston: PTFE ring\nvalve: FKM 224, 2031-03-04"
    assert field.seals_in_lines(machine.seals) == now
    assert machine.next_on == "2032-03-04"

    # Another owner alone, from a page that was open before the visit: nothing else changes.
    field.keep_machine(shop.desk, replace(LINE, machine=1, seals=seals, owner="B"), PRESS)
    assert field.seals_in_lines(field.register(shop.desk).machines[1].seals) == now
    right = field.seals_from(now.replace("224", "226"))
    field.keep_machine(shop.desk, replace(LINE, machine=1, seals=right), PRESS)
    assert field.register(shop.desk).machines[1].seals == right
