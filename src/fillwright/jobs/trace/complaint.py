"""A complaint about one container: what the record can say of it, what not, and a letter.

The record knows what was weighed and what was looked at when it was filled. It knows nothing of
what happened on the way; both are said, with the uncertainty.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.jobs.clockback import clock_went_back
from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import limits_of
from fillwright.jobs.trace.complaint_facts import ABOUT, facts_around
from fillwright.jobs.trace.complaint_which import Told, Which, which_one
from fillwright.jobs.words import shown_g
from fillwright.records.book import stream_of
from fillwright.records.fold import JobState
from fillwright.records.sheets_trace import ComplaintSheet
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.records.weighed import Weighed
from fillwright.science.between import one_more

__all__ = ["Told", "complaint"]

_NEAR: Final = 10
_LEAST: Final = 3
_WEIGHED: Final = ("proof", "dose", "held", "sample")
_OFFER: Final = (
    "Please keep the container and its lid, so that we can look at both. [What we offer: a new "
    "one, the money back, a visit.]"
)
_CALM: Final = (
    "Such an interval is wrong once in 20. How a complaint is answered, and who must be told, is "
    "set by local law."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Between:
    """Where one that was not weighed lies, going by `n` that were."""

    n: int
    low_g: float
    high_g: float

    @classmethod
    def of(cls, near: list[Weighed], shared_sd_g: float) -> _Between | None:
        """Return it; None where too few are near."""
        if len(near) < _LEAST:
            return None
        found = one_more(
            [kg_from_g(float(w.fact.net_g)) for w in near], beside_sd=kg_from_g(shared_sd_g)
        )
        return cls(n=found.n, low_g=g_from_kg(found.low), high_g=g_from_kg(found.high))


def complaint(desk: Desk, told: Told) -> ComplaintSheet:
    """Return what the record says of a container that somebody complains about.

    Raises
    ------
    BadInput
        If no lot has the code (the nearest are offered), the container is not of the lot, or
        number, tray and place do not go together.
    """
    with desk.book.lock:
        which = which_one(desk, told)
        state, number, word = which.state, which.number, which.facts.container.word
        near = _near(which)
        one = _Between.of(near, _shared_sd_g(state, number))
        own = _own(state, number)
        can, cannot = _judge(desk, which, told, own, one)
        zone = desk.clock.zone()
        return ComplaintSheet(
            job=state.number,
            lot_code=which.lot_code,
            product=which.facts.product.name,
            jar=f"{word} {number}" if number is not None else _unnumbered(told, word),
            number=number,
            facts=facts_around(state, which.facts, told.about, number, near, own, zone=zone),
            can_say=can,
            cannot_say=cannot,
            letter=_letter(which, told, own, one, cannot),
            made_at=desk.clock.now(),
            zone=zone,
            program=desk.program,
            is_invented=which.facts.is_invented,
        )


def _unnumbered(told: Told, word: str) -> str:
    """Return a container whose number nobody knows."""
    tray = "" if told.tray is None else f" of tray {told.tray}"
    return f"a {word}{tray}, number unknown"


def _near(which: Which) -> list[Weighed]:
    """Return the weighed ones nearest to a container under the same setting; all without one."""
    state, number = which.state, which.number
    latest: dict[int, Weighed] = {}
    for weighed in state.weighings:
        if weighed.counts and weighed.fact.container and weighed.fact.purpose in _WEIGHED:
            latest[weighed.fact.container] = weighed
    if number is None:
        lot = which.among
        return [w for n, w in latest.items() if any(s.first <= n <= s.last for s in lot)]
    turns = [p.after_container for p in state.run.posts if p.kind == "turn"] if state.run else []
    low = max((t for t in turns if t < number), default=0)
    high = min((t for t in turns if t >= number), default=state.filled_to)
    block = [w for n, w in latest.items() if low < n <= high and n != number]
    block.sort(key=lambda w: abs((w.fact.container or 0) - number))
    return sorted(block[:_NEAR], key=lambda w: w.fact.container or 0)


def _own(state: JobState, number: int | None) -> Weighed | None:
    """Return the container's own weight, the last that counts."""
    return (
        next(
            (
                w
                for w in reversed(state.weighings)
                if w.counts and w.fact.container == number and w.fact.purpose in _WEIGHED
            ),
            None,
        )
        if number is not None
        else None
    )


def _shared_sd_g(state: JobState, number: int | None) -> float:
    """Return what all weights near by share: the average empty and the check of the scale."""
    tare = state.lots.tare_of(number)
    of_tare = 0.0
    if tare is not None and tare.sd_g is not None and state.known.tare_way == "mean":
        of_tare = tare.sd_g / math.sqrt(max(tare.empties, 1))
    # A check passes within so much either way: as good as evenly spread over it.
    allowed = float(state.checks[-1][1].allowed_g) if state.checks else 0.0
    return math.hypot(of_tare, allowed / math.sqrt(3))


