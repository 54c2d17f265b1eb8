"""The store answers the same on SQLite and on PostgreSQL."""

from __future__ import annotations

import subprocess
import sys

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from fillwright.errors import Conflict
from fillwright.records.codec import entry_json, hash_of
from fillwright.store.backup import backup
from fillwright.store.journal import open_journal
from fillwright.store.places import place
from fillwright.store.tables import metadata
from fillwright.store.verify import verify

WRITER = """
import sys
from datetime import UTC, datetime
from fillwright.records.codec import draft
from fillwright.records.entries import RunPaused
from fillwright.store.journal import open_journal

where, name, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
at = datetime(2031, 3, 5, tzinfo=UTC)
sys.stdin.readline()
with open_journal(where) as journal:
    for number in range(count):
        payload = RunPaused(reason="pause", after_container=number)
        for stream in ("shared", name):
            one = draft(payload, stream=stream, at=at, zone="Etc/UTC", person=name, bench="b",
                        entry_id=f"{name}-{stream}-{number}")
            journal.append([one])
"""


def test_append_read_and_repeat(where, weighing):
    """Entries come back the same, in order; a repeat appends nothing; the chain is whole."""
    with open_journal(where) as journal:
        first = journal.append([weighing(1, person='Zoë "Z" \u2028'), weighing(2)], seen=0)
        other = journal.append([weighing(3, stream="job/2")], seen=0)
        again = journal.append([weighing(1), weighing(2), weighing(4)], seen=0)

        assert again[:2] == first
        assert list(journal.entries("job/1")) == [*again]
        assert list(journal.entries("job/1", after=2)) == [*again[2:]]
        assert list(journal.everything()) == [*first, *other, again[2]]
        assert journal.streams() == ("job/1", "job/2")
        assert journal.streams("job/2") == ("job/2",)
        assert (journal.last_seq(), journal.count("job/1")) == (4, 3)
        for entry in again:
            document = entry_json(entry)
            assert document.pop("hash") == hash_of(entry_id=document.pop("id"), **document)
    assert verify(where).ok


def test_conflicts(where, weighing):
    """A stale sender and a used id are refused, and nothing is stored."""
    with open_journal(where) as journal:
        entries = journal.append([weighing(1), weighing(2)])
        with pytest.raises(Conflict, match="it has 2 entries now, and 1 had been seen") as caught:
            journal.append([weighing(3)], seen=1)
        with pytest.raises(Conflict, match="was used before"):
            journal.append([weighing(3), weighing(1, stream="job/1"), _other(weighing(2))])

        assert caught.value.since == entries[1:]
        assert journal.last_seq() == 2
        assert journal.append([weighing(3)], seen=2)[0].seq == 3


def test_an_old_store_is_opened_again(where, weighing):
    """What was written by one opening is there for the next."""
    with open_journal(where) as journal:
        stored = journal.append([weighing(1)])
    with open_journal(where) as journal:
        assert list(journal.entries("job/1")) == [*stored]
        assert journal.append([weighing(2)])[0].previous_hash == stored[0].hash


def test_the_steps_build_the_tables_of_the_code(where):
    """The migrated database differs in nothing from the tables that statements are made for."""
    open_journal(where).close()
    engine = place(where).engine()
    with engine.connect() as connection:
        differences = compare_metadata(MigrationContext.configure(connection), metadata)
    engine.dispose()

    assert differences == []


def test_two_programs_on_one_store(where):
    """Two programs that open a new store and write at once leave one whole chain."""
    count = 15
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, where, name, str(count)],
            stdin=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in ("left", "right")
    ]
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    told = [writer.communicate()[1] for writer in writers]

    assert told == ["", ""]
    report = verify(where)
    assert (report.ok, report.checked) == (True, 4 * count)
    with open_journal(where) as journal:
        shared = list(journal.entries("shared"))
        assert [entry.revision for entry in shared] == list(range(1, 2 * count + 1))
        for name in ("left", "right"):
            mine = [e.payload.after_container for e in shared if e.person == name]
            assert mine == list(range(count))
            assert journal.count(name) == count


def test_tampering_is_found(where, weighing):
    """A changed, a removed and a forged last entry are found though the triggers are gone."""
    with open_journal(where) as journal:
        for number in range(1, 7):
            journal.append([weighing(number)])
    engine = place(where).engine()
    table = "" if engine.dialect.name == "sqlite" else " ON entries"
    with engine.begin() as connection:
        for trigger in ("entries_keep", "entries_stay"):
            connection.exec_driver_sql(f"DROP TRIGGER {trigger}{table}")
        connection.exec_driver_sql("UPDATE entries SET person = 'Grace' WHERE seq = 2")
        connection.exec_driver_sql("DELETE FROM entries WHERE seq IN (4, 6)")
    engine.dispose()

    report = verify(where)

    assert [(one.what, one.seq) for one in report.findings] == [
        ("changed", 2),
        ("removed", 4),
        ("removed", 6),
    ]


def test_the_database_refuses_changes(where, weighing):
    """Plain statements that change or delete entries, or delete the head, are refused."""
    with open_journal(where) as journal:
        journal.append([weighing(1)])
    found = place(where)
    connection = found.writer()
    for statement in (
        "UPDATE entries SET person = 'x'",
        "DELETE FROM entries",
        "DELETE FROM head",
    ):
        with pytest.raises(found.error, match="only added to, never changed"):
            connection.execute(statement)
    connection.close()


def test_a_backup_is_a_file_that_verifies(where, weighing, tmp_path):
    """From either database comes one file with every entry, that opens as a store."""
    with open_journal(where) as journal:
        entries = journal.append([weighing(1), weighing(2)])
        made = backup(where, tmp_path / "copy.sqlite3")

    assert (made.entries, made.head_hash) == (2, entries[-1].hash)
    assert [path.name for path in tmp_path.glob("copy*")] == ["copy.sqlite3"]
    with open_journal(tmp_path / "copy.sqlite3") as copied:
        assert list(copied.everything()) == [*entries]
        assert copied.append([weighing(3)])[0].seq == 3


def _other(draft):
    """A draft for the same stream with the id of another weighing."""
    return type(draft)(
        id="01e1b0c0-0000-7000-8000-000000000001",
        stream=draft.stream,
        at=draft.at,
        zone=draft.zone,
        person=draft.person,
        bench=draft.bench,
        payload=draft.payload,
    )
