"""Every verdict of the lot test, decided by hand."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from fillwright.errors import BadInput
from fillwright.knowledge.load import rule_set
from fillwright.science.quantity import (
    IndividualOutcome,
    LotOutcome,
    OwnPlan,
    SuppliedShortage,
    lot_test,
)

D = Decimal


def judge(rules, sample, *, nominal="500", unit="g", lot_size=300, **more):
    """Test a lot of contents written as text."""
    contents = [D(value) for value in sample]
    second = [D(value) for value in more.pop("second_sample", ())]
    return lot_test(
        rule_set(rules),
        contents,
        nominal=D(nominal),
        unit=unit,
        lot_size=lot_size,
        second_sample=second,
        **more,
    )


def fill(good, short=0, far=0, n=50):
    """Return n contents for a label of 500: T = 15, so 484 is short and 469 is far short."""
    return ["469"] * far + ["484"] * (short - far) + [good] * (n - short)


# --- OIML and Australia: one sample of 50, at most 3 short, none far short ---------------------


def test_a_good_lot_is_accepted_with_every_figure():
    """Two contents 499 and 501 in turn: mean 500, s² = 50/49."""
    answer = judge("AU-2009/233", ["499", "501"] * 25)

    assert answer.verdict is LotOutcome.ACCEPTED
    assert answer.compliant is True
    assert (answer.t, answer.t1_limit, answer.t2_limit) == (D(15), D(485), D(470))
    assert (answer.required_n, answer.mean_n, answer.missing) == (50, 50, 0)
    assert (answer.mean, answer.mean_error) == (500.0, 0.0)
    assert answer.s == pytest.approx((50 / 49) ** 0.5, rel=1e-15)
    assert answer.limit == pytest.approx(500 - 0.379 * (50 / 49) ** 0.5)
    assert answer.margin == pytest.approx(0.379 * (50 / 49) ** 0.5)
    assert (answer.k, answer.mean_ok) == (D("0.379"), True)
    assert (answer.count_below_t1, answer.count_below_t2) == (0, 0)
    assert (answer.acceptance_number, answer.rejection_number) == (3, 4)
    assert answer.individual_test is IndividualOutcome.ACCEPTED
    assert answer.t2_ok is True
    assert answer.count_below_t1_total is None
    assert (answer.mav_limit, answer.count_beyond_mav, answer.sample_error_limit) == (None,) * 3
    assert answer.because == (
        "Accepted: the mean 500 g is not below the limit 499.617 g; "
        "0 of 50 short by more than 15 g, most 3."
    )


def test_at_most_three_short_of_fifty():
    """Three short accept, four reject, by count alone."""
    three = judge("AU-2009/233", fill("510", short=3))
    four = judge("AU-2009/233", fill("510", short=4))

    assert three.verdict is LotOutcome.ACCEPTED
    assert (four.verdict, four.mean_ok) == (LotOutcome.REJECTED, True)
    assert four.individual_test is IndividualOutcome.REJECTED
    assert four.because == "Rejected: 4 of 50 short by more than 15 g, most 3."


def test_one_far_short_package_fails_the_lot_and_is_counted_in_both():
    """Under OIML and Australia one package below T2 rejects, and counts below T1 as well."""
    answer = judge("AU-2009/233", fill("510", short=1, far=1))

    assert (answer.verdict, answer.compliant) == (LotOutcome.REJECTED, False)
    assert (answer.count_below_t1, answer.count_below_t2) == (1, 1)
    assert (answer.t2_ok, answer.individual_test) == (False, IndividualOutcome.ACCEPTED)
    assert answer.because == (
        "Rejected: 1 short by more than twice the tolerable deficiency, none allowed."
    )


def test_a_short_mean_is_rejected():
    """All at 499.9: s = 0, so the mean must reach the label itself."""
    answer = judge("AU-2009/233", ["499.9"] * 50)

    assert (answer.verdict, answer.mean_ok, answer.s) == (LotOutcome.REJECTED, False, 0.0)
    assert answer.because == "Rejected: the mean 499.9 g is below the limit 500 g."


def test_all_reasons_are_said_at_once():
    """A lot that fails three ways says all three."""
    answer = judge("AU-2009/233", fill("484", short=50, far=2))

    assert answer.because.count(";") == 2
    assert "2 short by more than twice" in answer.because


def test_a_steady_lot_exactly_at_the_label_is_accepted():
    """No deviation at all is legal; equality accepts."""
    assert judge("EU-76/211", ["500"] * 30).verdict is LotOutcome.ACCEPTED


def test_contents_exactly_on_a_limit_are_not_counted():
    """With label 23 and T = 2.1 a content of 20.9 is on the limit, 18.8 on the second."""
    on = judge("AU-2009/233", ["20.9"] * 10 + ["18.8"] * 3 + ["25"] * 37, nominal="23")
    below = judge("AU-2009/233", ["20.8999"] * 2 + ["25"] * 48, nominal="23")

    assert (on.t, on.t1_limit) == (D("2.1"), D("20.9"))
    # 18.8 = 23 - 2 x 2.1 is below T1 three times, and not below T2
    assert (on.count_below_t1, on.count_below_t2) == (3, 0)
    assert below.count_below_t1 == 2


def test_the_mean_test_accepts_equality_exactly():
    """Errors m - h, m, m + h have s = h; with k = 2.484 and h = 1 the limit is m = -2.484."""
    equal = ["9996.516", "9997.516", "9998.516"]
    less = ["9996.515", "9997.515", "9998.515"]
    accepted = judge("US-HB133-A", equal, nominal="10000", lot_size=3)
    rejected = judge("US-HB133-A", less, nominal="10000", lot_size=3)

    # mean error -2.484, s = 1, k = 2.484
    assert (accepted.mean_ok, accepted.verdict) == (True, LotOutcome.ACCEPTED)
    assert (rejected.mean_ok, rejected.verdict) == (False, LotOutcome.REJECTED)


# --- samples that are too small, and lots without a plan ------------------------------------


def test_a_small_sample_waits_and_says_how_many_are_missing():
    """Incomplete is not a verdict on the lot."""
    answer = judge("AU-2009/233", ["500"] * 20)

    assert (answer.verdict, answer.missing) == (LotOutcome.SAMPLE_TOO_SMALL, 30)
    assert (answer.compliant, answer.mean_ok, answer.individual_test) == (None, None, None)
    assert (answer.t2_ok, answer.limit, answer.margin) == (None, None, None)
    assert (answer.mean, answer.cannot_pass) == (500.0, False)
    assert answer.because == "The sample is too small: 30 more to draw."


@pytest.mark.parametrize(
    ("rules", "sample", "compliant"),
    [
        ("AU-2009/233", ["484"] * 4, None),  # count has reached 4
        ("AU-2009/233", ["469"], False),  # one below T2
        ("EU-76/211", ["484"] * 3, None),  # count has reached Re = 3
        ("EU-76/211", ["469"] * 3, False),  # and these may not carry the mark
        ("UK-2006/659", ["499"] * 40, None),  # mean of the first 30 is short already
    ],
)
def test_a_small_sample_may_already_decide_against_the_lot(rules, sample, compliant):
    """The formal verdict stays open, and the answer says that the lot cannot pass any more."""
    answer = judge(rules, sample)

    assert answer.verdict is LotOutcome.SAMPLE_TOO_SMALL
    assert answer.cannot_pass is True
    assert answer.compliant is compliant
    assert answer.because.endswith("the lot cannot pass any more.")


def test_no_sample_at_all_is_only_too_small():
    """An empty list is a sample of none."""
    answer = judge("EU-76/211", [])

    assert (answer.verdict, answer.missing) == (LotOutcome.SAMPLE_TOO_SMALL, 30)
    assert (answer.mean, answer.mean_error, answer.s) == (None, None, None)
    assert (answer.count_below_t1, answer.cannot_pass) == (0, False)


def test_a_lot_without_a_plan_still_says_the_shortage():
    """No plan for a lot of 100 under the 2016 edition, with its reason."""
    answer = judge("OIML-R87-2016", ["500"] * 50, lot_size=100)

    assert (answer.verdict, answer.compliant) == (LotOutcome.NO_PLAN, None)
    assert "a lot of exactly 100" in answer.because
    assert (answer.t, answer.required_n) == (D(15), None)


def test_a_label_out_of_scope_is_not_tested():
    """Below 5 g the EU rules do not apply."""
    answer = judge("EU-76/211", ["4"] * 30, nominal="4")

    assert (answer.verdict, answer.t) == (LotOutcome.OUT_OF_SCOPE, None)
    assert "covers from 5" in answer.because


def test_a_us_lot_without_a_plan_keeps_the_word_of_its_rules():
    """The limit is the variation's limit also where nothing can be tested."""
    answer = judge("US-HB133-A", ["500"], nominal="60000", lot_size=1)

    assert (answer.verdict, answer.mav_limit) == (LotOutcome.OUT_OF_SCOPE, None)


