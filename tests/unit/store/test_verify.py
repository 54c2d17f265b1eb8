"""Tampering of every sort is found and named, though the triggers were dropped first."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from fillwright.errors import BrokenChain, JournalError
from fillwright.store.chain import hash_of_row
from fillwright.store.journal import open_journal
from fillwright.store.tables import entries
from fillwright.store.verify import verify

COLUMNS = [column.name for column in entries.columns]


@pytest.fixture
def written(store, weighing):
    """A store with 9 weighings of job/1 and, in places 4 and 8, two of job/2."""
    with open_journal(store) as journal:
        for number in range(1, 10):
            stream = "job/2" if number in {4, 8} else "job/1"
            journal.append([weighing(number, stream=stream)])
    return store


@pytest.fixture
def tamper(written):
    """Runs statements on the store behind the journal's back, triggers gone."""

    def run(*statements):
        with closing(sqlite3.connect(written)) as connection:
            for trigger in ("entries_keep", "entries_stay", "head_stays"):
                connection.execute(f"DROP TRIGGER IF EXISTS {trigger}")
            for statement, *given in statements:
                connection.execute(statement, given)
            connection.commit()

    return run


@pytest.fixture
def row_at(written):
    """Reads the row at a place, as a dictionary."""

    def read(seq):
        with closing(sqlite3.connect(written)) as connection:
            row = connection.execute("SELECT * FROM entries WHERE seq = ?", [seq]).fetchone()
        return dict(zip(COLUMNS, row, strict=True))

    return read


def found(store, **given):
    """What verify finds, as pairs of what and place."""
    report = verify(store, **given)
    assert report.ok == (report.findings == ())
    return [(finding.what, finding.seq) for finding in report.findings]


def remade(row):
    """The row with its hash made again, as a forger who knows the rule would."""
    return row | {"hash": hash_of_row(tuple(row.values()))}


def insert(row):
    """The statement that inserts a row."""
    marks = ", ".join("?" * len(row))
    return (f"INSERT INTO entries VALUES ({marks})", *row.values())  # noqa: S608  our own marks


def test_a_whole_journal_is_whole(written, row_at):
    """Nothing is found where nothing was done; the report gives the head to note."""
    report = verify(written)

    assert report.ok
    assert report.checked == report.head_seq == 9
    assert report.head_hash == row_at(9)["hash"]
    assert report.because == "9 entries checked; the chain is whole."


def test_an_empty_journal_is_whole(store):
    """A store without entries has nothing wrong."""
    report = verify(store)

    assert (report.ok, report.checked, report.head_seq) == (True, 0, 0)


@pytest.mark.parametrize("seq", [1, 5, 9])
@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("payload", '{"net_g":"999"}'),
        ("at", "2031-03-05T08:00:10.250000Z"),
        ("person", "Grace"),
        ("bench", "bench 2"),
        ("zone", "Etc/GMT"),
        ("kind", "run finished"),
        ("version", 2),
        ("stream", "job/3"),
        ("revision", 77),
        ("id", "another"),
        ("previous_hash", "0" * 63 + "1"),
        ("hash", "f" * 64),
    ],
)
def test_a_changed_column_is_found(written, tamper, seq, column, value):
    """Any column changed in the first, a middle or the last entry is found there alone."""
    tamper((f"UPDATE entries SET {column} = ? WHERE seq = ?", value, seq))  # noqa: S608  listed

    assert found(written) == [("changed", seq)]


def test_one_changed_byte_of_the_payload_is_found(written, tamper, row_at):
    """White space that changes no figure is a change too: it is not what was written."""
    tamper(("UPDATE entries SET payload = payload || ' ' WHERE seq = 5",))

    assert found(written) == [("changed", 5)]
    assert row_at(5)["payload"].endswith("} ")


def test_a_finding_names_the_entry(written, tamper):
    """Place, kind, stream, time and id are in the finding and in its sentence."""
    tamper(("UPDATE entries SET person = 'Grace' WHERE seq = 4",))

    (finding,) = verify(written).findings

    assert (finding.id, finding.stream, finding.kind, finding.at) == (
        "01e1b0c0-0000-7000-8000-000000000004",
        "job/2",
        "weighing taken",
        "2031-03-05T08:00:04.250000Z",
    )
    assert finding.sentence == (
        "Entry 4 (weighing taken, job/2, 2031-03-05T08:00:04.250000Z, id "
        "01e1b0c0-0000-7000-8000-000000000004) was changed after it was written."
    )


