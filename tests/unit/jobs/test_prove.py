"""Prove: the number fixed first, no verdict before the last shot, one verdict after it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import SCATTER, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS
from fillwright.jobs.opening import change_facts
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.trim import stage as trim
from fillwright.records.proofwords import PROOF_WORDS
from fillwright.records.spans import Span


def look(shop):
    """Return what Prove shows."""
    return prove.look(shop.desk, shop.state)


def shots(shop, deviations):
    """Weigh a row of shots."""
    for deviation in deviations:
        shop.off(deviation)
    return shop


def row(shop, scale="1", shift="0"):
    """Return deviations for all the planned shots: the scatter, spread and shifted."""
    count = shop.state.proof_plan.shots
    return [SCATTER[n % 13] * Decimal(scale) + Decimal(shift) for n in range(count)]


class TestPlan:
    """How many, and when it is decided."""

    def test_the_number_is_fixed_before_the_first_shot(self):
        """Begin keeps the number, the claim and the reason; beginning twice keeps it once."""
        shop = Workshop().to_prove()
        assert look(shop).act.main == f"Begin, {look(shop).planned} shots"
        prove.begin(shop.desk, shop.number, shop.press)
        entries = len(shop.entries())

        prove.begin(shop.desk, shop.number, shop.press)

        assert len(shop.entries()) == entries
        plan = shop.state.proof_plan
        assert (plan.claim_pct, plan.content_pct, plan.confidence_pct) == (1, 99, 95)
        assert plan.because == f"For an expected spread of 0.16 % of the dose, {plan.shots} shots."

    def test_where_nothing_is_known_it_is_thirty(self):
        """Without an expected spread thirty shots are planned."""
        shop = Workshop(job(expected_sd_pct=None)).to_prove()

        assert look(shop).planned == 30
        assert look(shop).plan_words == "Nothing is known of the spread yet, so 30 shots."

    def test_a_shot_without_a_plan_is_refused(self):
        """The number comes before the first shot."""
        with pytest.raises(BadInput, match=r"Fix the number of shots first"):
            Workshop().to_prove().off("0", purpose="proof")

    def test_untrimmed_it_says_what_is_missing(self):
        """No stage is locked; what is missing is said."""
        shop = Workshop().to_trim()

        assert look(shop).act.missing.startswith("Not trimmed yet")

    def test_a_jar_is_not_proved_twice(self):
        """Each shot is a new container."""
        shop = shots(Workshop().to_shots(), ["0.1", "0.2"])

        with pytest.raises(BadInput, match=r"Jar 2 was filled before this shot; the next is 3"):
            shop.off("0", container=2)


class TestOpen:
    """While shots are still to be weighed."""

    def test_nothing_is_told_before_the_last_shot(self):
        """No spread, no verdict, no readings: looking early spoils the claim."""
        shop = shots(Workshop().to_shots(), ["0.1", "-0.4", "0.3"])
        seen = look(shop)

        assert (seen.verdict, seen.headline, seen.readings_g) == (None, "", ())
        assert seen.stays_within_pct is None
        assert seen.act.why.startswith("Shot 4 of ")
        assert not seen.act.state

    def test_proved_jars_are_the_first_of_the_batch(self):
        """They are numbered from one, and count as filled."""
        shop = shots(Workshop().to_shots(), ["0.1", "-0.4", "0.3"])

        assert [s.fact.container for s in shop.state.proof_shots] == [1, 2, 3]
        assert (shop.state.filled_to, look(shop).act.value) == (3, "4")

    def test_a_spoilt_shot_is_told_and_owed_again(self):
        """It is set aside on record, its jar held, and the number of shots stays."""
        shop = shots(Workshop().to_shots(), ["0.1"])
        shop.weigh("100", set_aside="missed the jar")

        assert look(shop).set_aside == 1
        assert look(shop).weighed == 1
        assert shop.state.open_spans == (Span(2, 2),)
        assert shop.state.proof_plan.shots == look(shop).planned

    @pytest.mark.parametrize(
        ("deviation", "state"), [("-11.1", "short"), ("-20.1", "far-short"), ("32", "overfull")]
    )
    def test_a_reject_stops_it(self, deviation, state):
        """One short or overfull shot: no claim can stand, and all so far are held."""
        shop = shots(Workshop().to_shots(), ["0.1", "-0.4", deviation])
        proof = shop.state.proof

        assert (proof.verdict, proof.shots, proof.k) == ("stopped", 3, None)
        assert state.replace("-", " ") in proof.because
        assert shop.state.open_spans == (Span(1, 3),)
        assert look(shop).headline == "Stopped by a reject"
        assert look(shop).act.what == "again"
        assert look(shop).act.why.endswith("The proved ones are held.")


class TestVerdict:
    """After the last shot."""

    def test_it_holds(self):
        """A small spread about the aim proves the claim; the run may start."""
        shop = Workshop().to_proved()
        seen = look(shop)

        assert seen.headline == "Holds ±1 %"
        assert seen.act.what == "start-run"
        assert seen.verdict.shots == shop.state.proof_plan.shots
        assert len(seen.readings_g) == seen.verdict.shots
        assert seen.stays_within_pct < 1
        assert shop.state.open_spans == ()

    def test_its_figures_are_those_of_the_readings(self):
        """Mean and sd by hand from the eleven invented deviations.

        0.3 -0.2 0.1 -0.5 0.4 0 -0.3 0.6 -0.1 -0.6 0.2: sum -0.1, squares 1.41; mean 251.99091,
        sd = sqrt((1.41 - 0.01/11)/10) = 0.37537.
        """
        proof = Workshop().to_proved().state.proof

        assert proof.shots == 11
        assert proof.mean_g == pytest.approx(252 - 0.1 / 11, abs=1e-9)
        assert proof.sd_g == pytest.approx(0.37537, abs=1e-5)
        # Two-sided normal tolerance factor for n 11, content 0.99, confidence 0.95: 4.277 by
        # Howe's approximation (z 2.5758, chi-square 10 df 5 % 3.940), exact value a little less.
        assert proof.k == pytest.approx(4.26, abs=0.03)
        assert proof.half_width_g == pytest.approx(proof.k * proof.sd_g)

    def test_it_cannot_say_yet(self):
        """A wider spread is neither proved nor impossible: more shots, decided once."""
        shop = Workshop().to_shots()
        shots(shop, row(shop, scale="2"))

        assert shop.state.proof.verdict == "not-proved"
        assert look(shop).headline == "Cannot say yet"
        assert look(shop).act.what == "again"
        assert shop.state.open_spans == ()

        prove.again(shop.desk, shop.number, shop.press)

        plan = shop.state.proof_plan
        assert 8 <= plan.shots <= 60
        assert f"{plan.shots} shots" in plan.because
        assert (shop.state.proof, shop.state.proof_shots) == (None, [])

    def test_it_does_not_hold(self):
        """A spread that cannot be true of the claim: all proved jars are held."""
        shop = Workshop().to_shots()
        shots(shop, row(shop, scale="8"))

        assert shop.state.proof.verdict == "impossible"
        assert look(shop).headline == "Does not hold ±1 %"
        assert (look(shop).act.what, look(shop).act.state) == ("again", "stop")
        assert shop.state.open_spans == (Span(1, shop.state.filled_to),)

    def test_a_middle_that_is_off_is_trimmed_again(self):
        """A small spread off the aim is a matter of the wheel, not of more shots."""
        shop = Workshop().to_shots()
        shots(shop, row(shop, shift="1.6"))
        act = look(shop).act

        assert shop.state.proof.verdict == "not-proved"
        assert (act.what, act.order) == ("trim-again", "Trim again: the middle is off the aim.")
        assert "above the aim" in act.why

        trim.trim_again(shop.desk, shop.number, act.value, shop.press)

        assert shop.state.proof is None

    def test_a_drift_is_not_steady(self):
        """Doses that creep make the claim void, and the jars are held."""
        shop = Workshop().to_shots()
        count = shop.state.proof_plan.shots
        shots(shop, [Decimal(n - count // 2) * Decimal("0.3") for n in range(count)])

        assert shop.state.proof.verdict == "not-steady"
        assert look(shop).headline == "Not steady, proving void"
        assert shop.state.open_spans == (Span(1, shop.state.filled_to),)

    def test_a_coarse_scale_cannot_say(self):
        """Readings in steps of two grams show nothing of a spread of half a gram."""
        shop = Workshop(job(scale={"readability_g": Decimal(2), "repeatability_sd_g": Decimal(1)}))
        shop.to_trim()
        trim_shot = shop.off("0", purpose="shot")
        assert trim_shot.weighing.state == "on"
        trim.take_as_is(shop.desk, shop.number, "for a test", shop.press)
        prove.begin(shop.desk, shop.number, shop.press)
        count = shop.state.proof_plan.shots
        shots(shop, [2 * (n % 2) for n in range(count)])

        assert shop.state.proof.verdict == "scale-too-coarse"
        assert look(shop).headline == "The weighing scale is too coarse to say"

    def test_again_before_the_end_is_refused(self):
        """A run of shots is not ended by starting another."""
        shop = shots(Workshop().to_shots(), ["0.1"])

        with pytest.raises(BadInput, match=r"not at its end"):
            prove.again(shop.desk, shop.number, shop.press)

    def test_another_claim_is_proved_anew(self):
        """A verdict on ±1 % is none on ±0.5 %."""
        shop = Workshop().to_proved()
        narrow = replace(shop.facts, claim_pct=Decimal("0.5"))

        change_facts(shop.desk, shop.number, narrow, "", shop.press)

        assert shop.state.proof is None
        assert shop.state.reopened == {"prove": "The claim was changed."}


class TestCautions:
    """Where proving can hurt."""

    def test_at_the_start_hands_are_clear(self):
        """Guard on before the first shot, also where a second run of shots was planned."""
        shop = Workshop().to_prove()
        assert CAUTIONS["pinch"] in look(shop).act.cautions
        prove.begin(shop.desk, shop.number, shop.press)
        assert CAUTIONS["pinch"] in look(shop).act.cautions

        shop.off("0.1")

        assert look(shop).act.cautions == ()

    def test_a_hot_product_is_said(self):
        """The temperature stands above the start."""
        shop = Workshop(job(product={"product_c": Decimal(58)})).to_prove()

        assert any("58 °C" in c.words for c in look(shop).act.cautions)


@pytest.mark.parametrize("verdict", PROOF_WORDS)
def test_every_verdict_has_its_words(verdict):
    """What a page says of a verdict is a short sentence without our own terms."""
    words = PROOF_WORDS[verdict]

    assert words[0].isupper()
    assert "-" not in words
