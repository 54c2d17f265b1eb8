"""The dose chart: a row of containers in trays."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from xml.etree import ElementTree as ET

import pytest

from fillwright.records.charts import Dose, HeldSpan, Post
from fillwright.report.charts import NARROW, WIDE, describe, draw, table
from fillwright.report.dose_chart import row_of

SVG = "{http://www.w3.org/2000/svg}"


def _tree(svg: str) -> ET.Element:
    """A drawing, parsed."""
    return ET.fromstring(svg)  # noqa: S314  our own drawing


def _words(svg: str) -> list[str]:
    """The texts of a drawing."""
    return [node.text or "" for node in _tree(svg).iter(f"{SVG}text")]


def _paths(svg: str) -> list[str]:
    """The data of the paths of a drawing."""
    return [node.get("d", "") for node in _tree(svg).iter(f"{SVG}path")]


def _ticks(svg: str) -> int:
    """How many containers stand in the row: a broken line 18 units wide, a dash for each."""
    for node in _tree(svg).iter(f"{SVG}path"):
        if node.get("stroke-width") == "18":
            start, end = (float(x) for x in re.findall(r"[MH]([\d.]+)", node.get("d", "")))
            dash, gap = (float(part) for part in node.get("stroke-dasharray", "").split())
            return round((end - start - dash) / (dash + gap)) + 1
    return 0


def test_every_container_is_a_tick_in_its_tray(run):
    """181 jars in trays of 12: 181 ticks, 16 trays, and the trays are numbered."""
    svg = draw(run(), for_print=False)

    assert _ticks(svg) == 181
    # A tray is a box with one corner broken: H, L, V, H and back.
    assert max(len(re.findall(r"M[^M]+L[^M]+Z", data)) for data in _paths(svg)) == 16
    assert {"tray 1", "16"} <= set(_words(svg))


def test_weighed_ones_stand_up_and_bear_marks(run):
    """Ordinary weights are dots; the two low ones have marks of their own."""
    spec = run()
    svg = draw(spec, for_print=False)

    ordinary = sum(dose.state == "on" for dose in spec.doses)
    assert sum(data.count("h.01") for data in _paths(svg)) == ordinary
    marks = [node for node in _tree(svg).iter(f"{SVG}g") if node.get("transform")]
    assert len(marks) == 2 + 1  # and the mark of the bracket


def test_the_next_weight_leaves_what_is_drawn(run):
    """Of the parts of a drawing one more weight in the same tray changes one of the row."""
    before, after = (_parts(draw(run(filled), for_print=False)) for filled in (1301, 1304))

    changed = {name for name in before if before[name] != after.get(name)}
    assert set(before) == set(after)
    assert {name.rsplit("-", 1)[0] for name in changed} <= {"row-54", "whole-5"}
    assert len(before) > 8


def _parts(svg: str) -> dict[str, str]:
    """The parts of a drawing by name."""
    return dict(re.findall(r'<g id="([^"]+)" data-part="">(.*?)</g>', svg))


def test_limits_band_held_and_posts_are_named(run):
    """T1 has its name and weight, the band its ends, held jars their numbers, a turn its words."""
    words = _words(draw(run(), for_print=False))

    assert {"T1 237.4", "250.0", "245.0", "aim 247.5", "held 61 to 70"} <= set(words)
    assert "turn 50.4 to 50.8" in words


def test_a_limit_beyond_the_drawing_is_left_out(run):
    """T2 is far below every weight, so it does not squeeze the picture."""
    assert not [word for word in _words(draw(run(), for_print=False)) if word.startswith("T2")]


@pytest.mark.parametrize("weights", [("247.4", "247.5"), ("0.0", "247.5"), ("247.5", "900.0")])
def test_the_range_always_holds_band_and_t1(run, weights):
    """However small or wild the scatter, T1 and the band keep a good part of the height."""
    doses = tuple(
        Dose(container=i, net_g=Decimal(w), state="on" if w.startswith("247") else "far-short")
        for i, w in enumerate(weights, 1)
    )
    svg = draw(run(2, doses=doses), for_print=False)
    texts = {n.text: float(n.get("y", "0")) for n in _tree(svg).iter(f"{SVG}text")}

    # 150 units are the height of the drawing of weights: a third of it at the least.
    assert texts["T1 237.4"] - texts["250.0"] > 50


def test_a_stray_weight_is_written_beside_its_mark(run):
    """A jar of 12.0 g is drawn at the floor with its weight in figures."""
    doses = (Dose(container=3, net_g=Decimal("12.0"), state="far-short"),)

    assert "12.0" in _words(draw(run(5, doses=doses), for_print=False))


def test_a_long_run_shows_its_last_200_and_the_whole(run):
    """Past 200 jars the row holds the last ones from the start of a tray; the whole is above."""
    spec = run(1500)
    svg = draw(spec, for_print=True)

    assert row_of(spec, room=900, for_print=True) == (1309, 1500)
    assert (1309 - 1) % 12 == 0
    assert _ticks(svg) == 1500 - 1309 + 1
    assert {"whole run, jar 1 to 1500", "below: 1309 to 1500"} <= set(_words(svg))


def test_the_row_of_a_page_moves_on_by_a_quarter(run):
    """192 places for trays of 12: jars 1297 to 1488, and from the next one on 1345 to 1536."""
    rows = [row_of(run(filled), room=900, for_print=False) for filled in (1487, 1488, 1489, 1536)]

    assert rows == [(1297, 1488), (1297, 1488), (1345, 1536), (1345, 1536)]
    assert _ticks(draw(run(1500), for_print=False)) == 1500 - 1345 + 1


@pytest.mark.parametrize("tray", [0, 1, 7, 12, 150, 500])
@pytest.mark.parametrize("filled", [1, 199, 200, 201, 1234])
@pytest.mark.parametrize("for_print", [False, True])
def test_the_row_never_holds_more_than_200(run, tray, filled, for_print):
    """For any tray, at most 200 containers and at least one, the last among them."""
    spec = run(filled, tray_size=tray)
    first, last = row_of(spec, room=2000, for_print=for_print)

    assert 1 <= first <= filled <= last
    assert filled - first + 1 <= 200
    assert first == 1 or tray > 100 or (first - 1) % (tray or 1) == 0


def test_the_drawing_does_not_grow_with_the_batch(run):
    """20,000 jars make a drawing no larger, but for a tenth, than 4,000 jars."""
    small, large = (len(draw(run(n), for_print=False)) for n in (4_000, 20_000))

    assert large < 1.1 * small


def test_the_whole_run_keeps_its_extremes(run):
    """The thinned line reaches down to a single low weight among thousands."""
    spec = run(3000)
    low = Dose(container=1201, net_g=Decimal("238.0"), state="low")
    doses = tuple(sorted((*spec.doses, low), key=lambda dose: dose.container))

    thin, deep = (
        "".join(data for name, data in parts.items() if re.match(r"whole-\d", name))
        for parts in (_parts(draw(s, for_print=False)) for s in (spec, replace(spec, doses=doses)))
    )
    reach = re.compile(r" ([\d.]+)v([\d.]+)")
    depths = [max(float(y) + float(v) for y, v in reach.findall(data)) for data in (thin, deep)]
    assert depths[1] > depths[0]


def test_a_phone_gets_fewer_in_the_row_at_the_same_letters(run):
    """The narrow drawing is 360 wide with letters of the same size, over fewer jars."""
    wide, narrow = (draw(run(), for_print=False, width_px=w) for w in (WIDE, NARROW))

    assert 'viewBox="0 0 360 ' in narrow
    assert _ticks(narrow) < _ticks(wide)
    assert {re.search(r'font-size="([\d.]+)"', svg).group(1) for svg in (wide, narrow)} == {"17"}


def test_an_empty_run_can_be_drawn(run):
    """Before the first jar there is a band and no tray."""
    svg = draw(run(0, doses=()), for_print=False)

    assert _ticks(svg) == 0
    assert describe(run(0, doses=())) == "No jar filled yet."


def test_posts_without_room_keep_their_place(run):
    """Of thirty posts all are drawn, though not all have room for words."""
    posts = tuple(
        Post(after_container=c, kind="turn", words=f"turn number {c}") for c in range(1, 181, 6)
    )
    svg = draw(run(posts=posts), for_print=False)

    assert 0 < sum(word.startswith("turn") for word in _words(svg)) < len(posts)
    assert any(data.count("V") == len(posts) for data in _paths(svg))


def test_colours_come_from_the_page(run):
    """In the page every colour is a custom property; on paper every one is literal."""
    page, paper = draw(run(), for_print=False), draw(run(), for_print=True)

    assert not re.search(r'(?:fill|stroke)="#', page)
    assert 'fill="var(--ink)"' in page
    assert 'class="stop"' in page
    assert "var(" not in paper
    assert 'font-family="DejaVu Sans"' in paper


@pytest.mark.parametrize("for_print", [False, True])
def test_typed_words_stay_words(run, for_print):
    """A script in a note, a name of a container or a limit is text and nothing else."""
    evil = "\"><script>alert(1)</script><b x='&"
    posts = (Post(after_container=3, kind="pause", words=evil),)
    svg = draw(run(40, posts=posts, word=evil), for_print=for_print, width_px=WIDE)

    tags = {node.tag.removeprefix(SVG) for node in _tree(svg).iter()}
    assert tags <= {"svg", "path", "text", "g", "circle"}
    assert not re.search(r"<script|\sstyle=|\son\w+=", svg)
    named = re.findall(r'\sid="([^"]*)"', svg)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)?(-\d+)+", name) for name in named)


def test_the_sentence_tells_what_stands_out(run):
    """The accessible name counts, names the odd ones, T1 and what is held."""
    assert describe(run()) == (
        "181 jars filled, 39 weighed. All inside 245.0 to 250.0 g but jar 67 low at 244.4 g and"
        " jar 70 low at 243.6 g. None below the legal limit T1, 237.4 g. Held: jars 61 to 70."
    )


def test_the_sentence_counts_all_that_were_weighed(run):
    """Where only extremes of the early run are handed over, the true count is told."""
    assert "181 jars filled, 990 weighed." in describe(run(weighed=990))


def test_the_sentence_stays_short(run):
    """Of many odd weights five are named and the rest counted."""
    doses = tuple(Dose(container=c, net_g=Decimal("236.0"), state="short") for c in range(1, 41))
    told = describe(run(40, doses=doses))

    assert "35 earlier ones" in told
    assert "40 below the legal limit T1" in told


def test_settled_ones_are_no_longer_held(run):
    """A settled bracket says so and leaves the sentence."""
    spec = run(held=(HeldSpan(first=61, last=70, is_settled=True),))

    assert "61 to 70 settled" in _words(draw(spec, for_print=False))
    assert "Held" not in describe(spec)


def test_the_table_has_every_weight_and_post(run):
    """Behind "Show as table": each weighed jar with tray and state, each post in its place."""
    spec = run()
    shown = table(spec)

    assert shown.head == ("Jar", "Tray", "Weight, g", "")
    assert len(shown.rows) == len(spec.doses) + 1
    assert ("67", "6", "244.4", "low, held") in shown.rows
    assert ("after 71", "6", "", "turn 50.4 to 50.8") in shown.rows
    assert shown.rows.index(("after 71", "6", "", "turn 50.4 to 50.8")) > shown.rows.index(
        ("70", "6", "243.6", "low, held")
    )


def test_without_trays_each_tenth_is_long(run):
    """Where nobody uses trays the row has long ticks at each tenth and first and last number."""
    svg = draw(run(60, tray_size=0), for_print=False)

    assert sum(data.count("v-26") for data in _paths(svg)) == 6
    assert _ticks(svg) == 60
    assert {"jar 1", "60"} <= set(_words(svg))
    assert table(run(60, tray_size=0)).rows[0][1] == ""


def test_filled_but_not_weighed_is_told(run):
    """Jars filled before the first weight are counted."""
    assert describe(run(5, doses=())) == "5 jars filled, none weighed yet."
    assert describe(run(1, doses=())) == "1 jar filled, none weighed yet."