def _judge(
    desk: Desk, which: Which, told: Told, own: Weighed | None, one: _Between | None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return what the record can say and what it cannot."""
    state, facts, number = which.state, which.facts, which.number
    limits = limits_of(facts, desk.rule_sets)
    step = facts.scale.readability_g
    can, cannot = [], []
    low = None
    if own is not None:
        tare = state.lots.tare_of(number)
        spread = 0.0 if tare is None or facts.tare_way == "zeroed" else tare.sd_g or 0.0
        half = 2 * math.hypot(spread, _shared_sd_g(state, number), float(step) / math.sqrt(12))
        low = float(own.fact.net_g) - half
        can.append(
            f"It was weighed when it was filled: {shown_g(own.fact.net_g, step)} net, within "
            f"{half:.1f} g either way."
        )
    elif one is not None and number is not None:
        low = one.low_g
        can.append(
            f"It was not weighed itself. Going by {one.n} weighed near it, it held between "
            f"{one.low_g:.1f} and {one.high_g:.1f} g, 19 times in 20."
        )
    elif one is not None:
        low = one.low_g
        can.append(
            f"Going by {one.n} weighed, any one of this lot held between {one.low_g:.1f} and "
            f"{one.high_g:.1f} g, 19 times in 20."
        )
    else:
        cannot.append("How much was in it: fewer than three near it were weighed.")
    if low is not None:
        can.append(_against(low, limits.label_g, limits.t1_g))
    if own is None and number is not None:
        cannot.append(
            "A single odd stroke: one that nobody weighed may differ from those near it."
        )
    if told.found_g is not None and (own is not None or one is not None):
        can.append(_lost(told.found_g, own, one, step))
    if told.about == "leaked":
        cannot.append("Whether it leaked after filling: no weight shows that.")
    if told.about == "dried" or told.found_g is not None:
        cannot.append("Whether it leaked, dried out or was used: a loss of weight looks the same.")
    cannot.append("What happened to it on the way: the record ends at the bench.")
    return tuple(can), (*cannot, *_doubts(desk, which), _CALM)


def _doubts(desk: Desk, which: Which) -> list[str]:
    """Return what makes the record itself doubtful: a second job of the code, a clock set back."""
    found = []
    if which.others:
        jobs = ", ".join(which.others)
        found.append(f"Whether it is of this job: {jobs} had the same lot code.")
    if clock_went_back(desk.journal.entries(stream_of(which.state.number))):
        found.append(
            "At what hour for certain: the clock of the bench went back during this lot; its "
            "trace says where."
        )
    return found


def _against(low_g: float, label_g: Decimal, t1_g: Decimal | None) -> str:
    """Return what a lower bound says against label and T1."""
    if low_g >= float(label_g):
        return f"The record speaks against a short fill: the label needs {label_g} g."
    if t1_g is not None and low_g >= float(t1_g):
        return (
            f"It may have held less than the label says ({label_g} g), which the rules allow for "
            f"single ones down to T1 ({t1_g} g); it speaks against less than that."
        )
    return f"The record cannot rule out a short fill: the label needs {label_g} g."


def _lost(found_g: Decimal, own: Weighed | None, one: _Between | None, step: Decimal) -> str:
    """Return what is missing against what was filled."""
    left = shown_g(found_g, step)
    most = float(own.fact.net_g) if own is not None else one.high_g if one is not None else None
    if most is None:
        return ""
    if float(found_g) > most:
        return (
            f"{left} left is more than was filled ({shown_g(most, step)}): was the empty "
            "container weighed with it?"
        )
    if own is not None:
        gone = shown_g(own.fact.net_g - found_g, step)
        return f"Since it was filled {gone} are gone ({left} left)."
    low = 0.0 if one is None else max(one.low_g - float(found_g), 0.0)
    return (
        f"Since it was filled between {low:.1f} and {most - float(found_g):.1f} g are gone "
        f"({left} left)."
    )


def _letter(
    which: Which,
    told: Told,
    own: Weighed | None,
    one: _Between | None,
    cannot: tuple[str, ...],
) -> tuple[str, ...]:
    """Return a plain letter to adapt, a paragraph each."""
    facts, state, number = which.facts, which.state, which.number
    word = facts.container.word
    meant = f"{word} {number}" if number is not None else f"a {word}"
    if own is not None:
        held = shown_g(own.fact.net_g, facts.scale.readability_g)
        weighed = f"It was weighed when it was filled and held {held}."
    elif one is not None and number is None:
        weighed = (
            f"Its number is not known; {one.n} of that lot that were weighed say that it held "
            f"between {one.low_g:.1f} and {one.high_g:.1f} g when it left the filler, 19 times "
            "in 20."
        )
    elif one is not None:
        weighed = (
            f"That {word} was not weighed itself; {one.n} of the same lot that were weighed near "
            f"it say that it held between {one.low_g:.1f} and {one.high_g:.1f} g when it left the "
            "filler, 19 times in 20."
        )
    else:
        weighed = f"Too few near that {word} were weighed to say what it held."
    checked = (
        "The weighing scale was checked with a known weight in that job and was right."
        if state.checks and all(check.passed for _, check in state.checks)
        else "We have no unbroken row of good scale checks for that job, and say so."
    )
    thanks = (
        f"Thank you for telling us about {meant} of {facts.product.name}, lot {which.lot_code}, "
        f"which you say was {ABOUT[told.about]}."
    )
    return (
        "Dear customer,",
        thanks,
        f"We have looked it up in the record of that lot. {weighed} {checked}",
        f"What our record cannot tell: {cannot[0][0].lower()}{cannot[0][1:]}",
        _OFFER,
        "[Name, date]",
    )
