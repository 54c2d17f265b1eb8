"""Zero and check weight are asked for at the start of a run and at intervals."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest

from fillwright.jobs.run.check_ask import check_ask
from fillwright.records.entries import CheckTaken, ScaleLineKept

NOW = datetime.fromisoformat("2031-03-05T12:00:00+00:00")


def desk(*, every_min=None):
    """A desk at noon whose site asks so often."""
    line = None if every_min is None else ScaleLineKept(port="x", check_every_min=every_min)
    site = SimpleNamespace(scale_line=line)
    return SimpleNamespace(
        clock=SimpleNamespace(now=lambda: NOW), book=SimpleNamespace(site=lambda: site)
    )


def job(*checks, finished=None, is_run=True):
    """A job in its run with checks so many minutes ago."""
    taken = [
        (
            NOW - timedelta(minutes=ago),
            CheckTaken(
                weight_g=Decimal(200), reading_g=Decimal(200), allowed_g=Decimal("0.2"), passed=ok
            ),
        )
        for ago, ok in checks
    ]
    scale = SimpleNamespace(check_weight_g=Decimal(200))
    return SimpleNamespace(
        run=SimpleNamespace(finished=finished) if is_run else None,
        released=None,
        known=SimpleNamespace(scale=scale),
        checks=taken,
    )


@pytest.mark.parametrize(
    ("state", "every_min", "says"),
    [
        (job(), None, "not checked yet"),
        (job((119, True)), None, ""),
        (job((120, True)), None, "is due"),
        (job((30, True)), 30, "is due"),
        (job((9999, True)), 0, ""),
        (job((200, True), (5, False)), None, "failed"),
        (job((-60, True)), None, "is due"),
        (job(is_run=False), None, ""),
        (job(finished=object()), None, ""),
    ],
)
def test_a_check_is_asked_for_when_it_is_due(state, every_min, says):
    """By the site's interval, two hours to begin with; a clock that was set back asks too."""
    words = check_ask(desk(every_min=every_min), state)

    assert says in words
    assert bool(says) == bool(words)
    if words:
        assert words.endswith("Zero the bare pan, then weigh the 200 g weight.")
