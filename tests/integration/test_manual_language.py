"""The manual in another language: blocks of it, its links and names of headings, its site."""

from __future__ import annotations

import importlib
import re

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from fillwright.cli.app import app
from fillwright.language.manual_blocks import blocks_of, changed_marks, reader
from fillwright.manual import Shelf, build_site, find_page, shelves
from fillwright.manual import pages as pages_module
from fillwright.web import create_app
from fillwright.wiring import maker, open_demo

CLEAN = "howto/keep-a-clean"


def _lead(_, target):
    return f"/{target}"


def _alive(html):
    """Links, pictures, names of headings and code of a page, in any order."""
    kept = re.findall(r'(?:href|src|id)="[^"]*"|<code[^>]*>[^<]*</code>', html)
    return sorted(kept)


@pytest.fixture
def client(tmp_path):
    """A browser at the demo bench, in German."""
    bench = open_demo(tmp_path / "bench.sqlite")
    bench.demo.stop()
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", maker.PEOPLE[0].initials)
        client.cookies.set("fw_language", "de")
        yield client
    bench.close()


def test_a_how_to_is_read_in_german_and_its_links_are_alive(client):
    """Text, titles and the mark of the draft; each link of the sheet opens its page."""
    page = client.get(f"/manual/{CLEAN}").text
    article = re.search(r"<article.*?</article>", page, re.DOTALL)[0]

    assert article.startswith('<article class="sheet first prose" lang="de" dir="ltr"')
    assert '<h1 id="keep-a-clean">Eine Reinigung behalten</h1>' in article
    assert '<h2 id="what-it-changes">Was es ändert</h2>' in article
    assert '<a href="/manual/howto/strip-and-rebuild">zerlegen und zusammenbauen</a>' in article
    assert 'lang="en"' not in article
    assert 'aria-current="page">Eine Reinigung behalten</a>' in page
    assert "Deutsch (Entwurf)" in page
    for address in set(re.findall(r'href="(/manual[^"#]*)', article)):
        assert client.get(address).status_code == 200


@pytest.mark.parametrize("language", ["de", "x-wrapped", "x-leftward"])
def test_links_code_and_names_of_headings_are_those_of_the_english_page(language):
    """Whatever the page speaks, for pages of every shelf."""
    for name in (
        "README",
        CLEAN,
        "tutorial/first-job",
        "howto/faults/drips",
        "reference/scale-formats",
    ):
        english = find_page(name, lead=_lead).html
        assert _alive(find_page(name, lead=_lead, language=language).html) == _alive(english)


def test_every_block_of_a_made_page_goes_through_a_catalogue():
    """Signs and faults are made from texts of the program: none of their blocks stays English."""
    for name in ("howto/faults/drips", "howto/faults/air-leak", "howto/faults/suction-lift"):
        assert 'lang="en"' not in find_page(name, lead=_lead, language="x-wrapped").html


def test_a_block_that_no_catalogue_has_stays_english_and_says_so(tmp_path, monkeypatch):
    """Its tag names the language; what is a text of the program is said as pages say it."""
    monkeypatch.setattr(pages_module, "folder", lambda: tmp_path)
    (tmp_path / "one.md").write_text(
        "# Zorblax quorn here\n\n- quorn zorblax with it\n\n| what | Leaks |\n| --- | --- |\n"
        "| `a` | 1.5 g |\n\n```\ncode\n```\n",
        encoding="utf-8",
    )
    html = find_page("one", lead=_lead, language="de").html

    assert '<h1 id="zorblax-quorn-here" lang="en">Zorblax quorn here</h1>' in html
    assert '<li lang="en">quorn zorblax with it</li>' in html
    assert "<td>1,5 g</td>" in html
    assert "<code>code\n</code>" in html


def test_a_title_is_the_same_in_lists_and_on_its_page():
    """So the list marks the page that is open."""
    for name, title in shelves("de")[1].pages[:5]:
        assert find_page(name, lead=_lead, language="de").title == title


def test_a_translation_that_lost_a_link_or_code_is_refused():
    """What was left out and what is strange is named."""
    source = "See [the page](a.md), `--take` and ![a picture](p.png)."

    assert not changed_marks(source, "![Bild](p.png) und `--take`: siehe [Seite](a.md).")
    assert changed_marks(source, "`--take` ![Bild](p.png) [Seite](b.md)") == (
        "left out: (a.md); not in the text: (b.md)"
    )
    assert "`--take`" in changed_marks(source, "![Bild](p.png) [Seite](a.md) --take")


def test_blocks_are_cut_with_single_blanks_and_without_marks_around_them():
    """A link or bold words around the whole of a block are no part of it; code is no block."""
    tokens = reader().parse(
        "# [One  two](a.md)\n\n**Bold** word\n\n- **All\n  bold**\n\n`x` 5 g\n"
    )

    assert [block.text for _, block in blocks_of(tokens)] == [
        "One two",
        "**Bold** word",
        "All bold",
        "`x` 5 g",
    ]
    assert [block.speaks for _, block in blocks_of(tokens)] == [True, True, True, False]


def test_the_site_is_written_in_a_language(tmp_path, monkeypatch):
    """By the option of the command; without it the site is the English one."""
    site = importlib.import_module("fillwright.manual.site")
    few = (Shelf(title="How to", pages=((CLEAN, "Keep a clean"),)),)
    monkeypatch.setattr(site, "shelves", lambda _="en": few)
    answer = CliRunner().invoke(app, ["manual", str(tmp_path / "de"), "--language", "de"])
    build_site(tmp_path / "en")
    page = (tmp_path / "de" / f"{CLEAN}.html").read_text("utf-8")

    assert answer.exit_code == 0
    assert '<html lang="de">' in page
    assert "<title>Eine Reinigung behalten</title>" in page
    assert "Deutsch (Entwurf)" in page
    english = (tmp_path / "en" / f"{CLEAN}.html").read_text("utf-8")
    assert '<html lang="en">' in english
    assert _alive(page) == _alive(english)


def test_the_english_pages_are_drawn_as_markdown_says():
    """Nothing of the catalogues touches them: not a byte differs from the plain drawing."""
    names = [name for shelf in shelves() for name, _ in shelf.all_pages]
    for name in names:
        tokens = reader().parse(pages_module._text(name))
        pages_module._name_headings(tokens)
        for child in (child for token in tokens for child in token.children or ()):
            pages_module._lead_on(child, name, _lead)
        plain = reader().renderer.render(tokens, reader().options, {})
        assert find_page(name, lead=_lead).html == plain
