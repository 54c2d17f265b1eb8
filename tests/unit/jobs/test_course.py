"""Practice jobs and the course: each pass or not-yet from what is on record."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from workshop import AB, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.fault.learn import cases_of
from fillwright.jobs.files.tables import table_of
from fillwright.jobs.held.take_back import take_back
from fillwright.jobs.machines.card import machine_card
from fillwright.jobs.money import costs
from fillwright.jobs.money.prices import note_losses
from fillwright.jobs.papers import batch_record, job_card, proof_sheet
from fillwright.jobs.people import practice
from fillwright.jobs.people.course import MOST_CHECKS, TASKS, course_of, practised
from fillwright.jobs.people.course_paper import course_sheet
from fillwright.jobs.people.ways import ways_of
from fillwright.jobs.release.rehearsal import lot_of_today
from fillwright.jobs.run import stage as run
from fillwright.jobs.strip.acts import Evidence, begin, see_seal, tick
from fillwright.jobs.strip.guide import guide_of
from fillwright.jobs.trace.both_ways import codes_on_record
from fillwright.jobs.trim import stage as trim
from fillwright.jobs.trim.history import history
from fillwright.knowledge.procedures_load import shipped_profiles
from fillwright.records.entries import ContainersHeld, LossesNoted, SealSeen
from fillwright.report import pdf

PRESS = Press(person="AB")
NUMBER = "practice-1"
PROFILE = next(iter(shipped_profiles()))
FULL = Evidence(
    reading="0", photo="tablet, 1", air_is_off=True, ports=("pull", "none", "none", "push")
)


def shop():
    """A workshop whose one job is practice."""
    return Workshop(job(NUMBER))


def task(shop, key, person="AB"):
    """A task as it stands for a person."""
    return next(one for one in course_of(practised(shop.desk), person) if one.task.key == key)


class TestOpening:
    """A practice job is like a real one, under a number that is its mark."""

    def test_it_is_like_the_job_that_was_picked(self):
        """Same product on the simulated machine; the next number; not among the jobs."""
        there = Workshop()
        assert practice.open_practice(there.desk, "0417", "simulated", PRESS) == NUMBER
        assert practice.open_practice(there.desk, "0417", "simulated", PRESS) == "practice-2"

        facts = there.desk.book.job(NUMBER).known
        assert (facts.product.name, facts.lot_code) == ("Hand cream", "PRACTICE, SIMULATED")
        assert there.desk.book.numbers() == ("0417",)
        assert [one.number for one in practice.patterns(there.desk)] == ["0417"]

    def test_with_water_the_volume_stays(self):
        """250 g of cream at 1.01 g/mL are 247.5 mL, 247.1 g of water at 0.9982 g/mL."""
        there = Workshop()
        number = practice.open_practice(there.desk, "0417", "water", PRESS)
        facts = there.desk.book.job(number).known

        assert (facts.product.name, facts.nominal) == ("Water, for practice", Decimal("247.1"))
        assert not facts.product.is_flammable
        assert facts.lot_code == "PRACTICE, WATER"

    def test_there_must_be_a_job_to_be_like(self):
        """A number that is none is refused."""
        with pytest.raises(BadInput, match="no job 9999"):
            practice.open_practice(Workshop().desk, "9999", "water", PRESS)


class TestLeftOut:
    """Practice counts nowhere."""

    def test_what_is_learnt_leaves_it_out(self):
        """Neither trims, machine cards nor closed searches know of it."""
        there = shop().to_released()
        other = job("0500")
        assert history(there.desk, other) is None
        with pytest.raises(BadInput, match="no machine"):
            machine_card(there.desk, there.facts.machine.name)

    def test_a_cured_search_of_practice_teaches_nothing(self):
        """It closes as ever, and is not among the cases."""
        there = shop().to_run()
        fault.begin(there.desk, NUMBER, "creeps-up", (), PRESS)
        fault.answer(there.desk, NUMBER, "wheel_lock", "k_lock_loose", "yes", PRESS)
        fault.tried(there.desk, NUMBER, "lock_wheel", "cured", PRESS)

        assert there.state.faults[-1].closed.outcome == "cured"
        assert cases_of(there.desk) == ()

    def test_costs_trace_data_and_the_inspector_leave_it_out(self):
        """A released practice lot is refused a cost, and is on no list of lots or data."""
        there = shop().to_released()
        desk = there.desk
        with pytest.raises(BadInput, match="counts nowhere: it has no costs"):
            costs.look(desk, NUMBER)
        with pytest.raises(BadInput, match="it has no losses"):
            note_losses(desk, LossesNoted(job=NUMBER, hopper_kg=Decimal(1)), PRESS)

        assert codes_on_record(desk) == ()
        assert lot_of_today(desk) is None
        assert list(table_of(desk, "jobs").rows) == []
        assert list(table_of(desk, "weighings").rows) == []

    def test_no_module_asks_for_practice_but_the_course(self):
        """Whatever looks through all jobs has practice left out: one way in, two that know it."""
        sources = Path(practice.__file__).parents[2]
        knowing = {
            path.name
            for path in sources.rglob("*.py")
            if "practice_numbers(" in path.read_text(encoding="utf-8")
        }

        assert knowing == {"book.py", "practice.py", "course.py"}

    def test_every_paper_says_that_it_is_practice(self):
        """Batch record, job card and proof carry the words on each page, not the invented ones."""
        there = shop().to_released()
        desk, state = there.desk, there.state
        for sheet in (batch_record(desk, state), job_card(desk, state), proof_sheet(desk, state)):
            name, is_invented = pdf._name(sheet)
            assert pdf._banner(sheet, name, is_invented=is_invented) == "Practice, not a real lot"
            assert pdf.print_sheet(sheet).startswith(b"%PDF")


class TestTasks:
    """Eight tasks, each judged by the person's own entries."""

    def test_there_are_eight_and_none_is_passed_to_begin_with(self):
        """Nothing tried is neither passed nor failed."""
        looks = course_of(practised(shop().desk), "AB")

        assert len(looks) == len(TASKS) == 8
        assert not any(look.is_passed or look.latest for look in looks)

    def test_trim_prove_and_release_are_passed_by_whoever_did_them(self):
        """AB trimmed, proved and released; CD did nothing and passed nothing."""
        there = shop().to_released()

        for key in ("trim", "prove", "release"):
            assert task(there, key).is_passed, key
            assert task(there, key, "CD").latest is None, key
        assert task(there, "trim").latest.words == "252.0 g for 252 g, in 2 shots"

    def test_a_trim_that_was_given_up_is_not_yet_one(self):
        """Taken as it stands, off the aim: told with what is on record."""
        there = shop().to_trim()
        there.off(20, purpose="shot")
        trim.take_as_is(there.desk, NUMBER, "no time", PRESS)

        look = task(there, "trim")
        assert (look.is_passed, look.latest.job) == (False, NUMBER)

    def test_a_pass_stays_a_pass(self):
        """A worse try later, in another practice job, takes nothing away."""
        there = shop().to_prove()
        again = practice.open_practice(there.desk, NUMBER, "simulated", PRESS)
        there.number = again
        there.to_trim()
        there.off(20, purpose="shot")
        trim.take_as_is(there.desk, again, "no time", PRESS)

        assert task(there, "trim").is_passed
        assert task(there, "trim").latest.job == NUMBER

    def test_a_creeping_run_is_held_by_acting_and_three_good_ones(self):
        """Signal; then nothing yet; a turn; steady: passed at the third on target."""
        there = shop().to_run()
        for deviation in ("0.1", "0.2", "-5", "-5.2", "-4.9"):
            there.off(deviation)
        assert task(there, "hold").latest.words.startswith("a signal")
        advised = Decimal(run.look(there.desk, there.state).act.value)
        run.adjust(there.desk, NUMBER, advised, PRESS, is_locked=True)
        for deviation in ("0.1", "-0.1"):
            there.off(deviation)
        assert not task(there, "hold").is_passed
        there.off("0.2")

        assert task(there, "hold").is_passed

    @pytest.mark.parametrize("is_made", [True, False])
    def test_a_slow_creep_is_held_by_the_turn_that_the_level_orders(self, is_made):
        """No single weight gives a signal: the ordered turn, and three on target, is the pass."""
        there = shop().to_run()
        turn = None
        for _ in range(20):
            act = run.look(there.desk, there.state).act
            if act.what == "adjust":
                turn = act
                break
            there.off("-0.9")
        assert there.state.signals == []
        to = Decimal(turn.value) if is_made else there.state.setting_marks
        run.adjust(there.desk, NUMBER, to, PRESS, is_locked=True)
        first = "acted, not steady yet" if is_made else "an ordered turn was left"
        assert task(there, "hold").latest.words == first
        for deviation in ("0.1", "-0.1", "0.2"):
            there.off(deviation)

        assert task(there, "hold").is_passed is is_made

    def test_the_lock_is_found_with_few_checks(self):
        """One check is few; more than the mark is not yet a pass."""
        few, many = shop().to_run(), shop().to_run()
        fault.begin(many.desk, NUMBER, "creeps-up", (), PRESS)
        for _ in range(MOST_CHECKS):
            fault.answer(many.desk, NUMBER, "stop_look", "k_stop_loose", "no", PRESS)
        fault.begin(few.desk, NUMBER, "creeps-up", (), PRESS)
        for there in (few, many):
            fault.answer(there.desk, NUMBER, "wheel_lock", "k_lock_loose", "yes", PRESS)
            fault.tried(there.desk, NUMBER, "lock_wheel", "cured", PRESS)

        assert task(few, "lock").latest.words == "cured, 1 check"
        assert (task(few, "lock").is_passed, task(many, "lock").is_passed) == (True, False)

    def test_what_is_held_is_settled_to_the_last(self):
        """With some still held it is not yet passed."""
        there = shop().to_run()
        for deviation in ("0.1", "0.2", "-5", "0.3", "-0.1"):
            there.off(deviation)
        there.scrap(21, 25)
        assert task(there, "settle").latest.words == "5 still held"
        there.scrap(26, 30)

        assert task(there, "settle").is_passed
        there.tell(ContainersHeld(first=1, last=3, reason="looked odd"))
        assert task(there, "settle").is_passed

    def test_a_settling_that_was_struck_out_counts_no_more(self):
        """Its containers are held again, and it is not yet a pass."""
        there = shop().to_run()
        for deviation in ("0.1", "0.2", "-5", "0.3", "-0.1"):
            there.off(deviation)
        there.scrap(21, 25)
        take_back(there.desk, NUMBER, there.press)
        there.scrap(26, 30)

        assert task(there, "settle").latest.words == "5 still held"

    def test_a_complaint_is_answered_after_the_release_too(self):
        """It comes when the lot is long gone: the closed lot takes the answer."""
        there = shop().to_released()
        asked = practice.complaint_of(there.state)
        answer = {"first": asked.first, "last": asked.last, "was_weighed": asked.was_weighed}
        practice.answer_complaint(there.desk, NUMBER, PRESS, **answer, then="hold-and-look")

        assert task(there, "complaint").is_passed

    def test_a_rebuild_is_passed_by_the_last_step(self):
        """Every step of the profile; seals seen in practice stay in its own stream."""
        there = shop().to_released()
        begin(there.desk, NUMBER, PROFILE, there.press)
        for _ in range(60):
            guide = guide_of(there.desk, there.state, person="AB")
            if guide.now is None:
                break
            step = guide.open_steps[0]
            if step.id == "inspect_seals":
                for row in guide.seals:
                    seen = SealSeen(
                        job="", machine="", product="", material="", size="",
                        position=row.place.position, state="good", action="kept",
                    )  # fmt: skip
                    see_seal(there.desk, NUMBER, seen, there.press)
            assert not task(there, "rebuild").is_passed
            tick(there.desk, NUMBER, step.id, FULL, there.press)

        assert task(there, "rebuild").is_passed
        assert there.desk.book.site().seals == []

    def test_a_complaint_is_answered_from_the_record(self):
        """Between the nearest good ones, not weighed, hold first: right; else told why not."""
        there = shop().to_run().fill_up()
        asked = practice.complaint_of(there.state)
        right = {
            "first": asked.first,
            "last": asked.last,
            "was_weighed": asked.was_weighed,
            "then": "hold-and-look",
        }
        weighed = {w.fact.container for w in there.state.weighings if w.fact.container}
        assert asked.container not in weighed
        assert asked.first - 1 in weighed
        assert asked.last + 1 in weighed

        wrong = practice.answer_complaint(
            there.desk, NUMBER, PRESS, **{**right, "then": "turn-the-wheel"}
        )
        assert not wrong.is_right
        assert (
            f"{asked.first} to {asked.last} are suspect" in task(there, "complaint").latest.words
        )
        assert practice.answer_complaint(there.desk, NUMBER, PRESS, **right).is_right
        assert task(there, "complaint").is_passed

    @pytest.mark.parametrize(
        ("changes", "told"),
        [
            ({"then": "shrug"}, "pick one of the three"),
            ({"first": 9, "last": 2}, "which are suspect"),
            ({"last": 9999}, "which are suspect"),
        ],
    )
    def test_an_answer_that_is_none_is_refused(self, changes, told):
        """Nothing is kept of it."""
        there = shop().to_run().fill_up()
        answer = {"first": 1, "last": 2, "was_weighed": False, "then": "hold-and-look"}

        with pytest.raises(BadInput, match=told):
            practice.answer_complaint(there.desk, NUMBER, PRESS, **{**answer, **changes})
        assert task(there, "complaint").latest is None

    def test_no_real_job_has_an_invented_complaint(self):
        """Only practice is complained about for practice."""
        there = Workshop().to_run().fill_up()
        answer = {"first": 1, "last": 2, "was_weighed": False, "then": "hold-and-look"}

        with pytest.raises(BadInput, match="no run to complain about"):
            practice.answer_complaint(there.desk, there.number, PRESS, **answer)


