"""What the journal answers, on one SQLite file."""

from __future__ import annotations

import logging
import sqlite3
import threading
from datetime import timedelta, timezone
from decimal import Decimal

import pytest

from fillwright.errors import BadInput, BrokenChain, Conflict, JournalError, StoreFull
from fillwright.records.codec import GENESIS, draft, entry_json, hash_of
from fillwright.records.entries import LotJudged, RunFinished, SampleDrawn
from fillwright.store.journal import open_journal
from fillwright.store.verify import verify


def test_an_appended_entry_is_read_back_the_same(journal, weighing):
    """What append returns is what reading gives, with its place in stream and journal."""
    first = journal.append([weighing(1)])
    other = journal.append([weighing(2, stream="job/2")])
    second = journal.append([weighing(3)])

    assert [(e.seq, e.revision) for e in (*first, *other, *second)] == [(1, 1), (2, 1), (3, 2)]
    assert list(journal.entries("job/1")) == [*first, *second]
    assert list(journal.entries("job/2")) == [*other]
    assert list(journal.everything()) == [*first, *other, *second]
    assert list(journal.everything(after=2)) == [*second]


def test_an_entry_is_found_by_its_id(journal, weighing):
    """Whatever stream it is in; an id that nobody used finds nothing."""
    [kept] = journal.append([weighing(2, stream="job/2")])

    assert journal.entry(kept.id) == kept
    assert journal.entry("never used") is None


def test_every_hash_is_the_documented_one(journal, weighing):
    """Each stored hash is that of the canonical JSON, and the chain begins with zeros."""
    entries = journal.append([weighing(1), weighing(2, person='Zoë "Z" \t\x7f\u2028')])

    previous = GENESIS
    for entry in entries:
        document = entry_json(entry)
        own = document.pop("hash")
        assert document["previous_hash"] == previous
        assert own == hash_of(entry_id=document.pop("id"), **document)
        previous = own


def test_a_figure_too_long_for_a_whole_number_keeps_its_hash(journal, weighing):
    """A float of 1e20 is written as a whole number by RFC 8785, and the chain still verifies."""
    judged = LotJudged(
        verdict="x", is_compliant=None, rules="x", edition="x", plan="x", basis=(), lot_size=1,
        n=1, mean_n=1, nominal="1", unit="g", shortage="1", t1_limit="1", t2_limit="1", mean=1e20,
        mean_error=-0.0, sd=1e-7, k=None, limit=1e21, margin=0.1 + 0.2, count_below_t1=0,
        count_below_t2=0, acceptance_number=None, rejection_number=None, individual_test=None,
        is_mean_ok=None, because="x",
    )  # fmt: skip
    at = weighing(1).at
    stored = journal.append(
        [draft(judged, stream="job/1", at=at, zone="Etc/UTC", person="", bench="")]
    )

    assert list(journal.entries("job/1")) == [*stored]
    assert verify(journal._place.path).ok


def test_the_same_id_again_appends_nothing(journal, weighing):
    """A repeat is answered with what is stored, whatever its time and person now."""
    stored = journal.append([weighing(1)])
    again = weighing(1, person="Grace")

    answered = journal.append([again], seen=0)

    assert answered == stored
    assert journal.last_seq() == journal.count("job/1") == 1


@pytest.mark.parametrize("changed", [{"stream": "job/2"}, {"net_g": "250.79"}])
def test_an_id_used_for_something_else_is_a_conflict(journal, weighing, changed):
    """The same id with another stream or content is refused, and the first stays."""
    stored = journal.append([weighing(1)])
    used = weighing(2, entry_id=stored[0].id, net_g="250.78")

    with pytest.raises(Conflict, match=r"was used before, for 'weighing taken' in 'job/1' at"):
        journal.append([weighing(1, entry_id=used.id, **changed)])

    assert list(journal.everything()) == [*stored]


def test_an_id_used_for_another_kind_is_a_conflict(journal, weighing):
    """The same id for another kind of entry is refused."""
    (stored,) = journal.append([weighing(1)])
    finished = draft(
        RunFinished(filled=3), stream="job/1", at=stored.at, zone="Etc/UTC", person="Ada",
        bench="bench 1", entry_id=stored.id,
    )  # fmt: skip

    with pytest.raises(Conflict, match="give a new entry an id of its own"):
        journal.append([finished])


def test_several_drafts_are_one_transaction(journal, weighing):
    """When one of several cannot be stored, none is."""
    (stored,) = journal.append([weighing(1)])

    with pytest.raises(Conflict, match="was used before"):
        journal.append([weighing(2), weighing(3, entry_id=stored.id)])

    assert list(journal.everything()) == [stored]


