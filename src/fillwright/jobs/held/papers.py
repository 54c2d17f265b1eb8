"""What became of held containers, as the papers print it: by trays and counts, alike ones as one.

A hold of hundreds that were weighed one by one stays a few rows; each number is in one of them,
and its own weight among the weighings.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Final

from fillwright.jobs.held.words import OUTCOMES, emptied_words, more_words
from fillwright.records.entries import ContainersEmptied
from fillwright.records.fold import JobState
from fillwright.records.heldbook import Settling
from fillwright.records.sheets_held import HeldLine, OutcomeLine, RelabelledLine
from fillwright.records.spans import Span, count, join, overlap, words

__all__ = ["held_lines", "mixed_words", "relabelled_lines", "settled_words"]

_NET: Final = re.compile(r"(\d+(?:\.\d+)?) g net\b")


def held_lines(state: JobState) -> tuple[HeldLine, ...]:
    """Return what was held, by reason, with all that was said of it since, and what is held still.

    Holds for the same reason, word for word, make one line.
    """
    alike: dict[str, list[tuple[Span, int]]] = {}
    for hold, revision in zip(state.holds, state.held.hold_revisions, strict=True):
        alike.setdefault(hold.reason, []).append((Span(hold.first, hold.last), revision))
    return tuple(_held(state, reason, holds) for reason, holds in alike.items())


def relabelled_lines(state: JobState) -> tuple[RelabelledLine, ...]:
    """Return the lots of their own that came of new labels."""
    return tuple(
        RelabelledLine(
            lot_code=fact.lot_code,
            numbers=words(spans),
            containers=count(spans),
            nominal=fact.nominal,
            least_label_unit=fact.least_label_unit,
            mean=fact.mean,
            unit=fact.unit,
            rules=fact.rules,
            edition=fact.edition,
            because=fact.because,
        )
        for fact, spans in state.held.relabelled()
    )


def settled_words(state: JobState) -> tuple[str, ...]:
    """Return what became of held containers, a sentence for each thing that was said of them."""
    word = state.known.container.word.capitalize()
    found = []
    for one in _outcomes((one, one.spans) for one in state.held.settlings):
        told = ", ".join(part for part in (one.outcome, one.more, one.reason) if part)
        end = f". Struck out: {one.struck}." if one.struck else "."
        found.append(f"{word} {one.numbers}: {told} ({one.person or 'nobody named'}){end}")
    return tuple(found)


def mixed_words(state: JobState) -> tuple[str, ...]:
    """Return where product that was emptied back may be in what was filled after it."""
    word = state.known.container.word.capitalize()
    return tuple(
        f"{word} {words(fact.spans)} went back into the hopper after {fact.after_container}: "
        f"product of them, and of their drum, may be in {fact.after_container + 1} to "
        f"{state.filled_to}."
        for fact in state.held.emptied()
        if fact.into == "hopper" and fact.after_container < state.filled_to
    )


def _held(state: JobState, reason: str, holds: list[tuple[Span, int]]) -> HeldLine:
    """Return all that was held for one reason."""
    spans = join(span for span, _ in holds)
    still = overlap(spans, state.open_spans)
    said = []
    for one in state.held.settlings:
        before = [span for span, revision in holds if revision < one.revision]
        mine = overlap(before, one.spans)
        if mine:
            said.append((one, mine))
    return HeldLine(
        numbers=words(spans),
        containers=count(spans),
        trays=_trays(spans, state.known.tray_size),
        reason=reason,
        outcomes=_outcomes(said),
        still=words(still) if still else "",
        still_containers=count(still),
    )


def _trays(spans: Iterable[Span], size: int) -> str:
    """Return the numbers of the trays that containers stand on; empty where there is no tray."""
    if size <= 1:
        return ""
    return words(Span((s.first - 1) // size + 1, (s.last - 1) // size + 1) for s in spans)


def _outcomes(said: Iterable[tuple[Settling, tuple[Span, ...]]]) -> tuple[OutcomeLine, ...]:
    """Return what was said of containers, each with those meant; what is alike makes one line."""
    alike: dict[tuple[str, ...], list[tuple[Settling, tuple[Span, ...]]]] = {}
    for one, mine in said:
        alike.setdefault(_key(one), []).append((one, mine))
    return tuple(_outcome(group) for group in alike.values())


def _key(one: Settling) -> tuple[str, ...]:
    """Return what two things said must have alike to make one line; weights may differ."""
    fact = one.fact
    more = (fact.into, str(fact.is_weighed)) if isinstance(fact, ContainersEmptied) else ()
    reason = "weighed" if _net_g(one) is not None else one.reason
    struck = (one.struck, one.struck_by)
    return (one.outcome, one.person, reason, *struck, *(more or (more_words(one),)))


def _outcome(group: list[tuple[Settling, tuple[Span, ...]]]) -> OutcomeLine:
    """Return what was said alike of containers."""
    first, last = group[0][0], group[-1][0]
    mine = join(span for _, spans in group for span in spans)
    nets = [net for one, _ in group if (net := _net_g(one)) is not None]
    reason, more = first.reason, more_words(first)
    if nets and len(group) > 1:
        reason = f"{min(nets)} to {max(nets)} g net"
    if isinstance(first.fact, ContainersEmptied):
        emptied = [one.fact for one, _ in group if isinstance(one.fact, ContainersEmptied)]
        more = emptied_words(first.fact, sum((fact.back_g for fact in emptied), Decimal(0)))
    by = f" ({first.struck_by})" if first.struck_by else ""
    return OutcomeLine(
        at=first.at,
        until=last.at,
        person=first.person,
        numbers=words(mine),
        containers=count(mine),
        outcome=OUTCOMES[first.outcome],
        reason=reason,
        more=more,
        struck=f"{first.struck}{by}" if first.struck else "",
    )


def _net_g(one: Settling) -> Decimal | None:
    """Return the weight that settled a container; None where it was settled otherwise."""
    found = _NET.match(one.reason) if one.outcome in ("weighed-good", "topped-up") else None
    return Decimal(found[1]) if found is not None else None
