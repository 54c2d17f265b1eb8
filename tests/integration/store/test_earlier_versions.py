"""Stores written by each earlier version open, verify and say what they said then.

A file of every version is kept in ``tests/fixtures/stores``; all of them hold the invented
batch that ``fillwright demo --headless`` plays. A version adds its own before it is given out.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from fillwright.jobs.papers import batch_record
from fillwright.jobs.tables import TABLES, table_of
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
    return shutil.copy(STORES / f"{version}.sqlite3", tmp_path / "journal.sqlite3")


def test_an_earlier_store_opens_and_verifies(store, version, tmp_path):
    """It is brought up to date, after a copy where there is anything to bring, and is whole."""
    open_bench(store).close()
    report = verify(store)

    assert report.ok
    assert report.head_seq == EXPECTED[version]["entries"]
    beside = {path.name.removeprefix("journal.sqlite3") for path in tmp_path.iterdir()}
    copies = beside - {"", "-wal", "-shm"}
    assert bool(copies) == (EXPECTED[version]["schema"] != SCHEMA_VERSION)


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
            assert list(table_of(bench.desk, name).rows)
    finally:
        bench.close()