# --- EU: double sampling ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("short", "verdict", "individual"),
    [
        (1, LotOutcome.ACCEPTED, IndividualOutcome.ACCEPTED),
        (2, LotOutcome.SECOND_SAMPLE, IndividualOutcome.SECOND_SAMPLE),
        (3, LotOutcome.REJECTED, IndividualOutcome.REJECTED),
    ],
)
def test_the_first_sample_accepts_rejects_or_asks_for_more(short, verdict, individual):
    """Of 30: one short accepts, three reject, two ask for a second sample."""
    answer = judge("EU-76/211", fill("510", short=short, n=30))

    assert (answer.verdict, answer.individual_test) == (verdict, individual)
    assert (answer.acceptance_number, answer.rejection_number) == (1, 3)


def test_the_second_sample_is_asked_for_in_words():
    """Thirty more are missing, and the answer is open."""
    answer = judge("EU-76/211", fill("510", short=2, n=30))

    assert (answer.missing, answer.compliant, answer.t2_ok) == (30, None, True)
    assert answer.because == (
        "2 short in 30 is more than 1 and fewer than 3: draw a second sample of 30."
    )
    assert answer.acceptance_number_2 is None


@pytest.mark.parametrize(
    ("more", "verdict", "total"),
    [(2, LotOutcome.ACCEPTED, 4), (3, LotOutcome.REJECTED, 5)],
)
def test_both_samples_are_added(more, verdict, total):
    """Two and two make four, which accepts; two and three make five, which rejects."""
    answer = judge(
        "EU-76/211",
        fill("510", short=2, n=30),
        second_sample=fill("510", short=more, n=30),
    )

    assert (answer.verdict, answer.count_below_t1_total) == (verdict, total)
    assert (answer.count_below_t1, answer.missing) == (2, 0)
    assert (answer.acceptance_number_2, answer.rejection_number_2) == (4, 5)
    assert f"{total} of 60 short by more than 15 g, most 4" in answer.because


