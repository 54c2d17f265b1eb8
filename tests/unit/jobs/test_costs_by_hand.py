"""One small job and its quote, every sum written out beside the figure of the page."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from tests.fakes.workshop import MACHINE, Workshop, job

from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.jobs.money import costs, quotes
from fillwright.jobs.money.prices import keep_prices, note_losses
from fillwright.jobs.opening import open_job
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.records.book import stream_of
from fillwright.records.entities import Cylinder
from fillwright.records.entries import (
    ContainersSettled,
    FaultOpened,
    LossesNoted,
    PricesKept,
    RunFinished,
    StepDone,
    WeighingTaken,
)

# Off the aim of 252 g, so above the label of 250 g:
# 2.4 + 1.4 + 2.2 + 2.0 + 1.8 + 2.6 + 2.1 = 14.5 g in seven that go out; the eighth is scrapped.
OFF_AIM = ("0.4", "-0.6", "0.2", "0.0", "-0.2", "0.6", "0.1", "-0.5")
BORE = Cylinder(capacity_ml=Decimal(450), ml_per_mark=Decimal(5), bore_mm=Decimal(80))
PRICES = PricesKept(
    money="EUR",
    work_cost_per_h=Decimal(36),
    cleaner_per_litre=Decimal(2),
    air_cost_per_m3=Decimal(5),
)


def filled(purpose, net):
    """A weighing away from any number."""
    return WeighingTaken(
        purpose=purpose, value=net, unit="g", basis="net", tare_g=Decimal(0), net_g=Decimal(net)
    )


def later(shop, minutes, *facts):
    """Let minutes go by, then put facts on record."""
    shop.clock.go(60 * minutes)
    shop.tell(*facts)


@pytest.fixture
def shop():
    """Eight jars from Match to Strip; each entry tells the minutes that went before it."""
    drive = replace(
        shipped_machine("medium").air,
        bore_mm=Decimal(50), rod_mm=Decimal(20), dead_ml=Decimal(20),
    )  # fmt: skip
    machine = {"air": drive, "cylinders": (*MACHINE.cylinders, BORE)}
    facts = job(machine=machine, cylinder=BORE, lot_size=8, tray_size=4, weigh_every=1)
    shop = Workshop(facts)
    shop.clock.go(60 * 4)
    shop.to_setup()  # Match: 4 min.
    later(shop, 7, StepDone(step="air", outcome="done", reading="6 bar"))
    later(shop, 2, filled("purge", "240"))
    later(shop, 1, filled("purge", "244"))  # Set up: 7 + 2 + 1 = 10 min.
    later(shop, 3, filled("shot", "250"))
    later(shop, 2, filled("shot", "252"))  # Trim: 3 + 2 = 5 min.
    later(shop, 12, filled("proof", "252"))  # Prove: 12 min.
    shop.clock.go(60)
    run.start(shop.desk, shop.number, shop.press, without_proof="a test")  # Run: 1 min, and
    firstjar.skip_look(shop.desk, shop.number, "a test", shop.press)
    for off in OFF_AIM:
        shop.off(off, purpose="dose")  # half a minute for each of eight: 4 min.
    later(shop, 6, FaultOpened(sign="drips"))  # Fault: 6 min.
    later(shop, 3, ContainersSettled(first=8, last=8, outcome="scrapped", reason="dented"))
    shop.tell(RunFinished(filled=8))
    later(shop, 90, filled("sample", "252"))  # Release: 3 min; an hour and a half is time away.
    later(shop, 20, StepDone(step="strip", outcome="done", reading="every seal accounted for"))
    keep_prices(
        shop.desk, facts, PRICES, shop.press,
        product_cost_per_kg=Decimal(8), container_cost_each=Decimal("0.35"),
    )  # fmt: skip
    lost(shop, shop.number, "0.5")
    return shop


def lost(shop, number, hopper_kg):
    """Note what no weighing shows."""
    losses = LossesNoted(
        job=number, hopper_kg=Decimal(hopper_kg), cleaner_l=Decimal(3), work_min=Decimal(15)
    )
    note_losses(shop.desk, losses, shop.press)


def sum_of(shop, name):
    """Return the money of one part, as far as the page has it before rounding."""
    amounts = costs.amounts_of(costs.use_of(shop.desk, shop.state))
    prices = costs.prices_for(shop.desk, shop.facts)
    parts = costs.lot_cost(amounts, prices, containers=7).parts
    return next(float(part.cost[0]) for part in parts if part.what.value == name)


# Prices: 8 EUR a kilogram, 0.35 a jar, 36 an hour = 0.60 a minute, 2 a litre, 5 a cubic metre.
SUMS = (
    ("product on the label", 14.00),  # 7 x 0.250 kg x 8
    ("containers and lids", 2.45),  # 7 x 0.35
    ("giveaway", 0.116),  # 14.5 g = 0.0145 kg, x 8
    ("purge", 3.872),  # 240 + 244 g = 0.484 kg, x 8
    ("trim shots", 4.016),  # 250 + 252 g = 0.502 kg, x 8
    ("left in the hopper", 4.00),  # 0.5 kg x 8
    ("product in rejects", 2.016),  # 1 x 0.252 kg x 8
    ("containers of rejects", 0.35),  # 1 x 0.35
    ("cleaner", 6.00),  # 3 L x 2
    ("work in Match", 2.40),  # 4 min x 0.60
    ("work in Set up", 6.00),  # 10 min x 0.60
    ("work in Trim", 3.00),  # 5 min x 0.60
    ("work in Prove", 7.20),  # 12 min x 0.60
    ("work in Run", 3.00),  # 5 min x 0.60
    ("work in Release", 1.80),  # 3 min x 0.60
    ("work in Strip", 12.00),  # 20 min x 0.60
    ("work on faults", 3.60),  # 6 min x 0.60
    ("work beside the bench", 9.00),  # 15 min x 0.60
)
# Air: 252 g at 1.01 g/mL are 249.5 mL, at 22 °C (0.0003 a kelvin) 249.7 mL; in a bore of 80 mm
# (50.265 cm²) a stroke of 4.9676 cm. The two sides of the air cylinder, π/4 (2 x 5² - 2²) =
# 36.128 cm², sweep 179.47 cm³ with it. With twice 20 cm³ besides, at 6 + 1.01325 = 7.01325 bar:
# 7.01325 x 219.47 - 2 x 1.01325 x 20 = 1498.7 cm³ at 1 bar. Eight jars, two purges and two trim
# shots are 12 strokes, 17.984 L, at 5 EUR a cubic metre:
AIR_EUR = 0.08992
# Sold: 14.00 + 2.45 = 16.45. On top: all the rest, 68.37 and the air, 68.46. Seven go out.
SOLD, ON_TOP, ONE = 16.45 / 7, 68.45992 / 7, 84.90992 / 7


@pytest.mark.parametrize(("name", "money"), SUMS)
def test_each_part_is_an_amount_times_its_price(shop, name, money):
    """Product, jars, minutes by stage, cleaner: equal to the sum written beside it."""
    assert sum_of(shop, name) == pytest.approx(money, rel=1e-9)


def test_air_is_twelve_strokes_by_hand(shop):
    """Bore, rod, stroke, dead volume and pressure make one stroke; the strokes are counted."""
    assert sum_of(shop, "free air") == pytest.approx(AIR_EUR, rel=1e-4)


def test_the_page_adds_them_up(shop):
    """One jar costs what is sold and what comes on top, and time away is named."""
    seen = costs.look(shop.desk, shop.number)

    assert seen.headline == f"One jar costs {ONE:.2f} EUR." == "One jar costs 12.13 EUR."
    assert seen.why == "2.35 EUR is what the buyer gets, 9.78 EUR comes on top. 7 jars."
    assert (f"{SOLD:.2f}", f"{ON_TOP:.2f}") == ("2.35", "9.78")
    assert seen.missing == ()
    assert "A gap of more than an hour is not work: 90 min were left out." in seen.use.notes
    lines = {line.name: (line.amount, line.cost) for line in (*seen.sold, *seen.lines)}
    assert lines["work in Strip"] == ("20 min", "12.00 EUR")
    assert lines["purge"] == ("0.484 kg", "3.87 EUR")
    assert lines["giveaway"] == ("0.015 kg", "0.12 EUR")
    assert [line.name for line in seen.lines][:3] == [
        "work in Strip",
        "work beside the bench",
        "work in Prove",
    ]


# The quote. Whatever the size: purge 3.872 + trim shots 4.016 + hopper 4.00 + cleaner 6.00 + work
# but for the run 2.40 + 6.00 + 3.00 + 7.20 + 1.80 + 12.00 + 3.60 + 9.00 = 62.888. For each:
# (giveaway 0.116 + rejects 2.016 + 0.35 + air 0.08992 + run 3.00) / 7 = 0.79599, and 2.35 sold.
# The second job left 1.5 kg in its hopper, 8 EUR more: 70.888 whatever the size.
# At 50: 62.888 + 50 x 3.14599 = 220.187 and 228.187. The middle is √(220.187 x 228.187) = 224.15.
# ln(228.187 / 220.187) = 0.035689; s = 0.035689 / √2; t with one degree of freedom at 90 % is
# 3.0777 (any table); half = 3.0777 x s x √(1 + 1/2) = 0.095122. 224.15 e^∓0.095122.
QUOTED = (
    (50, "224.15 EUR", "203.81 to 246.52 EUR", "4.48 EUR", "4.08 to 4.93 EUR"),
    # 377.487 and 385.487; middle 381.47; half 2.66535 x 0.020971.
    (100, "381.47 EUR", "360.73 to 403.40 EUR", "3.81 EUR", "3.61 to 4.03 EUR"),
    # 1321.283 and 1329.283; middle 1325.28; half 2.66535 x 0.006036.
    (400, "1\u202f325 EUR", "1\u202f304 to 1\u202f347 EUR", "3.31 EUR", "3.26 to 3.37 EUR"),
)


def again(shop, number):
    """Put the same job on record under another number."""
    open_job(shop.desk, replace(shop.facts, number=number, lot_code=f"L-{number}"), shop.press)
    copied = shop.entries()[1:]
    for entry in copied:
        shop.clock.at = entry.at
        shop.tell(entry.payload, stream=stream_of(number))


def test_a_quote_at_three_lot_sizes_with_its_range(shop):
    """Two jobs, reckoned at each size: middle and range are those written out above."""
    began, ended = shop.entries()[0].at, shop.clock.at
    shop.clock.at = began
    again(shop, "0418")
    shop.clock.at = ended
    lost(shop, "0418", "1.5")

    seen = quotes.look(shop.desk, shop.number, tuple(line[0] for line in QUOTED))

    shown = [(q.lot_size, q.whole, q.whole_range, q.each, q.each_range) for q in seen.lines]
    assert shown == list(QUOTED)
    assert seen.headline == "50 jars: 224.15 EUR, 4.48 EUR each."
    assert set(seen.rests_on) == {"0417", "0418"}


# A new job in the same product, its jar of half the label and 0.20 each, at one lot size, after
# the one job above. Whatever the size: 62.888, as above. Product and air go by half, jars and
# minutes are as they were: (giveaway 0.058 + rejects 1.008 + 0.20 + air 0.04496 + run 3.00) / 7 =
# 0.61585. Sold: 0.125 kg x 8 + 0.20 = 1.20. At 80: 62.888 + 80 x 1.81585 = 208.156, 2.602 each.
HALF = "80 jars: 208.16 EUR, 2.60 EUR each."


def half_job(shop, number="0500"):
    """Open a new job for the same product in a jar of half the size; nothing of it is filled."""
    old = shop.facts
    jar = replace(old.container, name="125 mL jar")
    facts = replace(
        old, number=number, lot_code=f"L-{number}", container=jar, nominal=Decimal(125),
        aim_g=Decimal(126), lot_size=80,
    )  # fmt: skip
    open_job(shop.desk, facts, shop.press)
    return facts


def test_a_new_job_at_one_lot_size_rests_on_the_one_that_was(shop):
    """Half the label: product and air by half, minutes as they were, and no range from one."""
    small = half_job(shop)
    keep_prices(
        shop.desk, small, PRICES, shop.press,
        product_cost_per_kg=Decimal(8), container_cost_each=Decimal("0.20"),
    )  # fmt: skip

    seen = quotes.look(shop.desk, "0500", (80,))

    assert seen.headline == HALF
    assert seen.why == (
        "It rests on one earlier job: no range can be told. Same product, other containers too."
    )
    assert (seen.rests_on, seen.missing) == (("0417",), ())
    [line] = seen.lines
    assert (line.whole_range, line.each_range) == ("no range", "no range")


def test_one_price_alone_is_a_quote_of_that_alone(shop):
    """Product at 8: 3.872 + 4.016 + 4.00, then 0.116 + 2.016 over seven and 2.00 for each."""
    keep_prices(
        shop.desk, shop.facts, PricesKept(money="EUR"), shop.press,
        product_cost_per_kg=Decimal(8), container_cost_each=None,
    )  # fmt: skip

    seen = quotes.look(shop.desk, shop.number, (200,))

    # 11.888 + 200 x (0.30457 + 2.00) = 11.888 + 460.914 = 472.802; over 200 it is 2.364.
    assert seen.headline == "200 jars: 472.80 EUR, 2.36 EUR each."
    assert seen.missing == (
        "No price for a container with its lid.",
        "No price for an hour of work.",
        "No price for a litre of cleaner.",
        "No price for a cubic metre of free air.",
    )


def test_what_an_earlier_job_did_not_say_is_named_in_the_quote(shop):
    """Counted as nothing, and said: a quote that leaves the hopper out is too low."""
    note_losses(shop.desk, LossesNoted(job=shop.number, work_min=Decimal(15)), shop.press)

    seen = quotes.look(shop.desk, shop.number, (100,))

    # 62.888 less 4.00 in the hopper and 6.00 of cleaner: 52.888 + 100 x 3.14599 = 367.487.
    assert seen.headline == "100 jars: 367.49 EUR, 3.67 EUR each."
    assert seen.missing == (
        "Left in the hopper: not said in job 0417, and counted as nothing.",
        "Cleaner: not said in job 0417, and counted as nothing.",
    )


def test_a_tenth_of_a_per_cent_of_scatter_by_hand():
    """The least safe aim comes down by 0.749 of 0.25 g; times ten thousand jars at 8 a kilogram.

    For 30 of a lot and k = 0.503, with half as much scatter between lots as within one, the mean
    test asks for 0.749 standard deviations above the label: Phi((mu - Q + k s) / sigma_m)
    integrated over s, tabulated in our own design and reckoned there another way.
    """
    shop = Workshop(job(expected_sd_pct=Decimal(1))).to_setup()
    keep_prices(
        shop.desk, shop.facts, PRICES, shop.press,
        product_cost_per_kg=Decimal(8), container_cost_each=None,
    )  # fmt: skip
    prices = costs.prices_for(shop.desk, shop.facts)

    words = costs._scatter(shop.desk, shop.state, 10_000, prices, "EUR")

    # 0.1 % of 250 g = 0.25 g; 0.749 x 0.25 = 0.18725 g; 0.00018725 kg x 10 000 x 8 = 14.98.
    assert words == (
        "Spread 1 % (taken, not measured). A tenth of a per cent less is worth 14.98 EUR a year: "
        "the least safe aim moves 0.19 g, times 10000 jars."
    )
