"""A backup is one whole file that verifies, and overwrites nothing."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from fillwright.errors import BadInput, BrokenChain, JournalError
from fillwright.store.backup import backup
from fillwright.store.journal import open_journal
from fillwright.store.verify import verify


def test_a_backup_holds_everything_while_the_journal_is_open(store, tmp_path, weighing):
    """Also what still lies in the write-ahead log is in the copy, which is one file."""
    target = tmp_path / "carried" / "copy.sqlite3"
    target.parent.mkdir()
    with open_journal(store) as journal:
        entries = journal.append([weighing(n) for n in range(1, 4)])
        made = backup(store, target)
        journal.append([weighing(4)])

    assert (made.path, made.entries, made.head_hash) == (target, 3, entries[-1].hash)
    assert list(target.parent.iterdir()) == [target]
    with open_journal(target) as copied:
        assert list(copied.everything()) == [*entries]


def test_a_backup_overwrites_nothing(store, tmp_path):
    """A file that is there is left as it is."""
    target = tmp_path / "copy.sqlite3"
    target.write_text("precious", encoding="utf-8")

    with pytest.raises(BadInput, match="is there already, and a backup overwrites nothing"):
        backup(store, target)

    assert target.read_text(encoding="utf-8") == "precious"


def test_a_backup_needs_its_folder(store, tmp_path):
    """A folder that is not there is told."""
    with pytest.raises(BadInput, match="cannot be made"):
        backup(store, tmp_path / "none" / "copy.sqlite3")


def test_a_backup_of_nothing_makes_nothing(tmp_path):
    """Where there is no store, none is made, and no copy."""
    with pytest.raises(JournalError, match="There is no store at"):
        backup(tmp_path / "none.sqlite3", tmp_path / "copy.sqlite3")

    assert list(tmp_path.iterdir()) == []


def test_a_backup_of_a_broken_chain_is_kept_and_told(store, tmp_path, weighing):
    """The copy of a store that was tampered with is made, and the finding is the message."""
    with open_journal(store) as journal:
        journal.append([weighing(1), weighing(2)])
    with closing(sqlite3.connect(store)) as other:
        other.execute("DROP TRIGGER entries_keep")
        other.execute("UPDATE entries SET person = 'x' WHERE seq = 1")
        other.commit()

    with pytest.raises(BrokenChain, match=r"does not verify, so the store does not. 1 of 2"):
        backup(store, tmp_path / "copy.sqlite3")

    assert not verify(tmp_path / "copy.sqlite3").ok
