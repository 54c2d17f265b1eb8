"""The pages of faults: one for every sign and fault, as the data have them today."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from fillwright.knowledge.faults_load import fault_book
from fillwright.knowledge.faults_types import OTHER
from fillwright.manual.faultpages import listed, pages, write

DOCS = Path(__file__).parents[3] / "docs"


def test_the_pages_in_the_manual_are_today_s():
    """What lies in the docs is what the data make; the command of the module makes them anew."""
    made = pages(fault_book())
    kept = {
        f"howto/faults/{path.stem}": path.read_text(encoding="utf-8")
        for path in (DOCS / "howto" / "faults").glob("*.md")
    }

    assert kept == made
    first = (DOCS / "README.md").read_text(encoding="utf-8")
    assert listed(fault_book(), first) == first


def test_every_fault_and_every_sign_has_its_page():
    """Each names what to look at or what to do, and the cautions before either."""
    book = fault_book()
    made = pages(book)

    for key in (*book.signs, *(key for key in book.causes if key != OTHER)):
        page = made[f"howto/faults/{key.replace('_', '-')}"]
        assert "isolate the air, vent it" in page
        assert "Never a finger in a port" in page
        if key in book.causes:
            assert "## What to do" in page or "Only a qualified technician" in page
            assert "## How to be sure" in page or "## What you see" in page


def test_a_check_is_named_by_the_number_that_is_said_over_the_phone():
    """Each number on the page of a fault is a check's own."""
    book = fault_book()
    numbers = {str(check.number) for check in book.checks.values()}

    said = {n for page in pages(book).values() for n in re.findall(r"\(/(\d+)\)", page)}

    assert said
    assert said <= numbers


def test_writing_anew_takes_away_what_is_gone(tmp_path):
    """A page of a fault that is no longer on the list goes; the rest of the manual stays."""
    shutil.copy(DOCS / "README.md", tmp_path / "README.md")
    gone = tmp_path / "howto" / "faults" / "a-fault-of-old.md"
    gone.parent.mkdir(parents=True)
    gone.write_text("# A fault of old\n")

    write(tmp_path)

    assert not gone.exists()
    assert (tmp_path / "howto" / "faults" / "lock-open.md").exists()


def test_the_list_is_put_in_where_there_is_none():
    """A first page without it gets it before the explanations."""
    made = listed(
        fault_book(), "# D\n\n## How to\n\n- [A](a.md)\n\n## Explanation\n\n- [B](b.md)\n"
    )

    assert (
        made.index("## How to") < made.index("### Signs and faults") < made.index("## Explanation")
    )
