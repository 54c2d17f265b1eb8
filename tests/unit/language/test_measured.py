"""Pages, papers and charts in US customary units, and what their fields carry."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.language.charted import chart_in_us, named_in_us
from fillwright.language.measured import page_in_us
from fillwright.language.papers import data_in_us
from fillwright.records.charts import Dose, DoseChart, LimitMark, LotChart
from fillwright.report.charts import describe, table


def test_a_figure_and_its_unit_may_stand_in_tags_of_their_own():
    """The large figure of a page has its unit in small letters beside it."""
    page = '<p>Jar 2<b class="num">296.43</b>\n <small>g</small></p>'

    assert page_in_us(page) == '<p>Jar 2<b class="num">10.4565</b>\n <small>oz</small></p>'


def test_bare_figures_below_a_unit_turn():
    """The head of a column or the name of a fact says the unit of what stands below."""
    page = (
        '<table><tr><th scope="col">Jar</th><th scope="col">Weight, g</th></tr>'
        "<tr><td>12</td><td>250.0</td></tr></table><dl><dt>Spread, g</dt><dd>0.5</dd></dl>"
    )

    turned = page_in_us(page)

    assert "<td>12</td><td>8.820</td>" in turned
    assert ">Weight, oz</th>" in turned
    assert "<dt>Spread, oz</dt><dd>0.020</dd>" in turned


def test_words_that_are_read_aloud_turn():
    """The names of pictures and buttons too."""
    assert page_in_us('<svg aria-label="Jar 3 at 250.0 g"></svg>') == (
        '<svg aria-label="Jar 3 at 8.820 oz"></svg>'
    )


def test_a_field_shows_the_us_figure_and_carries_its_own():
    """What was shown and what that stands for go back with the form."""
    page = '<input id="a" name="a" value="250.0"><span class="unit">g</span>'

    assert page_in_us(page) == (
        '<input type="hidden" name="in-a" value="g=8.820=250.0">'
        '<input data-unit="oz" id="a" name="a" value="8.820"><span class="unit">oz</span>'
    )


def test_a_weight_is_sent_in_the_unit_it_is_typed_in():
    """The unit goes with the weight, as that of a scale does."""
    page = (
        '<input id="weight" name="weight" data-weigh data-tare="26.37" value="">'
        '<span class="unit">g</span><input type="hidden" name="unit" value="g">'
    )

    turned = page_in_us(page)

    assert 'name="unit" value="oz"' in turned
    assert 'data-tare="0.9300"' in turned
    assert "in-weight" not in turned


@pytest.mark.parametrize(
    "page",
    [
        '<p translate="no">Oil 100 mL</p>',
        "<textarea>250 g</textarea>",
        "<code>250 g</code>",
        '<option value="g">g</option>',
    ],
)
def test_what_was_typed_or_is_to_be_chosen_stays(page):
    """Marked elements, what people type into areas, code, and the names of units."""
    assert page_in_us(page) == page


def test_a_drafted_letter_turns():
    """An area that nobody can type into holds our own words."""
    page = "<textarea readonly>It held 296.1 g.</textarea>"

    assert page_in_us(page) == "<textarea readonly>It held 10.445 oz.</textarea>"


def test_a_paper_turns_but_for_its_calculations():
    """Tables by their heads, facts by their names, weighings with what the scale showed."""
    data = {
        "blocks": [
            {"kind": "table", "head": ["Shot", "Weight, g"], "rows": [["1", "250.0"]]},
            {"kind": "facts", "pairs": [["Aim", "296.2 g"]]},
            {"kind": "formula", "steps": ["net = 250.0 g"]},
            {
                "kind": "lines",
                "unit": "g",
                "columns": [[{"lead": "1", "text": "321.0 \u2192 296.03  10:04 AB"}]],
            },
        ]
    }

    table_of, facts, formula, lines = data_in_us(data)["blocks"]

    assert (table_of["head"], table_of["rows"]) == (["Shot", "Weight, oz"], [["1", "8.820"]])
    assert facts["pairs"] == [["Aim", "10.450 oz"]]
    assert formula["steps"] == ["net = 250.0 g"]
    assert lines["columns"][0][0]["text"] == "321.0 g \u2192 10.4420  10:04 AB"


def test_a_chart_of_doses_has_its_axis_in_ounces():
    """Weights to the nearest, T1 up, the band inwards; the table under its head."""
    chart = DoseChart(
        filled=3,
        tray_size=2,
        doses=(Dose(container=2, net_g=Decimal("250.1")),),
        aim_g=Decimal("250.0"),
        low_g=Decimal("248.0"),
        high_g=Decimal("252.0"),
        limits=(LimitMark(name="T1", limit_g=Decimal("237.4")),),
    )

    turned = chart_in_us(chart)

    assert named_in_us(describe(turned)) == (
        "3 jars filled, 1 weighed. All inside 8.750 to 8.885 oz. "
        "None below the legal limit T1, 8.375 oz."
    )
    assert table(turned).rows[0][2] == "8.820"
    assert named_in_us(table(turned).head[2]) == "Weight, oz"


def test_no_value_crosses_a_limit_by_being_rounded():
    """What lay below T1 in grams lies below it in ounces, and what did not does not."""
    values = tuple(Decimal(2373) / 10 + Decimal(n) / 1000 for n in range(0, 200, 7))
    chart = LotChart(
        values_label_unit=values,
        nominal=Decimal(250),
        mean=None,
        limit=None,
        t1_label_unit=Decimal("237.385"),
        t2_label_unit=None,
        unit="g",
    )

    turned = chart_in_us(chart)

    assert [v < chart.t1_label_unit for v in values] == [
        v < turned.t1_label_unit for v in turned.values_label_unit
    ]
    assert turned.unit == "oz"
