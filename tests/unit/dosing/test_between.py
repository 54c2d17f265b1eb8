"""One more of a row: the prediction interval against a t table, and what is refused."""

from __future__ import annotations

import math

import pytest

from fillwright.errors import BadInput
from fillwright.science.between import one_more


def row(n):
    """A row of n values whose mean is 0 and whose standard deviation is 1."""
    ends = math.sqrt((n - 1) / 2)
    return [-ends, ends, *[0.0] * (n - 2)]


@pytest.mark.parametrize(("n", "quantile"), [(5, 2.776), (10, 2.262), (30, 2.045)])
def test_the_half_width_is_that_of_the_table(n, quantile):
    """t(0.975) for 4, 9 and 29 degrees of freedom, as any t table has it (from memory)."""
    found = one_more(row(n))

    assert found.sd == pytest.approx(1.0)
    assert found.high == pytest.approx(quantile * math.sqrt(1 + 1 / n), rel=5e-4)
    assert found.low == pytest.approx(-found.high)


def test_what_all_share_widens_it_in_quadrature():
    """A share of 0.5 alone would give 1.96 times a half."""
    bare, shared = one_more(row(10)), one_more(row(10), beside_sd=0.5)

    assert shared.high == pytest.approx(math.hypot(bare.high, 1.959964 * 0.5), rel=1e-6)


@pytest.mark.parametrize(
    ("values", "given_", "words"),
    [
        ([1.0, 2.0], {}, "too little"),
        ([1.0, 2.0, math.nan], {}, "finite"),
        ([1.0, 2.0, 3.0], {"beside_sd": math.inf}, "finite"),
        ([1.0, 2.0, 3.0], {"confidence": 1.0}, "cannot be"),
    ],
)
def test_what_cannot_be_is_refused(values, given_, words):
    """In one sentence."""
    with pytest.raises(BadInput, match=words):
        one_more(values, **given_)
