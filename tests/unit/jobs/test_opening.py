"""A job opened, its aim proposed, its facts changed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from workshop import MACHINE, NOZZLE, SMALL, Workshop, job

from fillwright.errors import BadInput, Conflict, OutsideModel
from fillwright.jobs.opening import (
    best_cylinder,
    best_nozzle,
    change_facts,
    next_number,
    open_job,
    propose_aim,
    trays_for,
)
from fillwright.records.entries import FactsChanged


def change(shop, reason="", **changes):
    """Change facts of the job; `changes` as for the usual job."""
    return change_facts(shop.desk, shop.number, job(**changes), reason, shop.press)


class TestOpen:
    """A new job."""

    def test_numbers_count_up(self):
        """The next number is one more than the highest; words as numbers are passed over."""
        shop = Workshop()
        assert next_number(shop.desk) == "0418"
        open_job(shop.desk, job("trial-a"), shop.press)

        assert next_number(shop.desk) == "0418"

    def test_a_number_is_given_once(self):
        """An opened job is not opened again."""
        shop = Workshop()

        with pytest.raises(BadInput, match=r"Job 0417 is there already"):
            open_job(shop.desk, job(), shop.press)

    @pytest.mark.parametrize(
        ("changes", "field", "words"),
        [
            ({"nominal": Decimal(0)}, "nominal", r"Nominal is 0; give a number above zero"),
            ({"lot_size": 0}, "lot_size", r"Lot is 0"),
            ({"tray_size": -1}, "tray_size", r"Tray is -1"),
            ({"weigh_every": 0}, "weigh_every", r"above zero"),
            ({"aim_g": Decimal(0)}, "aim_g", r"Aim is 0"),
            ({"band_pct": Decimal(0)}, "band_pct", r"Band is 0"),
            ({"claim_pct": Decimal(0)}, "claim_pct", r"Claim is 0"),
            ({"scale": {"readability_g": Decimal(0)}}, "readability_g", r"Readability is 0"),
            ({"container": {"brim_ml": Decimal(0)}}, "brim_ml", r"Brim is 0"),
            ({"container": {"mouth_mm": Decimal(-1)}}, "mouth_mm", r"Mouth is -1"),
            ({"product": {"density_g_per_ml": Decimal(0)}}, "density_g_per_ml", r"such as 0\.985"),
            ({"product": {"density_g_per_ml": Decimal("3.1")}}, "density_g_per_ml", r"Density 3"),
            ({"aim_g": Decimal(3000)}, "aim_g", r"more than Bench scale can weigh"),
            ({"rules": "house"}, "rules", r"There is no rule set 'house'"),
            ({"lot_code": " "}, "lot_code", r"Give the lot code a name"),
            ({"product": {"name": ""}}, "product", r"Give the product a name"),
            ({"number": " "}, "number", r"Give the number a name"),
            ({"number": "04/17"}, "number", r"letters, digits and hyphens only"),
        ],
    )
    def test_facts_that_cannot_be(self, changes, field, words):
        """The field is named, and what would do."""
        shop = Workshop()

        with pytest.raises(BadInput, match=words) as caught:
            open_job(shop.desk, job(**({"number": "0500"} | changes)), shop.press)

        assert caught.value.field == field
        assert shop.desk.book.numbers() == ("0417",)

    @pytest.mark.parametrize("warm", ["-0.1", "130.1"])
    def test_a_temperature_outside_the_model(self, warm):
        """Nothing is known of ice and steam."""
        with pytest.raises(OutsideModel, match=r"give 0 to 130"):
            open_job(
                (shop := Workshop()).desk,
                job("0500", product={"product_c": Decimal(warm)}),
                shop.press,
            )


class TestParts:
    """What is proposed from what is owned."""

    @pytest.mark.parametrize(
        ("dose", "capacity"),
        [
            ("20", 180),
            ("99", 180),
            ("130", 180),
            ("180", 450),
            ("181", 450),
            ("250", 450),
            ("900", 450),
        ],
    )
    def test_the_dose_stands_in_the_middle(self, dose, capacity):
        """The cylinder that holds the dose nearest to the middle; else the biggest."""
        assert best_cylinder(MACHINE, Decimal(dose)).capacity_ml == capacity

    @pytest.mark.parametrize(("mouth", "place"), [("58", 1), ("28", 1), ("27.9", 0), ("10", 0)])
    def test_the_widest_nozzle_that_goes_in(self, mouth, place):
        """With 4 mm to spare; where none goes in, the narrowest."""
        container = replace(job().container, mouth_mm=Decimal(mouth))

        assert best_nozzle(MACHINE, container) == place

    @pytest.mark.parametrize(("lot", "size"), [(99, 6), (100, 12), (400, 12)])
    def test_a_tray_where_nobody_said(self, lot, size):
        """Dozens for lots, half dozens for few."""
        assert trays_for(lot) == size


class TestAim:
    """The aim with least giveaway that keeps to the rules."""

    def test_it_is_above_the_label_by_little(self):
        """At 0.16 % of spread under EU rules: some tenths of a gram above 250 g."""
        shop = Workshop()
        aim = propose_aim(shop.desk, shop.facts)

        assert Decimal("250.1") <= aim.aim_g <= Decimal(252)
        assert aim.giveaway_g == aim.aim_g - 250
        assert aim.aim_g % Decimal("0.1") == 0
        assert aim.because

    def test_more_spread_needs_more(self):
        """A machine that scatters twice as much gives away more; unknown is taken as 0.3 %."""
        shop = Workshop()
        aims = [
            propose_aim(shop.desk, replace(shop.facts, expected_sd_pct=sd)).aim_g
            for sd in (Decimal("0.16"), None, Decimal("0.6"))
        ]
        known = propose_aim(shop.desk, replace(shop.facts, expected_sd_pct=Decimal("0.3")))

        assert aims == sorted(aims)
        assert aims[0] < aims[2]
        assert aims[1] == known.aim_g

    def test_where_the_rules_say_nothing(self):
        """One step above the label, and why not better."""
        shop = Workshop(job(rules="US-HB133-A", plan=None, unit="mL", aim_g=Decimal(256)))
        aim = propose_aim(shop.desk, shop.facts)

        # 250 mL x (1.01 x (1 + 0.0003 x 0) - 0.0012) / (1 - 0.00015) = 252.238, shown 252.3 g.
        assert (aim.aim_g, aim.binding) == (Decimal("252.4"), "none")
        assert aim.because.startswith("One step above the label weight:")


class TestChange:
    """Facts that change, and what that opens again."""

    @pytest.mark.parametrize(
        ("changes", "reopens", "words"),
        [
            ({"lot_code": "L2"}, (), "Facts were changed."),
            ({"product": {"name": "Hand balm"}}, ("match", "trim", "prove"), "Product, machine"),
            ({"cylinder": SMALL}, ("match", "trim", "prove"), "Product, machine or parts"),
            ({"nozzle": replace(NOZZLE, kind="long")}, ("match", "trim", "prove"), "parts"),
            ({"product": {"product_c": Decimal(27)}}, (), "Product is 5 °C warmer."),
            ({"product": {"product_c": Decimal("27.1")}}, ("trim",), "Product is 5.1 °C warmer."),
            ({"product": {"product_c": Decimal(16)}}, ("trim",), "Product is 6 °C cooler."),
            ({"container": {"brim_ml": Decimal(290)}}, ("match",), "The container was changed."),
            ({"aim_g": Decimal(253)}, ("trim", "prove"), "The aim is 253 g now, 252 g before."),
            ({"nominal": Decimal(249)}, ("match",), "Label quantity or rules were changed."),
            ({"plan": None}, ("match",), "Label quantity or rules were changed."),
            ({"claim_pct": Decimal("0.5")}, ("prove",), "The claim was changed."),
            (
                {"container": {"brim_ml": Decimal(290)}, "aim_g": Decimal(253)},
                ("match", "trim", "prove"),
                "The container was changed. The aim is 253 g now, 252 g before.",
            ),
            (
                {"product": {"product_c": Decimal(24)}, "aim_g": Decimal(253)},
                ("trim", "prove"),
                "Product is 2 °C warmer. The aim is 253 g now",
            ),
        ],
    )
    def test_what_a_change_opens_again(self, changes, reopens, words):
        """Everything that a change makes doubtful, and nothing else, with the cause in words."""
        shop = Workshop().to_proved()
        change(shop, **changes)
        fact = shop.entries()[-1].payload

        assert isinstance(fact, FactsChanged)
        assert fact.reopens == reopens
        assert words in fact.reason
        assert set(shop.state.reopened) == set(reopens)

    def test_a_reason_given_is_kept(self):
        """The person's own words go before ours."""
        shop = Workshop()
        change(shop, reason=" new drum ", aim_g=Decimal(253))

        assert shop.entries()[-1].payload.reason == "new drum"

    def test_nothing_changed_keeps_nothing(self):
        """The same facts again are no change."""
        shop = Workshop()
        change(shop)

        assert len(shop.entries()) == 1

    def test_the_number_stays(self):
        """A job keeps its number whatever the form says."""
        shop = Workshop()
        change(shop, number="0999", lot_code="L2")

        assert (shop.facts.number, shop.facts.lot_code) == ("0417", "L2")

    def test_facts_that_cannot_be_are_refused_here_too(self):
        """A change is checked as an opening is."""
        with pytest.raises(BadInput, match=r"above zero"):
            change(Workshop(), lot_size=0)

    def test_a_second_form_is_refused(self):
        """Two people change facts at once: the second is told of the first."""
        shop = Workshop()
        seen = replace(shop.press, seen=shop.state.revision)
        change(shop, lot_code="L2")

        with pytest.raises(Conflict, match=r"facts changed by AB"):
            change_facts(shop.desk, shop.number, job(lot_code="L3"), "", seen)
