"""Folds kept as bytes: a job after a restart is the job before it, and nothing else is read."""

from __future__ import annotations

import hashlib
import pickle
from decimal import Decimal

import pytest
from workshop import MemoryJournal, Workshop, differences, settled_watch

from fillwright.errors import Conflict
from fillwright.jobs.run.weigh import strike_out, undo
from fillwright.records import book as book_module
from fillwright.records import weighed as weighed_module
from fillwright.records.book import Book, stream_of
from fillwright.records.fold import fold_job
from fillwright.records.keepsake import state_from_bytes, state_to_bytes


class Shelf:
    """Kept states in a dictionary."""

    def __init__(self):
        self.held = {}

    def find(self, stream):
        """Return what was kept."""
        return self.held.get(stream)

    def keep(self, stream, data):
        """Keep it."""
        self.held[stream] = data


class CountingJournal(MemoryJournal):
    """Counts how often a stream is read from its beginning."""

    whole_reads = 0

    def entries(self, stream, *, after=0):
        """Yield one stream's entries in order."""
        self.whole_reads += after == 0
        return super().entries(stream, after=after)


@pytest.fixture
def shop(monkeypatch):
    """A job in its run whose state is kept at every few entries, with five weighings at hand."""
    monkeypatch.setattr(book_module, "_KEEP_EVERY", 10)
    monkeypatch.setattr(weighed_module, "_AT_HAND", 5)
    shop = Workshop().to_run()
    for deviation in ("0.1", "-0.2", "0.3", "0.1", "-0.1", "0.2", "0.0", "0.1"):
        shop.off(deviation)
    return shop


def restarted(shop):
    """Return the job's state as a new process finds it, and the journal that counts its reads."""
    shelf = Shelf()
    Book(shop.journal, shelf).job(shop.number)
    journal = CountingJournal()
    journal.log, journal.heads = shop.journal.log, shop.journal.heads
    shop.journal = journal
    shop.desk = shop.desk.__class__(
        journal=journal,
        clock=shop.desk.clock,
        book=Book(journal, shelf),
        rule_sets=shop.desk.rule_sets,
        bench=shop.desk.bench,
        program=shop.desk.program,
    )
    return shop.desk.book.job(shop.number), journal


def test_a_restarted_job_is_the_same_and_reads_nothing_from_the_start(shop):
    """Counting, the latest weights and another weight recall nothing; the rest then does."""
    state, journal = restarted(shop)

    count = len(state.weighings)
    latest = next(reversed(state.weighings))
    shop.off("0.2")

    assert journal.whole_reads == 0
    assert (latest.id, count + 1) == (shop.journal.log[-2].id, len(shop.state.weighings))
    assert differences(settled_watch(shop.state), settled_watch(shop.refolded())) == []
    assert list(shop.state.weighings) == list(shop.refolded().weighings)
    # Once by the recall, and once by each of the two folds anew.
    assert journal.whole_reads <= 3


def test_an_early_weight_is_struck_out_as_if_there_had_been_no_restart(shop):
    """The strike-out finds it in the journal and works everything out anew."""
    early = next(w for w in shop.state.weighings if w.fact.purpose == "dose")
    restarted(shop)

    state = strike_out(shop.desk, shop.number, early.id, "typed wrong", shop.press)

    assert state.weighings.find(early.id).struck == "typed wrong"
    assert differences(settled_watch(state), settled_watch(shop.refolded())) == []


def test_a_struck_proving_shot_is_struck_wherever_the_state_holds_it(shop):
    """The shots of the proof and the list of all weighings keep sharing one weight."""
    shot = shop.state.proof_shots[0]
    restarted(shop)

    state = strike_out(shop.desk, shop.number, shot.id, "typed wrong", shop.press)

    assert state.proof_shots[0] is state.weighings.find(shot.id)
    assert not state.proof_shots[0].counts
    assert "prove" in state.reopened


def test_an_early_weight_sent_again_is_still_a_repeat(shop):
    """Its id is found in the journal, so nothing is counted twice."""
    early = next(w for w in shop.state.weighings if w.fact.purpose == "dose")
    state, _ = restarted(shop)
    count = len(state.weighings)

    again = shop.weigh(Decimal(early.fact.value), entry_id=early.id, basis=early.fact.basis)

    assert again.is_repeat
    assert len(shop.state.weighings) == count
    with pytest.raises(Conflict, match="an id of its own"):
        shop.weigh(Decimal(1), entry_id=early.id)


def test_taking_back_more_than_is_at_hand_goes_on_into_the_journal(shop):
    """Undo works its way back past the latest weights that the kept state holds."""
    restarted(shop)
    doses = sum(w.fact.purpose == "dose" for w in shop.refolded().weighings)

    for _ in range(doses):
        undo(shop.desk, shop.number, shop.press)

    assert not any(w.counts for w in shop.state.weighings if w.fact.purpose == "dose")
    assert differences(settled_watch(shop.state), settled_watch(shop.refolded())) == []


def test_weighings_compare_slice_and_print_like_a_list(shop):
    """A restarted job's list answers like the one before it."""
    state, _ = restarted(shop)
    whole = list(shop.refolded().weighings)

    assert state.weighings[-1] == whole[-1]
    assert repr(state.weighings) == f"<{len(whole)} weighings>"
    assert state.weighings[-7:] == whole[-7:]
    assert state.weighings[0] == whole[0]
    assert state.weighings == whole
    assert state.weighings != "weighings"
    assert list(reversed(state.weighings)) == whole[::-1]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data[:0],
        lambda data: data[:-1],
        lambda data: data[:40] + bytes([data[40] ^ 1]) + data[41:],
        lambda data: b"not a state" * len(data),
    ],
)
def test_damaged_bytes_hold_no_state(shop, spoil):
    """They are passed over, and the journal gives the job again."""
    data = state_to_bytes(shop.state)

    assert state_from_bytes(spoil(data)) is None
    shelf = Shelf()
    shelf.held[stream_of(shop.number)] = spoil(data)
    assert Book(shop.journal, shelf).job(shop.number).revision == shop.state.revision


class _Harmful:
    """What a strange file could ask for."""

    def __reduce__(self):
        return (pytest.fail, ("a strange file was obeyed",))


@pytest.mark.parametrize("strange", [_Harmful(), {"number": "0417"}, fold_job, print])
def test_a_strange_file_is_not_obeyed(strange):
    """Anything that is no state is refused before it is made, even with its digest right."""
    assert state_from_bytes(_sealed(strange)) is None


def _sealed(what):
    """Return anything as bytes with their digest, as a forger would."""
    body = pickle.dumps(what)
    return hashlib.sha256(body).digest() + body


def test_another_journal_is_not_answered_from_a_kept_state(shop):
    """A store put back from a copy, or another one under the same name, is folded anew."""
    shelf = Shelf()
    Book(shop.journal, shelf).job(shop.number)
    other = Workshop()

    assert Book(other.journal, shelf).job(shop.number).revision == other.state.revision


def test_kept_states_of_another_job_are_passed_over(shop):
    """The number inside counts, not the name of the file."""
    shelf = Shelf()
    shelf.held[stream_of("0300")] = state_to_bytes(shop.state)

    assert Book(shop.journal, shelf).job("0300") is None


def test_a_short_job_is_not_kept():
    """Only what takes time to fold is worth a file."""
    shop, shelf = Workshop().to_run(), Shelf()
    Book(shop.journal, shelf).job(shop.number)

    assert shelf.held == {}
