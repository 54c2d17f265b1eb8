"""Make the entries, the head, and the triggers that refuse to change what is written."""

from __future__ import annotations

from typing import Final

import sqlalchemy as sa
from alembic import op

from fillwright.records.codec import GENESIS

__all__ = ["upgrade"]

revision: Final = "0001"
down_revision: Final = None

_REFUSAL: Final = "the journal is only added to, never changed"
_REFUSE: Final = f"BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END"
_SQLITE: Final = (
    f"CREATE TRIGGER entries_keep BEFORE UPDATE ON entries {_REFUSE}",
    f"CREATE TRIGGER entries_stay BEFORE DELETE ON entries {_REFUSE}",
    f"CREATE TRIGGER head_stays BEFORE DELETE ON head {_REFUSE}",
)
_FUNCTION: Final = f"""\
CREATE FUNCTION fillwright_refuse() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '{_REFUSAL}'; END $$
"""
_EACH_ROW: Final = "FOR EACH ROW EXECUTE FUNCTION fillwright_refuse()"
_AT_ONCE: Final = "FOR EACH STATEMENT EXECUTE FUNCTION fillwright_refuse()"
_POSTGRESQL: Final = (
    _FUNCTION,
    f"CREATE TRIGGER entries_keep BEFORE UPDATE OR DELETE ON entries {_EACH_ROW}",
    f"CREATE TRIGGER entries_stay BEFORE TRUNCATE ON entries {_AT_ONCE}",
    f"CREATE TRIGGER head_stays BEFORE DELETE ON head {_EACH_ROW}",
)


def upgrade() -> None:
    """Build the first store."""
    count = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
    texts = ("at", "zone", "person", "bench", "payload", "previous_hash", "hash")
    op.create_table(
        "entries",
        sa.Column("seq", count, primary_key=True, autoincrement=False),
        sa.Column("revision", count, nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("stream", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in texts),
        sa.UniqueConstraint("id", name="entries_id"),
        sa.UniqueConstraint("stream", "revision", name="entries_stream_revision"),
        sqlite_strict=True,
    )
    first = sa.text("revision = 1")
    op.create_index(
        "entries_first", "entries", ["seq"], sqlite_where=first, postgresql_where=first
    )
    head = op.create_table(
        "head",
        sa.Column("one", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("seq", count, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.CheckConstraint("one = 1", name="head_is_one_row"),
        sqlite_strict=True,
    )
    op.bulk_insert(head, [{"one": 1, "seq": 0, "hash": GENESIS}])
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    for trigger in _SQLITE if on_sqlite else _POSTGRESQL:
        op.execute(trigger)
