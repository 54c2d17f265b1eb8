"""Entries as JSON: nothing lost, one canonical form, a hash that anybody can make again."""

from __future__ import annotations

import hashlib
import json
import uuid
import warnings
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
import rfc8785
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter
from workshop import Workshop, job, site

from fillwright.errors import BrokenChain
from fillwright.records.codec import (
    draft,
    entry_json,
    hash_of,
    new_id,
    payload_from_json,
    payload_to_json,
    stamp,
)
from fillwright.records.entities import OwnPlanFacts, Person, SuppliedShortageFacts
from fillwright.records.entries import (
    KINDS,
    AdjustmentMade,
    ContainersHeld,
    JobOpened,
    MatchJudged,
    PersonListed,
    ProofJudged,
    RunStarted,
    SampleDrawn,
    SignalRaised,
    SiteSettingsChanged,
    TareSet,
    WeighingFromFile,
    WeighingTaken,
)

AT = datetime(2031, 3, 5, 8, 0, 0, 250_000, tzinfo=UTC)
WEIGHED = WeighingTaken(
    purpose="dose",
    value="285.880",
    unit="g",
    basis="gross",
    tare_g=Decimal("160.860"),
    net_g=Decimal("125.020"),
    container=12,
    state="on",
)
FROM_FILE = WeighingFromFile(
    purpose="elsewhere",
    value="250.10",
    unit="g",
    basis="net",
    tare_g=Decimal(0),
    net_g=Decimal("250.10"),
    source="file",
    weighed_at="2031-03-04T07:30:00.000000Z",
    file_id='an "id"',
    file_row=17,
)
PAYLOADS = (
    WEIGHED,
    FROM_FILE,
    replace(FROM_FILE, weighed_at="", container=3),
    replace(WEIGHED, value="1E+2", net_g=Decimal("1E+2"), set_aside="spilled, “twice”"),
    SiteSettingsChanged(settings=site(signatures=2)),
    PersonListed(listed=Person(initials="ÅÖ", name="Å. Öre")),
    JobOpened(facts=job()),
    JobOpened(
        facts=job(
            own_plan=OwnPlanFacts(
                n=20, k=Decimal("0.640"), acceptance_number=1, t2_allowed=0, source="own, page 1"
            ),
            supplied_shortage=SuppliedShortageFacts(
                value_label_unit=Decimal("9.0"), edition="an invented edition", page="7"
            ),
        )
    ),
    MatchJudged(verdict="suits", because="Suits.", reasons=("Cylinder: 450 mL.",)),
    TareSet(tare_g=Decimal("40.020"), sd_g=0.1 + 0.2, empties=10),
    TareSet(tare_g=Decimal(40), sd_g=None, empties=2),
    AdjustmentMade(
        after_container=12,
        from_marks=Decimal("50.80"),
        to_marks=Decimal("51.00"),
        advised_marks=Decimal("51.00"),
        mean_deviation_g=-1e-7,
        believed_share=1.0,
    ),
    RunStarted(first_container=1, sd_g=None, sd_readings=0, without_proof="no time"),
    SignalRaised(
        weighing_id="w1", signal="cusum", side="low", container=9, limit_g=None, because="Low."
    ),
    ContainersHeld(first=1, last=9, reason="low"),
    SampleDrawn(seed=2**47, first_sample=0, containers=(3, 1, 2)),
    ProofJudged(
        verdict="stopped",
        shots=1,
        set_aside=0,
        mean_g=250.0,
        sd_g=0.0,
        k=None,
        half_width_g=None,
        half_width_pct=None,
        within_aim_g=None,
        content_provable_pct=None,
        because="Stopped.",
        equation="none",
    ),
)


@pytest.mark.parametrize("payload", PAYLOADS, ids=lambda p: p.kind)
def test_a_payload_comes_back_as_it_was(payload):
    """Writing a fact and reading it back gives the same fact, every decimal digit included."""
    text = payload_to_json(payload)

    back = payload_from_json(payload.kind, payload.version, text)

    assert back == payload
    assert repr(back) == repr(payload)


@pytest.mark.parametrize("payload", PAYLOADS, ids=lambda p: p.kind)
def test_the_text_is_the_canonical_form(payload):
    """The stored text is RFC 8785 of its own content, for the short way of weighings as well."""
    text = payload_to_json(payload)

    assert text.encode() == rfc8785.dumps(json.loads(text))


def test_a_decimal_is_stored_as_its_own_digits():
    """What a scale showed is a string in the store: 125.020 stays 125.020."""
    stored = json.loads(payload_to_json(WEIGHED))

    assert (stored["value"], stored["net_g"], stored["tare_g"]) == (
        "285.880",
        "125.020",
        "160.860",
    )


@settings(max_examples=200)
@given(
    texts=st.tuples(*[st.text(st.characters(exclude_categories=["Cs"]))] * 7),
    amounts=st.tuples(*[st.decimals()] * 2),
    setting=st.none() | st.decimals(allow_nan=False),
    places=st.tuples(*[st.none() | st.integers(1, 2**53 - 1)] * 2),
)
def test_a_weighing_is_written_as_any_other_kind(texts, amounts, setting, places):
    """The quick writer gives what the general one and an independent RFC 8785 library give."""
    purpose, value, unit, basis, state, set_aside, source = texts
    tare_g, net_g = amounts
    container, filled_to = places
    taken = WeighingTaken(
        purpose=purpose,
        value=value,
        unit=unit,
        basis=basis,
        tare_g=tare_g,
        net_g=net_g,
        container=container,
        filled_to=filled_to,
        setting_marks=setting,
        state=state,
        set_aside=set_aside,
        source=source,
    )
    with warnings.catch_warnings():
        # Texts that no weighing holds are written all the same.
        warnings.simplefilter("ignore")
        plain = TypeAdapter(WeighingTaken).dump_python(taken, mode="json")

    assert payload_to_json(taken) == rfc8785.dumps(plain).decode()


