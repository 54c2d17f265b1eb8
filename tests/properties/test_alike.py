"""Weights of a file written by what they share are, byte for byte, what each is on its own."""

from __future__ import annotations

import json
import os
import time
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter

from fillwright.jobs.files.row_ids import ids_of
from fillwright.records.alike import Alike, Shared
from fillwright.records.codec import GENESIS, draft, hash_of, payload_to_json, stamp
from fillwright.records.entries import FileTaken, WeighingFromFile
from fillwright.records.filecells import FileWeight
from fillwright.records.filespool import FileSpool
from fillwright.records.filetimes import DateOrder, Stamps, moment_of
from fillwright.store.alike import rows_alike
from fillwright.store.chain import hash_of_row
from fillwright.store.drafts import ready
from fillwright.store.journal import open_journal
from fillwright.store.verify import verify

TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
TRAPS = st.sampled_from(
    [
        '"container":0,"file_id":',
        ',"file_row":0,',
        '"weighed_at":""}',
        "\\",
        '"',
        "\u2028é😀",
        "\x1f",
    ]
)
MOMENTS = st.datetimes(
    datetime(1971, 1, 1),  # noqa: DTZ001  given its zone below
    datetime(2199, 1, 1),  # noqa: DTZ001  given its zone below
)
FACTS = st.builds(
    WeighingFromFile,
    purpose=st.just("elsewhere"),
    value=TEXTS | TRAPS,
    unit=st.sampled_from(["g", "kg", "oz"]) | TRAPS,
    basis=st.sampled_from(["net", "gross"]),
    tare_g=st.decimals(0, 1000, places=2),
    net_g=st.decimals(-1000, 100_000, places=3),
    state=st.sampled_from(["", "on", "low", "high"]),
    source=st.just("file"),
    file_id=TEXTS | TRAPS,
)
ROWS = st.builds(
    FileWeight,
    row=st.integers(1, 1_100_000),
    value=st.just("1"),
    unit=st.just("g"),
    tare=st.just(""),
    container=st.none() | st.integers(0, 10**9),
    at=st.just("") | MOMENTS.map(lambda at: stamp(at.replace(tzinfo=UTC))),
)
ZONES = st.sampled_from(
    ["UTC", "Europe/Berlin", "Asia/Kolkata", "Australia/Lord_Howe", "America/St_Johns",
     "Africa/Monrovia", "Pacific/Apia"]
)  # fmt: skip


@settings(max_examples=150)
@given(fact=FACTS, one=ROWS)
def test_a_payload_is_the_librarys_own(fact, one):
    """The text of a row is RFC 8785 of its fact, as the general library writes it."""
    shared = Shared(fact)
    text = shared.text_of(one)
    told = TypeAdapter(WeighingFromFile).dump_python(shared.fact_of(one), mode="json")

    assert text == payload_to_json(shared.fact_of(one))
    assert text.encode() == rfc8785.dumps(told)


@settings(max_examples=100)
@given(
    facts=st.lists(FACTS, min_size=1, max_size=3),
    rows=st.lists(ROWS, min_size=1, max_size=6),
    stream=TEXTS.filter(bool),
    person=TEXTS | TRAPS,
    at=MOMENTS,
    seq=st.integers(0, 10**9),
)
def test_rows_are_those_of_one_by_one(facts, rows, stream, person, at, seq):
    """Every column and every hash is what an append of its own would store."""
    shared = [Shared(fact) for fact in facts]
    like = [shared[place % len(shared)] for place in range(len(rows))]
    alike = Alike(
        stream=stream,
        at=at.replace(tzinfo=UTC),
        zone=person,
        person=person,
        bench=person,
        head=None,
        rows=[
            (f"id-{place}", one.text_of(row), one, row)
            for place, (one, row) in enumerate(zip(like, rows, strict=True))
        ],
    )
    found = rows_alike(alike, seq=seq, revision=7, previous_hash=GENESIS)

    previous = GENESIS
    for place, item in enumerate(ready(alike.drafts_of(alike.rows))):
        row = item.row_at(seq=seq + place + 1, revision=place + 8, previous_hash=previous)
        previous = row[-1]
        assert found[place] == row
        assert previous == hash_of_row(row)
    *_, last = found
    names = [
        "seq",
        "revision",
        "entry_id",
        "stream",
        "kind",
        "version",
        "at",
        "zone",
        "person",
        "bench",
    ]
    said = dict(zip(names, last, strict=False))
    assert last[-1] == hash_of(**said, payload=json.loads(last[10]), previous_hash=last[11])


