"""A program killed while it takes a file in: whole pieces are on record, and none twice."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fillwright.records.entries import FileTaken, WeighingFromFile
from fillwright.records.fold import fold_job
from fillwright.store.journal import open_journal
from fillwright.store.verify import verify

TAKER = Path(__file__).with_name("taker.py")
ALL, PIECE = 18, 4


def run(store, file, point="never", when=0):
    """Take the file in; return how the program ended and what it said."""
    done = subprocess.run(
        [sys.executable, str(TAKER), str(store), str(file), point, str(when)],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    return done.returncode, done.stdout.strip()


def kept_in(store):
    """Return the rows of the file that are on record, the entries of files, and the state."""
    with open_journal(store) as journal:
        entries = list(journal.entries("job/0101"))
    state = fold_job("0101", entries)
    facts = [entry.payload for entry in entries]
    rows = [fact.file_row for fact in facts if isinstance(fact, WeighingFromFile)]
    return rows, [fact for fact in facts if isinstance(fact, FileTaken)], state


@pytest.mark.parametrize(
    ("point", "when", "pieces"),
    [("after-insert", 3, 2), ("after-commit", 2, 2)],
)
def test_a_file_that_was_broken_off_is_carried_on(store, tmp_path, point, when, pieces):
    """What a commit brought is there, nothing of the piece in hand; again, and all are, once."""
    file = tmp_path / "log.csv"
    lines = [f"2031-03-04 07:{minute:02d},{296 + minute / 10:.1f}" for minute in range(ALL)]
    file.write_text("\n".join(["when,net (g)", *lines]) + "\n", encoding="utf-8")

    assert run(store, file, point, when) == (-signal.SIGKILL, "")
    rows, files, _ = kept_in(store)
    assert rows == list(range(2, 2 + pieces * PIECE))
    assert len(files) == bool(pieces)
    assert verify(store).ok

    assert run(store, file) == (0, str(ALL - pieces * PIECE))
    rows, files, state = kept_in(store)
    assert rows == list(range(2, 2 + ALL))
    assert len(files) == 1
    (tally,) = state.files.files.values()
    assert tally.count == ALL
    assert verify(store).ok
