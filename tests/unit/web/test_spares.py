"""What a page that asks again need not be sent."""

from __future__ import annotations

import json
import re

from hypothesis import given
from hypothesis import strategies as st

from fillwright.web.spares import leave_out

PAGE = (
    '<body id="page" data-own="" data-frame="" data-revision="7">'
    '<header id="top" class="top" data-part=""><nav>Whole job</nav></header>'
    '<main><section class="sheet ask" id="ask-pause" data-keys hidden><p>For what?</p></section>'
    '<section class="sheet ask" id="ask-open"><p>Open</p></section>'
    '<div id="demo" data-part=""><div>one</div><div>two</div></div>'
    '<h1 id="order" data-text="">Weigh jar 3 &amp; go on.</h1>'
    '<input id="container" name="container" value="3" data-own="">'
    '<svg xmlns="http://www.w3.org/2000/svg"><g id="row-1-360" data-part=""><path d="M0 0"/></g>'
    '<g id="row-2-360" data-part=""><g transform="scale(2)"/><path d="M1 1"/></g></svg></main>'
    "</body>"
)
NAMES = {"page", "top", "demo", "order", "container", "row-1-360", "row-2-360"}


def _had(html):
    """What a page would say that it has."""
    parts = re.findall(r'id="([^"]+)"[^>]* data-(?:part|text|own)="([^"]+)"', html)
    frame = re.search(r' data-frame="([^"]+)"', html)[1]
    return frozenset([f"frame={frame}", *(f"{name}={mark}" for name, mark in parts)])


def test_a_first_look_is_whole():
    """Nothing is left out; each part has the hash that the page gives back."""
    sparse = leave_out(PAGE, frozenset())

    assert "data-as-is" not in sparse.html
    assert not sparse.has_frame
    assert {one.partition("=")[0] for one in _had(sparse.html)} == {*NAMES, "frame"}
    assert frozenset(sparse.had()) == _had(sparse.html)
    bare = re.sub(r' data-(part|text|own|frame)="[^"]+"', r' data-\1=""', sparse.html)
    assert bare == PAGE.replace(' xmlns="http://www.w3.org/2000/svg"', "")


def test_the_same_parts_are_left_out_and_others_sent():
    """One path changed: only its part comes again, the others are empty places."""
    had = _had(leave_out(PAGE, frozenset()).html)
    sparse = leave_out(PAGE.replace("M1 1", "M2 2"), had)

    assert "Whole job" not in sparse.html
    assert "M0 0" not in sparse.html
    assert "M2 2" in sparse.html
    assert sparse.html.count("data-as-is") == 3
    assert len(_had(sparse.html) - had) == 1


def test_within_the_same_frame_only_what_changed_is_told():
    """A line of a drawing, a number to weigh, the order: no page, and each by its own way."""
    had = _had(leave_out(PAGE, frozenset()).html)
    moved = PAGE.replace("M1 1", "M2 2").replace("jar 3", "jar 4").replace('"3"', '"4"')
    sparse = leave_out(moved.replace('revision="7"', 'revision="8"'), had)
    told = json.loads(sparse.told())

    assert sparse.has_frame
    assert told["parts"] == ""
    assert re.sub(r'part="[^"]+"', 'part=""', told["drawn"]) == (
        '<g id="row-2-360" data-part=""><g transform="scale(2)"/><path d="M2 2"/></g>'
    )
    assert {name: words for name, (_, words) in told["texts"].items()} == {
        "order": "Weigh jar 4 & go on."
    }
    assert told["own"]["container"]["value"] == "4"
    assert told["own"]["page"]["data-revision"] == "8"
    assert told["own"]["page"]["data-frame"] == told["frame"]
    assert set(told["same"]) == {"top", "demo", "row-1-360"}
    assert {f"{name}={mark}" for name, mark in told["same"].items()} <= had


def test_words_with_an_element_among_them_are_told_whole():
    """A word that is set apart stays an element: its tag is never shown as a word."""
    had = _had(leave_out(PAGE, frozenset()).html)
    sparse = leave_out(PAGE.replace("jar 3", "<bdi>jar 4</bdi>"), had)

    assert sparse.texts == {}
    assert sparse.parts[0].endswith("Weigh <bdi>jar 4</bdi> &amp; go on.</h1>")


def test_another_frame_is_a_page():
    """What stands outside the parts has changed: a page is sent, and it has another frame."""
    had = _had(leave_out(PAGE, frozenset()).html)
    sparse = leave_out(PAGE.replace("<p>Open</p>", "<p>Shut</p>"), had)

    assert not sparse.has_frame
    assert "<p>Shut</p>" in sparse.html


def test_a_part_holds_elements_of_its_own_name():
    """A division in a division does not end the part."""
    had = _had(leave_out(PAGE, frozenset()).html)
    sparse = leave_out(PAGE.replace("<div>two</div>", "<div>three</div>"), had)

    assert sparse.has_frame
    assert sparse.parts[0].endswith("<div>one</div><div>three</div></div>")


def test_a_shut_question_is_left_out_and_an_open_one_never():
    """What the page names is left out only where the server would not open it."""
    html = leave_out(PAGE, frozenset({"ask-pause", "ask-open"})).html

    assert '<section class="sheet ask" id="ask-pause" hidden data-as-is></section>' in html
    assert "For what?" not in html
    assert "<p>Open</p>" in html


def test_a_hash_of_another_part_leaves_nothing_out():
    """The name belongs to the hash, and what is no hash at all is no error."""
    had = dict(one.split("=", 1) for one in _had(leave_out(PAGE, frozenset()).html))
    crossed = {f"row-1-360={had['row-2-360']}", "row-1-360", "top=", "=", "top", "frame="}

    assert "data-as-is" not in leave_out(PAGE, frozenset(crossed)).html


@given(st.lists(st.text("<>g/p =\"-data'", max_size=8), max_size=8))
def test_no_page_is_too_odd(pieces):
    """Whatever stands between marks, the page comes out whole where nothing is left out."""
    odd = ' data-part=""'.join(pieces)

    html = leave_out(f'<p id="x">{odd}</p>', frozenset()).html

    assert re.sub(r' data-part="[^"]*"', ' data-part=""', html) == f'<p id="x">{odd}</p>'
