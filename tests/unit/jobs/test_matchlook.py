"""Match on a described machine: what is computed, how it is told, what never stops a job."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from described import described_job, described_shop
from workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.jobs.match import stage as match
from fillwright.jobs.match.case import matched
from fillwright.jobs.match.seal_choice import seal_choice
from fillwright.records.codec import payload_from_json
from fillwright.records.entities import RunsLike
from fillwright.records.product_parts import ProductFlow, ViscosityPoint

MACHINE = shipped_machine("medium")
CYLINDER = MACHINE.cylinders[-1]
CUTS_OFF = next(n for n in MACHINE.nozzles if n.kind != "plain")
OPEN = max(MACHINE.nozzles, key=lambda n: n.bore_mm)


def thick(*pairs):
    """Measured viscosities in mPa·s."""
    return ProductFlow(
        way="points",
        preset="paste",
        points=tuple(
            ViscosityPoint(at_c=Decimal(c), viscosity_mpa_s=Decimal(v)) for c, v in pairs
        ),
    )


def seen(*, nozzle=CUTS_OFF, **product):
    """What Match shows for the usual job on a described machine."""
    kept = {"runs_like": RunsLike.OIL, **product}
    facts = job(product=kept)
    shop = Workshop(replace(facts, machine=MACHINE, cylinder=CYLINDER, nozzle=nozzle))
    return shop, match.look(shop.desk, shop.state)


def reason(look, name):
    """One of the things that were compared."""
    return next(one for one in look.reasons if one.name == name)


def test_a_described_machine_is_computed():
    """Every rule of the flow has its figure, its range and what it hangs on."""
    _, look = seen()

    assert {"Drip", "Clean fill", "Hopper", "Recharge", "Push", "Spread"} <= {
        one.name for one in look.reasons
    }
    push = reason(look, "Push")
    assert push.span
    assert push.matters_most in {"how thick the product is", "the air pressure"}
    assert [one.name for one in look.expects][:2] == ["Rate", "Air"]
    assert len(look.expects) <= 5


def test_what_was_not_told_is_said():
    """The middle figure, the seals and the pieces: each with how much it matters."""
    _, look = seen()

    assert {"Thickness", "What is in it"} <= {one.name for one in look.assumed}
    assert "seals: tell what is in the product" in look.not_judged
    assert "largest piece" in look.not_judged


def test_an_undescribed_machine_falls_back():
    """Nothing of the flow is judged, and the page says so."""
    shop = Workshop()
    look = match.look(shop.desk, shop.state)

    assert matched(shop.desk, shop.state) is None
    assert (look.expects, look.behind, look.matters_most) == ((), (), "")
    assert "describe the machine" in look.not_judged
    assert "Machine" in {one.name for one in look.assumed}


def test_a_guess_never_stops_a_job():
    """What would not feed by a middle figure asks for care; measured, it stops."""
    stiff = {"product_c": Decimal(20)}
    _, guessed = seen(**stiff, flow=ProductFlow(preset="honey"))
    shop, measured = seen(**stiff, flow=thick(("20", "90000000")))

    assert reason(guessed, "Push").state != "stop"
    assert measured.verdict == "does-not-suit"
    with pytest.raises(BadInput, match="Change the facts first"):
        match.take(shop.desk, shop.number, shop.press)


def test_a_drip_asks_for_care_and_names_the_nozzle_that_would_not():
    """A wide open tube drips: a change, no stop; the one that cuts off is named."""
    _, look = seen(nozzle=OPEN)

    assert reason(look, "Drip").state == "warn"
    assert "or a nozzle that cuts off" in reason(look, "Drip").cure
    nozzle = next(part for part in look.parts if part.name == "Nozzle")
    assert nozzle.is_odd


def test_measured_figures_narrow_the_range():
    """A measured viscosity makes the range of the push narrower than what it runs like."""

    def span(look):
        low, high = reason(look, "Push").span.removesuffix(" times").split(" to ")
        return float(high) / float(low)

    _, like = seen(flow=ProductFlow(preset="honey"))
    _, told = seen(flow=thick(("20", "10000"), ("40", "900")))

    assert span(told) < span(like)


def test_what_is_too_thick_says_how_much_warmer_would_do():
    """A measured syrup that is too stiff for the drive names the warmth that thins it enough."""
    _, look = seen(nozzle=CUTS_OFF, flow=thick(("20", "60000"), ("40", "6000")))

    assert reason(look, "Push").state == "warn"
    assert "Warmed by" in reason(look, "Push").cure


def test_a_dose_above_the_cylinder_says_how_many_shots():
    """Too large for the cylinder: another one, or so many shots by hand."""
    small = min(MACHINE.cylinders, key=lambda c: c.capacity_ml)
    shop = Workshop(replace(job(), machine=MACHINE, cylinder=small))
    look = match.look(shop.desk, shop.state)

    assert "shots of" in reason(look, "Cylinder").words
    assert look.verdict == "does-not-suit"


def test_seals_go_by_what_is_in_it():
    """Oil: the rubber that swells is named with what decides; with nothing told, none is."""
    _, look = seen(media=("mineral_oil",))
    choice = seal_choice(("mineral_oil", "alkaline_cleaner"), Decimal(20))

    assert "EPDM not, because of Mineral or white oil" in reason(look, "Seals").words
    assert "EPDM" in choice.never
    assert set(choice.good) | set(choice.doubtful) | set(choice.never) >= {"FKM", "PTFE"}
    assert seal_choice((), Decimal(20)) is None


def test_a_large_piece_stops():
    """A piece over a third of the narrowest bore does not pass."""
    _, look = seen(particle_mm=Decimal(6))

    assert reason(look, "Pieces").state == "stop"
    assert "would do" in reason(look, "Pieces").cure


def test_what_was_expected_is_kept_with_the_match():
    """The record holds the figures to expect, what was assumed and what was not judged."""
    shop, look = seen()
    match.take(shop.desk, shop.number, shop.press)

    kept = shop.state.match
    assert len(kept.expected) == len(look.expects) + len(look.behind)
    assert kept.expected[0].startswith("Rate: ")
    assert kept.not_judged == look.not_judged
    assert any(line.startswith("Thickness") for line in kept.assumed)


def test_an_older_record_of_a_match_is_read():
    """An entry of before the newer figures still reads, and has none of them."""
    old = '{"because":"Suits.","reasons":["Cylinder: 450 mL."],"verdict":"suits"}'
    kept = payload_from_json("match judged", 1, old)

    assert (kept.expected, kept.assumed, kept.not_judged) == ((), (), "")


def test_jobs_that_ask_the_same_share_one_answer():
    """Number, lot and trays change nothing; another dose is worked out for itself."""
    one = described_shop()
    other = described_shop(replace(described_job(), number="0999", lot_code="X", lot_size=77))
    wider = replace(described_job().container, mouth_mm=Decimal(90))
    third = described_shop(replace(described_job(), container=wider))

    first, second, last = (matched(shop.desk, shop.state) for shop in (one, other, third))

    assert first is second
    assert last is not first
