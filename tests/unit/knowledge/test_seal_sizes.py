"""Sizes of seals as bags and profiles write them."""

from __future__ import annotations

import pytest

from fillwright.knowledge.seal_sizes import is_same, size_told
from fillwright.knowledge.seal_tables import ferrules, orings

GASKET = "ferrule gasket"


@pytest.mark.parametrize(
    ("text", "inside_mm", "section_mm"),
    [
        # AS568: size 224 is 1.734 by 0.139 inch, size 012 is 0.364 by 0.070 inch.
        ("224", 44.04, 3.53),
        ("-224", 44.04, 3.53),
        ("AS 568-224", 44.04, 3.53),
        ("AS568A-224", 44.04, 3.53),
        ("12", 9.25, 1.78),
        ("1.734 x 0.139 in", 44.04, 3.53),
        ('1.734" x 0.139"', 44.04, 3.53),
        ("44,04 \u00d7 3,53 mm", 44.04, 3.53),
        ("224 (44.04x3.53)", 44.04, 3.53),
        ("30 x 3", 30.0, 3.0),
    ],
)
def test_a_ring_is_read_as_bags_write_it(text, inside_mm, section_mm):
    """By its number, or by inside diameter and section in either unit."""
    size = size_told(text, "O-ring")

    assert (size.inside_mm, size.across_mm) == (inside_mm, section_mm)


@pytest.mark.parametrize("text", ["", "by bore", "large", "999", "2 in", "DN50", "224 or 5", "x"])
def test_what_names_no_ring_is_not_known(text):
    """Nothing is made of it."""
    assert size_told(text, "O-ring") is None


def test_a_number_alone_is_that_of_an_o_ring_only():
    """On a bag of glide rings it may be anything."""
    assert size_told("224", "glide ring") is None
    assert size_told("40 x 4", "glide ring").words == "40 x 4 mm"


def test_every_size_of_the_table_is_itself_and_no_other():
    """By number, and by its measures typed with a tenth of a millimetre."""
    sizes = [size_told(row.dash, "O-ring") for row in orings()]
    for number, one in enumerate(sizes):
        assert [place for place, other in enumerate(sizes) if is_same(one, other)] == [number]
        typed = size_told(f"{one.inside_mm:.1f} x {one.across_mm:.1f}", "O-ring")
        assert is_same(one, typed)


def test_a_section_may_be_written_first():
    """A bag may say section by inside diameter; it is the same ring."""
    place = size_told("224", "O-ring")

    assert is_same(place, size_told("3.53 x 44.04", "O-ring"))
    assert not is_same(place, size_told("3.53 x 40.9", "O-ring"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2 in", "2 in (bore 47.5 mm, ferrule 64 mm)"),
        ('1.5"', "1 1/2 in (bore 34.8 mm, ferrule 50.5 mm)"),
        ("1 1/2 in clamp gasket", "1 1/2 in (bore 34.8 mm, ferrule 50.5 mm)"),
        ("3/4 in", "3/4 in (bore 15.75 mm, ferrule 25 mm)"),
        ("DIN 32676 DN 50", "DN50 (bore 50 mm, ferrule 64 mm)"),
        ("ISO 2852 51", "51 mm (bore 48.6 mm, ferrule 64 mm)"),
        ("51 mm", "51 mm (bore 48.6 mm, ferrule 64 mm)"),
    ],
)
def test_a_gasket_is_read_by_its_nominal_size(text, words):
    """Inches of tube, DN, or the outside of the tube in millimetres."""
    assert size_told(text, GASKET).words == words


@pytest.mark.parametrize("text", ["", "by bore and ferrule", "DN51", "7 in", "in", "52", "44 x 3"])
def test_what_names_no_gasket_is_not_known(text):
    """A nominal size that no table has is no size here."""
    assert size_told(text, GASKET) is None


def test_gaskets_of_one_seat_may_differ_in_bore():
    """2 in and 51 mm are one; DN50 has the same ferrule and a wider bore."""
    two, iso, dn = (size_told(text, GASKET) for text in ("2 in", "51", "DN50"))

    assert is_same(two, iso)
    assert not is_same(two, dn)
    assert not is_same(two, size_told("3 in", GASKET))


def test_every_ferrule_of_the_table_can_be_told():
    """As its row names it."""
    for row in ferrules():
        size = size_told(row.nominal, GASKET)
        assert (size.inside_mm, size.across_mm) == (row.bore_mm, row.ferrule_od_mm)