def test_the_second_sample_never_enters_the_mean():
    """The mean is that of the first sample."""
    first = fill("510", short=2, n=30)
    alone = judge("EU-76/211", first)
    both = judge("EU-76/211", first, second_sample=["486"] * 30)

    assert both.mean == alone.mean
    assert both.verdict is LotOutcome.ACCEPTED


def test_half_a_second_sample_is_too_small():
    """Ten of thirty: twenty are missing."""
    answer = judge("EU-76/211", fill("510", short=2, n=30), second_sample=["510"] * 10)

    assert (answer.verdict, answer.missing) == (LotOutcome.SAMPLE_TOO_SMALL, 20)
    assert answer.individual_test is IndividualOutcome.SECOND_SAMPLE
    assert (answer.cannot_pass, answer.t2_ok) == (False, True)


def test_half_a_second_sample_may_decide_against_the_lot():
    """Two and three are five already."""
    answer = judge("EU-76/211", fill("510", short=2, n=30), second_sample=["484"] * 3)

    assert (answer.verdict, answer.cannot_pass) == (LotOutcome.SAMPLE_TOO_SMALL, True)


def test_a_second_sample_nobody_asked_for_is_not_counted():
    """The first sample decided; the list is mentioned and left alone."""
    answer = judge("EU-76/211", ["510"] * 30, second_sample=["484"] * 30)

    assert (answer.verdict, answer.count_below_t1_total) == (LotOutcome.ACCEPTED, None)
    assert "the second sample was not asked for and is not counted" in answer.notes


