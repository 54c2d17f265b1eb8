"""The notebook-style tutorials, run from the first cell to the last.

A ``python`` block is a cell; all cells of a page share their names, as in a notebook. The
``text`` block behind a cell is what it shows: what it prints, then its last line where that is
an expression. A picture that a cell saves and the page shows is drawn again, byte for byte.
"""

from __future__ import annotations

import ast
import contextlib
import io
import re
import shutil
from pathlib import Path

import pytest

import fillwright
from fillwright.records.charts import ProofChart, ProofShot

ROOT = Path(__file__).parents[2]
SHELF = ROOT / "docs" / "tutorial"
CELL = re.compile(r"```python\n(.*?)```(?:\n+```text\n(.*?)```)?", re.DOTALL)
PICTURE = re.compile(r"!\[[^\]]*\]\(([\w.-]+\.svg)\)")
PAGES = [page for page in sorted(SHELF.glob("*.md")) if CELL.search(page.read_text("utf-8"))]


def run_cells(text):
    """Yield each cell's source, what the page shows, and what it shows now."""
    names = {}
    for source, shown in CELL.findall(text):
        yield source, shown, _run(source, names)


def _run(source, names):
    """Run a cell; return what it prints and the value of its last line."""
    tree = ast.parse(source)
    last = tree.body.pop() if isinstance(tree.body[-1], ast.Expr) else None
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(compile(tree, "<cell>", "exec"), names)  # noqa: S102  our own page
        if last is not None:
            value = eval(  # noqa: S307  our own page
                compile(ast.Expression(last.value), "<cell>", "eval"), names
            )
            if value is not None:
                print(repr(value))  # noqa: T201  into the cell
    return printed.getvalue()


def test_there_are_three_pages_with_cells():
    """Doses, a lot and a stroke."""
    names = [page.stem for page in PAGES]

    assert names == ["doses-in-python", "lot-in-python", "stroke-in-python"]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_cell_shows_what_the_page_shows(page, tmp_path, monkeypatch):
    """From the first cell to the last, in one go, in an empty folder with the examples."""
    shutil.copytree(ROOT / "docs" / "examples", tmp_path / "docs" / "examples")
    monkeypatch.chdir(tmp_path)
    text = page.read_text("utf-8")

    wrong = [
        f"{source}\nthe page shows\n{shown}\nit shows now\n{now}"
        for source, shown, now in run_cells(text)
        if shown != now
    ]

    assert not wrong, "\n\n".join(wrong)
    for name in PICTURE.findall(text):
        assert (tmp_path / name).read_bytes() == (SHELF / name).read_bytes(), name


def test_a_picture_shows_itself_in_a_notebook(tmp_path):
    """A drawing for a notebook, a sentence for a terminal, a file for a report."""
    from decimal import Decimal  # noqa: PLC0415  only here

    shots = tuple(ProofShot(net_g=Decimal(n)) for n in ("498", "502", "500", "500"))
    chart = ProofChart(
        shots=shots,
        planned=4,
        aim_g=500,
        claim_low_g=495,
        claim_high_g=505,
        claim_pct=Decimal(1),
        decimals=0,
    )

    drawn = fillwright.picture(chart)
    drawn.save(tmp_path / "four.svg")

    assert drawn._repr_svg_().startswith("<svg")
    assert repr(drawn).startswith("<")
    assert "4" in repr(drawn)
    assert (tmp_path / "four.svg").read_text("utf-8").strip() == drawn._repr_svg_()
