"""The two tables of the store, for SQLite and PostgreSQL alike.

The migrations build them; this file is what the statements are written against.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    text,
)

__all__ = ["SCHEMA_VERSION", "entries", "head", "metadata"]

SCHEMA_VERSION: Final = "0001"
"""The newest migration; versions are counted, so that a newer store can be told."""

metadata: Final = MetaData()

# Only a column declared INTEGER is the row's own key in SQLite; PostgreSQL's INTEGER is short.
_Count: Final = BigInteger().with_variant(Integer(), "sqlite")

entries: Final = Table(
    "entries",
    metadata,
    Column("seq", _Count, primary_key=True, autoincrement=False),
    Column("revision", _Count, nullable=False),
    Column("id", Text, nullable=False),
    Column("stream", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("version", Integer, nullable=False),
    Column("at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("person", Text, nullable=False),
    Column("bench", Text, nullable=False),
    Column("payload", Text, nullable=False),
    Column("previous_hash", Text, nullable=False),
    Column("hash", Text, nullable=False),
    UniqueConstraint("id", name="entries_id"),
    UniqueConstraint("stream", "revision", name="entries_stream_revision"),
    # One row a stream: lists the streams without reading the whole journal.
    Index(
        "entries_first",
        "seq",
        sqlite_where=text("revision = 1"),
        postgresql_where=text("revision = 1"),
    ),
    # SQLite would else take text into a number's column, and the hash is over both.
    sqlite_strict=True,
)

head: Final = Table(
    "head",
    metadata,
    Column("one", Integer, primary_key=True, autoincrement=False),
    Column("seq", _Count, nullable=False),
    Column("hash", Text, nullable=False),
    CheckConstraint("one = 1", name="head_is_one_row"),
    sqlite_strict=True,
)