def test_a_long_second_sample_is_cut_to_the_plan():
    """The first thirty of the list are the second sample."""
    answer = judge(
        "EU-76/211",
        fill("510", short=2, n=30),
        second_sample=["510"] * 30 + ["484"] * 5,
    )

    assert (answer.verdict, answer.count_below_t1_total) == (LotOutcome.ACCEPTED, 2)
    assert "the second sample is the first 30 of the 35 listed" in answer.notes


def test_a_short_mean_rejects_before_a_second_sample():
    """The mean has failed: a second sample cannot help, though the count would ask for it."""
    answer = judge("EU-76/211", fill("499", short=2, n=30))

    assert (answer.verdict, answer.missing) == (LotOutcome.REJECTED, 0)
    assert answer.individual_test is IndividualOutcome.SECOND_SAMPLE
    assert answer.mean_ok is False


def test_the_eu_test_accepts_a_lot_that_does_not_comply():
    """A package below T2 passes the reference test, and may not carry the mark."""
    answer = judge("EU-76/211", fill("510", short=1, far=1, n=30))

    assert (answer.verdict, answer.compliant) == (LotOutcome.ACCEPTED, False)
    assert (answer.t2_ok, answer.count_below_t2) == (False, 1)


def test_far_short_packages_of_the_second_sample_count():
    """Compliance looks at both samples."""
    answer = judge(
        "EU-76/211",
        fill("510", short=2, n=30),
        second_sample=fill("510", short=1, far=1, n=30),
    )

    assert (answer.verdict, answer.compliant, answer.count_below_t2) == (
        LotOutcome.ACCEPTED,
        False,
        1,
    )


def test_an_open_lot_with_a_far_short_package_does_not_comply():
    """Compliance is lost already while the second sample is awaited."""
    answer = judge("EU-76/211", fill("510", short=2, far=1, n=30))

    assert (answer.verdict, answer.compliant) == (LotOutcome.SECOND_SAMPLE, False)


def test_above_3200_the_mean_uses_the_first_fifty_of_eighty():
    """The order decides which fifty, and the answer says so."""
    sample = ["500"] * 50 + ["490"] * 30
    answer = judge("EU-76/211", sample, lot_size=5000)
    turned = judge("EU-76/211", sample[::-1], lot_size=5000)

    assert (answer.required_n, answer.mean_n, answer.mean) == (80, 50, 500.0)
    assert answer.verdict is LotOutcome.ACCEPTED
    assert turned.verdict is LotOutcome.REJECTED
    assert "the test of the mean uses the first 50 of the 80 drawn" in answer.notes


def test_the_destructive_plan_takes_twenty():
    """One short of twenty accepts, two reject."""
    one = judge("EU-76/211", fill("510", short=1, n=20), plan="destructive")
    two = judge("EU-76/211", fill("510", short=2, n=20), plan="destructive")

    assert (one.verdict, str(one.k)) == (LotOutcome.ACCEPTED, "0.640")
    assert two.verdict is LotOutcome.REJECTED


def test_a_longer_list_is_cut_to_the_plan_and_still_judged_for_compliance():
    """The first thirty are the sample; a far short package behind them costs compliance."""
    answer = judge("EU-76/211", ["510"] * 30 + ["469"])

    assert (answer.verdict, answer.compliant) == (LotOutcome.ACCEPTED, False)
    assert (answer.count_below_t2, answer.t2_ok) == (0, True)
    assert "the sample is the first 30 of the 31 packages listed" in answer.notes
    assert "1 listed outside the sample below T2: take out of the goods" in answer.notes


