"""A disk that is full or may not be written refuses in one sentence; nothing is half-written."""

from __future__ import annotations

import os
import shutil
import subprocess
from contextlib import closing, suppress
from pathlib import Path

import pytest

from fillwright.errors import JournalError, StoreFull
from fillwright.store.backup import backup
from fillwright.store.journal import open_journal
from fillwright.store.verify import verify


class SmallDisk:
    """A folder with room for little, on a small disk in memory or under a limit of size."""

    def __init__(self, folder: Path, *, is_mounted: bool) -> None:
        self.folder = folder
        self.is_mounted = is_mounted
        self._ballast = folder / "ballast"

    def fill(self) -> None:
        """Leave no room at all."""
        if self.is_mounted:
            with suppress(OSError), self._ballast.open("wb", buffering=0) as ballast:
                while ballast.write(b"\0" * 4096):
                    pass
        else:
            # Enough for the index of a write-ahead log, which is there on a full disk too.
            self._limit(40_000)

    def leave(self, room: int) -> None:
        """Leave room for so many bytes: in all, or for each file under a limit of size."""
        if self.is_mounted:
            self.fill()
            os.truncate(self._ballast, self._ballast.stat().st_size - room)
        else:
            self._limit(room)

    def make_room(self) -> None:
        """Give the room back."""
        if self.is_mounted:
            self._ballast.unlink()
        else:
            self._limit(None)

    def _limit(self, size: int | None) -> None:
        import resource  # noqa: PLC0415  not on every system

        _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (hard if size is None else size, hard))


@pytest.fixture
def disk(tmp_path):
    """A small disk: a mount where that is allowed, else a limit on the size of files."""
    folder = tmp_path / "small"
    folder.mkdir()
    mounted = _run("mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(folder))
    made = SmallDisk(folder, is_mounted=mounted)
    yield made
    if mounted:
        assert _run("umount", str(folder))
    else:
        made._limit(None)


def test_a_full_disk(disk, weighing):
    """Appends stop with one sentence, what was stored stays, and go on when there is room."""
    path = disk.folder / "journal.sqlite3"
    with open_journal(path) as journal:
        journal.append([weighing(1)])
        disk.fill()
        stored, refusal = _until_full(journal, weighing, stored=1)
        assert str(refusal).startswith("The entry was not kept. ")
        assert str(path) in str(refusal)
        assert journal.last_seq() == stored

        disk.make_room()
        (entry,) = journal.append([weighing(stored + 1)])

        assert entry.seq == stored + 1
        assert [e.payload.container for e in journal.entries("job/1")] == list(
            range(1, stored + 2)
        )
    report = verify(path)
    assert (report.ok, report.checked) == (True, stored + 1)


@pytest.mark.parametrize("room", [0, 8_000, 24_000, 40_000, 56_000])
def test_a_store_is_not_made_where_there_is_no_room(disk, room):
    """Wherever the room ends while a store is made, one sentence says so; later it is made."""
    path = disk.folder / "journal.sqlite3"
    disk.leave(room)

    with pytest.raises(JournalError, match=r"sqlite3 (cannot be opened|could not be made ready)"):
        open_journal(path).close()

    disk.make_room()
    open_journal(path).close()
    assert verify(path).ok


def test_several_drafts_on_a_full_disk_leave_nothing(store, weighing):
    """A batch that does not fit whole is not there at all; in room again it is there whole."""
    batch = [weighing(number) for number in range(1, 400)]
    with open_journal(store) as journal:
        pages = journal._writer.execute("PRAGMA page_count").fetchone()[0]
        journal._writer.execute(f"PRAGMA max_page_count = {pages + 3}")
        with pytest.raises(StoreFull, match="is full: make room, then send it again"):
            journal.append(batch)
        assert journal.last_seq() == 0
        journal._writer.execute("PRAGMA max_page_count = 100000")
        assert len(journal.append(batch)) == len(batch)
    assert verify(store).ok


def test_a_backup_to_a_full_disk_leaves_nothing(disk, store, weighing):
    """A copy that does not fit is told and taken away; the store is as it was."""
    with open_journal(store) as journal:
        journal.append([weighing(number) for number in range(1, 400)])
    disk.fill()

    with pytest.raises(JournalError, match="was not made"):
        backup(store, disk.folder / "copy.sqlite3")

    disk.make_room()
    assert not list(disk.folder.glob("copy*"))
    assert verify(store).checked == 399


def test_a_store_that_may_not_be_written(disk, weighing):
    """A store on a medium set to read only is read and verified; an append is refused."""
    path = disk.folder / "journal.sqlite3"
    with open_journal(path) as journal:
        journal.append([weighing(1)])
    with _read_only(disk):
        assert verify(path).checked == 1
        with open_journal(path) as journal:
            assert journal.count("job/1") == 1
            for _ in range(2):
                with pytest.raises(StoreFull, match=r"The entry was not kept\. .* written"):
                    journal.append([weighing(2)])

    with open_journal(path) as journal:
        assert journal.append([weighing(2)])[0].seq == 2


def test_a_backup_on_a_medium_that_may_not_be_written(disk, store, weighing):
    """A backup is one file that verifies where nothing can be made beside it."""
    with open_journal(store) as journal:
        journal.append([weighing(1), weighing(2)])
    made = backup(store, disk.folder / "copy.sqlite3")
    with _read_only(disk):
        assert verify(made.path).checked == 2
    assert [path.name for path in disk.folder.iterdir()] == ["copy.sqlite3"]


def _until_full(journal, weighing, *, stored):
    """Append until refused three times on end; return what was stored and the last refusal.

    The write-ahead log has a little room left, and is merged when the connection is made anew.
    """
    refusals = []
    while len(refusals) < 3:
        try:
            journal.append([weighing(stored + 1)])
        except StoreFull as refusal:
            refusals.append(refusal)
        else:
            refusals.clear()
            stored += 1
    return stored, refusals[-1]


def _read_only(disk):
    """Make the disk refuse writing for a while."""
    if disk.is_mounted:
        assert _run("mount", "-o", "remount,ro", str(disk.folder))
        return closing(_Undo(lambda: _run("mount", "-o", "remount,rw", str(disk.folder))))
    for path in disk.folder.iterdir():
        path.chmod(0o444)
    disk.folder.chmod(0o555)

    def undo():
        disk.folder.chmod(0o755)
        for path in disk.folder.iterdir():
            path.chmod(0o644)

    return closing(_Undo(undo))


class _Undo:
    """Does one thing when closed."""

    def __init__(self, close) -> None:
        self.close = close


def _run(*command: str) -> bool:
    """Run a program of the system and say whether it did what was asked."""
    if os.name == "nt" or shutil.which(command[0]) is None:
        return False
    return subprocess.run(command, capture_output=True, check=False).returncode == 0
