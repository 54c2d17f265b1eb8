"""Cartons, drums and people in mid-run: what is filled after a change knows it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from workshop import AB, CD, Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.catalogue import list_person
from fillwright.jobs.limits import content_of, limits_of
from fillwright.jobs.opening import change_facts
from fillwright.jobs.papers import batch_record
from fillwright.jobs.release.lot import facts_of_each, judge_in
from fillwright.jobs.release.markets import markets_of
from fillwright.jobs.run import cartons, changes
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.around_words import changes_of, holes_now, lines_now, row_words
from fillwright.jobs.run.weigh import strike_out, undo
from fillwright.jobs.traveller import next_act, purpose_now
from fillwright.records.fold import fold_job


@pytest.fixture
def shop():
    """A run under way that takes an average empty off, the first one looked at."""
    shop = Workshop(job(unit="mL", nominal=Decimal(245))).to_proved()
    mean = replace(shop.facts, tare_way="mean")
    change_facts(shop.desk, shop.number, mean, "empties are alike", shop.press)
    run.start(shop.desk, shop.number, shop.press)
    return shop.look_at_first()


def carton(shop, code="K-2", **given):
    """Take a new carton into use."""
    return changes.take_lot(shop.desk, shop.number, "container", code, shop.press, **given)


def drum(shop, density="0.99", **given):
    """Take a new drum into use."""
    value = None if density is None else Decimal(density)
    return changes.take_drum(
        shop.desk, shop.number, "D-2", shop.press, density_g_per_ml=value, **given
    )


def weigh_empties(shop, *values):
    """Weigh empties of a new carton."""
    for value in values or ("41.1", "40.9", "41.3", "41.0", "40.7"):
        shop.weigh(value)


class TestCarton:
    """A carton has its own five empties."""

    def test_five_empties_then_the_first_one_is_looked_at(self, shop):
        """The order asks for each of them, then for the look, then for the weight."""
        carton(shop)
        asked = []
        for value in ("41.1", "40.9", "41.3", "41.0", "40.7"):
            act = next_act(shop.desk, shop.state)
            asked.append((act.what, act.value, purpose_now(shop.state)))
            shop.weigh(value)
        looked = next_act(shop.desk, shop.state).what
        shop.look_at_first()

        assert asked == [("weigh-empty", str(n), "tare") for n in range(1, 6)]
        assert looked == "first-look"
        assert next_act(shop.desk, shop.state).what == "weigh"
        assert shop.state.tare.tare_g == Decimal("41.00")
        assert shop.state.tare.empties == 5

    def test_the_new_tare_is_taken_off_after_it_and_the_old_one_before(self, shop):
        """By the number of the container, whenever it is weighed."""
        old = shop.state.lots.tare_of(1)
        before = shop.state.filled_to
        carton(shop, last_filled=before + 3)
        weigh_empties(shop)

        lots = shop.state.lots

        assert lots.tare_of(before + 3) == old
        assert lots.tare_of(before + 4).tare_g == Decimal("41.00")
        kept = shop.weigh("293", purpose="dose", container=before + 4)
        assert kept.weighing.net_g == Decimal("252.00")

    def test_a_filled_one_before_the_tare_is_refused(self, shop):
        """A gross weight under the new carton says nothing yet."""
        carton(shop)

        with pytest.raises(BadInput, match="no tare yet"):
            shop.weigh("293", purpose="dose")

    def test_a_filled_one_is_no_empty(self, shop):
        """What is far from the tare so far is refused."""
        carton(shop)

        with pytest.raises(BadInput, match="far from"):
            shop.weigh("293")

    def test_the_old_tare_goes_on_only_with_a_reason(self, shop):
        """And the record says so."""
        old = shop.state.lots.tare_of(None)
        carton(shop)
        with pytest.raises(BadInput, match="Say why"):
            cartons.carry_tare_on(shop.desk, shop.number, " ", shop.press)

        cartons.carry_tare_on(shop.desk, shop.number, "same mould", shop.press)

        assert shop.state.lots.carton_due is None
        assert shop.state.lots.tare_of(None) == old
        assert any("same mould" in line for line in changes_of(shop.state, shop.entries()))

    def test_an_empty_taken_back_is_weighed_again(self, shop):
        """The average waits for the fifth, and the one before stands till then."""
        old = shop.state.tare
        carton(shop)
        weigh_empties(shop, "41.1", "40.9", "41.3")
        undo(shop.desk, shop.number, shop.press)

        assert shop.state.tare == old
        assert next_act(shop.desk, shop.state).value == "3"

    def test_a_code_typed_again_after_the_same_jar_puts_the_first_right(self, shop):
        """No empties are asked for twice; both entries stay in the journal."""
        before = shop.state.filled_to
        carton(shop, "K-7")
        weigh_empties(shop)
        shop.look_at_first()
        carton(shop, "K-8")

        assert shop.state.lots.carton_due is None
        assert shop.state.lots.at("container", before + 1).fact.code == "K-8"
        assert [use.fact.code for use in shop.state.lots.uses] == ["K-7", "K-8"]

    def test_without_a_code_a_note_says_why(self, shop):
        """Then there is a hole, and it is named."""
        with pytest.raises(BadInput, match="Type the lot code"):
            carton(shop, "")

        carton(shop, "", note="label torn off")

        assert shop.state.lots.at("container", shop.state.filled_to + 1) is None
        assert "carton" in holes_now(shop.state)

    def test_it_puts_a_post_and_asks_for_the_next_one(self, shop):
        """The dose chart has it, and a strike-out leaves it there."""
        shop.off(0, purpose="dose", basis="net")
        carton(shop)
        weigh_empties(shop)
        shop.look_at_first()
        kept = shop.weigh("293", purpose="dose")
        strike_out(shop.desk, shop.number, kept.state.weighings[-1].id, "spilled", shop.press)

        post = shop.state.run.posts[-1]

        assert (post.kind, post.words) == ("container", "new carton K-2")
        assert run.look(shop.desk, shop.state).next_container == shop.state.filled_to + 1
        assert fold_job(shop.number, shop.entries()).lots == shop.state.lots


class TestDrum:
    """A drum has its own density where the label is a volume."""

    def test_the_aim_holds_the_same_volume(self, shop):
        """Never less than before, and at most one step of the scale more."""
        before = shop.facts
        drum(shop)

        after = shop.facts
        held = Fraction(content_of(after, after.aim_g)) - Fraction(
            content_of(before, before.aim_g)
        )
        step_ml = Fraction(content_of(after, after.scale.readability_g))

        assert 0 <= held < step_ml
        assert shop.state.run.aim_g == float(after.aim_g)

    def test_contents_before_and_after_have_their_own_density(self, shop):
        """V = W (1 - 0.0012/8) / (density - 0.0012): the buoyancy correction of OIML R 87."""
        last = shop.state.filled_to
        old = shop.facts.product.density_g_per_ml
        drum(shop)

        found = [
            content_of(shop.state.lots.facts_for(shop.facts, n), Decimal(250))
            for n in (last, last + 1)
        ]

        assert found == [
            250 * (1 - Fraction("0.0012") / 8) / (Fraction(density) - Fraction("0.0012"))
            for density in (old, Decimal("0.99"))
        ]

    def test_the_lot_test_takes_each_at_its_own(self, shop):
        """A sample over two drums: the mean is that of contents by each density."""
        last = shop.state.filled_to
        drum(shop, "0.95")
        each = facts_of_each(shop.state, (last, last + 1))
        market = markets_of(shop.desk, shop.facts, 50)[0]
        nets = [Decimal(250)] * 50

        found = judge_in(market, shop.facts, 50, nets, [*each] * 25)

        contents = [float(content_of(facts, Decimal(250))) for facts in each]
        assert contents[0] < contents[1]
        assert found.verdict.mean == pytest.approx(sum(contents) / 2)

    def test_a_volume_wants_a_density_or_a_reason(self, shop):
        """For a label in grams nobody asks."""
        with pytest.raises(BadInput, match="type the density"):
            drum(shop, None)
        drum(shop, None, note="same batch, weighed this morning")
        grams = Workshop(job(unit="g")).to_run()

        drum(grams, None)

        assert not shop.state.lots.fillings
        assert grams.state.lots.look_due == "drum"

    @pytest.mark.parametrize("density", ["1.3", "0", "-1", "9"])
    def test_another_product_is_no_drum_of_this_one(self, shop, density):
        """More than a tenth away is a slip, or another job."""
        with pytest.raises(BadInput, match="g/mL") as refused:
            drum(shop, density)

        assert refused.value.field == "density_g_per_ml"

    def test_facts_changed_later_are_of_the_present_drum(self, shop):
        """What was filled from the drum before keeps its own density."""
        last = shop.state.filled_to
        old = shop.facts.product
        drum(shop)
        limits = limits_of(shop.state.lots.facts_for(shop.facts, last), shop.desk.rule_sets)

        assert shop.state.lots.facts_for(shop.facts, last).product == old
        assert limits.aim_g == shop.state.lots.fillings[0].aim_g

    def test_the_batch_goes_on_unless_another_is_told(self, shop):
        """A second drum of a batch needs its code alone."""
        codes = {"drum": "D-1"}
        changes.tell_lots(shop.desk, shop.number, codes, shop.press, batch="B-9")
        drum(shop)

        assert shop.state.lots.at("drum", shop.state.filled_to + 1).fact.batch == "B-9"


def test_another_person_takes_over(shop):
    """The entry is theirs; the look is asked for; one that is nobody is refused."""
    list_person(shop.desk, CD, shop.press)
    list_person(shop.desk, AB, shop.press)
    changes.change_person(shop.desk, shop.number, "CD", shop.press)

    assert shop.entries()[-1].person == "CD"
    assert shop.state.run.posts[-1].words == "CD takes over"
    assert shop.state.lots.look_due == "person"
    with pytest.raises(BadInput, match="not on the list"):
        changes.change_person(shop.desk, shop.number, "XY", shop.press)


def test_the_last_one_filled_lies_between_the_weighed_and_the_lot(shop):
    """A change before the last weight, or beyond the lot, cannot be."""
    shop.off(0, purpose="dose", basis="net")
    for last in (shop.state.filled_to - 1, 10_000):
        with pytest.raises(BadInput, match="cannot be the last one") as refused:
            carton(shop, last_filled=last)
        assert refused.value.field == "last_filled"


def test_changes_need_an_open_run():
    """Before the start the codes are told, not changed."""
    shop = Workshop().to_proved()

    with pytest.raises(BadInput, match="No run is open"):
        carton(shop)


class TestLook:
    """The first one at a start and after a change is looked at."""

    def test_what_is_wrong_holds_it_and_asks_for_the_next(self, shop):
        """With the reason in the hold; the next look may be right."""
        carton(shop)
        cartons.carry_tare_on(shop.desk, shop.number, "same", shop.press)
        first = shop.state.filled_to + 1
        shop.look_at_first(label="last week's")

        assert [(s.first, s.last) for s in shop.state.open_spans] == [(first, first)]
        assert "Label: last week's" in shop.state.holds[-1].reason
        again = next_act(shop.desk, shop.state)
        assert (again.what, again.value, again.state) == ("first-look", str(first + 1), "held")
        shop.look_at_first()
        assert next_act(shop.desk, shop.state).what == "weigh"

    def test_nothing_may_be_left_unsaid(self, shop):
        """Neither a tick nor a reason is no answer; skipping needs one."""
        carton(shop)
        with pytest.raises(BadInput, match="Leak: tick it"):
            shop.look_at_first(leak="")
        with pytest.raises(BadInput, match="Say why"):
            firstjar.skip_look(shop.desk, shop.number, "", shop.press)

    def test_a_skip_is_on_record(self, shop):
        """With who and why."""
        changes.take_lot(shop.desk, shop.number, "lid", "L-2", shop.press)
        firstjar.skip_look(shop.desk, shop.number, "seen on the bench", shop.press)

        assert shop.state.lots.look_due is None
        assert any("seen on the bench" in line for line in changes_of(shop.state, shop.entries()))

    def test_none_is_taken_where_none_is_asked_for(self, shop):
        """A look out of turn is refused."""
        with pytest.raises(BadInput, match="asked for now"):
            shop.look_at_first()


def test_the_record_says_which_jars_are_under_which(shop):
    """By carton and drum in the course of the run, and beside each of the sample."""
    changes.tell_lots(shop.desk, shop.number, {"container": "K-1"}, shop.press)
    last = shop.state.filled_to
    carton(shop)
    weigh_empties(shop)
    sheet = batch_record(shop.desk, shop.state)
    shop.look_at_first()
    shop.weigh("293", purpose="dose")

    assert f"Carton, by jar: 1 to {last} K-1" in sheet.course[0]
    tares = [line for line in sheet.course if "mpty of jar" in line]
    assert tares == [
        f"Empty of jar 1 to {last}: 40 g, from the facts of the job.",
        f"Average empty of jar {last + 1}: 41 g, of 5 weighed.",
    ]
    assert row_words(shop.state, 1) == ", carton K-1"
    assert row_words(shop.state, last + 1) == ", carton K-2"
    assert lines_now(shop.state)[0] == f"Carton K-2, since jar {last + 1}"
