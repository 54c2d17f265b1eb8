"""Tables of tolerable shortage and worked examples of the regulations.

National Trade Measurement Regulations 2009 (Australia) regulation 4.36 and the guide to the
average quantity system of the Australian industry department (both read); NIST Handbook 133
chapter 2 example (read) and Table 2-5 (from memory).
"""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal

import pytest

from fillwright.knowledge.load import rule_set, rule_sets
from fillwright.science.quantity import LotOutcome, lot_test, tolerable_shortage

D = Decimal
STEPS = [50, 100, 200, 300, 500, 1000, 10000, 15000]


@pytest.mark.parametrize(
    ("nominal", "shortage"),
    [
        # regulation 4.36: 9 %, 4.5, 4.5 %, 9, 3 %, 15, 1.5 %, 150, 1 %
        ("10", "0.9"),
        ("50", "4.5"),
        ("75", "4.5"),
        ("100", "4.5"),
        ("150", "6.8"),  # 6.75 up
        ("200", "9"),
        ("250", "9"),
        ("300", "9"),
        ("400", "12"),
        ("500", "15"),
        ("750", "15"),
        ("1000", "15"),
        ("2000", "30"),
        ("10000", "150"),
        ("12000", "150"),
        ("15000", "150"),
        ("50000", "500"),
    ],
)
def test_the_table_of_regulation_4_36(nominal, shortage):
    """Each row of the table, and both ends of it."""
    answer = tolerable_shortage(rule_set("AU-2009/233"), D(nominal), unit="g")

    assert answer.t == D(shortage)


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("name", [name for name in rule_sets() if not name.startswith("US")])
def test_rows_join_without_a_jump(name, step):
    """At every step the row below and the row above give the same shortage before rounding."""
    rules = rule_set(name)
    meeting = [row for row in rules.shortages if step in (row.above, row.up_to)]
    values = {
        row.amount if row.amount is not None else row.percent * step / 100 for row in meeting
    }

    assert len(values) == (0 if step > rules.scope.high else 1)


@pytest.mark.parametrize(("lot", "n"), [(3500, 125), (130, 50), (5000, 125), (148, 50)])
def test_sample_sizes_of_the_guide(lot, n):
    """Four worked examples of the Australian guide: lots of 3 500, 130, 5 000 and 148."""
    answer = lot_test(rule_set("AU-2009/233"), [], nominal=D(500), unit="g", lot_size=lot)

    assert answer.required_n == n


def test_one_far_short_package_fails_a_lot_above_its_label():
    """Worked example of the Australian guide: mean above nominal, one package short by over 2 T.

    The figures here are our own; the guide's outcome is what is checked.
    """
    sample = [D(505)] * 49 + [D("469.9")]
    answer = lot_test(rule_set("AU-2009/233"), sample, nominal=D(500), unit="g", lot_size=148)

    assert answer.mean > 500
    assert (answer.verdict, answer.t2_ok) == (LotOutcome.REJECTED, False)


def test_handbook_example_of_113_grams():
    """NIST Handbook 133 chapter 2: 113 g has 7.2 g."""
    answer = tolerable_shortage(rule_set("US-HB133-A"), D(113), unit="g")

    assert answer.t == D("7.2")


# Table 2-5 in pounds, from memory: limit of the row, allowable variation
POUNDS = [
    "0.12 0.008",
    "0.18 0.012",
    "0.26 0.016",
    "0.34 0.020",
    "0.46 0.024",
    "0.58 0.028",
    "0.70 0.032",
    "0.84 0.036",
    "0.94 0.040",
    "1.08 0.044",
    "1.26 0.048",
    "1.40 0.052",
    "1.54 0.056",
    "1.70 0.060",
    "1.88 0.064",
    "2.14 0.070",
    "2.48 0.078",
    "2.76 0.086",
    "3.20 0.094",
    "3.90 0.11",
    "4.70 0.12",
    "5.80 0.14",
    "6.80 0.15",
    "7.90 0.17",
    "9.40 0.19",
    "11.70 0.22",
    "14.30 0.25",
    "17.70 0.28",
    "23.20 0.31",
    "31.60 0.37",
    "42.40 0.44",
    "54.40 0.50",
]


@pytest.mark.parametrize("row", POUNDS)
def test_gram_and_pound_columns_agree(row):
    """A gram figure is the pound figure times 453.592, cut off to the digits shown.

    Limits show whole grams to 1 kg and tens of grams above; that the columns agree with each
    other does not prove the pound column.
    """
    limit, variation = (D(figure) for figure in row.split())
    grams = limit * D("453.592")
    digits = D("1") if grams < 1000 else D("10")
    shown = (grams / digits).quantize(D(1), ROUND_DOWN) * digits
    held = next(r for r in rule_set("US-HB133-A").shortages if r.up_to == shown)
    amount = variation * D("453.592")
    places = D("1") if amount >= 100 else D("0.1")

    assert held.amount == amount.quantize(places, ROUND_DOWN)
