"""Kept states in files: whole or not there, of this program only, never in anybody's way."""

from __future__ import annotations

from pathlib import Path

import pytest

from fillwright.store import kept_states
from fillwright.store.kept_states import StateFiles, default_states


@pytest.fixture
def files(tmp_path):
    """The kept states of one store, in a folder that is not there yet."""
    return StateFiles(tmp_path / "journal.sqlite3", tmp_path / "states")


def test_what_was_kept_is_found(files):
    """The latest replaces the one before; another stream has its own."""
    files.keep("job/1", b"one")
    files.keep("job/1", b"two")
    files.keep("job/2", b"three")

    assert (files.find("job/1"), files.find("job/2")) == (b"two", b"three")
    assert files.find("job/3") is None


def test_two_stores_do_not_share_their_states(files, tmp_path):
    """The same job number in another store is another job."""
    files.keep("job/1", b"one")

    assert StateFiles(tmp_path / "other.sqlite3", tmp_path / "states").find("job/1") is None


def test_another_version_of_the_program_passes_over_what_was_kept(files, monkeypatch):
    """A state made by other code might mean something else."""
    files.keep("job/1", b"one")
    monkeypatch.setattr(kept_states, "program_mark", lambda: b"another program")

    assert files.find("job/1") is None


def test_a_folder_that_cannot_be_written_is_noted_and_passed_over(tmp_path, caplog):
    """Keeping is a convenience: a full disk or a file in the way stops nothing."""
    (tmp_path / "states").write_text("in the way")
    files = StateFiles(tmp_path / "journal.sqlite3", tmp_path / "states")

    files.keep("job/1", b"one")

    assert files.find("job/1") is None
    assert "was not kept" in caplog.text


def test_a_write_that_fails_leaves_the_earlier_state(files, monkeypatch):
    """The file takes its name only once it is whole."""
    files.keep("job/1", b"one")

    def fails(*_):
        raise OSError("no room")

    monkeypatch.setattr(Path, "replace", fails)
    files.keep("job/1", b"two")

    assert files.find("job/1") == b"one"
    assert len(list(files._folder.iterdir())) == 1


def test_only_so_many_are_kept(files, monkeypatch):
    """The oldest go first."""
    monkeypatch.setattr(kept_states, "_MOST", 3)
    for number in range(6):
        files.keep(f"job/{number}", b"state")

    assert len(list(files._folder.glob("*.state"))) == 3
    assert files.find("job/5") == b"state"


def test_the_folder_is_the_one_for_what_can_be_made_again():
    """Clean-up tools may empty it."""
    assert default_states().parent.name.lower() in ("fillwright", "cache")