# --- UK ------------------------------------------------------------------------------------


def test_uk_single_plan_draws_fifty_and_averages_thirty():
    """The plan's own count, the directive's mean."""
    answer = judge("UK-2006/659", fill("510", short=3))

    assert (answer.required_n, answer.mean_n) == (50, 30)
    assert answer.verdict is LotOutcome.ACCEPTED


@pytest.mark.parametrize(
    ("short", "good", "verdict"),
    [
        (2, "501.4", LotOutcome.ACCEPTED),  # 2 of 40 is 5 %: mean = (2·484 + 38·501.4)/40 = 500.53
        (3, "510", LotOutcome.REJECTED),  # 3 of 40 is 7.5 %
        (0, "499.99", LotOutcome.REJECTED),  # mean below the label, no benefit of the doubt
    ],
)
def test_a_small_uk_batch_is_weighed_whole(short, good, verdict):
    """At most 5 % short, and the mean reaches the label."""
    answer = judge("UK-2006/659", fill(good, short=short, n=40), lot_size=40)

    assert answer.verdict is verdict
    assert (answer.required_n, answer.acceptance_number, answer.limit) == (40, 2, 500.0)


# --- New Zealand ---------------------------------------------------------------------------


def test_new_zealand_has_no_second_limit():
    """A far short package is only a short one."""
    answer = judge("NZ-1999/373-7A", fill("520", short=1, far=1, n=12), lot_size=60)

    assert (answer.verdict, answer.t2_ok, answer.compliant) == (LotOutcome.ACCEPTED, None, True)


def test_a_tiny_new_zealand_lot_is_weighed_whole():
    """Lots of 2 to 12: every package, none short, mean reaches the label."""
    good = judge("NZ-1999/373-7A", ["499", "501"], lot_size=2)
    bad = judge("NZ-1999/373-7A", ["498", "501"], lot_size=2)

    assert (good.verdict, bad.verdict) == (LotOutcome.ACCEPTED, LotOutcome.REJECTED)


# --- United States --------------------------------------------------------------------------


def test_us_words_and_figures():
    """A package beyond the allowable variation rejects a small lot."""
    # label 500 g: 21.7 g; 478.2 is short by 21.8
    answer = judge("US-HB133-A", ["478.2"] + ["503"] * 11, lot_size=12)

    assert (answer.verdict, answer.compliant) == (LotOutcome.REJECTED, False)
    assert (answer.mav_limit, answer.count_beyond_mav) == (D("478.3"), 1)
    assert answer.sample_error_limit == pytest.approx(0.635 * answer.s)
    assert (answer.t2_ok, answer.rejection_number) == (None, 1)


def test_us_allows_one_beyond_in_forty_eight():
    """Lots above 3 200."""
    one = judge("US-HB133-A", ["478.2"] + ["503"] * 47, lot_size=4000)
    two = judge("US-HB133-A", ["478.2"] * 2 + ["503"] * 46, lot_size=4000)

    assert (one.verdict, two.verdict) == (LotOutcome.ACCEPTED, LotOutcome.REJECTED)


@pytest.mark.parametrize(
    ("content", "verdict"), [("500", LotOutcome.ACCEPTED), ("499.9", LotOutcome.REJECTED)]
)
@pytest.mark.parametrize("unit", ["g", "mL"])
def test_a_us_lot_of_one_is_judged_on_the_average_only(content, verdict, unit):
    """One package: no factor, no deviation, no count; so no table is needed either."""
    answer = judge("US-HB133-A", [content], lot_size=1, unit=unit)

    assert answer.verdict is verdict
    assert (answer.k, answer.s, answer.individual_test) == (None, None, None)
    assert (answer.acceptance_number, answer.sample_error_limit) == (None, None)
    assert answer.limit == 500.0


def test_a_us_volume_lot_without_its_table_is_not_evaluated():
    """The mean is fine, the count cannot be made: nothing is accepted."""
    answer = judge("US-HB133-A", ["501"] * 12, unit="mL", lot_size=12)

    assert (answer.verdict, answer.compliant) == (LotOutcome.NOT_EVALUATED, None)
    assert (answer.mean_ok, answer.individual_test) == (True, None)
    assert (answer.count_below_t1, answer.count_beyond_mav, answer.t) == (None, None, None)
    assert "type it from the document" in answer.because


