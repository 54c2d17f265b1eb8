"""Shapes: a line is read by the slots of a hand-written form, or it is bad with a reason."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fillwright.errors import BadInput
from fillwright.scale.check_marks import find_check
from fillwright.scale.form_file import form_from_toml
from fillwright.scale.lines import BadLine, LineReader, RawWeighing, Remark

# All lines here are invented.
FORM = r"""
title = "bench 2"
[[line]]
shape = "{rest}, {basis}, {value} {unit}"
[[line]]
shape = "T {number} {unit}"
[[line]]
shape = "{value} pcs{any}"
says = "under"
[words]
still = ["ST"]
moving = ["US"]
gross = ["GS"]
net = ["NT"]
tare = ["TR"]
"""


@pytest.fixture
def read():
    """Reads a line by the form."""
    return form_from_toml(FORM).reader()


@pytest.mark.parametrize(
    ("line", "value", "unit", "is_stable", "basis"),
    [
        (b"ST,GS,+  250.13 g", "250.13", "g", True, "gross"),
        (b"us, nt, -0.5kg", "-0.5", "kg", False, "net"),
        (b"\x02ST,GS, .5 OZ\x03", "0.5", "oz", True, "gross"),
        (b"ST,GS, - 12. lb", "-12", "lb", True, "gross"),
        (b"ST,GS, 250.1 mL", "250.1", "ml", True, "gross"),
    ],
)
def test_slots_are_read(read, line, value, unit, is_stable, basis):
    """Every digit that was sent stays, capitals do not matter, control characters are blanks."""
    assert read(line) == RawWeighing(Decimal(value), unit, is_stable, basis, line)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (b"T 18.2 g", "aside"),
        (b"ST,TR, 18.2 g", "tare"),
        (b"ST,OL,--------", "over"),
        (b"-- UNDER --", "under"),
        (b"12 pcs", "under"),
    ],
)
def test_a_line_that_is_no_reading_is_a_remark(read, line, says):
    """Tares, overloads and lines set aside are understood and are no weights."""
    assert read(line) == Remark(raw=line, says=says)


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (b"ST,GS, 250.13", "no shape that is known"),
        (b"XX,GS, 250.13 g", "'XX' is no mark of rest"),
        (b"ST,XX, 250.13 g", "'XX' is neither gross nor net"),
        (b"ST,GS, 1234567890123456.7 g", "more than 15 digits"),
        (b"ST,GS, 250\xb5 g", "not plain text"),
        (b"ST,GS, 250,13 g", "no shape that is known"),
    ],
)
def test_any_other_line_is_bad(read, line, why):
    """A line that fits no shape keeps its bytes and the reason."""
    answer = read(line)

    assert isinstance(answer, BadLine)
    assert answer.raw == line
    assert why in answer.why


def test_a_blank_line_is_nothing(read):
    """Blanks and control characters alone count for nothing."""
    assert read(b" \x02 ") is None


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("title", "is no TOML"),
        ("x = 1\n[[line]]\nshape='{value}'", "'x' is not known in format"),
        ("title = 'a'", r"\[\[line\]\]"),
        ("[[line]]\nshape = 'A {number}'", "No shape holds"),
        ("[[line]]\nshape = '{weight}'", "which is no slot"),
        ("[[line]]\nshape = '{value} {value}'", "twice"),
        ("[[line]]\nshape = '{value'", "brace without a slot"),
        ("[[line]]\nshape = '{value}'\nrest = 'sleeping'", "rest is 'sleeping'"),
        ("unit = 'stone'\n[[line]]\nshape = '{value}'", "The unit is 'stone'"),
        ("longest = 2\n[[line]]\nshape = '{value}'", "longest is 2"),
        ("ends = ''\n[[line]]\nshape = '{value}'", "must end in something"),
        ("[[line]]\nshape = '{value}'\n[ask]\nevery_s = 0", "every_s is 0"),
        ("[[line]]\nshape = '{value}'\n[check]\nkind = 'crc'", "kind is 'crc'"),
        ("[[line]]\nshape = '{value}'\n[words]\nstill = ['A B']", "marks without blanks"),
        ("[[line]]\nshape = 'µ {value}'", "plain letters"),
        ("a = " + "[" * 5000, "is no TOML|RecursionError|too long"),
    ],
)
def test_a_file_that_cannot_be_right_is_refused_in_words(text, match):
    """The message names the place and what would do."""
    with pytest.raises(BadInput, match=match):
        form_from_toml(text)


def test_a_stream_is_cut_and_read_by_a_form():
    """The line reader takes any form; bad lines are counted."""
    reader = LineReader(form_from_toml(FORM))

    found = reader.feed(b"ST,GS, 1 g\r\nnoise\r\nST,GS, 2 g\r\nST,GS")

    assert [type(line) for line in found] == [RawWeighing, BadLine, RawWeighing]
    assert reader.bad_count == 1
    assert reader.has_partial


def test_a_check_is_found_only_where_all_lines_bear_it_out():
    """Sums and exclusive ors are told apart; lines without a check have none."""
    bodies = [b"W%+8.1f g" % (value * 7.3) for value in range(12)]
    summed = [body + b"%02X" % (sum(body) % 256) for body in bodies]

    assert find_check(summed).kind == "sum"
    assert find_check(bodies) is None
    assert find_check([*summed, bodies[0]]) is None
    assert find_check(summed[:5]) is None
