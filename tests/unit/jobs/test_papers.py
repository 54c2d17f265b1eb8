"""Papers and charts of a job: every weight, every hold, every strike-out is on them."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import Workshop, job, site

from fillwright.errors import BadInput
from fillwright.jobs import charts, papers
from fillwright.jobs.act import CAUTIONS
from fillwright.jobs.charts import decimals_of
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.match import stage as match
from fillwright.jobs.run import changes
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import strike_out
from fillwright.jobs.trim import stage as trim
from fillwright.records.entries import WeighingTaken


@pytest.fixture
def busy():
    """A run with a hold, a turn, a refill, a spoilt one and a strike-out."""
    shop = Workshop(settings=site()).to_run()
    for deviation in ("0.1", "0.2", "-5", "-5.2", "-4.9"):
        shop.off(deviation)
    act = run.look(shop.desk, shop.state).act
    run.adjust(shop.desk, shop.number, Decimal(act.value), shop.press, is_locked=True)
    shop.off("0.1")
    run.pause(shop.desk, shop.number, "refill", shop.press)
    shop.weigh(100, set_aside="spilled")
    shop.off("0.5", entry_id="w-1")
    strike_out(shop.desk, shop.number, "w-1", "typed wrong", shop.press)
    return shop


class TestBatchRecord:
    """The whole record."""

    def test_every_weight_is_on_it(self, busy):
        """In order, with what became of it."""
        sheet = papers.batch_record(busy.desk, busy.state)

        assert [line.fact for line in sheet.weighings] == [w.fact for w in busy.state.weighings]
        assert [line.struck for line in sheet.weighings if line.struck] == ["typed wrong"]
        assert sheet.entries == len(busy.entries())
        assert sheet.last_hash == busy.entries()[-1].hash

    def test_every_turn_pause_and_strike_out_is_on_it(self, busy):
        """What was done, with who did it."""
        sheet = papers.batch_record(busy.desk, busy.state)

        assert [type(t.fact).__name__ for t in sheet.turns] == ["SettingMoved", "AdjustmentMade"]
        assert [p.reason for p in sheet.pauses] == ["refill"]
        [struck] = sheet.strikes
        assert struck.what.startswith("252.5 g (dose, number ")
        assert (struck.reason, struck.person) == ("typed wrong", "AB")

    def test_every_hold_says_what_became_of_it(self, busy):
        """Held ones with their outcomes; those still open have none."""
        span = busy.state.open_spans[0]
        busy.scrap(span.first, span.first)
        held = papers.batch_record(busy.desk, busy.state).held

        assert [(o.numbers, o.outcome) for o in held[0].outcomes] == [("21", "scrapped")]
        assert held[-1].outcomes == ()

    def test_a_released_job_has_all_its_parts(self):
        """Lot, sample, names, limits and the program."""
        shop = Workshop(settings=site()).to_released()
        sheet = papers.batch_record(shop.desk, shop.state)

        assert sheet.released.outcome == "released"
        assert sheet.maker == "Nine Elder Works (an invented maker)"
        assert len(sheet.sample_lines) == 30
        assert [s.fact.role for s in sheet.signatures] == ["filled"]
        assert [(x.name, str(x.limit_g)) for x in sheet.limits if "T" in x.name] == [
            ("Short, below T1", "241.0"),
            ("Far short, below T2", "232.0"),
        ]
        assert sheet.lot_chart is not None
        assert sheet.notes == (
            "Air out after 12 weighed shots: No sign of air in the last 9 doses.",
        )

    def test_what_was_not_done_is_a_note(self):
        """A run without proof, an early end, a trim taken as it was: the record says so."""
        shop = Workshop().to_trim()
        shop.off("-1", purpose="shot")
        trim.take_as_is(shop.desk, shop.number, "near enough", shop.press)
        run.start(shop.desk, shop.number, shop.press, without_proof="a sample batch")
        for deviation in ("0.1", "0.2"):
            shop.off(deviation)
        run.finish(shop.desk, shop.number, 2, shop.press, reason="out of product")

        notes = papers.batch_record(shop.desk, shop.state).notes

        assert notes == (
            "Air out after 12 weighed shots: No sign of air in the last 9 doses.",
            "The run started without a proof: a sample batch.",
            "The run ended at 2: out of product.",
            "Trim taken as it was: near enough.",
        )

    @pytest.mark.parametrize(
        ("changes", "formula"),
        [
            ({}, ""),
            (
                {"unit": "mL", "product": {"is_apparent": True, "product_c": Decimal(20)}},
                "content in mL = net in g / 1.01 (density weighed in air, at 20 °C)",
            ),
            (
                {"unit": "mL"},
                "content in mL = net in g x (1 - 0.0012/8.0) / (1.01 - 0.0012)",
            ),
        ],
    )
    def test_the_formula_has_its_numbers(self, changes, formula):
        """Anybody can work a content out by hand."""
        shop = Workshop(job(aim_g=Decimal(256), **changes))

        told = papers.batch_record(shop.desk, shop.state).content_formula
        assert told.startswith(formula)
        assert bool(told) is bool(formula)


class TestProofSheet:
    """The proof by itself."""

    def test_it_needs_a_finished_run_of_shots(self):
        """Without a verdict there is no sheet."""
        shop = Workshop().to_shots()

        with pytest.raises(BadInput, match=r"no finished proving run"):
            papers.proof_sheet(shop.desk, shop.state)

    def test_every_shot_is_on_it(self):
        """Shown, net, and why one was set aside."""
        shop = Workshop().to_shots()
        shop.weigh(100, set_aside="missed the jar")
        for deviation in ("0.3", "-0.2", "0.1", "-0.5", "0.4", "0", "-0.3", "0.6", "-0.1", "-0.6"):
            shop.off(deviation)
        shop.off("0.2")
        sheet = papers.proof_sheet(shop.desk, shop.state)

        assert len(sheet.lines) == 12
        assert [line.set_aside for line in sheet.lines if line.set_aside] == ["missed the jar"]
        assert (sheet.claim_pct, sheet.content_pct, sheet.confidence_pct) == (1, 99, 95)


def test_the_job_card_says_the_next_order():
    """One page beside the machine: order, setting, band, limits, cautions."""
    shop = Workshop(job(product={"product_c": Decimal(58)})).to_run()
    card = papers.job_card(shop.desk, shop.state)

    assert card.next_order == "Weigh jar 12."
    assert (card.low_g, card.high_g) == (Decimal("249.5"), Decimal("254.5"))
    assert card.setting_marks == shop.state.setting_marks
    assert card.cautions == ("58 °C. Gloves and sleeve. Lid on.",)
    assert [c.numbers for c in card.checks] == [(1, 2, 3), (14, 15), (21, 39)]


class TestCharts:
    """What the charts are filled with."""

    def test_the_dose_chart_has_every_state(self, busy):
        """Weighed ones with their states, held spans, posts, limits."""
        chart = charts.dose_chart(busy.desk, busy.state)
        states = {dose.container: dose.state for dose in chart.doses}

        assert (states[20], states[30]) == ("on", "low")
        assert [(p.kind, p.after_container) for p in chart.posts] == [("turn", 32), ("refill", 33)]
        assert [(h.first, h.last) for h in chart.held] == [(21, 32), (34, 34)]
        assert [(m.name, m.limit_g) for m in chart.limits] == [
            ("T1", Decimal("241.0")),
            ("T2", Decimal("232.0")),
        ]
        assert 35 not in states

    def test_the_proof_chart_shows_no_width_before_the_end(self):
        """Looking early spoils the claim, on a chart too."""
        early, late = Workshop().to_shots(), Workshop().to_proved()
        early.off("0.1")
        open_, done = (charts.proof_chart(s.state) for s in (early, late))

        assert (open_.within_low_g, open_.planned, len(open_.shots)) == (None, 11, 1)
        assert done.within_low_g < 252 < done.within_high_g

    def test_a_later_drum_does_not_move_the_claim_under_the_proving_shots(self):
        """They were shot at 252 g; the denser drum asks for more of what comes after it."""
        shop = Workshop(job(nominal=Decimal(249), unit="mL")).to_run()
        before = charts.proof_chart(shop.state)
        changes.take_drum(
            shop.desk, shop.number, "D-2", shop.press,
            density_g_per_ml=Decimal("1.03"),
        )  # fmt: skip

        assert shop.state.known.aim_g > 252
        assert charts.proof_chart(shop.state) == before

    def test_the_lot_chart_is_in_the_label_s_unit(self):
        """Contents against label, T1 and T2; nothing while nothing is weighed."""
        shop = Workshop()
        assert charts.lot_chart(shop.desk, shop.state) is None
        shop.to_judged()
        chart = charts.lot_chart(shop.desk, shop.state)

        assert (chart.nominal, chart.t1_label_unit, chart.t2_label_unit) == (250, 241, 232)
        assert len(chart.values_label_unit) == 30
        assert chart.mean == shop.state.lot.mean

    def test_the_volume_scale_shows_where_to_turn(self):
        """Now and set while a turn is due; only now while a weight is."""
        shop = Workshop().to_trim()
        still = charts.volume_scale(shop.state, trim.look(shop.desk, shop.state))
        shop.off("-8", purpose="shot")
        due = charts.volume_scale(shop.state, trim.look(shop.desk, shop.state))

        assert (still.set_marks, still.now_marks) == (None, shop.state.setting_marks)
        assert due.set_marks > due.now_marks
        assert (due.step_marks, due.last_mark) == (Decimal("0.1"), 90)

    def test_every_cylinder_has_its_lane(self):
        """All that are owned, the fitted one marked."""
        shop = Workshop()
        lanes = charts.cylinder_lanes(match.look(shop.desk, shop.state)).lanes

        assert [(x.capacity_ml, x.is_taken) for x in lanes] == [(180, False), (450, True)]

    @pytest.mark.parametrize(
        ("step", "digits"), [("0.1", 1), ("0.005", 3), ("1", 0), ("2", 0), ("0.10", 1), ("10", 0)]
    )
    def test_digits_follow_the_scale(self, step, digits):
        """As many as its step has."""
        assert decimals_of(Decimal(step)) == digits


class TestFault:
    """What is seen, and what was found."""

    def test_its_cautions_stand_always(self):
        """It may start by itself, and fingers stay out; hot and flammable where true."""
        plain = fault.cautions(Workshop().state)
        hot = fault.cautions(Workshop(job(product={"product_c": Decimal(58)})).state)

        assert [c.words for c in plain] == [CAUTIONS["starts"].words, CAUTIONS["ports"].words]
        assert "58 °C" in hot[-1].words

    def test_a_fault_that_was_found_goes_on_record(self):
        """What was seen and done; in a run the next container is weighed."""
        shop = Workshop().to_run()
        shop.off("0.1")
        fault.note(shop.desk, shop.number, "creeps-up", " lock was loose, tightened ", shop.press)

        assert shop.entries()[-1].payload.note == ("Dose creeps up: lock was loose, tightened")
        assert run.look(shop.desk, shop.state).next_container == 13

    @pytest.mark.parametrize(
        ("sign", "found", "words"),
        [("smells", "x", r"pick one of the signs"), ("creeps-up", " ", r"Say what was found")],
    )
    def test_what_is_refused(self, sign, found, words):
        """A sign that is none, a finding that is missing."""
        shop = Workshop().to_run()

        with pytest.raises(BadInput, match=words):
            fault.note(shop.desk, shop.number, sign, found, shop.press)


class TestLongRun:
    """A run of many hundred containers."""

    @pytest.fixture
    def long(self):
        """Seven hundred containers, each weighed, one of them far below, early on."""
        shop = Workshop(job(lot_size=900)).to_run()
        first = shop.state.filled_to + 1
        like = WeighingTaken(
            purpose="dose",
            value="252.0",
            unit="g",
            basis="net",
            tare_g=Decimal(0),
            net_g=Decimal("252.0"),
            state="on",
        )
        low = {"net_g": Decimal("249.6"), "value": "249.6"}
        shop.tell(
            *(
                replace(like, container=n, filled_to=n, **(low if n == 300 else {}))
                for n in range(first, 901)
            )
        )
        return shop

    def test_the_last_ones_are_all_there(self, long):
        """The last two hundred are shown one by one."""
        doses = charts.dose_chart(long.desk, long.state).doses

        assert [dose.container for dose in doses][-200:] == list(range(701, 901))

    def test_what_stood_out_early_is_not_lost(self, long):
        """Of what lies before, each column keeps its least and greatest weight."""
        chart = charts.dose_chart(long.desk, long.state)
        early = [dose for dose in chart.doses if dose.container <= 700]

        assert len(early) <= 1200
        assert min(early, key=lambda dose: dose.net_g).container == 300
        assert (chart.filled, chart.weighed) == (900, 900)
