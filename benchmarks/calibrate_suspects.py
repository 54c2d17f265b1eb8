"""Whether what is held after an alarm reaches back to where the change was, on invented runs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from calibrate_tables import mean, share, table

from fillwright.science.suspect import Check, CheckOutcome, change_not_before, suspect_range
from fillwright.science.watch import SignalKind, watch_start, watch_take

RUNS = 1500
LONGEST = 500
APART = 20
KINDS = {
    "step 1": ("a step of 1 sd", 1.0, False),
    "step 1.5": ("a step of 1.5 sd", 1.5, False),
    "step 2": ("a step of 2 sd", 2.0, False),
    "step 3": ("a step of 3 sd", 3.0, False),
    "creep 0.02": ("a creep of 0.02 sd a check", 0.02, True),
    "creep 0.05": ("a creep of 0.05 sd a check", 0.05, True),
    "creep 0.1": ("a creep of 0.1 sd a check", 0.1, True),
}


@dataclass(frozen=True)
class Alarm:
    """One alarm after a change: who would have been held, and from where it was wrong."""

    changed: int
    from_good: int
    from_zero: int
    from_change: int


def alarm_of(kind: str, rng: np.random.Generator) -> Alarm | None:
    """Return what one run comes to; none where the alarm came before the change or never."""
    _, size, creeps = KINDS[kind]
    change = int(rng.integers(20, 60))
    since = np.maximum(np.arange(LONGEST) - change + 1, 0)
    row = rng.standard_normal(LONGEST) + size * (since if creeps else since > 0)
    proved = math.sqrt(rng.chisquare(29) / 29)
    state = watch_start(sd=proved, sd_readings=30, target=0.0)
    for place in range(LONGEST):
        take = watch_take(state, float(row[place]), position=float(place + 1))
        state = take.state
        if take.signal.kind is SignalKind.NONE:
            continue
        if place < change:
            return None
        checks = [
            Check(
                first=APART * n,
                last=APART * n,
                outcome=CheckOutcome.ALARM if n == place + 1 else CheckOutcome.GOOD,
            )
            for n in range(1, place + 2)
        ]
        last = APART * (place + 1)
        zero = take.signal.since_check
        after = change_not_before(row[: place + 1] / proved)
        held = [
            suspect_range(checks, stopped_after=last, **more).first
            for more in (
                {},
                {"alarm_zero_at_check": zero},
                {"alarm_zero_at_check": zero, "change_after_check": after},
            )
        ]
        return Alarm(APART * change + 1, *(int(first or last) for first in held))
    return None


def crowd(kind: str, runs: int) -> list[Alarm]:
    """Return the alarms of so many runs."""
    seed = list(KINDS).index(kind)
    each = (alarm_of(kind, np.random.default_rng([51, seed, n])) for n in range(runs))
    return [alarm for alarm in each if alarm is not None]


def tables() -> Iterator[str]:
    """Yield how often the first changed container is held, by three rules."""
    rows = []
    for kind, (told, _, _) in KINDS.items():
        found = crowd(kind, RUNS)
        cells = []
        for rule in ("from_good", "from_zero", "from_change"):
            first = np.array([getattr(alarm, rule) for alarm in found])
            changed = np.array([alarm.changed for alarm in found])
            cells.append(share(first <= changed))
            cells.append(mean(np.maximum(changed - first, 0.0) / APART, digits=1))
        rows.append(f"| {told} | {' | '.join(cells)} |")
    head = (
        "change | from the last good check: held, % | checks too many "
        "| from the last zero: held, % | checks too many "
        "| from where the change may lie: held, % | checks too many"
    )
    yield table("suspect", head, rows)
