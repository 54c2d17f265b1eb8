"""Restoring overwrites nothing and checks first; a rescue says plainly what is lost."""

from __future__ import annotations

import json

import pytest

from fillwright.errors import BadInput, BrokenChain, JournalError
from fillwright.store.backup import backup
from fillwright.store.journal import open_journal
from fillwright.store.rescue import rescue
from fillwright.store.restore import restore
from fillwright.store.verify import verify

PAGE = 4096


@pytest.fixture
def filled(store, weighing):
    """A closed store of 600 entries, long enough for damage to hit some and miss others."""
    with open_journal(store) as journal:
        journal.append([weighing(n) for n in range(1, 601)])
    return store


def test_a_backup_goes_to_an_empty_place(filled, tmp_path):
    """All entries are there and the chain is whole."""
    copy = backup(filled, tmp_path / "copy").path

    made = restore(copy, tmp_path / "elsewhere.sqlite3")

    assert (made.entries, made.aside) == (600, None)
    assert verify(made.path).ok


def test_a_journal_that_is_there_is_never_overwritten(filled, tmp_path, weighing):
    """Without being told it is refused; told, the old journal gets another name, whole."""
    copy = backup(filled, tmp_path / "copy").path
    with open_journal(filled) as journal:
        journal.append([weighing(601)])
    with pytest.raises(BadInput, match="nothing was overwritten"):
        restore(copy, filled)
    assert verify(filled).checked == 601

    made = restore(copy, filled, replaces=True)

    assert verify(filled).checked == 600
    assert verify(made.aside).checked == 601


def test_a_journal_in_use_is_not_replaced(filled, tmp_path):
    """A program that has it open would write into the file that was set aside."""
    copy = backup(filled, tmp_path / "copy").path
    with open_journal(filled), pytest.raises(BadInput, match="Stop it, then restore"):
        restore(copy, filled, replaces=True)


def test_a_backup_that_does_not_verify_changes_nothing(filled, tmp_path):
    """A changed copy is refused before anything is touched."""
    copy = backup(filled, tmp_path / "copy").path
    data = copy.read_bytes()
    copy.write_bytes(data.replace(b"285.88", b"285.89", 1))

    with pytest.raises(BrokenChain, match="does not verify"):
        restore(copy, filled, replaces=True)
    assert verify(filled).ok


def test_a_backup_is_no_place_of_its_own(filled):
    """The journal cannot be restored from itself."""
    with pytest.raises(BadInput, match="is the journal itself"):
        restore(filled, filled, replaces=True)


def test_what_can_be_read_of_a_damaged_store_is_saved(filled, tmp_path):
    """The whole part verifies, the rest is written out, and the report counts what is lost."""
    data = bytearray(filled.read_bytes())
    # A page that holds whole entries of the middle: their payloads stand in no index.
    first = next(
        at
        for at in range(0, len(data), PAGE)
        if b"-000000000300" in data[at : at + PAGE] and b"net_g" in data[at : at + PAGE]
    )
    data[first : first + PAGE] = b"\xa5" * PAGE
    damaged = tmp_path / "damaged.sqlite3"
    damaged.write_bytes(data)

    made = rescue(damaged, tmp_path / "saved.sqlite3")

    assert verify(made.path).ok
    assert verify(made.path).checked == made.whole < 600
    rest = made.rest.read_text(encoding="utf-8").splitlines() if made.rest else []
    assert len(rest) == made.beyond
    assert all("payload" in json.loads(line) for line in rest)
    assert made.whole + made.beyond + made.lost_count == 600
    assert any("cannot be read" in words or "no longer proved" in words for words in made.words)
    assert damaged.read_bytes() == bytes(data)


def test_a_store_that_is_whole_is_rescued_whole(filled, tmp_path):
    """Nothing is lost, and it says so."""
    made = rescue(filled, tmp_path / "saved.sqlite3")

    assert (made.whole, made.rest, made.lost) == (600, None, ())
    assert "Nothing is lost." in made.words


def test_a_rescue_overwrites_nothing_and_needs_something_to_read(filled, tmp_path):
    """A name that is taken is refused, and so is a file in which nothing can be read."""
    taken = tmp_path / "taken"
    taken.write_text("precious", encoding="utf-8")
    rubbish = tmp_path / "rubbish"
    rubbish.write_bytes(b"\x00" * 10_000)

    with pytest.raises(BadInput, match="is there already"):
        rescue(filled, taken)
    with pytest.raises(JournalError, match="can be read"):
        rescue(rubbish, tmp_path / "saved")
    with pytest.raises(BadInput, match="no file"):
        rescue(tmp_path / "nowhere", tmp_path / "saved")
