"""A page that leaves: what is translated in it, and what is left alone."""

from __future__ import annotations

import pytest

from fillwright.language import PLAIN, Way, page, said, said_all, tongue_of
from fillwright.language.trial import leftward, wrapped

WRAPPED = Way(language="x-wrapped")
LEFTWARD = Way(language="x-leftward")
HTML = (
    '<!doctype html><html lang="en" dir="ltr">'
    '<p>Carry on</p><p translate="no">Carry on</p>'
    '<textarea name="note">Carry on</textarea><input value="Carry on" aria-label="Carry on">'
    '<button value="Carry on" data-key="Carry on">Carry on</button><code>Carry on</code>'
    "<script>Carry on</script><b>0.985 g</b>"
)


def test_english_is_not_touched():
    """A page in English in the measures of the record leaves byte by byte."""
    assert page(HTML, PLAIN) is HTML
    assert said("Carry on", PLAIN) == "Carry on"
    assert said_all({"a": ["Carry on"]}, PLAIN) == {"a": ["Carry on"]}


def test_texts_and_spoken_attributes_alone_are_translated():
    """Values, keys, scripts, code, text areas and marked elements stay."""
    new = page(HTML, WRAPPED)

    told = wrapped("Carry on")
    assert new == (
        '<!doctype html><html lang="en-x-wrapped" dir="ltr">'
        f'<p>{told}</p><p translate="no">Carry on</p>'
        f'<textarea name="note">Carry on</textarea><input value="Carry on" aria-label="{told}">'
        f'<button value="Carry on" data-key="Carry on">{told}</button><code>Carry on</code>'
        "<script>Carry on</script><b>0.985 g</b>"
    )


def test_a_leftward_page_says_so():
    """Language and direction stand at its head, and a figure within a text keeps its order."""
    new = page('<html lang="en" dir="ltr"><p>Carry on</p>', LEFTWARD)

    assert new == f'<html lang="ar-x-leftward" dir="rtl"><p>{leftward("Carry on")}</p>'


def test_signs_that_mark_up_stay_escaped():
    """What a text carries cannot become a tag."""
    new = page("<p>&lt;b&gt; Carry on</p>", WRAPPED)

    assert "<b>" not in new


def test_fields_show_the_decimal_mark():
    """A field for figures has the mark of the language; a field for words has what was typed."""
    way = Way(language="de")
    field = '<input name="x" inputmode="decimal" value="12.5"><input name="y" value="12.5">'

    assert page(field, way) == field.replace("12.5", "12,5", 1)


@pytest.mark.parametrize("code", ["xx", "", "DE"])
def test_an_unknown_language_is_english(code):
    """A code that nobody knows is no error at the edge."""
    assert tongue_of(code).code == "en"