@pytest.mark.parametrize("seq", [1, 5, 9])
def test_a_change_with_its_hash_made_again_is_found(written, tamper, row_at, seq):
    """Making the hash of the one entry again does not help: the next, or the head, knew it."""
    row = remade(row_at(seq) | {"person": "Grace"})
    tamper(("UPDATE entries SET person = 'Grace', hash = ? WHERE seq = ?", row["hash"], seq))

    assert found(written) == [("changed", seq)]


def test_a_removed_entry_is_found_and_its_stream_named(written, tamper):
    """The revisions of the other entries tell of which stream the missing one was."""
    tamper(("DELETE FROM entries WHERE seq = 4",))

    (finding,) = verify(written).findings

    assert (finding.what, finding.seq, finding.stream) == ("removed", 4, "job/2")
    assert "Entry 4 was removed, after entry 3 (weighing taken, job/1," in finding.sentence
    assert finding.sentence.endswith("; it belonged to job/2.")


@pytest.mark.parametrize(
    ("where", "places"), [("seq = 1", [1]), ("seq IN (2, 3)", [2, 3]), ("seq IN (3, 6)", [3, 6])]
)
def test_removed_entries_are_found(written, tamper, where, places):
    """Entries removed at the beginning, side by side or apart are each found."""
    tamper((f"DELETE FROM entries WHERE {where}",))  # noqa: S608  listed above

    assert found(written) == [("removed", seq) for seq in places]


def test_a_removed_entry_with_the_rest_renumbered_is_found(written, tamper):
    """Closing the gap does not hide it: every hash is made over its place."""
    tamper(
        ("DELETE FROM entries WHERE seq = 3",),
        ("UPDATE entries SET seq = -seq WHERE seq > 3",),
        ("UPDATE entries SET seq = -seq - 1 WHERE seq < 0",),
        ("UPDATE head SET seq = 8",),
    )

    assert ("removed", 3) in found(written)


@pytest.mark.parametrize("last", [8, 6, 0])
def test_entries_removed_at_the_end_are_found(written, tamper, last):
    """The head remembers how many there were, and the hash of the last."""
    tamper(("DELETE FROM entries WHERE seq > ?", last))

    assert found(written) == [("removed", seq) for seq in range(last + 1, 10)]


@pytest.mark.parametrize(("first", "second"), [(5, 6), (2, 7)])
def test_two_entries_that_changed_places_are_found(written, tamper, first, second):
    """Neighbours or not, both are named with where they came from."""
    tamper(
        ("UPDATE entries SET seq = -1 WHERE seq = ?", first),
        ("UPDATE entries SET seq = ? WHERE seq = ?", first, second),
        ("UPDATE entries SET seq = ? WHERE seq = -1", second),
    )

    findings = verify(written).findings

    assert [(one.what, one.seq) for one in findings] == [
        ("reordered", first),
        ("reordered", second),
    ]
    assert f"was moved here from place {second}" in findings[0].sentence
    assert findings[0].id.endswith(f"{second:012d}")


def test_two_entries_that_changed_contents_are_found(written, tamper, row_at):
    """Swapping all but place and revision is found at both."""
    for seq, other in ((5, 6), (6, 5)):
        row = row_at(other)
        tamper(
            (
                "UPDATE entries SET payload = ?, at = ? WHERE seq = ?",
                row["payload"],
                row["at"],
                seq,
            )
        )
        if seq == 5:
            kept = row_at(5)
    tamper(("UPDATE entries SET payload = ? WHERE seq = 6", kept["payload"].replace("6", "5")))

    assert [seq for _, seq in found(written)] == [5, 6]


def test_an_entry_slipped_in_is_found(written, tamper, row_at):
    """An entry with a fitting hash, the rest moved up by one, is the one that is named."""
    forged = remade(row_at(5) | {"id": "forged", "revision": 77})
    tamper(
        ("UPDATE entries SET seq = -seq WHERE seq >= 5",),
        ("UPDATE entries SET seq = -seq + 1 WHERE seq < 0",),
        insert(forged),
        ("UPDATE head SET seq = 10",),
    )

    (finding, *more) = verify(written).findings

    assert (finding.what, finding.seq, finding.id) == ("inserted", 5, "forged")
    assert [one.what for one in more] == ["removed"]


def test_an_entry_added_after_the_head_is_found(written, tamper, row_at):
    """An entry that fits in every way, but which the head does not know, is named."""
    last = row_at(9)
    forged = remade(last | {"seq": 10, "revision": 8, "id": "x", "previous_hash": last["hash"]})
    tamper(insert(forged))

    assert found(written) == [("inserted", 10)]


def test_an_entry_before_the_first_place_is_found(written, tamper, row_at):
    """Places begin at 1; what stands before is named."""
    tamper(insert(remade(row_at(1) | {"seq": 0, "revision": 0, "id": "x"})))

    assert found(written) == [("inserted", 0)]


