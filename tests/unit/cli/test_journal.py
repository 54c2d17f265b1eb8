"""``fillwright verify`` and ``fillwright backup`` in this process."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from fillwright.records.codec import draft
from fillwright.records.entities import Person
from fillwright.records.entries import PersonListed, PhotoKept
from fillwright.store.journal import open_journal
from fillwright.store.photos import photos_of


@pytest.fixture
def journal(tmp_path):
    """A journal of nine entries in the folder of the test; returns its path."""
    path = tmp_path / "journal.sqlite3"
    with closing(open_journal(path)) as opened:
        for number in range(9):
            listed = PersonListed(listed=Person(initials=f"P{number}", name=f"Person {number}"))
            at = datetime(2031, 5, 6, 7, 8, number, tzinfo=UTC)
            opened.append(
                [draft(listed, stream="site", at=at, zone="UTC", person="P0", bench="bench")]
            )
    return path


def test_a_whole_journal_is_said_to_be_whole(command, journal):
    """Every entry is checked, and the last hash is printed to be noted elsewhere."""
    ended = command("verify", "--store", str(journal))

    assert ended.status == 0
    assert "9" in ended.out
    assert "Last entry 9:" in ended.out


@pytest.mark.usefixtures("journal")
def test_a_noted_hash_is_held_against_the_journal(command):
    """A hash noted before agrees; one that never was does not, and the journal is broken."""
    noted = command("verify").out.split("Last entry ")[1].split()[0]

    assert command("verify", "--known", noted).status == 0
    assert command("verify", "--known", "9:" + "0" * 64).status == 1


def test_a_changed_entry_is_named(command, journal):
    """One changed digit ends with 1 and the place of the entry."""
    with closing(sqlite3.connect(journal)) as spoilt:
        names = spoilt.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for (name,) in names:
            spoilt.execute(f'DROP TRIGGER "{name}"')
        spoilt.execute("UPDATE entries SET person = 'XX' WHERE seq = 5")
        spoilt.commit()

    ended = command("verify", "--store", str(journal))

    assert ended.status == 1
    assert "5" in ended.out
    assert "compare it with a backup" in " ".join(ended.out.split())


@pytest.mark.usefixtures("journal")
def test_a_copy_is_made_and_checked_and_never_overwritten(command):
    """The copy verifies; a second copy to the same place is refused."""
    first = command("backup", "copy.sqlite3")
    second = command("backup", "copy.sqlite3")

    assert (first.status, second.status) == (0, 2)
    assert "Copied 9 entries" in first.out
    assert command("verify", "--store", "copy.sqlite3").status == 0


def test_photos_are_copied_and_brought_back(command, journal):
    """A folder beside the backup holds them; a restore puts them beside the new journal."""
    mine = photos_of(journal)
    told = mine.keep(b"\x89PNG\r\n\x1a\n" + bytes(20))
    kept = command("backup", "copy.sqlite3")
    Path("new").mkdir()
    back = command("restore", "copy.sqlite3", "--store", "new/bench.sqlite3")

    assert "1 photo is in copy.sqlite3.photos" in " ".join(kept.out.split())
    assert (back.status, "1 photo is back." in back.out) == (0, True)
    assert photos_of("new/bench.sqlite3").find(told.sha256) is not None


def test_photos_that_are_named_are_looked_at(command, journal):
    """A missing one ends all three commands with 1 and is named; the copy is made all the same."""
    told = photos_of(journal).keep(b"\x89PNG\r\n\x1a\n" + bytes(20))
    kept = PhotoKept(
        container=1, sha256=told.sha256, media_type=told.media_type, size_bytes=told.size_bytes
    )
    at = datetime(2031, 5, 6, 8, tzinfo=UTC)
    with closing(open_journal(journal)) as opened:
        opened.append([draft(kept, stream="job/1", at=at, zone="UTC", person="A", bench="b")])
    whole = command("verify")
    (journal.parent / "photos" / told.sha256[:2] / told.sha256).unlink()
    ended = command("verify")
    copied = command("backup", "copy.sqlite3")
    Path("new").mkdir()
    back = command("restore", "copy.sqlite3", "--store", "new/bench.sqlite3")

    assert (whole.status, "1 photo checked; whole." in whole.out) == (0, True)
    assert (ended.status, copied.status, back.status) == (1, 1, 1)
    assert f"Photo {told.sha256[:12]}" in " ".join(ended.out.split())
    assert Path("copy.sqlite3").exists()
    assert Path("new/bench.sqlite3").exists()
