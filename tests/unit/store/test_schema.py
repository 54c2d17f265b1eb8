"""Stores are made, brought up to date after a copy, or refused."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from datetime import UTC, datetime

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory

from fillwright.errors import BadInput, BrokenChain, JournalError
from fillwright.store.journal import open_journal
from fillwright.store.places import place
from fillwright.store.schema import MIGRATIONS, bring_up_to_date
from fillwright.store.tables import SCHEMA_VERSION
from fillwright.store.verify import verify

NEXT_STEP = '''
"""A step of a later version, for the test."""
from alembic import op
revision = "0002"
down_revision = "0001"
def upgrade():
    op.execute("CREATE TABLE later (one INTEGER)")
    {more}
'''


class Noon:
    """A clock that stands at noon."""

    def now(self) -> datetime:
        """Noon of an invented day."""
        return datetime(2032, 1, 2, 12, 0, tzinfo=UTC)

    def zone(self) -> str:
        """The zone of the bench."""
        return "Etc/UTC"


@pytest.fixture
def later(tmp_path):
    """Folder of steps with one more than this program has; says what else the step does."""

    def make(more="pass"):
        folder = tmp_path / "later 100 %"
        shutil.copytree(MIGRATIONS, folder)
        step = folder / "versions" / "v0002_later.py"
        step.write_text(NEXT_STEP.format(more=more), encoding="utf-8")
        return folder

    return make


def test_the_version_known_is_that_of_the_newest_step():
    """The figure in the code and the chain of steps agree, and steps are counted."""
    config = Config()
    config.set_main_option("path_separator", "os")
    config.set_main_option("script_location", str(MIGRATIONS))
    steps = [step.revision for step in ScriptDirectory.from_config(config).walk_revisions()]

    assert steps[0] == SCHEMA_VERSION
    assert steps[::-1] == [f"{number:04d}" for number in range(1, len(steps) + 1)]


def test_an_older_store_is_migrated_after_a_copy(store, weighing, later):
    """All entries stay, the chain is whole, and the copy is the store as it was."""
    with open_journal(store) as journal:
        journal.append([weighing(1), weighing(2)])

    bring_up_to_date(place(store), clock=Noon(), migrations=later(), version="0002")

    copy = store.with_name("journal.sqlite3.before-0002-20320102T120000Z")
    with closing(sqlite3.connect(store)) as connection:
        assert connection.execute("SELECT * FROM later").fetchall() == []
        assert connection.execute("SELECT count(*) FROM entries").fetchone() == (2,)
    assert verify(copy).checked == 2
    with pytest.raises(JournalError, match=r"newer Fillwright \(store version 0002"):
        verify(store)


def test_a_step_that_fails_leaves_the_store_as_it_was(store, weighing, later):
    """A migration happens whole or not at all; the second try keeps a second copy."""
    with open_journal(store) as journal:
        journal.append([weighing(1)])
    failing = later("raise RuntimeError('half way')")

    for _ in range(2):
        with pytest.raises(RuntimeError, match="half way"):
            bring_up_to_date(place(store), clock=Noon(), migrations=failing, version="0002")

    with open_journal(store) as journal:
        assert journal.append([weighing(2)])[0].seq == 2
    with closing(sqlite3.connect(store)) as connection:
        tables = connection.execute("SELECT name FROM sqlite_master WHERE name = 'later'")
        assert tables.fetchall() == []
    assert len(list(store.parent.glob("*.before-0002-*"))) == 2


def test_a_newer_store_is_refused_in_one_sentence(store):
    """A store of a later program is not opened, and the sentence says both versions."""
    with closing(sqlite3.connect(store)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0007'")
        connection.commit()

    with pytest.raises(
        JournalError,
        match=r"newer Fillwright \(store version 0007; this one knows up to 0001\): install the",
    ):
        open_journal(store)


def test_a_database_of_something_else_is_refused(tmp_path):
    """Another program's database, or a file that is none, is left alone."""
    other = tmp_path / "other.sqlite3"
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE entries (x)")
        connection.commit()
    text = tmp_path / "notes.txt"
    text.write_text("not a database " * 100, encoding="utf-8")

    with pytest.raises(JournalError, match="holds something that is not a store"):
        open_journal(other)
    with pytest.raises(BrokenChain, match="is damaged or is no store"):
        open_journal(text)
    assert text.read_text(encoding="utf-8").startswith("not a database")


def test_a_folder_that_is_not_there_is_told(tmp_path):
    """A path that leads nowhere (a stick not plugged in) makes no store elsewhere."""
    with pytest.raises(JournalError, match="is not there: make it, or check the path"):
        open_journal(tmp_path / "none" / "journal.sqlite3")


@pytest.mark.parametrize(
    "where", ["sqlite://", "sqlite:///:memory:", "mysql://x@y/z", "://", "http://x:secret@y/z"]
)
def test_a_place_that_cannot_hold_a_store_is_told(where):
    """Only a file or a PostgreSQL database will do; a password is not repeated."""
    with pytest.raises(BadInput, match="The store cannot be") as caught:
        open_journal(where)

    assert "secret" not in str(caught.value)


def test_a_url_and_odd_characters_name_a_file(tmp_path, weighing):
    """A path with spaces, a question mark, a hash and a percent sign is that path."""
    folder = tmp_path / "a b#c%20d"
    folder.mkdir()
    path = folder / "what?.sqlite3"
    with open_journal(path) as journal:
        journal.append([weighing(1)])

    assert sorted(folder.iterdir()) == [path]
    with open_journal(f"sqlite:///{tmp_path}/by url.sqlite3") as journal:
        journal.append([weighing(1)])
    assert verify(tmp_path / "by url.sqlite3").checked == 1


def test_opening_an_up_to_date_store_does_not_load_the_migration_tool(store):
    """The migration tool is only imported when there is something to migrate."""
    code = (
        "import sys; from fillwright.store.journal import open_journal;"
        "open_journal(sys.argv[1]).close(); print('alembic' in sys.modules)"
    )

    said = subprocess.run(
        [sys.executable, "-c", code, str(store)], check=True, capture_output=True, text=True
    )

    assert said.stdout == "False\n"


def test_several_may_make_the_same_store_at_once(tmp_path):
    """Whoever opens a new store at the same moment as others gets the one store."""
    path = tmp_path / "journal.sqlite3"
    gate = threading.Barrier(4)
    opened = []

    def opens():
        gate.wait()
        with open_journal(path) as journal:
            opened.append(journal.last_seq())

    threads = [threading.Thread(target=opens) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert opened == [0] * 4
    assert verify(path).ok
