"""Proving with planned looks, several tries, rounded readings, and what stands behind them."""

from __future__ import annotations

from dataclasses import asdict, fields, replace
from decimal import Decimal

import numpy as np
import pytest
from workshop import SCATTER, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.prove.why import plot_of
from fillwright.jobs.trim import stage as trim
from fillwright.records.entries import (
    ProofJudged,
    ProofJudgedFirst,
    ProofPlannedFirst,
)
from fillwright.records.proofwords import tries_words


def look(shop):
    """Return what Prove shows."""
    return prove.look(shop.desk, shop.state)


def begin(shop, *, looks):
    """Fix the plan."""
    prove.begin(shop.desk, shop.number, shop.press, looks=looks)
    return shop


def shoot(shop, scale="1", most=60):
    """Weigh shots on the pattern of the scatter until the run has ended."""
    for place in range(most):
        if shop.state.proof is not None:
            break
        shop.off(SCATTER[place % 13] * Decimal(scale))
    return shop


class TestLooks:
    """Looks chosen before the first shot."""

    def test_the_plan_is_kept_with_what_is_enough_at_each(self):
        """Looks, factors and the confidence of one look are on record before a shot."""
        shop = begin(Workshop().to_prove(), looks=True)
        plan = shop.state.proof_plan

        assert plan.looks == (8, 12, 16, 24, 32, 48)
        assert len(plan.looks_factor) == len(plan.futile_looks_factor) == 6
        assert plan.look_confidence_share > 0.95
        assert look(shop).act.why.startswith("Shot 1; the next look is after 8.")

    def test_between_the_looks_nothing_is_told(self):
        """No spread and no verdict after seven shots, nor after nine."""
        shop = begin(Workshop().to_prove(), looks=True)
        for place in range(9):
            shop.off(SCATTER[place] * Decimal("1.9"))
            if place in (6, 8):
                assert (look(shop).verdict, look(shop).spread, look(shop).why) == (None, "", None)

        assert look(shop).act.why.startswith("Looked after 8: carry on. Shot 10;")
        assert look(shop).planned == 12

    def test_it_ends_at_the_first_look_that_decides(self):
        """A spread far inside the claim is enough at eight."""
        shop = shoot(begin(Workshop().to_prove(), looks=True), scale="0.8")
        proof = shop.state.proof

        assert (proof.verdict, proof.looked_at, proof.shots) == ("proved", 8, 8)
        assert proof.k == pytest.approx(shop.state.proof_plan.looks_factor[0])
        assert "95 % confidence over all looks" in proof.because

    def test_a_hopeless_run_ends_early(self):
        """A spread near the width of the claim ends at the first look, and its jars are held."""
        shop = shoot(begin(Workshop().to_prove(), looks=True), scale="6")

        assert shop.state.proof.looked_at == 8
        assert shop.state.proof.verdict in ("impossible", "not-proved")

    def test_a_small_lot_leaves_no_room_for_looks(self):
        """A lot of ten has one look at most: then a number is planned."""
        shop = Workshop(job(lot_size=10)).to_prove()

        assert look(shop).looks == ()
        with pytest.raises(BadInput, match="too small for looks"):
            begin(shop, looks=True)


class TestTries:
    """Proving again and again lets anything pass in the end."""

    def test_each_try_is_counted_and_weakens_the_claim(self):
        """95 % once, 90 % over two tries, 85 % over three: the risks add up (Bonferroni)."""
        shop = shoot(begin(Workshop().to_prove(), looks=False), scale="2")
        assert (shop.state.proof.attempt, shop.state.proof.confidence_left_pct) == (1, 95)
        assert look(shop).tries == ""

        prove.again(shop.desk, shop.number, shop.press)
        assert "This is try 2 of this claim" in look(shop).tries
        for deviation in np.random.default_rng(12).normal(0, 0.3, shop.state.proof_plan.shots):
            shop.off(f"{deviation:.1f}")

        proof = shop.state.proof
        assert (proof.verdict, proof.attempt, proof.confidence_left_pct) == ("proved", 2, 90)
        assert "the confidence is 90 %, not 95 %" in look(shop).act.why

    def test_a_run_that_was_broken_off_is_a_try(self):
        """Trimming again in mid-run does not wipe the count."""
        shop = begin(Workshop().to_prove(), looks=False)
        shop.off("0.3")
        trim.trim_again(shop.desk, shop.number, "wandered", shop.press)

        assert shop.state.tries == 1

    def test_many_tries_leave_nothing(self):
        """Twenty tries at 95 % could all be chance."""
        shop = shoot(begin(Workshop().to_prove(), looks=False))
        worn = replace(shop.state.proof, attempt=20, confidence_left_pct=0.0)

        assert tries_words(worn, Decimal(95)).endswith("leave nothing of the claim.")


