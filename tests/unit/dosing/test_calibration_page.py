"""The promises of the calibration page: as printed, and counted again with few runs.

A promise is broken when its figure is beyond the bound by more than three standard errors.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from calibrate_promises import AT_LEAST, MANY, PROMISES

PAGE = Path(__file__).parents[3] / "docs" / "reference" / "calibration.md"
ROW = re.compile(r"^\| (.+) \| (at least|at most) (\S+) \| (\S+) ± (\S+) \| (\d+) \| (yes|no) \|$")


def _printed():
    """The rows of the table of promises, by what is promised."""
    text = PAGE.read_text(encoding="utf-8")
    body = text.split("<!-- promises -->")[1].split("<!-- end -->")[0]
    rows = [ROW.match(line) for line in body.strip().splitlines()[2:]]
    return {row[1]: row for row in rows if row}, len(rows)


def test_the_page_holds_every_promise():
    """Each promise has its row with its bound, and no row is there without one."""
    rows, count = _printed()

    assert count == len(rows) == len(PROMISES)
    assert {p.what: (p.sense, f"{p.bound:g}") for p in PROMISES} == {
        what: (row[2], row[3]) for what, row in rows.items()
    }


@pytest.mark.parametrize("promise", PROMISES, ids=lambda promise: promise.what)
def test_a_promise_is_kept_as_printed(promise):
    """The figure of the page is within three standard errors of its bound, or better."""
    row = _printed()[0][promise.what]
    value, error = float(row[4]), float(row[5])
    gap = promise.bound - value if promise.sense == AT_LEAST else value - promise.bound

    assert gap <= MANY * error + 0.011
    assert row[7] == "yes"
    assert int(row[6]) == promise.runs


@pytest.mark.parametrize("promise", PROMISES, ids=lambda promise: promise.what)
def test_a_promise_is_kept_when_counted_again(promise):
    """With few runs and a fixed seed the bound is not passed by three standard errors."""
    value, error = promise.find(promise.few)
    sys.stdout.write(f"{promise.what}: {value:.2f} ± {error:.2f}\n")

    assert not promise.broken((value, error))


def test_every_table_of_the_page_is_made_by_the_command():
    """Each place for a table is filled, and has figures with their errors."""
    text = PAGE.read_text(encoding="utf-8")
    names = re.findall(r"<!-- (?!end)(\S+) -->\n\n\| ", text)

    assert sorted(names) == sorted(re.findall(r"<!-- (?!end)(\S+) -->", text))
    assert {"trim", "history", "tolerance", "signature", "suspect", "false", "priming"} <= {*names}
