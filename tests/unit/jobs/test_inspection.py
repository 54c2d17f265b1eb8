"""What an inspector is shown, and the rehearsal of his sample."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from tests.fakes.workshop import Workshop, job

from fillwright.errors import BadInput
from fillwright.jobs.release.inspection import inspector_sheet
from fillwright.jobs.release.lot import sample_of
from fillwright.jobs.release.rehearsal import Typed, lot_of_today, rehearse
from fillwright.records.entries import RunFinished, RunStarted
from fillwright.report.inspector_words import inspector_blocks
from fillwright.report.pdf import print_sheet


def typed_for(shop, seed, value="252.0"):
    """Return weights for all that are drawn and not on record."""
    sheet = rehearse(shop.desk, shop.number, seed=seed, typed=Typed())
    return Typed(shown_g=(Decimal(value),) * sheet.missing)


def filled():
    """Return entries of a run of 120 without a single weight."""
    return (
        RunStarted(first_container=1, sd_g=0.4, sd_readings=0, without_proof="a test"),
        RunFinished(filled=120),
    )


def test_the_page_holds_what_he_asks_for():
    """Lots with their verdict, scales with their checks, density and tare, the strip."""
    shop = Workshop().to_released()

    sheet = inspector_sheet(shop.desk, seed=5)

    [lot] = sheet.lots
    assert (lot.job, lot.is_good, lot.outcome) == ("0417", True, "released 120")
    assert "0 below T1" in lot.found
    [scale] = sheet.scales
    assert "200 g read 200 g, passed" in scale.checks
    assert (scale.is_due, scale.due_on) == (True, "not known")
    [stock] = sheet.stock
    assert stock.density == "1.01 g/mL at 20 °C"
    assert sheet.rehearsal.job == "0417"


@pytest.mark.parametrize(
    ("on", "due_on", "is_due"),
    [
        ("2030-06-01", "2031-06-01", False),
        ("2029-06-01", "2030-06-01", True),
        ("2028-02-29", "2029-02-28", True),
        ("last spring", "not known", True),
    ],
)
def test_calibration_is_due_a_year_after(on, due_on, is_due):
    """The workshop's clock stands in March 2031."""
    shop = Workshop(job(scale={"checked_on": on})).to_finished()

    [scale] = inspector_sheet(shop.desk, seed=5).scales

    assert (scale.due_on, scale.is_due) == (due_on, is_due)


def test_the_same_seed_draws_the_same_sample():
    """Thirty of a hundred and twenty under the double plan; another seed draws others."""
    shop = Workshop().to_finished()

    one, same, other = (
        rehearse(shop.desk, shop.number, seed=seed, typed=Typed()) for seed in (5, 5, 6)
    )

    drawn = [line.container for line in one.lines]
    assert len(drawn) == len(set(drawn)) == 30
    assert one == same
    assert drawn != [line.container for line in other.lines]


def test_what_is_on_record_counts_and_the_rest_is_fetched_in_order():
    """The next one to fetch is the first drawn that no weighing is on record of."""
    shop = Workshop().to_finished()
    known = sample_of(shop.state, extra={})

    sheet = rehearse(shop.desk, shop.number, seed=5, typed=Typed())

    lacking = [line.container for line in sheet.lines if line.container not in known]
    assert sheet.missing == len(lacking)
    assert sheet.next_container == lacking[0]
    assert sheet.verdicts == ()
    more = rehearse(shop.desk, shop.number, seed=5, typed=Typed(shown_g=(Decimal("252.1"),)))
    assert (more.missing, more.next_container) == (sheet.missing - 1, lacking[1])


def test_a_whole_sample_is_judged_and_nothing_is_kept():
    """At the aim it passes; eight grams low it does not. The journal does not grow."""
    shop = Workshop().to_finished()
    before = len(shop.journal.log)

    good = rehearse(shop.desk, shop.number, seed=5, typed=typed_for(shop, 5))
    bad = rehearse(shop.desk, shop.number, seed=5, typed=typed_for(shop, 5, "240.0"))

    assert (good.state, good.headline) == ("on", "This sample would pass.")
    assert (bad.state, bad.headline) == ("stop", "This sample would not pass.")
    assert good.verdicts[0].startswith("EU-76/211: Accepted")
    assert len(shop.journal.log) == before


def test_a_second_sample_is_asked_for_where_the_plan_has_one():
    """Two short in thirty: sixty are wanted in all."""
    shop = Workshop().to_finished()
    first = typed_for(shop, 5)
    low = Typed(shown_g=(Decimal("240.0"),) * 2 + first.shown_g[2:])

    sheet = rehearse(shop.desk, shop.number, seed=5, typed=low)

    assert len(sheet.lines) == 60
    assert sheet.missing > 0


def test_gross_readings_lose_the_average_empty():
    """With an average empty of 40 g, 292 g on the scale is 252 g net."""
    shop = Workshop(job(tare_way="mean", lot_size=120)).to_setup()
    facts = shop.facts
    shop.tell(*filled())

    sheet = rehearse(shop.desk, facts.number, seed=5, typed=Typed(shown_g=(Decimal("292.0"),)))

    assert sheet.lines[0].net == "252 g"


def test_an_empty_lot_has_nothing_to_draw():
    """Without a filled jar there is no rehearsal, and the page has none."""
    shop = Workshop()

    assert lot_of_today(shop.desk) is None
    assert inspector_sheet(shop.desk, seed=5).rehearsal is None
    with pytest.raises(BadInput, match="Nothing of this lot is filled"):
        rehearse(shop.desk, shop.number, seed=5, typed=Typed())


def test_the_paper_names_the_rehearsal_as_ours():
    """The words say so, and the PDF is made of what the page shows."""
    shop = Workshop().to_released()
    sheet = inspector_sheet(shop.desk, seed=5)

    text = json.dumps(inspector_blocks(sheet))

    assert "A rehearsal of ours" in text
    assert "no official test" in text
    assert "released 120" in text
    assert print_sheet(sheet)[:5] == b"%PDF-"