def test_half_a_character_in_a_weighing_is_refused():
    """It could not be hashed, and so is not written."""
    with pytest.raises(ValueError, match="surrogates not allowed"):
        payload_to_json(replace(WEIGHED, value="\ud800"))


def test_canonical_json_of_the_standard():
    """The writer agrees with the example of RFC 8785, section 3.2.2 and 3.2.3.

    Input and output read in the RFC's text (from memory of its printed example): numbers
    1e30, 4.5, 0.002, 1e-27 and names sorted by UTF-16 code units.
    """
    given = {"numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 1e-27], "literals": [None, True]}

    assert rfc8785.dumps(given) == (
        b'{"literals":[null,true],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27]}'
    )


def test_every_kind_says_its_name_and_version_once():
    """No two kinds share name and version, and each name is a fact of the past in words."""
    assert len(KINDS) == len({(cls.kind, cls.version) for cls in KINDS.values()})
    assert all(cls.kind == cls.kind.lower() and cls.version >= 1 for cls in KINDS.values())


@pytest.mark.parametrize(
    ("kind", "version", "text", "words"),
    [
        ("wheel painted", 1, "{}", "'wheel painted' version 1 is not known"),
        ("tare set", 99, "{}", "'tare set' version 99 is not known"),
        ("tare set", 1, '{"tare_g":"40"}', "'tare set' cannot be read"),
        ("tare set", 1, "no json", "'tare set' cannot be read"),
    ],
)
def test_what_cannot_be_read_breaks_the_chain(kind, version, text, words):
    """An unknown kind, or text that does not fit its kind, is named and never guessed."""
    with pytest.raises(BrokenChain, match=words):
        payload_from_json(kind, version, text)


def test_a_time_is_stamped_in_utc_with_microseconds():
    """The same moment has one text, whatever zone it came in."""
    vienna = timezone(timedelta(hours=1))

    assert stamp(AT) == "2031-03-05T08:00:00.250000Z"
    assert stamp(AT.astimezone(vienna)) == stamp(AT)


def test_the_hour_that_comes_twice_is_stamped_twice():
    """On the night the clocks go back the same hands mean two times."""
    first = datetime(2031, 10, 26, 2, 30, tzinfo=ZoneInfo("Europe/Vienna"))

    assert stamp(first) == "2031-10-26T00:30:00.000000Z"
    assert stamp(first.replace(fold=1)) == "2031-10-26T01:30:00.000000Z"


def test_the_hash_is_sha_256_of_the_canonical_entry():
    """Anybody can make the hash again with two public tools: RFC 8785 and SHA-256."""
    shop = Workshop()
    entry = shop.entries()[0]
    document = entry_json(entry)
    told = document.pop("hash")

    assert told == hashlib.sha256(rfc8785.dumps(document)).hexdigest()
    assert document["previous_hash"] == "0" * 64


def test_the_hash_moves_with_every_field():
    """No field of an entry can be changed without changing its hash."""
    fields = {
        "seq": 1,
        "revision": 1,
        "entry_id": "a",
        "stream": "job/1",
        "kind": "tare set",
        "version": 1,
        "at": stamp(AT),
        "zone": "Etc/UTC",
        "person": "AB",
        "bench": "bench 1",
        "payload": {"tare_g": "40"},
        "previous_hash": "0" * 64,
    }
    other = {
        name: value + 1
        if isinstance(value, int)
        else {"tare_g": "41"}
        if name == "payload"
        else "x"
        for name, value in fields.items()
    }

    hashes = {hash_of(**fields), *(hash_of(**fields | {n: other[n]}) for n in fields)}

    assert len(hashes) == len(fields) + 1


def test_an_id_is_a_uuid_of_version_7():
    """An id is RFC 9562's version 7: variant and version bits, and the time to a millisecond."""
    made = [new_id(AT) for _ in range(50)]

    parsed = [uuid.UUID(text) for text in made]

    assert {(one.version, one.variant) for one in parsed} == {(7, uuid.RFC_4122)}
    assert {one.int >> 80 for one in parsed} == {int(AT.timestamp() * 1000)}
    assert len(set(made)) == 50


def test_later_ids_sort_later():
    """Ids made a millisecond apart sort as they were made."""
    made = [new_id(AT + timedelta(milliseconds=n)) for n in range(20)]

    assert sorted(made) == made


def test_a_draft_keeps_the_id_of_its_sender():
    """The id made at the source stays; without one the draft gets its own."""
    who = {"stream": "job/1", "at": AT, "zone": "Etc/UTC", "person": "AB", "bench": "bench 1"}

    assert draft(WEIGHED, entry_id="mine", **who).id == "mine"
    assert uuid.UUID(draft(WEIGHED, **who).id).version == 7
