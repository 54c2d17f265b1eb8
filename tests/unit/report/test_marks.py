"""The marks of state."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from fillwright.errors import BadInput
from fillwright.report.marks import MARKS, mark


def _tree(svg: str) -> ET.Element:
    """A drawing, parsed."""
    return ET.fromstring(svg)  # noqa: S314  our own drawing


@pytest.mark.parametrize("name", MARKS)
def test_each_mark_is_a_drawing(name):
    """Every mark is well-formed, hidden from readers (its word stands beside it), without ids."""
    for for_print in (False, True):
        root = _tree(mark(name, for_print=for_print))

        assert root.get("aria-hidden") == "true"
        assert all("id" not in node.attrib and "style" not in node.attrib for node in root.iter())


def test_no_two_marks_have_one_shape():
    """Told apart without colour: no two marks are the same drawing."""
    assert len({mark(name, for_print=True) for name in MARKS}) == len(MARKS)


@pytest.mark.parametrize("name", MARKS)
def test_marks_take_the_colour_of_their_place(name):
    """In the page a mark has no colour of its own; on paper it is black with white cut-outs."""
    assert "#" not in mark(name)
    assert "var(" not in mark(name, for_print=True)


def test_an_unknown_mark_is_refused():
    """A mark that does not exist is refused by name, with the choices."""
    with pytest.raises(BadInput, match="no mark 'smile'"):
        mark("smile")
