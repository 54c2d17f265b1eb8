"""Beside weighing: the scale checked in mid-run, the watch chosen, a weight struck out."""

from __future__ import annotations

import re
from decimal import Decimal

import numpy as np
import pytest
from workshop import SCATTER, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.run import acts as runacts
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.watch import WAYS, chosen, way_of
from fillwright.jobs.run.why import why_of_run
from fillwright.records.entries import ContainersHeld, WatchChosen
from fillwright.records.runbook import RunBook
from fillwright.records.spans import Span
from fillwright.science.charts import cusum_chart, ewma_chart


def check(shop, reading):
    """Check the scale."""
    return runacts.check_scale(shop.desk, shop.number, Decimal(reading), shop.press)


def strike(shop, container, reason="wrong jar"):
    """Strike a weight out."""
    return runacts.strike(shop.desk, shop.number, container, reason, shop.press)


class TestScale:
    """The weighing scale is checked with its weight."""

    def test_a_failed_check_holds_all_since_the_last_good_one(self):
        """Readings since then prove nothing, however good they looked."""
        shop = Workshop().to_run()
        for place in range(3):
            shop.off(SCATTER[place])
        check(shop, "200.1")
        shop.off(SCATTER[3])
        shop.off(SCATTER[4])

        check(shop, "201.5")

        assert shop.state.open_spans == (Span(31, 50),)
        act = run.look(shop.desk, shop.state).act
        assert (act.what, act.state_words) == ("check-scale", "Scale off")

    def test_no_weight_is_taken_until_it_passes(self):
        """A weight is refused in one sentence; after a good check the next one is due."""
        shop = Workshop().to_run()
        shop.off("0.1")
        check(shop, "190")
        with pytest.raises(BadInput, match="failed its check"):
            shop.off("0.1", purpose="dose")

        check(shop, "200.0")

        assert run.look(shop.desk, shop.state).next_container == 13
        assert shop.state.open_spans == (Span(1, 12),)
        shop.off("0.1")

    def test_it_outlives_a_strike_out(self):
        """The run folded again still knows that the scale is off."""
        shop = Workshop().to_run()
        shop.off("0.1")
        shop.off("0.2")
        check(shop, "190")
        strike(shop, 12)

        assert shop.state.run.is_scale_off

    @pytest.mark.parametrize("value", ["-1", "99999", "NaN", "Infinity"])
    def test_what_cannot_be_a_reading_is_refused(self, value):
        """One sentence, nothing kept."""
        shop = Workshop().to_run()
        with pytest.raises(BadInput, match="is no reading of"):
            check(shop, value)

    def test_outside_a_run_there_is_none(self):
        """Before the start and after the end it belongs to other pages."""
        with pytest.raises(BadInput, match="No run is open"):
            check(Workshop().to_proved(), "200")
        with pytest.raises(BadInput, match="No run is open"):
            runacts.read_hopper(
                *[(s := Workshop().to_proved()).desk, s.number, Decimal(3), s.press]
            )


class TestHopper:
    """The level in the hopper."""

    @pytest.mark.parametrize("value", ["-1", "NaN", "1000000"])
    def test_what_is_no_level_is_refused(self, value):
        """One sentence."""
        shop = Workshop().to_run()
        with pytest.raises(BadInput, match="is no level"):
            runacts.read_hopper(shop.desk, shop.number, Decimal(value), shop.press)

    def test_a_refill_begins_anew(self):
        """What was read before the refill says nothing of the level after it."""
        shop = Workshop().to_run()
        shop.off("0.1")
        runacts.read_hopper(shop.desk, shop.number, Decimal("31.5"), shop.press)
        assert [(r.after_container, r.value) for r in shop.state.run.levels] == [
            (12, Decimal("31.5"))
        ]

        run.pause(shop.desk, shop.number, "refill", shop.press)

        assert shop.state.run.levels == []


class TestStrike:
    """Any weight can be struck out by its number, with a reason."""

    def test_a_signal_that_it_raised_is_withdrawn_and_what_is_held_stays(self):
        """The journal keeps all of it; the run goes on as if the weight had not been."""
        shop = Workshop().to_run()
        shop.off("0.1")
        shop.off("-4")
        assert shop.state.signals

        strike(shop, 20)

        assert shop.state.signals == []
        assert shop.state.run.pending is None
        assert shop.state.open_spans == (Span(13, 20),)

    def test_an_early_one(self):
        """Not only the last: the run is worked out anew without it."""
        shop = Workshop().to_run()
        for place in range(4):
            shop.off(SCATTER[place])
        before = len(shop.state.run.all_containers)

        strike(shop, 20)

        assert len(shop.state.run.all_containers) == before - 1
        assert 20.0 not in shop.state.run.all_containers

    def test_a_number_without_a_weight_and_a_missing_reason_are_refused(self):
        """One sentence each."""
        shop = Workshop().to_run()
        shop.off("0.1")
        with pytest.raises(BadInput, match="No weight of jar 77 counts"):
            strike(shop, 77)
        with pytest.raises(BadInput, match="Say why"):
            strike(shop, 12, " ")


