"""``fillwright verify`` and ``fillwright backup`` in this process."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime

import pytest

from fillwright.records.codec import draft
from fillwright.records.entities import Person
from fillwright.records.entries import PersonListed
from fillwright.store.journal import open_journal


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
