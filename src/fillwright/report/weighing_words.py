"""Every weighing of a job as a line: what was shown, what it came to, who, when.

Struck-out and set-aside ones stand where they were taken, with their reason.
"""

from __future__ import annotations

from typing import Final

from fillwright.records.entries import Purpose, TareSet
from fillwright.records.sheets import WeighedLine
from fillwright.report.blocks import Block, Line, head, lines, para
from fillwright.report.wording import STATES, clock, counted, day, exact

__all__ = ["weighings"]

_COLUMNS: Final = 3
_HEADS: Final[tuple[tuple[Purpose, str], ...]] = (
    ("tare", "Empties"),
    ("purge", "Purge shots"),
    ("recharge", "Shots at several recharge times"),
    ("shot", "Shots of the trim"),
    ("proof", "Shots of the proving run"),
    ("dose", "Weighings of the run"),
    ("held", "Held ones weighed"),
    ("sample", "Weighings for the lot test"),
)


def weighings(
    weighed: tuple[WeighedLine, ...], *, zone: str, tare: TareSet | None, word: str
) -> list[Block]:
    """Return all weighings by what they were for, each in journal order."""
    found: list[Block] = []
    for purpose, words in _HEADS:
        part = [line for line in weighed if line.fact.purpose == purpose]
        if not part:
            continue
        found.append(head(f"{words}: {len(part)}"))
        found += para(_legend(part, purpose, zone=zone, tare=tare, word=word), stays=True)
        found += lines(_items(part, zone), columns=_COLUMNS, unit="g")
    return found


def _legend(
    part: list[WeighedLine], purpose: Purpose, *, zone: str, tare: TareSet | None, word: str
) -> str:
    """Return what the lines hold."""
    number = f"{word}, " if any(line.fact.container is not None for line in part) else ""
    is_gross = any(line.fact.basis == "gross" for line in part)
    shown = "shown \u2192 net" if is_gross and purpose != "tare" else "weight"
    words = f"Each line: {number}{shown} in grams, time, initials."
    days = {day(line.at, zone) for line in part}
    if len(days) == 1:
        words += f" All on {days.pop()}."
    tares = {line.fact.tare_g for line in part if line.fact.tare_g}
    if len(tares) == 1 and tare is not None:
        words += f" Tare taken off: {exact(tares.pop())} g."
    struck = sum(bool(line.struck) for line in part)
    aside = sum(bool(line.fact.set_aside) and not line.struck for line in part)
    if struck:
        words += f" {counted(struck, 'line')} struck out."
    if aside:
        words += f" {counted(aside, 'line')} set aside, in brackets."
    return words


def _items(part: list[WeighedLine], zone: str) -> list[Line]:
    """Return the lines, with the day where it changes."""
    widest = max(len(str(line.fact.container or "")) for line in part)
    days = {day(line.at, zone) for line in part}
    found: list[Line] = []
    last = next(iter(days)) if len(days) == 1 else ""
    for line in part:
        today = day(line.at, zone)
        if today != last:
            found.append(
                {"lead": "", "text": "", "after": today, "is_reason": False, "is_struck": False}
            )
            last = today
        found.append(_item(line, zone, widest))
    return found


def _item(line: WeighedLine, zone: str, widest: int) -> Line:
    """Return a weighing as a line."""
    fact = line.fact
    number = "" if fact.container is None else str(fact.container)
    unit = "" if fact.unit == "g" else f" {fact.unit}"
    shown = f"{fact.value}{unit}".replace("-", "\u2212")
    net = exact(fact.net_g)
    has_both = fact.basis == "gross" and (fact.tare_g or unit)
    weight = f"{shown} \u2192 {net}" if has_both or unit else net
    if fact.purpose == "tare":
        weight = shown
    words = f"{weight}  {clock(line.at, zone)} {line.person}"
    after = STATES.get(fact.state, fact.state)
    if line.struck:
        after = f"struck out: {line.struck}"
    elif fact.set_aside:
        after = f"set aside: {fact.set_aside}"
    return {
        "lead": number.rjust(widest, "\u2007") if widest else "",
        "text": f"({words})" if fact.set_aside else words,
        "after": after,
        "is_reason": bool(line.struck or fact.set_aside),
        "is_struck": bool(line.struck),
    }