class TestWatch:
    """How a run is watched."""

    def test_the_choice_is_on_record_before_the_start(self):
        """The usual way where nothing is picked; another by its key."""
        shop = Workshop().to_proved()
        run.start(shop.desk, shop.number, shop.press, watch="average")

        kinds = [e.payload for e in shop.entries() if isinstance(e.payload, WatchChosen)]
        assert [k.way for k in kinds] == ["average"]
        assert shop.state.run.watch.average_weight == 0.1
        assert shop.refolded().run.watch == shop.state.run.watch

    def test_an_unknown_way_is_refused(self):
        """One sentence with the ways."""
        with pytest.raises(BadInput, match="no way to watch a run"):
            run.start(*[(s := Workshop().to_proved()).desk, s.number, s.press], watch="luck")

    def test_an_old_run_without_a_choice_is_watched_as_usual(self):
        """Journals from before keep their meaning."""
        book = RunBook(aim_g=250.0)

        assert book.way is None
        assert (way_of("").k, way_of("").sums_limit_z) == (0.5, 5.0)

    @pytest.mark.parametrize("way", WAYS, ids=lambda way: way.key)
    @pytest.mark.parametrize(
        ("shift", "field"), [(0.0, "false_alarm_doses"), (1.0, "found_after_doses")]
    )
    def test_the_run_lengths_that_are_shown_hold(self, way, shift, field):
        """Simulated again by the charts over whole rows: within three standard errors."""
        draw = np.random.default_rng(11)
        lengths = [_first(draw.normal(shift, 1.0, 4000), way) for _ in range(500)]

        error = np.std(lengths) / np.sqrt(len(lengths))
        assert abs(np.mean(lengths) - getattr(way, field)) < 3 * error + 0.5

    def test_the_numbers_alone_are_those_of_the_integral_equations(self):
        """Sums by their own run length, the average by its own, single weights without."""
        alone = {way.key: way.alone for way in WAYS}

        assert alone["sums"] == pytest.approx(465.44, abs=0.01)
        assert alone["average"] == pytest.approx(499.58, abs=0.05)
        assert alone["limits"] is None

    def test_a_creep_is_found_by_each_way(self):
        """Each way raises a signal of its own on a run that moves by a spread and a half."""
        found = {}
        for way in WAYS:
            shop = Workshop(job(lot_size=2000, band_pct=Decimal(5))).to_proved()
            run.start(shop.desk, shop.number, shop.press, watch=way.key)
            for place in range(100):
                if shop.state.signals:
                    break
                shop.off(SCATTER[place % 13] + Decimal("0.6") * (place >= 40))
            found[way.key] = shop.state.signals[-1].signal if shop.state.signals else ""

        assert found["sums"] == "cusum"
        assert found["average"] == "ewma"
        assert "cusum" not in found["limits"]

    def test_the_chosen_fact_has_every_figure(self):
        """What is kept is what watches."""
        fact = chosen(way_of("keen-sums"))

        assert (fact.k, fact.sums_limit_z, fact.share_of_newest) == (0.25, 8.0, None)


class TestDrift:
    """When a creep will be worth a turn."""

    def test_the_container_has_its_range(self):
        """The forecast says near which jar, and between which with 95 %."""
        shop = Workshop(job(lot_size=5000, band_pct=Decimal(5))).to_run()
        words = ""
        for place in range(40):
            shop.off(round(SCATTER[place % 13] / 4 + Decimal("0.2") - Decimal("0.02") * place, 1))
            words = run.look(shop.desk, shop.state).drift_words
            if "near jar" in words:
                break

        found = re.search(r"near jar (\d+) \((\d+) (?:to (\d+)|or later)\) at this rate", words)
        assert found, words
        assert int(found[2]) <= int(found[1])
        assert not found[3] or int(found[1]) <= int(found[3])


class TestWhy:
    """What stands behind the orders."""

    def test_it_names_what_the_last_check_would_have_shown(self):
        """In grams and in containers, with the run lengths and every shape's own."""
        shop = Workshop().to_run()
        for place in range(6):
            shop.off(SCATTER[place])

        why = why_of_run(shop.state)
        named = {fact.name: fact.words for fact in why.facts}

        assert "would have shown in one of two" in why.words[0]
        assert "10 jars since the one before" in why.words[0]
        assert named["False alarm, on average"] == "one in 223 weights"
        assert named["Any of the four, by chance"] == "once in 92 weights"
        assert named["Shape: one beyond 3 spreads"].endswith("once in 370 weights")

    def test_there_is_none_before_the_run(self):
        """Nothing to explain yet."""
        assert why_of_run(Workshop().to_proved().state) is None

    def test_a_shape_that_is_there_is_seen(self):
        """Eight in a row on one side is a name, no alarm."""
        shop = Workshop(job(lot_size=2000, band_pct=Decimal(5))).to_run()
        for _ in range(8):
            shop.off("0.3")

        named = {fact.name: fact.words for fact in why_of_run(shop.state).facts}

        assert named["Shape: eight in a row on one side"].startswith("seen")

    def test_every_error_free_field_is_text(self):
        """No blank figure reaches the page."""
        shop = Workshop().to_run()
        shop.off("0.1")

        assert all(fact.name and fact.words for fact in why_of_run(shop.state).facts)


def _first(row, way):
    """Return the first alarm of a way on readings in sds."""
    ends = [row.size + 1]
    beyond = np.flatnonzero(np.abs(row) > 3.0)
    if beyond.size:
        ends.append(int(beyond[0]) + 1)
    if way.sums_limit_z is not None:
        ends.append(cusum_chart(row, k=way.k, h=way.sums_limit_z).first_signal or row.size + 1)
    if way.share_of_newest is not None:
        ends.append(
            ewma_chart(row, weight=way.share_of_newest, limit=way.average_limit_z).first_signal
            or row.size + 1
        )
    return min(ends)


def test_held_words_name_the_reason():
    """The hold says what the scale read, for the papers."""
    shop = Workshop().to_run()
    shop.off("0.1")
    check(shop, "190")

    [held] = [e.payload for e in shop.entries() if isinstance(e.payload, ContainersHeld)]
    assert held.reason == "weighing scale read 190 g for 200 g"
