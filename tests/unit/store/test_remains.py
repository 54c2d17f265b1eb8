"""What is shown of a damaged journal, and what is said about the rest."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from fillwright.errors import JournalError, StoreFull
from fillwright.store.journal import open_journal
from fillwright.store.remains import remains_of
from fillwright.store.verify import verify

PAGE = 4096


@pytest.fixture
def filled(store, weighing) -> Path:
    """A closed store: job 1, then job 2, then more of job 1."""
    with open_journal(store) as journal:
        journal.append([weighing(n) for n in range(1, 301)])
        journal.append([weighing(n, stream="job/2") for n in range(301, 401)])
        journal.append([weighing(n) for n in range(401, 501)])
    return store


def spoilt_page(store: Path, holding: bytes) -> bytes:
    """Write rubbish over the page of entries that holds a text; return the whole file."""
    data = bytearray(store.read_bytes())
    at = next(
        at
        for at in range(0, len(data), PAGE)
        if holding in data[at : at + PAGE] and b"net_g" in data[at : at + PAGE]
    )
    data[at : at + PAGE] = b"\xa5" * PAGE
    store.write_bytes(data)
    return bytes(data)


def changed(store: Path, seq: int) -> None:
    """Change one entry behind the journal's back."""
    with closing(sqlite3.connect(store)) as file:
        file.execute("DROP TRIGGER entries_keep")
        file.execute("UPDATE entries SET person = 'Eve' WHERE seq = ?", (seq,))
        file.commit()


def test_a_lost_page_cuts_its_job_and_no_other(filled):
    """Job 1 ends before the gap, job 2 behind it is shown whole; the file is only read."""
    data = spoilt_page(filled, b"-000000000150")
    remains = remains_of(str(filled))

    shown = list(remains.entries("job/1"))
    assert 0 < len(shown) < 150
    assert [entry.revision for entry in shown] == list(range(1, len(shown) + 1))
    assert len(list(remains.entries("job/2"))) == 100
    assert remains.streams("job/") == ("job/1", "job/2")
    assert next(iter(remains.entries("job/2", after=98))).revision == 99
    assert remains.entry("01e1b0c0-0000-7000-8000-000000000350").stream == "job/2"
    assert remains.entry("01e1b0c0-0000-7000-8000-000000000450") is None
    assert filled.read_bytes() == data


def test_the_report_counts_what_is_lost_and_what_is_behind_it(filled):
    """Whole, lost, and read but not shown are the entries there were."""
    spoilt_page(filled, b"-000000000150")
    remains = remains_of(str(filled))
    shown = len(list(remains.entries("job/1")))
    headline, whole, lost, behind, advice = remains.words

    assert str(filled) in headline
    assert whole.startswith(f"{shown} of 500 entries are whole from the first on. The last")
    count = int(lost.split()[0])
    assert lost == f"{count} entries cannot be read: {shown + 1} to {shown + count}."
    assert behind.startswith("Job 1 is shown up to 05 Mar 2031 08:0")
    assert f"{500 - 100 - shown - count} entries behind a gap" in behind
    assert "fillwright restore" in advice


def test_an_entry_that_was_changed_is_not_shown_nor_what_follows_it(filled):
    """Its own hash does not fit; the other job is shown."""
    changed(filled, 10)
    remains = remains_of(str(filled))

    assert len(list(remains.entries("job/1"))) == 9
    assert len(list(remains.entries("job/2"))) == 100
    assert "1 entry damaged or changed: 10." in remains.words


def test_a_job_whose_first_entry_is_lost_is_named(filled):
    """It cannot be shown, and the report says so."""
    changed(filled, 301)
    remains = remains_of(str(filled))

    assert remains.streams() == ("job/1",)
    assert any("Job 2 is not shown" in words for words in remains.words)


def test_many_gaps_are_told_in_one_line(filled):
    """Ten are named, the rest is counted."""
    for seq in range(1, 60, 2):
        with closing(sqlite3.connect(filled)) as file:
            file.execute("DROP TRIGGER IF EXISTS entries_keep")
            file.execute("UPDATE entries SET bench = 'x' WHERE seq = ?", (seq,))
            file.commit()
    words = next(w for w in remains_of(str(filled)).words if "damaged or changed" in w)

    assert words.endswith(": 1, 3, 5, 7, 9, 11, 13, 15, 17, 19, and 20 spans more.")


def test_nothing_is_kept_in_what_remains(filled, weighing):
    """Every entry is refused in words, and nobody is ever told of one."""
    changed(filled, 10)
    remains = remains_of(str(filled))
    stop = remains.subscribe(lambda _: pytest.fail("nothing was committed"))

    with pytest.raises(StoreFull, match="damaged and only shown"):
        remains.append([weighing(501)])
    stop()
    remains.close()


def test_a_file_of_rubbish_has_no_remains(tmp_path):
    """Nothing of it can be shown; and a database on a server is not a file."""
    rubbish = tmp_path / "rubbish"
    rubbish.write_bytes(b"\xa5" * 10_000)

    with pytest.raises(JournalError, match="Nothing of"):
        remains_of(str(rubbish))
    assert remains_of(str(tmp_path / "nowhere")) is None


def test_a_damaged_index_is_found_though_every_entry_can_be_read(filled):
    """Its pages hold no entry, and without them nothing more can be kept."""
    whole = Path(shutil.copy(filled, filled.with_name("whole")))
    with closing(sqlite3.connect(filled)) as file:
        (root,) = file.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_entries_1'"
        ).fetchone()
    data = bytearray(filled.read_bytes())
    data[(root - 1) * PAGE : root * PAGE] = b"\xa5" * PAGE
    filled.write_bytes(data)

    assert verify(whole).ok
    report = verify(filled)
    assert not report.ok
    assert report.checked == 500
    assert len(list(remains_of(str(filled)).entries("job/1"))) == 400
