"""An empty store made once and copied for each test, and invented weighings to put in."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from fillwright.records.codec import draft
from fillwright.records.entries import Draft, WeighingTaken
from fillwright.store.journal import SqlJournal, open_journal

BEGAN = datetime(2031, 3, 5, 8, 0, 0, 250_000, tzinfo=UTC)


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store without entries; copy it, never open it."""
    path = tmp_path_factory.mktemp("empty") / "journal.sqlite3"
    open_journal(path).close()
    return path


@pytest.fixture
def store(empty_store: Path, tmp_path: Path) -> Path:
    """Path of an empty store of this test's own."""
    return Path(shutil.copy(empty_store, tmp_path / "journal.sqlite3"))


@pytest.fixture
def journal(store: Path) -> Iterator[SqlJournal]:
    """An empty journal of this test's own."""
    with open_journal(store) as opened:
        yield opened


@pytest.fixture
def weighing() -> Callable[..., Draft]:
    """Makes the draft of weighing number n, one a second; the same number, the same id."""

    def make(number: int, *, stream: str = "job/1", net_g: str = "250.78", **given) -> Draft:
        at = BEGAN + timedelta(seconds=number)
        payload = WeighingTaken(
            purpose="dose",
            value="285.88",
            unit="g",
            basis="gross",
            tare_g=Decimal("35.10"),
            net_g=Decimal(net_g),
            container=number,
        )
        who = {"zone": "Etc/UTC", "person": "Ada", "bench": "bench 1"} | given
        who.setdefault("entry_id", f"01e1b0c0-0000-7000-8000-{number:012d}")
        return draft(payload, stream=stream, at=at, **who)

    return make
