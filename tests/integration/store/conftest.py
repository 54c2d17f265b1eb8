"""Each test here runs on a SQLite file and on a PostgreSQL database."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from fillwright.records.codec import draft
from fillwright.records.entries import Draft, WeighingTaken

BEGAN = datetime(2031, 3, 5, 8, 0, 0, tzinfo=UTC)


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def where(request, tmp_path) -> str:
    """A place for a store that nobody has made yet."""
    if request.param == "postgres":
        return request.getfixturevalue("fresh_postgres_url")
    return str(tmp_path / "journal.sqlite3")


@pytest.fixture
def weighing() -> Callable[..., Draft]:
    """Makes the draft of weighing number n, one a second; the same number, the same id."""

    def make(number: int, *, stream: str = "job/1", person: str = "Ada") -> Draft:
        payload = WeighingTaken(
            purpose="dose",
            value="285.88",
            unit="g",
            basis="gross",
            tare_g=Decimal("35.10"),
            net_g=Decimal("250.78"),
            container=number,
        )
        return draft(
            payload,
            stream=stream,
            at=BEGAN + timedelta(seconds=number),
            zone="Etc/UTC",
            person=person,
            bench="bench 1",
            entry_id=f"01e1b0c0-0000-7000-8000-{number:012d}",
        )

    return make