def test_an_entry_at_no_place_is_found(written, tamper):
    """A table that was made anew without its types takes a word for a place."""
    tamper(
        ("CREATE TABLE copy AS SELECT * FROM entries",),
        ("DROP TABLE entries",),
        ("ALTER TABLE copy RENAME TO entries",),
        ("UPDATE entries SET seq = 'nine' WHERE seq = 9",),
    )

    assert found(written) == [("inserted", 0), ("removed", 9)]


@pytest.mark.parametrize("statement", ["DELETE FROM head", "UPDATE head SET hash = 'x'"])
def test_a_tampered_head_is_found(written, tamper, statement):
    """A head that is gone, or does not know the last entry, is found."""
    tamper((statement,))

    assert not verify(written).ok


def test_a_tampered_head_of_an_empty_journal_is_found(store):
    """With no entries the head must hold the zeros that begin the chain."""
    with closing(sqlite3.connect(store)) as connection:
        connection.execute("UPDATE head SET hash = 'x'")
        connection.commit()

    assert found(store) == [("head", 0)]


def test_only_a_hash_noted_elsewhere_tells_of_a_journal_rebuilt_whole(written, tamper, row_at):
    """Who rewrites everything from an entry on leaves a whole chain; the noted hash differs."""
    noted = {9: row_at(9)["hash"]}
    previous = row_at(4)["hash"]
    for seq in range(5, 10):
        row = remade(row_at(seq) | {"person": "Grace", "previous_hash": previous})
        previous = row["hash"]
        tamper(
            (
                "UPDATE entries SET person = ?, previous_hash = ?, hash = ? WHERE seq = ?",
                "Grace",
                row["previous_hash"],
                row["hash"],
                seq,
            )
        )
    tamper(("UPDATE head SET hash = ?", previous))

    assert found(written) == []
    assert found(written, known=noted) == [("changed", 9)]


def test_a_noted_entry_that_is_gone_is_found(written, tamper, row_at):
    """Entries cut off at the end, and the head with them, are missed by who noted a hash."""
    noted = {9: row_at(9)["hash"]}
    tamper(
        ("DELETE FROM entries WHERE seq > 8",),
        ("UPDATE head SET seq = 8, hash = ?", row_at(8)["hash"]),
    )

    assert found(written) == []
    assert found(written, known=noted) == [("removed", 9)]


def test_bytes_that_are_no_text_are_a_finding(written, tamper):
    """A byte that is not UTF-8 any more is found at its entry, and the rest still checked."""
    tamper(("UPDATE entries SET person = CAST(x'ff41' AS TEXT) WHERE seq = 3",))

    report = verify(written)

    assert [(one.what, one.seq) for one in report.findings] == [("changed", 3)]
    assert report.checked == 9
    assert report.findings[0].sentence.isprintable()


def test_a_flood_of_findings_is_counted(written, tamper, monkeypatch):
    """Only so many are listed; the rest are counted, and the sentence says how many."""
    monkeypatch.setattr("fillwright.store.inspector.MOST_LISTED", 3)
    tamper(("UPDATE entries SET person = 'Grace'",))

    report = verify(written)

    assert [one.seq for one in report.findings] == [1, 2, 3]
    assert report.unlisted == 6
    assert report.because.startswith("9 of 9 entries checked do not fit. Entry 1 (")


def test_a_huge_gap_is_counted_not_walked(written, tamper):
    """An entry moved to a far place does not make verify count for ever."""
    tamper(("UPDATE entries SET seq = 1000000000000 WHERE seq = 9",))

    report = verify(written)

    assert report.findings[0].what == "removed"
    assert report.unlisted > 10**11


def test_a_damaged_file_is_a_finding(written):
    """Pages written over in the middle of the file are told, not raised."""
    with closing(sqlite3.connect(written)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    raw = bytearray(written.read_bytes())
    raw[2 * 4096 : 4 * 4096] = b"\x55" * (2 * 4096)
    written.write_bytes(raw)

    report = verify(written)

    assert [one.what for one in report.findings] == ["damaged"]
    assert "restore a backup" in report.because


def test_a_file_that_is_no_store_is_told(tmp_path):
    """A file of something else, an empty one and none at all are told apart from a store."""
    other = tmp_path / "other.txt"
    other.write_text("not a database " * 100, encoding="utf-8")
    empty = tmp_path / "empty.sqlite3"
    empty.touch()

    with pytest.raises(BrokenChain, match="is damaged or is no store"):
        verify(other)
    with pytest.raises(JournalError, match="is empty: check the path of the store"):
        verify(empty)
    with pytest.raises(JournalError, match="There is no store at"):
        verify(tmp_path / "none.sqlite3")
    assert not (tmp_path / "none.sqlite3").exists()
