"""The grammar of lines: what is a weighing, what is not, and that a tail is never a weight."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.records.units import GRAMS_PER
from fillwright.scale.lines import BadLine, LineForm, LineReader, RawWeighing, read_line

# All lines here are invented.


@pytest.mark.parametrize(
    ("line", "value", "unit", "is_stable", "basis"),
    [
        (b"weight +250.13 g steady", "250.13", "g", True, None),
        (b"gross:   0,25013kg moving", "0.25013", "kg", False, "gross"),
        (b"- 12.5 g", "-12.5", "g", None, None),
        (b"+250. g", "250", "g", None, None),
        (b"  .5 oz", "0.5", "oz", None, None),
        (b"NET 1.104 LB STABLE", "1.104", "lb", True, "net"),
        (b"stable, net, 0001500 mg", "1500", "mg", True, "net"),
        (b"\x02netto; 250,10 g\x03", "250.10", "g", None, "net"),
        (b"-0.00 g steady steady", "-0.00", "g", True, None),
        (b"gross gross 999999999999.99 g", "999999999999.99", "g", None, "gross"),
    ],
)
def test_a_line_is_read_as_it_stands(line, value, unit, is_stable, basis):
    """Sign, point or comma, unit, rest and basis are read; every digit that was sent stays."""
    read = read_line(line)

    expected = RawWeighing(
        value=Decimal(value), unit=unit, is_stable=is_stable, basis=basis, raw=line
    )
    assert read == expected
    assert str(read.value) == value


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"250.13", "names no unit"),
        (b"weight steady", "no number"),
        (b"+", "no number"),
        (b"1,250.13 g", "more than one number"),
        (b"1 250 g", "more than one number"),
        (b"12:30 250 g", "more than one number"),
        (b"tare 18.20 g", "'tare' is not known"),
        (b"over 3000 g", "'over' is not known"),
        (b"12e5 g", "'e' is not known"),
        (b"250.13 g?", "'?' is not known"),
        (b"+-5 g", "sign stands without"),
        (b"+ g 5", "sign stands without"),
        (b"5 g -", "sign stands behind"),
        (b"g 250.13", "unit does not stand behind"),
        (b"250.13, g", "unit does not stand behind"),
        (b"250 g g", "unit does not stand behind"),
        (b"250 g stable moving", "at rest and moving"),
        (b"250 g gross net", "gross and net"),
        (b"12345678901234.56 g", "more than 15 digits"),
        (b"250.13 \xb5g", "not plain text"),
        (b"weight +250.13 g ste", "'ste' is not known"),
    ],
)
def test_a_line_not_wholly_understood_is_bad(line, why):
    """A line with anything that is not known is kept with its bytes and the reason."""
    read = read_line(line)

    assert isinstance(read, BadLine)
    assert read.raw == line
    assert why in read.why


@pytest.mark.parametrize("line", [b"", b"   ", b"\x00\x02\x03", b"\t"])
def test_a_blank_line_is_nothing(line):
    """Blanks and control characters alone are neither a weighing nor a bad line."""
    assert read_line(line) is None


def test_every_unit_can_be_turned_into_grams():
    """Whatever unit the reader gives, the records know its grams."""
    words = ("g", "gram", "grams", "kg", "mg", "oz", "lb", "lbs")

    units = {read_line(f"1 {word}".encode()).unit for word in words}

    assert units == set(GRAMS_PER)


def test_a_missing_unit_is_taken_only_when_the_form_says_so():
    """A line without a unit is a weighing only for a scale known to leave it out."""
    form = LineForm(unit_if_absent="g")

    assert read_line(b"250.1", form).unit == "g"
    assert read_line(b"0.2501 kg", form).unit == "kg"


def test_lines_end_by_any_terminator_and_empty_ones_do_not_count():
    """Carriage return, line feed, both or many end a line; nothing is read between them."""
    reader = LineReader()

    found = reader.feed(b"1 g\r2 g\n3 g\r\n\r\n\n4 g\r\n5 g")

    assert [line.value for line in found] == [1, 2, 3, 4]
    assert reader.has_partial
    assert reader.bad_count == 0


def test_other_terminators_can_be_chosen():
    """A scale that ends its lines by a bracket and a caret is read by a form that says so."""
    found = LineReader(LineForm(terminators=b"]^")).feed(b"1 g]2 g^3 g")

    assert [line.value for line in found] == [1, 2]


def test_an_endless_line_is_cut_counted_once_and_held_small():
    """A megabyte without an end costs one bad line and no memory; the next line is read."""
    reader = LineReader(LineForm(longest=20))

    found = [line for _ in range(1000) for line in reader.feed(b"7" * 1000)]
    found += reader.feed(b"5 g\n6 g\n")

    assert found[0] == BadLine(raw=b"7" * 20, why="The line is longer than 20 bytes.")
    assert [line.value for line in found[1:]] == [6]
    assert reader.bad_count == 1
    assert not reader.has_partial


def test_a_line_of_exactly_the_longest_is_read():
    """The limit itself is allowed."""
    [line] = LineReader(LineForm(longest=6)).feed(b"12.5 g\n")

    assert line.value == Decimal("12.5")


def test_the_tail_of_a_line_is_never_a_weight():
    """After a restart in mid-line all up to the next terminator is dropped, uncounted."""
    reader = LineReader()
    reader.restart(is_mid_line=True)

    found = reader.feed(b"50.13 g steady\r\nweight 250.13 g steady\r\n")

    assert [line.value for line in found] == [Decimal("250.13")]
    assert reader.bad_count == 0


def test_a_restart_forgets_the_line_that_had_begun():
    """The beginning of one line and the end of another never join."""
    reader = LineReader()
    reader.feed(b"weight +2")
    reader.restart(is_mid_line=False)

    [line] = reader.feed(b"18.20 g steady\r\n")

    assert line.value == Decimal("18.20")