def test_a_batch_half_stored_is_completed(journal, weighing):
    """Drafts that are stored are answered; the rest are appended after what is there."""
    first = journal.append([weighing(1), weighing(2)])

    answered = journal.append([weighing(1), weighing(2), weighing(3)], seen=0)

    assert answered[:2] == first
    assert [entry.revision for entry in answered] == [1, 2, 3]


def test_a_draft_twice_in_one_append_is_stored_once(journal, weighing):
    """The same draft twice in one call is one entry, answered twice."""
    answered = journal.append([weighing(1), weighing(1)])

    assert answered[0] == answered[1]
    assert journal.last_seq() == 1


def test_nothing_to_append_is_nothing(journal):
    """An empty append answers with nothing."""
    assert journal.append([]) == ()


def test_a_stream_that_moved_on_is_a_conflict(journal, weighing):
    """A stale sender is refused, and the conflict carries what it had not seen."""
    entries = journal.append([weighing(1), weighing(2), weighing(3)])

    with pytest.raises(Conflict, match=r"it has 3 entries now, and 1 had been seen") as caught:
        journal.append([weighing(4)], seen=1)

    assert caught.value.since == entries[1:]
    assert journal.append([weighing(4)], seen=3)[0].revision == 4


def test_a_sender_who_saw_more_than_there_is_has_a_conflict(journal, weighing):
    """A sender of a longer journal is told that an older copy is open."""
    journal.append([weighing(1)])

    with pytest.raises(Conflict, match="an older copy of the store is open") as caught:
        journal.append([weighing(2)], seen=5)

    assert caught.value.since == ()


def test_other_streams_do_not_count_as_moved_on(journal, weighing):
    """`seen` is about the stream of the drafts alone."""
    journal.append([weighing(1, stream="job/2")])

    assert journal.append([weighing(2)], seen=0)[0].seq == 2


def test_drafts_of_two_streams_are_refused(journal, weighing):
    """One append is for one stream."""
    with pytest.raises(BadInput, match="for one stream, not for 'job/1' and 'job/2'"):
        journal.append([weighing(1), weighing(2, stream="job/2")])


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"person": "\ud800"}, "cannot be kept unchanged"),
        ({"person": "a\0b"}, "holds a zero byte"),
        ({"stream": ""}, "has an id and a stream"),
    ],
)
def test_a_text_that_cannot_be_stored_is_refused(journal, weighing, given, told):
    """Half a character, a zero byte and an empty stream are bad input, and nothing is kept."""
    with pytest.raises(BadInput, match=told):
        journal.append([weighing(1, **given)])

    assert journal.last_seq() == 0


def test_a_whole_number_too_long_for_json_is_refused(journal, weighing):
    """Beyond 2**53 canonical JSON has no exact whole numbers (RFC 8785 by I-JSON)."""
    drawn = SampleDrawn(seed=2**53 + 1, first_sample=1, containers=(1,))
    at = weighing(1).at

    with pytest.raises(BadInput, match="'sample drawn' cannot be kept unchanged"):
        journal.append([draft(drawn, stream="job/1", at=at, zone="", person="", bench="")])


def test_a_time_without_zone_is_refused(journal, weighing):
    """A time that does not say where it holds is bad input."""
    naive = weighing(1).at.replace(tzinfo=None)
    finished = RunFinished(filled=1)

    with pytest.raises(BadInput, match="has no zone: give it in UTC"):
        journal.append([draft(finished, stream="job/1", at=naive, zone="", person="", bench="")])


def test_a_local_time_is_stored_in_utc(journal, weighing):
    """The same moment in another zone is stored, and read back, in UTC."""
    at = weighing(1).at
    local = at.astimezone(timezone(timedelta(hours=5, minutes=30)))
    finished = RunFinished(filled=1)

    (stored,) = journal.append(
        [draft(finished, stream="job/1", at=local, zone="Asia/Kolkata", person="", bench="")]
    )

    assert stored.at == at
    assert stored.at.utcoffset() == timedelta(0)
    assert list(journal.entries("job/1")) == [stored]


def test_entries_after_a_revision(journal, weighing):
    """Reading begins above the revision given and ends at what was there."""
    entries = journal.append([weighing(n) for n in range(1, 6)])

    assert list(journal.entries("job/1", after=3)) == [*entries[3:]]
    assert list(journal.entries("job/1", after=5)) == []
    assert list(journal.entries("job/9")) == []


