"""The played weeks: the same seed gives the same journal."""

from __future__ import annotations

import json
from datetime import UTC, datetime

from history import BEGAN, ScriptedClock, play_history

from fillwright.records.codec import payload_to_json
from fillwright.wiring.bench import desk_on

JOBS = 2


def played(path):
    """Play the first jobs and return what is on record: stream, moment, person, and what it says.

    Ids of entries are drawn by chance: each is called by the place where it was seen first.
    """
    clock = ScriptedClock(datetime(BEGAN.year, BEGAN.month, BEGAN.day, 6, tzinfo=UTC))
    desk = desk_on(path, clock=clock)
    play_history(desk, clock, jobs=JOBS)
    entries = [
        entry for stream in desk.journal.streams() for entry in desk.journal.entries(stream)
    ]
    desk.journal.close()
    text = json.dumps(
        [(one.stream, str(one.at), one.person, payload_to_json(one.payload)) for one in entries]
    )
    for place, one in enumerate(entries):
        text = text.replace(one.id, f"entry {place}")
    return json.loads(text)


def test_the_same_seed_gives_the_same_weeks(tmp_path):
    """Every weight, turn, moment and name is the same when it is played again."""
    first, again = played(tmp_path / "first.sqlite"), played(tmp_path / "again.sqlite")

    assert len(first) > 100
    assert first == again
