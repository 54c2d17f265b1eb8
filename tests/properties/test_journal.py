"""Whatever is appended, repeated, interleaved and reopened: the journal is the plain list."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.errors import Conflict
from fillwright.records.codec import draft
from fillwright.records.entries import RunPaused, StruckOut, WeighingTaken
from fillwright.store.journal import open_journal
from fillwright.store.verify import verify

STREAMS = ("job/1", "job/2", "site")
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)
PAYLOADS = st.one_of(
    st.builds(
        WeighingTaken,
        purpose=st.sampled_from(["shot", "dose"]),
        value=TEXTS,
        unit=st.just("g"),
        basis=st.just("net"),
        tare_g=st.just(Decimal(0)),
        net_g=st.decimals(-1000, 100_000, places=3),
        container=st.none() | st.integers(1, 10**6),
    ),
    st.builds(StruckOut, entry_id=TEXTS, reason=TEXTS),
    st.builds(RunPaused, reason=st.just("pause"), after_container=st.integers(0, 99), note=TEXTS),
)
DRAFTS = st.builds(
    lambda stream, payload, who, second: draft(
        payload,
        stream=stream,
        at=datetime(2031, 3, 5, tzinfo=UTC) + timedelta(seconds=second),
        zone="Etc/UTC",
        person=who,
        bench=who,
    ),
    st.sampled_from(STREAMS),
    PAYLOADS,
    TEXTS,
    st.integers(0, 10**6),
)
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("append"), DRAFTS, st.integers(0, 1)),
        st.tuples(st.just("repeat"), st.integers(0, 99), st.integers(0, 1)),
        st.tuples(st.just("stale"), DRAFTS, st.integers(1, 3)),
        st.tuples(st.just("batch"), st.lists(DRAFTS, min_size=1, max_size=4), st.integers(0, 1)),
        st.tuples(st.just("reopen"), st.none(), st.integers(0, 1)),
    ),
    max_size=12,
)


@pytest.fixture(scope="module")
def empty_store(tmp_path_factory) -> Path:
    """A store without entries; copy it, never open it."""
    path = tmp_path_factory.mktemp("empty") / "journal.sqlite3"
    open_journal(path).close()
    return path


@settings(max_examples=30)
@given(steps=STEPS)
def test_the_journal_is_a_list(empty_store, steps):
    """Two journals open on one store take turns; what they hold is the list of what was new."""
    with TemporaryDirectory() as folder:
        path = Path(shutil.copy(empty_store, Path(folder) / "journal.sqlite3"))
        hands = [open_journal(path), open_journal(path)]
        model = []
        try:
            for step, given_, number in steps:
                _take(step, given_, number, hands=hands, model=model, path=path)
                assert hands[0].last_seq() == len(model)
            for hand in hands:
                assert list(hand.everything()) == model
                for stream in STREAMS:
                    mine = [entry for entry in model if entry.stream == stream]
                    assert list(hand.entries(stream)) == mine
                    assert [entry.revision for entry in mine] == list(range(1, len(mine) + 1))
        finally:
            for hand in hands:
                hand.close()
        report = verify(path)
        assert (report.ok, report.checked) == (True, len(model))
        assert report.head_hash == (model[-1].hash if model else "0" * 64)


def _take(step, given_, number, *, hands, model, path):
    """Take one step on the store and on the list that stands for it."""
    hand = hands[number % 2]
    if step == "append":
        seen = sum(entry.stream == given_.stream for entry in model)
        model += hand.append([given_], seen=seen)
    elif step == "batch":
        drafts = [one for one in given_ if one.stream == given_[0].stream]
        stored = hand.append(drafts)
        assert [entry.payload for entry in stored] == [one.payload for one in drafts]
        model += stored
    elif step == "repeat" and model:
        known = model[given_ % len(model)]
        again = draft(
            known.payload,
            stream=known.stream,
            at=known.at,
            zone=known.zone,
            person="somebody else",
            bench=known.bench,
            entry_id=known.id,
        )
        assert hand.append([again], seen=0) == (known,)
    elif step == "stale":
        mine = [entry for entry in model if entry.stream == given_.stream]
        if len(mine) >= number:
            with pytest.raises(Conflict, match="had been seen") as caught:
                hand.append([given_], seen=len(mine) - number)
            assert list(caught.value.since) == mine[-number:]
    elif step == "reopen":
        hand.close()
        hands[number % 2] = open_journal(path)
