"""The manual as a folder of plain pages, to be read without the program."""

from __future__ import annotations

from html import escape
from pathlib import Path, PurePosixPath
from typing import Final

from fillwright.language import said, tongue_of
from fillwright.language.edge import Way
from fillwright.language.tongues import ENGLISH, Tongue
from fillwright.manual.pages import Page, find_page, folder, picture, shelves

__all__ = ["build_site"]

_STYLE: Final = """\
:root { color-scheme: light dark; }
body { margin: 0; font: 18px/1.45 system-ui, sans-serif; display: grid;
  grid-template-columns: minmax(15rem, 19rem) minmax(0, 1fr); gap: 2rem; }
nav { padding: 1.5rem; border-inline-end: 2px solid; min-block-size: 100vh; }
nav ul { list-style: none; padding: 0; margin: 0 0 1rem; }
nav li { margin: .4rem 0; }
nav [aria-current] { font-weight: 700; }
main { padding: 1.5rem 1.5rem 4rem; max-inline-size: 70ch; }
img { max-inline-size: 100%; block-size: auto; border: 2px solid; }
pre { overflow-x: auto; padding: .8rem; border: 2px solid; }
table { border-collapse: collapse; display: block; overflow-x: auto; }
th, td { text-align: start; vertical-align: top; padding: .35rem .7rem; }
th, td { border-block-end: 1px solid; }
@media (max-width: 45rem) { body { display: block; } nav { min-block-size: 0; border: 0; } }
"""


def build_site(to: Path, language: str = ENGLISH) -> int:
    """Write the manual as HTML files and return the number of pages.

    Parameters
    ----------
    to : Path
        Folder of the site; made if it is missing, files in it are replaced.
    language : str
        Code of the language; what it does not have is English.

    Returns
    -------
    int
        Pages written.
    """
    names = ["README", *(name for shelf in shelves() for name, _ in shelf.all_pages)]
    for name in names:
        page = find_page(name, lead=_lead, language=language)
        file = to / _file(name)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(_whole(page, tongue_of(language)), encoding="utf-8")
    (to / "manual.css").write_text(_STYLE, encoding="utf-8")
    for path in sorted(folder().rglob("*")):
        if path.suffix in (".png", ".svg"):
            name = path.relative_to(folder()).as_posix()
            (to / name).parent.mkdir(parents=True, exist_ok=True)
            (to / name).write_bytes(picture(name))
    return len(names)


def _file(name: str) -> str:
    """Return the file of a page."""
    return "index.html" if name == "README" else f"{name}.html"


def _lead(name: str, target: str) -> str:
    """Return the way from a page to another file of the site."""
    up = "../" * (len(PurePosixPath(name).parts) - 1)
    return up + (_file(target.removesuffix(".md")) if target.endswith(".md") else target)


def _list(page: Page, pages: tuple[tuple[str, str], ...]) -> str:
    """Return a list of pages, seen from one of them."""
    lines = []
    for name, title in pages:
        here = ' aria-current="page"' if name == page.name else ""
        address = escape(_lead(page.name, f"{name}.md"))
        lines.append(f'<li><a href="{address}"{here}>{escape(title)}</a></li>')
    return f"<ul>{''.join(lines)}</ul>"


def _whole(page: Page, tongue: Tongue) -> str:
    """Return a page with the list of all pages beside it."""
    lists = []
    for shelf in shelves(tongue.code):
        lists.append(f"<h2>{escape(shelf.title)}</h2>{_list(page, shelf.pages)}")
        if shelf.folded:
            is_open = " open" if page.name in {name for name, _ in shelf.folded} else ""
            folded = f"<summary>{escape(shelf.fold)}</summary>{_list(page, shelf.folded)}"
            lists.append(f"<details{is_open}>{folded}</details>")
    told = escape(said("Pages of the manual", Way(language=tongue.code)))
    draft = f"<p>{escape(tongue.title)}</p>\n" if tongue.draft else ""
    way = ' dir="rtl"' if tongue.is_leftward else ""
    return (
        f'<!doctype html>\n<html lang="{tongue.tag}"{way}>\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(page.title)}</title>\n"
        f'<link rel="stylesheet" href="{_lead(page.name, "manual.css")}">\n</head>\n<body>\n'
        f'<nav aria-label="{told}">{"".join(lists)}</nav>\n'
        f"<main>\n{page.html}{draft}</main>\n</body>\n</html>\n"
    )
