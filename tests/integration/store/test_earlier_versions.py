"""Stores written by each earlier version open, verify and say what they said then.

A file of every version is kept in ``tests/fixtures/stores``; all of them hold the invented
batch that ``fillwright demo --headless`` plays. A version adds its own before it is given out.
"""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from fillwright.jobs.files.tables import TABLES, table_of
from fillwright.jobs.papers import batch_record
from fillwright.store.places import place
from fillwright.store.schema import MIGRATIONS, bring_up_to_date
from fillwright.store.tables import SCHEMA_VERSION
from fillwright.store.verify import verify
from fillwright.wiring import open_bench

STORES = Path(__file__).parents[2] / "fixtures" / "stores"

EXPECTED = {
    "0.1.0": {
        "schema": "0001",
        "entries": 95,
        "weighings": 65,
        "filled": 120,
        "proof": "proved",
        "lot": "accepted",
        "outcome": "released",
    }
}
"""What each store held when it was written."""


def test_every_store_that_is_kept_is_expected():
    """No file without its facts, no facts without their file."""
    assert {path.stem for path in STORES.glob("*.sqlite3")} == set(EXPECTED)


@pytest.fixture(params=sorted(EXPECTED))
def version(request):
    """An earlier version."""
    return request.param


@pytest.fixture
def store(version, tmp_path):
    """A copy of the store that the version wrote."""
    return Path(shutil.copy(STORES / f"{version}.sqlite3", tmp_path / "journal.sqlite3"))


def test_an_earlier_store_opens_and_verifies(store, version, tmp_path):
    """It is brought up to date, after a copy where there is anything to bring, and is whole."""
    open_bench(store).close()
    report = verify(store)

    assert report.ok
    assert report.head_seq == EXPECTED[version]["entries"]
    beside = {path.name.removeprefix("journal.sqlite3") for path in tmp_path.iterdir()}
    copies = beside - {"", "-wal", "-shm"}
    assert bool(copies) == (EXPECTED[version]["schema"] != SCHEMA_VERSION)


@pytest.fixture
def next_version(tmp_path_factory):
    """Number and folder of the steps of the version after this one, whose step may fail."""

    def made(more="pass"):
        number = f"{int(SCHEMA_VERSION) + 1:04d}"
        folder = tmp_path_factory.mktemp("next") / "migrations"
        shutil.copytree(MIGRATIONS, folder)
        step = f'''"""A step of the next version, for the test."""
from alembic import op
revision = "{number}"
down_revision = "{SCHEMA_VERSION}"
def upgrade():
    op.execute("CREATE TABLE later (one INTEGER)")
    {more}
'''
        (folder / "versions" / f"v{number}_next.py").write_text(step, encoding="utf-8")
        return {"migrations": folder, "version": number}

    return made


def rows_of(path):
    """Return all entries and the head of a store, as they lie in it."""
    with closing(sqlite3.connect(path)) as connection:
        entries = connection.execute("SELECT * FROM entries ORDER BY seq").fetchall()
        return entries, connection.execute("SELECT * FROM head").fetchall()


def test_an_earlier_store_is_migrated_after_a_backup(store, version, next_version):
    """Brought to a version beyond: the copy is whole and as it was, and no entry is touched."""
    before = rows_of(store)
    more = next_version()

    bring_up_to_date(place(store), **more)

    [copy] = [
        path for path in store.parent.iterdir() if f".before-{more['version']}-" in path.name
    ]
    report = verify(copy)
    assert (report.ok, report.head_seq) == (True, EXPECTED[version]["entries"])
    assert rows_of(copy) == before == rows_of(store)


def test_a_migration_of_an_earlier_store_that_fails_leaves_it_whole(store, version, next_version):
    """The backup was made first, and the store opens and verifies as if nobody had tried."""
    with pytest.raises(RuntimeError, match="half way"):
        bring_up_to_date(place(store), **next_version("raise RuntimeError('half way')"))

    assert [path for path in store.parent.iterdir() if ".before-" in path.name]
    open_bench(store).close()
    report = verify(store)
    assert (report.ok, report.head_seq) == (True, EXPECTED[version]["entries"])


def test_an_earlier_store_says_what_it_said_then(store, version):
    """Every entry is read, and the job stands where it stood."""
    expected = EXPECTED[version]
    bench = open_bench(store)
    try:
        [number] = bench.desk.book.numbers()
        state = bench.desk.book.job(number)

        assert len(state.weighings) == expected["weighings"]
        assert state.filled_to == expected["filled"]
        assert (state.proof.verdict, state.lot.verdict) == (expected["proof"], expected["lot"])
        assert state.released.outcome == expected["outcome"]
        assert batch_record(bench.desk, state).last_hash == state.last_hash
        for name in TABLES:
            rows = list(table_of(bench.desk, name).rows)
            # What nobody kept yet at that time is a table without rows.
            assert rows or name not in ("weighings", "jobs", "checks", "service")
    finally:
        bench.close()
