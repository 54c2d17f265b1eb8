"""A program killed at any point loses no acknowledged weighing, and none is doubled."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fillwright.store.journal import open_journal
from fillwright.store.verify import verify

POINTS = ("before-begin", "after-insert", "after-commit", "before-reply")
WRITER = Path(__file__).with_name("writer.py")
ALL = 20


def numbers(journal):
    """The container numbers of the stored weighings, in order."""
    return [entry.payload.container for entry in journal.entries("job/1")]


@pytest.mark.parametrize("when", [1, 2, 9])
@pytest.mark.parametrize("point", POINTS)
def test_a_kill_at_a_point(store, killed_at, weighing, point, when):
    """Each acknowledged weighing is there once; the retry of the last makes it whole, once."""
    acknowledged = killed_at(point, when)
    committed = point in {"after-commit", "before-reply"}

    assert acknowledged == list(range(1, when))
    assert verify(store).ok
    with open_journal(store) as journal:
        # The one on its way is there only when the commit was done.
        assert numbers(journal) == list(range(1, when + committed))
        for number in range(when, ALL + 1):
            (entry,) = journal.append([weighing(number)])
            assert entry.payload.container == number
        assert numbers(journal) == list(range(1, ALL + 1))
    report = verify(store)
    assert (report.ok, report.checked) == (True, ALL)


def test_a_stale_sender_may_still_repeat(store, killed_at, weighing):
    """After a kill past the commit, the retry with the revision of before is no conflict."""
    killed_at("after-commit", 3)

    with open_journal(store) as journal:
        (again,) = journal.append([weighing(3)], seen=2)

        assert again.revision == 3
        assert journal.count("job/1") == 3


def test_kills_one_after_another(store, killed_at):
    """A writer killed again and again, each time at another point, goes on where it was."""
    acknowledged = []
    for point, when in zip(POINTS, (4, 3, 2, 5), strict=True):
        first = (acknowledged[-1] if acknowledged else 0) + 1
        acknowledged += killed_at(point, when, first=first)

    assert acknowledged == list(range(1, 11))
    with open_journal(store) as journal:
        assert numbers(journal) == list(range(1, 12))
    assert verify(store).ok


@pytest.mark.parametrize("lines", [1, 7, 60])
def test_a_kill_from_outside(store, weighing, lines):
    """Killed at a moment nobody chose, at most one more is stored than was acknowledged."""
    with subprocess.Popen(
        [sys.executable, str(WRITER), str(store), "1", "100000", "never", "0"],
        stdout=subprocess.PIPE,
        text=True,
    ) as writer:
        said = [writer.stdout.readline() for _ in range(lines)]
        writer.send_signal(signal.SIGKILL)
        said += writer.stdout.readlines()
    # A line cut in two by the kill was not acknowledged.
    acknowledged = [int(line) for line in said if line.endswith("\n")]

    assert verify(store).ok
    with open_journal(store) as journal:
        stored = numbers(journal)
        assert stored == list(range(1, len(stored) + 1))
        assert len(stored) - len(acknowledged) in {0, 1}
        journal.append([weighing(number) for number in range(1, len(stored) + 2)])
        assert numbers(journal) == [*stored, len(stored) + 1]


def test_the_log_left_by_a_kill_is_read(store, killed_at):
    """What a killed writer left in the write-ahead log is read, also by verify alone."""
    killed_at("before-reply", 5)
    log = store.with_name(f"{store.name}-wal")

    assert log.stat().st_size > 0
    assert verify(store).checked == 5
    with open_journal(store) as journal:
        assert journal.last_seq() == 5
    assert not log.exists()


def test_a_store_killed_while_it_is_made(tmp_path):
    """A program killed while it makes the store leaves nothing that a second could not use."""
    path = tmp_path / "new.sqlite3"
    code = (
        "import os, signal, sys\n"
        "from alembic import command\n"
        "from fillwright.store.journal import open_journal\n"
        "done = command.upgrade\n"
        "def dies(*given):\n"
        "    done(*given)\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
        "command.upgrade = dies\n"
        "open_journal(sys.argv[1])\n"
    )
    ended = subprocess.run([sys.executable, "-c", code, str(path)], check=False)

    assert ended.returncode == -signal.SIGKILL
    with open_journal(path) as journal:
        assert journal.last_seq() == 0
    assert verify(path).ok