def test_a_us_volume_lot_with_a_short_mean_is_rejected_without_the_table():
    """No table can save a lot whose average fails."""
    answer = judge("US-HB133-A", ["499"] * 12, unit="mL", lot_size=12)

    assert answer.verdict is LotOutcome.REJECTED


def test_a_supplied_variation_completes_a_us_volume_lot():
    """The figure from the handbook makes the count possible and is named in the notes."""
    page = SuppliedShortage(value=D("13"), edition="2020", page="A-20")
    answer = judge("US-HB133-A", ["501"] * 12, unit="mL", lot_size=12, supplied=page)

    assert (answer.verdict, answer.mav_limit) == (LotOutcome.ACCEPTED, D(487))
    assert any("edition 2020, page A-20" in note for note in answer.notes)


# --- own plans, inputs ----------------------------------------------------------------------


def test_a_plan_typed_from_a_document_decides():
    """Two short of five allowed by the user's plan, one far short not."""
    own = OwnPlan(n=5, k=D("1.0"), acceptance_number=2)
    good = judge("OIML-R87-2016", fill("520", short=2, n=5), lot_size=50, own_plan=own)
    bad = judge("OIML-R87-2016", fill("520", short=2, far=1, n=5), lot_size=50, own_plan=own)

    assert (good.verdict, bad.verdict) == (LotOutcome.ACCEPTED, LotOutcome.REJECTED)
    assert "not checked against a document" in good.notes[1]


def test_an_own_plan_may_allow_far_short_packages():
    """The allowance typed from the document is used, also under the EU rules."""
    one = OwnPlan(n=5, k=D("1.0"), acceptance_number=2, t2_allowed=1)
    none = OwnPlan(n=5, k=D("1.0"), acceptance_number=2)
    sample = fill("530", short=1, far=1, n=5)

    assert judge("EU-76/211", sample, own_plan=one).compliant is True
    assert judge("EU-76/211", sample, own_plan=none).verdict is LotOutcome.REJECTED


def test_fractions_with_long_denominators_are_compared_exactly():
    """Volumes that are fractions leave 64 bits and stay exact."""
    third = Fraction(485) - Fraction(1, 3**40)
    sample = [third] * 3 + [Fraction(510)] * 47
    answer = lot_test(rule_set("AU-2009/233"), sample, nominal=D(500), unit="mL", lot_size=300)

    assert (answer.count_below_t1, answer.verdict) == (3, LotOutcome.ACCEPTED)
    assert any("20 °C" in said for said in answer.assumptions)


@pytest.mark.parametrize(
    ("sample", "code", "match"),
    [
        ([D(500)] * 5 + [500.5], "type", "sample 6: 500.5 is not an exact number"),
        ([D(500), D("Infinity")], "not-finite", "sample 2: Infinity is not finite"),
        ([D(500), D("1E+90")], "range", "sample 2: 1E\\+90 is far beyond any weight"),
        ([D(500)] * 301, "inconsistent", "301 contents, but the lot has 300 packages"),
    ],
)
def test_bad_samples_are_refused(sample, code, match):
    """A content that is not exact, and more contents than packages, are input errors."""
    with pytest.raises(BadInput, match=match) as error:
        lot_test(rule_set("EU-76/211"), sample, nominal=D(500), unit="g", lot_size=300)

    assert error.value.code == code


def test_a_bad_second_sample_is_named_by_its_own_place():
    """The message counts within the second list."""
    with pytest.raises(BadInput, match=r"second_sample 2: 1\.5 is not an exact number") as error:
        lot_test(
            rule_set("EU-76/211"),
            [D(500)] * 30,
            nominal=D(500),
            unit="g",
            lot_size=300,
            second_sample=[D(500), 1.5],
        )

    assert error.value.field == "second_sample 2"