def test_a_long_stream_is_read_over_page_borders(journal, weighing, monkeypatch):
    """Streams longer than a page come whole, in order, once each."""
    monkeypatch.setattr("fillwright.store.journal.PAGE", 3)
    entries = journal.append([weighing(n) for n in range(1, 11)])

    assert list(journal.entries("job/1")) == [*entries]
    assert list(journal.entries("job/1", after=4)) == [*entries[4:]]


def test_reading_ends_at_what_was_there_at_its_start(journal, weighing):
    """Appending while reading does not make the reading endless."""
    journal.append([weighing(1), weighing(2)])

    read = 0
    for entry in journal.entries("job/1"):
        journal.append([weighing(100 + entry.revision)])
        read += 1

    assert read == 2
    assert journal.count("job/1") == 4


def test_streams_come_oldest_first_by_prefix(journal, weighing):
    """Streams are listed in the order of their first entries; a prefix means itself."""
    for number, stream in enumerate(["job/2", "site", "job/10", "jobx", "job/2", "j%b"]):
        journal.append([weighing(number, stream=stream)])

    assert journal.streams() == ("job/2", "site", "job/10", "jobx", "j%b")
    assert journal.streams("job/") == ("job/2", "job/10")
    assert journal.streams("j%") == ("j%b",)
    assert journal.streams("nothing") == ()


def test_listeners_hear_after_the_commit(store, weighing):
    """A listener that looks into the store finds there what it is told of."""
    heard = []
    with open_journal(store) as journal, sqlite3.connect(store) as other:
        journal.subscribe(
            lambda news: heard.append(
                (news, other.execute("SELECT max(seq) FROM entries").fetchone()[0])
            )
        )
        entries = journal.append([weighing(1), weighing(2)])
        journal.append([weighing(1)])
    other.close()

    assert heard == [(entries, 2)]


def test_a_listener_hears_only_what_is_new(journal, weighing):
    """Of a batch half stored before, only the new entries are told."""
    heard = []
    journal.append([weighing(1)])
    journal.subscribe(heard.append)

    answered = journal.append([weighing(1), weighing(2)])

    assert heard == [answered[1:]]


def test_a_listener_that_stopped_hears_no_more(journal, weighing):
    """The function that subscribe returns stops the listener, also when called twice."""
    heard = []
    stop = journal.subscribe(heard.append)
    stop()
    stop()

    journal.append([weighing(1)])

    assert heard == []


def test_a_listener_that_fails_does_not_break_the_append(journal, weighing, caplog):
    """What a listener raises is logged; the entry is stored and the next listener told."""
    heard = []

    def fails(news):
        raise RuntimeError(f"no screen for {len(news)}")

    journal.subscribe(fails)
    journal.subscribe(heard.append)
    with caplog.at_level(logging.ERROR, logger="fillwright.store.listeners"):
        stored = journal.append([weighing(1)])

    assert heard == [stored]
    assert "A listener failed on entry 1." in caplog.text


def test_a_listener_may_append(journal, weighing):
    """Every listener hears the commits in order, also when the first of them appends."""
    heard = []

    def follows(news):
        if news[0].seq == 1:
            journal.append([weighing(2)])

    journal.subscribe(follows)
    journal.subscribe(heard.extend)
    journal.append([weighing(1)])

    assert [entry.seq for entry in heard] == [1, 2]


