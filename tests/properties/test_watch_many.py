"""The watch over a row at once says what it says one reading at a time."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fillwright.errors import BadInput
from fillwright.science.watch import watch_start, watch_take
from fillwright.science.watch_many import watch_take_many

READINGS = st.lists(
    st.integers(min_value=-40, max_value=40).map(lambda n: n * 1e-5), min_size=1, max_size=60
)


def _one_by_one(state, row):
    """Take a row one reading at a time."""
    taken = None
    for place, off in enumerate(row, start=1):
        taken = watch_take(state, off, position=float(place))
        state = taken.state
    return taken


@given(
    row=READINGS,
    known_after=st.integers(min_value=2, max_value=20),
    weight=st.sampled_from([0.0, 0.1, 0.4]),
)
def test_a_row_is_the_same_as_one_by_one(row, known_after, weight):
    """State and last signal agree to rounding, learning phase, sums, average and all."""
    start = watch_start(
        known_after=known_after,
        readability=1e-4,
        h=None if weight else 5.0,
        average_weight=weight,
        average_limit=2.814,
    )

    slow = _one_by_one(start, row)
    fast = watch_take_many(start, row, positions=np.arange(1.0, len(row) + 1))

    assert fast.signal.kind is slow.signal.kind
    assert fast.signal.since_check == slow.signal.since_check
    for name in slow.state.__slots__:
        mine, other = getattr(fast.state, name), getattr(slow.state, name)
        if isinstance(other, float):
            assert math.isclose(mine, other, rel_tol=1e-9, abs_tol=1e-9), name
        else:
            assert mine == other, name


def test_no_reading_and_no_figure_are_refused():
    """An empty row and a figure that is none are refused in one sentence."""
    start = watch_start()

    with pytest.raises(BadInput, match="at least one"):
        watch_take_many(start, [], positions=[])
    with pytest.raises(BadInput, match="not a finite number"):
        watch_take_many(start, [float("nan")], positions=[1.0])
