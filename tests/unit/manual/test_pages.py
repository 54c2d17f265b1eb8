"""The pages of the manual: drawn whole, linked to one another, and nothing in them obeyed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fillwright.errors import BadInput
from fillwright.manual import build_site, find_page, picture, shelves
from fillwright.manual import pages as pages_module


def lead(_, target):
    """Return where a link goes, as seen from the top."""
    return f"/{target}"


@pytest.fixture
def written(tmp_path, monkeypatch):
    """Let the manual be these pages."""
    monkeypatch.setattr(pages_module, "folder", lambda: tmp_path)

    def write(**texts):
        for name, text in texts.items():
            path = tmp_path / f"{name.replace('__', '/')}.md"
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")

    return write


def test_there_are_four_shelves_and_every_page_can_be_drawn():
    """Tutorial, how to, explanation, reference; each page has its title as its first heading."""
    found = shelves()

    assert [shelf.title for shelf in found] == ["Tutorial", "How to", "Explanation", "Reference"]
    for name, _ in (one for shelf in found for one in shelf.all_pages):
        page = find_page(name, lead=lead)
        assert page.title
        assert page.html.startswith("<h1")


def test_links_and_pictures_are_led_on(written):
    """From where the page lies; addresses elsewhere and places on the page stay."""
    written(
        howto__one="# One `x`\n\n[a](../reference/b.md#part) [c](two.md) ![p](../shots/p.png) "
        "[away](https://example.org/a.md) [here](#one)"
    )
    page = find_page("howto/one", lead=lead)

    told = re.findall(r'(?:href|src)="([^"]+)"', page.html)
    assert page.title == "One x"
    assert told == [
        "/reference/b.md#part",
        "/howto/two.md",
        "/shots/p.png",
        "https://example.org/a.md",
        "#one",
    ]


def test_headings_have_names_of_their_own(written):
    """The same words twice get a number."""
    written(one="# Top\n\n## `A b`, c!\n\n## A b c\n\n## ?\n")
    html = find_page("one", lead=lead).html

    assert re.findall(r'id="([^"]+)"', html) == ["top", "a-b-c", "a-b-c-1", "part"]


def test_html_in_a_page_is_shown_not_obeyed(written):
    """A page that somebody changed cannot run anything."""
    written(one="# One\n\n<script>x</script> [a](javascript:alert(1)) ![b](javascript:c)")
    html = find_page("one", lead=lead).html

    assert "<script>" not in html
    assert 'href="javascript' not in html
    assert 'src="javascript' not in html


@pytest.mark.parametrize(
    "name",
    ["../../etc/passwd", "howto/../README", "nothing", "", "howto/", "howto/x.md", "A" * 99],
)
def test_a_page_that_is_not_there_is_refused(name):
    """Nothing but pages of the manual can be asked for."""
    with pytest.raises(BadInput, match="There is no page"):
        find_page(name, lead=lead)


@pytest.mark.parametrize("name", ["../README.png", "shots/nothing.png", "reference/rules.md", ""])
def test_a_picture_that_is_not_there_is_refused(name):
    """Nothing but pictures of the manual can be asked for."""
    with pytest.raises(BadInput, match="There is no picture"):
        picture(name)


def test_the_site_is_whole(tmp_path):
    """Every link in it finds its file, and every place on a page is there."""
    count = build_site(tmp_path / "site")
    files = {
        path.resolve(): path.read_text("utf-8") for path in (tmp_path / "site").rglob("*.html")
    }

    assert len(files) == count
    dead = []
    for path, html in files.items():
        for target in re.findall(r'(?:href|src)="([^"]+)"', html):
            place, _, part = target.partition("#")
            if re.match(r"[a-z]+:", target):
                continue
            other = (path.parent / place).resolve() if place else path
            if not other.exists() or (part and f'id="{part}"' not in files.get(other, "")):
                dead.append(f"{path.name}: {target}")
    assert dead == []


def test_the_pages_lie_beside_the_program_or_in_the_project():
    """While somebody works on it, the project's own pages are shown."""
    assert (pages_module.folder() / "README.md").is_file()
    assert isinstance(pages_module.folder(), Path)