def test_threads_share_one_journal(journal, weighing):
    """Appends of several threads are one whole chain, told in order."""
    heard = []
    journal.subscribe(heard.extend)

    def work(worker: int) -> None:
        for number in range(20):
            journal.append([weighing(worker * 100 + number, stream=f"job/{worker}")])

    threads = [threading.Thread(target=work, args=(worker,)) for worker in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert [entry.seq for entry in heard] == list(range(1, 81))
    assert [journal.count(f"job/{worker}") for worker in range(4)] == [20] * 4
    assert verify(journal._place.path).ok


def test_the_points_of_an_append_come_in_order(store, weighing):
    """The four points are passed once each, in order, and listeners between the last two."""
    passed = []
    with open_journal(store, at_point=passed.append) as journal:
        journal.subscribe(lambda _: passed.append("told"))
        journal.append([weighing(1)])

    assert passed == ["before-begin", "after-insert", "after-commit", "told", "before-reply"]


def test_what_breaks_after_the_insert_leaves_nothing(store, weighing):
    """An interruption inside the transaction undoes it, and the next append goes on."""

    def breaks(point):
        if point == "after-insert" and broken:
            raise KeyboardInterrupt("stop key")

    broken = [True]
    with open_journal(store, at_point=breaks) as journal:
        with pytest.raises(KeyboardInterrupt, match="stop key"):
            journal.append([weighing(1)])
        assert journal.last_seq() == 0
        broken.clear()
        assert journal.append([weighing(1)])[0].seq == 1


def test_a_closed_journal_says_so(store, weighing):
    """Append and reading after close are refused in plain words; closing twice is allowed."""
    journal = open_journal(store)
    journal.close()
    journal.close()

    with pytest.raises(JournalError, match="is closed: open it again"):
        journal.append([weighing(1)])
    with pytest.raises(JournalError, match="is closed: open it again"):
        journal.last_seq()


def test_a_closed_journal_is_one_file(store, weighing):
    """After close the write-ahead log is merged, so that the file alone is the journal."""
    with open_journal(store) as journal:
        journal.append([weighing(1)])
        assert list(journal.entries("job/1"))

    assert list(store.parent.iterdir()) == [store]


def test_a_moved_file_takes_no_entries(store, weighing):
    """A store moved away while open refuses entries until it is back; nothing goes astray."""
    away = store.with_name("away.sqlite3")
    with open_journal(store) as journal:
        journal.append([weighing(1)])
        store.rename(away)
        for _ in range(2):
            with pytest.raises(StoreFull, match="was moved, deleted or replaced while it was"):
                journal.append([weighing(2)])
        assert not store.exists()
        away.rename(store)
        assert journal.append([weighing(2)])[0].seq == 2

    assert verify(store).ok


def test_a_store_kept_busy_takes_nothing_and_goes_on_later(store, weighing, monkeypatch):
    """A store locked by another program is said to be busy; later the entry is taken."""
    monkeypatch.setattr("fillwright.store.sqlite_file._BUSY_S", 0.05)
    other = sqlite3.connect(store, isolation_level=None)
    with open_journal(store) as journal:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreFull, match=r"Another program has kept .* busy for"):
            journal.append([weighing(1)])
        other.execute("ROLLBACK")
        assert journal.append([weighing(1)])[0].seq == 1
    other.close()


def test_a_head_behind_its_entries_is_told(store, weighing):
    """When the head was set back, the next append is refused and says what to run."""
    with open_journal(store) as journal:
        journal.append([weighing(1), weighing(2)])
        with sqlite3.connect(store) as other:
            other.execute("UPDATE head SET seq = 1")
        other.close()
        with pytest.raises(BrokenChain, match="do not agree with its head"):
            journal.append([weighing(3)])


def test_a_lost_head_is_told(store, weighing):
    """When the head is gone, the append is refused and says what to run."""
    with sqlite3.connect(store) as other:
        other.execute("DROP TRIGGER head_stays")
        other.execute("DELETE FROM head")
    other.close()

    with open_journal(store) as journal, pytest.raises(BrokenChain, match="has lost its head"):
        journal.append([weighing(1)])


def test_a_store_that_cannot_be_read_is_told(store, weighing):
    """When a table is gone, reading says that the store cannot be read, and does so each time."""
    with open_journal(store) as journal:
        journal.append([weighing(1)])
        with sqlite3.connect(store) as other:
            other.execute("DROP TABLE head")
        other.close()
        for _ in range(2):
            with pytest.raises(JournalError, match=r"cannot be read \(no such table: head\)"):
                journal.last_seq()


@pytest.mark.parametrize(
    "statement",
    ["UPDATE entries SET person = 'x'", "DELETE FROM entries", "DELETE FROM head"],
)
def test_the_database_itself_refuses_changes(store, journal, weighing, statement):
    """Entries are neither changed nor deleted by a plain statement, nor the head deleted."""
    journal.append([weighing(1)])
    other = sqlite3.connect(store)

    with pytest.raises(sqlite3.IntegrityError, match="only added to, never changed"):
        other.execute(statement)

    other.close()


def test_every_commit_is_flushed(journal):
    """The writing connection runs with the write-ahead log and full flushes."""
    asked = {
        name: journal._writer.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
    }

    assert asked == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1,
                     "busy_timeout": 5000}  # fmt: skip


def test_amounts_come_back_to_the_last_digit(journal, weighing):
    """Decimals keep their digits, also trailing zeros."""
    journal.append([weighing(1, net_g="250.780")])

    (entry,) = journal.entries("job/1")

    assert str(entry.payload.net_g) == "250.780"
    assert entry.payload.net_g == Decimal("250.78")
