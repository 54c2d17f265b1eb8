"""The quick hash is the documented one."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st

from fillwright.records.codec import hash_of
from fillwright.store.chain import hash_of_row
from fillwright.store.journal import open_journal

TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(-1e15, 1e15, allow_nan=False)
    | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=60)
@given(
    numbers=st.tuples(st.integers(1, 10**12), st.integers(1, 10**9), st.integers(1, 99)),
    texts=st.tuples(*[TEXTS] * 8),
    payload=st.dictionaries(TEXTS, JSON, max_size=4),
)
def test_the_quick_hash_is_that_of_the_canonical_json(numbers, texts, payload):
    """Joined from stored texts or written by an independent RFC 8785 library: the same hash."""
    seq, revision, version = numbers
    entry_id, stream, kind, at, zone, person, bench, previous = texts
    stored = rfc8785.dumps(payload).decode()
    row = (seq, revision, entry_id, stream, kind, version, at, zone, person, bench, stored,
           previous, "")  # fmt: skip

    assert hash_of_row(row) == hash_of(
        seq=seq,
        revision=revision,
        entry_id=entry_id,
        stream=stream,
        kind=kind,
        version=version,
        at=at,
        zone=zone,
        person=person,
        bench=bench,
        payload=json.loads(stored),
        previous_hash=previous,
    )


def test_the_check_by_hand_of_the_reference_works(store, weighing, tmp_path):
    """The short program of the reference page, which uses nothing of ours, agrees, and finds."""
    page = Path(__file__).parents[3] / "docs" / "reference" / "journal.md"
    program = re.search(r"```python\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    assert program is not None
    with open_journal(store) as journal:
        journal.append([weighing(n, person='Zoë "Z"\n') for n in range(1, 6)])
    copy = Path(shutil.copy(store, tmp_path / "copy.sqlite3"))
    with closing(sqlite3.connect(copy)) as connection:
        connection.execute("DROP TRIGGER entries_keep")
        connection.execute("UPDATE entries SET bench = 'x' WHERE seq = 3")
        connection.commit()

    said = [
        subprocess.run(
            [sys.executable, "-I", "-c", program.group(1), str(path)],
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for path in (store, copy)
    ]

    assert said[0] == "5 entries, the chain is whole\n"
    assert said[1].startswith("entry 3 does not fit\n")
