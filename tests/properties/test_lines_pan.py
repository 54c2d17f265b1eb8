"""Whatever happens to a line, each container that came to rest is there once."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from fillwright.scale.capture import PanReader, Sending
from fillwright.scale.lines import RawWeighing
from fillwright.scale.pan_events import Resting, Settled

# With the digit that a scale of 0.1 g always sends.
TENTHS = st.integers(50, 5000).map(lambda tenths: Decimal(tenths).scaleb(-1))
MARKS = st.sampled_from(["both", "rest only", "movement only", "none"])


class StandingClock:
    """A clock at one moment."""

    def now(self):
        """Return the moment."""
        return datetime(2030, 5, 6, 7, 8, 9, tzinfo=UTC)

    def zone(self):
        """Return a zone."""
        return "UTC"


class Bench:
    """Puts containers on a pan and collects what is said."""

    def __init__(self, marks, sends=Sending.STREAM):
        self.pan = PanReader(StandingClock(), sends=sends)
        self.marks = marks
        self.lines = 0
        self.events = []

    def send(self, value, *, is_at_rest):
        """Send one line."""
        self.lines += 1
        if self.marks == "none" or (self.marks == "rest only" and not is_at_rest):
            mark = None
        else:
            mark = None if self.marks == "movement only" and is_at_rest else is_at_rest
        line = RawWeighing(value=value, unit="g", is_stable=mark, basis=None, raw=b"")
        self.events += self.pan.feed(line, self.lines / 10)

    def rest(self, value):
        """Let a figure stand for more than a second."""
        for _ in range(12):
            self.send(value, is_at_rest=True)

    def swing(self, value):
        """Let the figure go to a value through others."""
        for share in (3, 8, 11):
            self.send((value * share / 10).quantize(Decimal("0.1")), is_at_rest=False)

    def settled(self):
        """The figures of all weighings."""
        return [event.value for event in self.events if isinstance(event, Settled)]


@given(MARKS, st.lists(TENTHS, min_size=1, max_size=8))
def test_each_container_is_weighed_once(marks, masses):
    """Containers with an empty pan between them, equal ones too, each give one weighing."""
    bench = Bench(marks)
    bench.rest(Decimal("0.0"))
    for mass in masses:
        bench.swing(mass)
        bench.rest(mass)
        bench.swing(Decimal("0.0"))
        bench.rest(Decimal("0.0"))

    assert bench.settled() == masses
    ids = [event.weighing_id for event in bench.events if isinstance(event, Settled)]
    assert len(set(ids)) == len(ids)


@given(
    MARKS.filter(lambda marks: marks != "none"),
    TENTHS,
    st.lists(st.one_of(TENTHS, st.just(Decimal("0.0")), st.just(None)), max_size=8),
)
def test_odd_lines_and_losses_never_double_a_container(marks, mass, troubles):
    """Single odd lines and lost ports while one container stands there leave one weighing."""
    bench = Bench(marks)
    bench.rest(Decimal("0.0"))
    bench.swing(mass)
    bench.rest(mass)
    for trouble in troubles:
        if trouble is None:
            bench.events += bench.pan.lost("The plug is out.")
        else:
            bench.send(trouble, is_at_rest=True)
        bench.rest(mass)

    assert bench.settled() == [mass]
    assert {event.value for event in bench.events[-1:]} == {mass}
    assert isinstance(bench.events[-1], Settled | Resting)


@given(st.lists(st.tuples(TENTHS, st.booleans()), max_size=60), MARKS)
def test_nothing_is_said_twice_in_a_row(readings, marks):
    """Whatever a scale sends, no event repeats the one before, and no figure is made up."""
    bench = Bench(marks)
    for value, is_at_rest in readings:
        bench.send(value, is_at_rest=is_at_rest)

    assert all(a != b for a, b in zip(bench.events, bench.events[1:], strict=False))
    assert {event.value for event in bench.events} <= {value for value, _ in readings}