@settings(max_examples=25, deadline=None)
@given(
    fact=FACTS,
    rows=st.lists(ROWS, min_size=1, max_size=5),
    has_head=st.booleans(),
)
def test_two_ways_in_make_one_journal(tmp_path_factory, fact, rows, has_head):
    """Kept at once or one by one, a file leaves the same entries under the same hashes."""
    folder = tmp_path_factory.mktemp("two-ways")
    at = datetime(2031, 3, 5, 8, tzinfo=UTC)
    told = {"stream": "job/1", "at": at, "zone": "UTC", "person": "Ada", "bench": "bench 1"}
    taken = FileTaken(
        holds="weighings", name="log.csv", sheet="", sha256="0" * 64, how="By columns.",
        purpose="elsewhere", good=len(rows), refused=0, refusals=(),
    )  # fmt: skip
    head = draft(taken, entry_id="file", **told) if has_head else None
    shared = Shared(fact)
    alike = Alike(
        head=head,
        rows=[(f"id-{n}", shared.text_of(row), shared, row) for n, row in enumerate(rows)],
        **told,
    )
    with open_journal(folder / "at-once.sqlite3") as journal:
        kept = journal.append_alike(alike)
        assert journal.append_alike(alike) is None
        at_once = list(journal.everything())
    with open_journal(folder / "one-by-one.sqlite3") as journal:
        one_by_one = []
        for one in [*([head] if head else []), *alike.drafts_of(alike.rows)]:
            one_by_one += journal.append([one])

    assert at_once == one_by_one
    assert (kept.head, kept.last_hash) == (at_once[0] if has_head else None, at_once[-1].hash)
    assert (kept.first_revision, kept.last_revision) == (1 + has_head, len(rows) + has_head)
    assert verify(folder / "at-once.sqlite3").ok


@contextmanager
def clocks_of(zone):
    """Let the machine's clock be one of a zone."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = zone
    time.tzset()
    try:
        yield
    finally:
        os.environ.pop("TZ")
        if before is not None:
            os.environ["TZ"] = before
        time.tzset()


@settings(max_examples=80)
@given(
    zone=ZONES,
    near=st.sampled_from(
        ["2031-03-30 01:00", "2031-10-26 02:00", "2031-04-06 01:30", "2031-10-05 01:30",
         "1971-12-31 23:00", "2011-12-29 23:00", "2005-04-03 00:00", "2031-06-01 12:00"]
    ),
    minutes=st.lists(st.integers(-200, 200), min_size=1, max_size=20),
    ending=st.sampled_from([":07", ":59", "", ":07.5", ":60"]),
    between=st.sampled_from([" ", "T"]),
)  # fmt: skip
def test_stamps_are_those_of_the_moments(zone, near, minutes, ending, between):
    """Where clocks are moved, by an hour, by half of one or by a day, no stamp is off."""
    with clocks_of(zone):
        stamps = Stamps(DateOrder.YEAR)
        for minute in minutes:
            at = datetime.fromisoformat(near) + timedelta(minutes=minute)
            text = at.isoformat(sep=between, timespec="minutes") + ending
            moment = moment_of(text, DateOrder.YEAR)
            assert stamps.of(text) == ("" if moment is None else stamp(moment))


@settings(max_examples=100)
@given(
    times=st.lists(st.datetimes(datetime(1960, 1, 1), datetime(2199, 1, 1)), min_size=2)  # noqa: DTZ001
)
def test_ids_begin_with_the_moment(times):
    """The first twelve figures of an id are the milliseconds as the datetime tells them."""
    ordered = sorted(at.replace(tzinfo=UTC) for at in times)
    spool = FileSpool("job/1")
    for row, at in enumerate(ordered):
        spool.add(FileWeight(row, "1", "g", "", None, stamp(at)))
    if not spool.tells_moments:
        return
    for (entry_id, _), at in zip(ids_of(spool, spool.identity()), ordered, strict=True):
        began = max(int(at.timestamp() * 1000), 0)
        assert entry_id.replace("-", "")[:12] == f"{began:012x}"


def test_net_weights_keep_their_own_writing():
    """250.10 stays 250.10: a weight is kept as it was written."""
    fact = WeighingFromFile(
        purpose="elsewhere", value="250.10", unit="g", basis="net", tare_g=Decimal(0),
        net_g=Decimal("250.10"), source="file", file_id="f",
    )  # fmt: skip
    row = FileWeight(3, "250.10", "g", "", 2, "")

    assert '"net_g":"250.10"' in Shared(fact).text_of(row)
