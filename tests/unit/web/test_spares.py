"""What a page that asks again need not be sent."""

from __future__ import annotations

import re

from fillwright.web.spares import leave_out

PAGE = (
    '<header id="top" class="top" data-part=""><nav>Whole job</nav></header>'
    '<main><section class="sheet ask" id="ask-pause" data-keys hidden><p>For what?</p></section>'
    '<section class="sheet ask" id="ask-open"><p>Open</p></section>'
    '<svg xmlns="http://www.w3.org/2000/svg"><g id="row-1-360" data-part=""><path d="M0 0"/></g>'
    '<g id="row-2-360" data-part=""><path d="M1 1"/></g></svg></main>'
)


def _had(html):
    """What a page would say that it has."""
    parts = re.findall(r'id="([^"]+)"[^>]* data-part="([^"]+)"', html)
    return frozenset(f"{name}={mark}" for name, mark in parts)


def test_a_first_look_is_whole():
    """Nothing is left out; each part has the hash that the page gives back."""
    html = leave_out(PAGE, frozenset())

    assert "data-as-is" not in html
    assert {one.partition("=")[0] for one in _had(html)} == {"top", "row-1-360", "row-2-360"}
    assert re.sub(r' data-part="[^"]+"', ' data-part=""', html) == PAGE.replace(
        ' xmlns="http://www.w3.org/2000/svg"', ""
    )


def test_the_same_parts_are_left_out_and_others_sent():
    """One path changed: only its part comes again, the others are empty places."""
    had = _had(leave_out(PAGE, frozenset()))
    html = leave_out(PAGE.replace("M1 1", "M2 2"), had)

    assert "Whole job" not in html
    assert "M0 0" not in html
    assert "M2 2" in html
    assert html.count("data-as-is") == 2
    assert len(_had(html) - had) == 1


def test_a_shut_question_is_left_out_and_an_open_one_never():
    """What the page names is left out only where the server would not open it."""
    html = leave_out(PAGE, frozenset({"ask-pause", "ask-open"}))

    assert '<section class="sheet ask" id="ask-pause" hidden data-as-is></section>' in html
    assert "For what?" not in html
    assert "<p>Open</p>" in html


def test_a_hash_of_another_part_leaves_nothing_out():
    """The name belongs to the hash, and what is no hash at all is no error."""
    had = dict(one.split("=", 1) for one in _had(leave_out(PAGE, frozenset())))
    crossed = {f"row-1-360={had['row-2-360']}", "row-1-360", "top=", "=", "top"}

    assert "data-as-is" not in leave_out(PAGE, frozenset(crossed))