class TestWays:
    """Where each task is done next."""

    @staticmethod
    def ways(there):
        """The way to each task."""
        found = ways_of(there.desk, practised(there.desk), TASKS)
        return {key: (way.job, way.page) for key, way in found.items()}

    def test_before_trim_every_task_leads_on_in_the_job(self):
        """The next stage of the job; the search for a fault at once."""
        ways = self.ways(shop().to_trim())

        assert ways["trim"] == ways["prove"] == ways["rebuild"] == (NUMBER, "trim")
        assert ways["lock"] == (NUMBER, "fault")

    def test_in_the_run_what_is_behind_wants_a_new_job(self):
        """Trim and proof are done; what is held is settled on its own page."""
        there = shop().to_run()
        for deviation in ("0.1", "0.2", "-5", "0.3", "-0.1"):
            there.off(deviation)
        ways = self.ways(there)

        assert "trim" not in ways
        assert "prove" not in ways
        assert ways["hold"] == (NUMBER, "run")
        assert ways["settle"] == (NUMBER, "held")
        assert ways["release"] == (NUMBER, "run")
        assert ways["complaint"] == (NUMBER, "complaint")

    def test_after_the_release_the_strip_is_left(self):
        """And the complaint; nothing else of this job."""
        assert self.ways(shop().to_released()) == {
            "rebuild": (NUMBER, "strip"),
            "complaint": (NUMBER, "complaint"),
        }

    def test_without_a_job_there_is_no_way(self):
        """The page then starts one."""
        assert self.ways(Workshop()) == {}


def test_the_record_of_a_person_prints_each_task_as_it_stands():
    """Passed with its job, not yet without; nobody who is not on the list has one."""
    there = shop().to_prove()
    list_person(there.desk, AB, PRESS)
    sheet = course_sheet(there.desk, "AB")

    assert sheet.person == "AB A. Bench"
    assert [line.is_passed for line in sheet.lines] == [True, *[False] * 7]
    assert (sheet.lines[0].job, sheet.lines[1].at) == (NUMBER, None)
    assert pdf.print_sheet(sheet).startswith(b"%PDF")
    with pytest.raises(BadInput, match="XY is not on the list"):
        course_sheet(there.desk, "XY")