class TestRounded:
    """A step above one and a half spreads."""

    def test_a_bound_is_shown_never_a_figure(self):
        """Readings to 1 g of a spread of 0.4 g: below something, on face and why."""
        scale = {"readability_g": Decimal(1), "repeatability_sd_g": Decimal("0.1")}
        shop = begin(Workshop(job(scale=scale)).to_prove(), looks=False)
        for place in range(shop.state.proof_plan.shots):
            shop.off(int(place == 5))
        seen = look(shop)

        assert seen.verdict.verdict == "scale-too-coarse"
        assert seen.spread.startswith("below ")
        assert seen.stays_within_pct is None
        assert seen.parts == ()
        names = {fact.name for fact in seen.why.facts}
        assert not names & {"Factor k, both sides", "Pp, 95 % interval", "Inside, proved"}
        assert seen.act.order == "Use a weighing scale that reads to 0.2 g or finer."


class TestWhy:
    """The figures behind a verdict."""

    def test_all_of_them_have_a_name(self):
        """Two-sided, one-sided, whatever the shape, capability with intervals."""
        why = look(Workshop().to_proved()).why
        rows = {fact.name: fact.words for fact in why.facts}

        assert rows["Try"] == "1"
        assert rows["Factor k, both sides"].startswith("4.2")
        # NIST/SEMATECH e-Handbook 7.2.6.3 has the one-sided factor by noncentral t.
        assert rows["Factor k, one side"].startswith("3.8")
        assert "473 shots for 99" in rows["Between smallest and largest, whatever their shape"]
        assert " to " in rows["Pp, 95 % interval"]
        assert why.source

    def test_the_error_is_ranked(self):
        """Scatter first, then the middle or the scale."""
        parts = look(Workshop().to_proved()).parts

        assert parts[0].name == "The dose scatters"
        assert [p.size_g for p in parts] == sorted((p.size_g for p in parts), reverse=True)

    def test_the_plot_is_drawn_again_from_its_seed(self):
        """A folded record draws the very same envelope."""
        shop = Workshop().to_proved()
        one = plot_of(shop.state, shop.state.proof)
        state = shop.refolded()

        assert plot_of(state, state.proof) == one
        assert (one.seed, len(one.values_g)) == (shop.state.proof.plot_seed, 11)

    @pytest.mark.parametrize(
        ("deviations", "words"),
        [
            ([n * 0.3 - 1.5 for n in range(11)], "The dose creeps up"),
            ([1.5 - n * 0.3 for n in range(11)], "The dose creeps down"),
            ([0.1, -0.1, 0.2, -0.2, 0.1, -4, 0, 0.2, -0.1, 0.1, 0], "Shot 6 stands out"),
        ],
    )
    def test_what_was_not_steady_is_named(self, deviations, words):
        """The order says what to look for."""
        shop = begin(Workshop().to_prove(), looks=False)
        for deviation in deviations:
            shop.off(f"{deviation:.1f}")

        assert look(shop).act.order.startswith(words)


def test_entries_of_the_first_shape_are_read_as_those_of_today():
    """An old plan and an old verdict fold into the same state, each a try of its own."""
    shop = Workshop().to_prove()
    figures = asdict(Workshop().to_proved().state.proof)
    plan = ProofPlannedFirst(
        shots=11,
        claim_pct=Decimal(1),
        content_pct=Decimal(99),
        confidence_pct=Decimal(95),
        because="So many.",
    )
    first = {f.name: figures[f.name] for f in fields(ProofJudgedFirst)}
    shop.tell(plan, ProofJudgedFirst(**first), plan, ProofJudgedFirst(**first))
    state = shop.refolded()

    assert isinstance(state.proof, ProofJudged)
    assert (state.proof_plan.looks, state.tries, state.proof.attempt) == ((), 2, 2)
    assert state.proof.spread_g == figures["sd_g"]
