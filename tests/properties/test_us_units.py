"""US customary units are a way to show and to type: they change no figure, limit or entry."""

from __future__ import annotations

from contextlib import suppress
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import SCATTER, Workshop, job, known_rules

from fillwright.errors import BadInput
from fillwright.jobs.limits import limits_of
from fillwright.language.kept import keep_of
from fillwright.language.measured import page_in_us
from fillwright.language.measures import in_us
from fillwright.language.usfigures import shown, stands_for
from fillwright.records.codec import payload_to_json
from fillwright.records.entities import SiteSettings
from fillwright.records.units import US_CUSTOMARY, metric_from_us, us_from_metric
from fillwright.web.typedunits import in_metric

UNITS = st.sampled_from(sorted(US_CUSTOMARY))
TYPED = st.decimals(-99999, 99999, places=3, allow_nan=False, allow_infinity=False)
WEIGHTS = st.decimals("0.001", 9999, allow_nan=False, allow_infinity=False, places=3)
PLACES = st.integers(0, 3)


@given(unit=UNITS, typed=TYPED)
def test_what_was_typed_comes_back(unit, typed):
    """Any figure of three places: kept in metric units, it is shown again as it was typed."""
    kept = metric_from_us(typed, unit)

    assert stands_for(kept, unit, 6) == typed


@given(unit=UNITS, typed=TYPED)
def test_a_form_sent_back_changes_nothing(unit, typed):
    """What a field shows of a stored figure comes in as that figure, to the last digit."""
    kept = format(metric_from_us(typed, unit), "f")
    page = page_in_us(f'<input name="a" value="{kept}"><span class="unit">{unit}</span>')
    if 'name="in-a"' not in page:
        return
    value = page.partition('name="a" value="')[2].partition('"')[0]
    mark = page.partition('name="in-a" value="')[2].partition('"')[0]

    assert in_metric({"a": value, "in-a": mark})["a"] == kept


@given(value=WEIGHTS, places=PLACES, unit=st.sampled_from(["g", "mL"]))
def test_a_legal_figure_is_never_shown_lower(value, places, unit):
    """Rounded up it is not below the exact figure, nor a place of the metric one above it."""
    written = f"{value:.{places}f}"
    exact = us_from_metric(Decimal(written), unit)
    up = Fraction(Decimal(shown(written, unit, rounding="up").replace("\u2212", "-")))

    last = Fraction(1, 10 ** (places or 1)) if Decimal(written) < 1000 else Fraction(1, 10**places)
    assert up >= exact
    assert (up - exact) * US_CUSTOMARY[unit].size_factor < 2 * last


@given(value=WEIGHTS, places=PLACES, unit=UNITS.filter(lambda one: one not in ("°C", "K")))
def test_the_rounding_is_less_than_the_last_place(value, places, unit):
    """Turned back, the figure shown differs by less than the last place of the metric one."""
    written = f"{value:.{places}f}"
    back = Fraction(Decimal(shown(written, unit))) * US_CUSTOMARY[unit].size_factor

    assert abs(back - Fraction(Decimal(written))) < Fraction(1, 10**places)


@given(text=st.text(max_size=60))
def test_any_text_is_taken(text):
    """No text fails, and one without digits and units is the same afterwards."""
    assert isinstance(in_us(text), str)


@given(value=WEIGHTS, places=PLACES)
def test_turning_twice_is_turning_once(value, places):
    """What is in US units already is not turned again."""
    once = in_us(f"The jar holds {value:.{places}f} g of it")

    assert in_us(once) == once


@settings(max_examples=8, deadline=None)
@given(
    start=st.sampled_from(["to_shots", "to_run"]),
    offs=st.lists(st.sampled_from([*SCATTER, Decimal(-4), Decimal(-13)]), min_size=1, max_size=6),
)
def test_the_units_shown_change_no_entry_and_no_limit(start, offs):
    """The same presses on a bench in US units leave the same entries, to the last bit."""
    shops = [Workshop(job(), settings=SiteSettings(units=units)) for units in ("metric", "us")]
    for shop in shops:
        getattr(shop, start)()
        for off in offs:
            with suppress(BadInput):
                shop.off(off)

    kept = [[payload_to_json(entry.payload) for entry in shop.entries()] for shop in shops]
    assert kept[0] == kept[1]
    limits = [limits_of(shop.facts, shop.desk.rule_sets) for shop in shops]
    assert limits[0] == limits[1]


@given(nominal=st.decimals(5, 5000, places=1), step=st.sampled_from(["0.01", "0.1", "1"]))
@settings(max_examples=60)
def test_every_legal_weight_of_a_job_is_shown_no_lower(nominal, step):
    """Label, T1, T2 and aim on a page: never below what the law asks, whatever stands beside."""
    facts = job(nominal=nominal, scale={"readability_g": Decimal(step)}, aim_g=nominal + 2)
    limits = limits_of(facts, known_rules())
    keep = keep_of([limits, facts])

    for exact, written in (
        (limits.t1_exact_g, limits.t1_g),
        (limits.t2_exact_g, limits.t2_g),
        (Fraction(nominal), limits.label_g),
    ):
        if exact is None or exact <= 0 or f"{written:f} g" in keep.words:
            continue
        text = in_us(f"{written:f} g", keep=keep)
        figure, unit = text.split(" ")
        metric = {"oz": "g", "lb": "kg"}[unit]
        grams = Fraction(Decimal(figure)) * US_CUSTOMARY[metric].size_factor
        assert grams * (1000 if metric == "kg" else 1) >= exact
