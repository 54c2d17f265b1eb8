"""What is on record around one container: neighbours, tare, checks, cartons, looks."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Final, Literal

from fillwright.jobs.held.fates import fates_of
from fillwright.jobs.run.around_words import code_words
from fillwright.jobs.words import plain, shown_g, trays
from fillwright.records.entities import JobFacts
from fillwright.records.entries import CheckTaken, FirstJarLooked
from fillwright.records.fold import JobState
from fillwright.records.localtime import local, told_zone
from fillwright.records.sheets import FactLine
from fillwright.records.spans import Span
from fillwright.records.weighed import Weighed

__all__ = ["ABOUT", "About", "facts_around"]

About = Literal["short", "leaked", "dried", "other"]
ABOUT: Final[dict[About, str]] = {
    "short": "filled short",
    "leaked": "leaked",
    "dried": "dried out",
    "other": "something else",
}
_STAMP: Final = "%Y-%m-%d %H:%M"


def facts_around(
    state: JobState,
    facts: JobFacts,
    about: About,
    number: int | None,
    near: list[Weighed],
    own: Weighed | None,
    *,
    zone: str,
) -> tuple[FactLine, ...]:
    """Return what is on record around a container.

    Parameters
    ----------
    state : JobState
        The job.
    facts : JobFacts
        Of the job, with the label that the container carries.
    about : str
        What is wrong with it.
    number : int or None
        Its number, where it is known.
    near : list of Weighed
        The weighed ones near it, in order.
    own : Weighed or None
        Its own weight.
    zone : str
        Zone of the bench, which its times are given in.
    """
    step = facts.scale.readability_g
    word = facts.container.word
    found = [
        FactLine(name="Complaint", words=ABOUT[about]),
        FactLine(name="Label", words=f"{facts.label_words} {facts.product.name}"),
    ]
    if number is not None:
        size = max(facts.tray_size, 1)
        tray, on_it = trays(number, number, size), (number - 1) % size + 1
        place = f"{tray}, place {on_it}"
        found.append(FactLine(name="Stood on", words=place))
        fate = next(
            (f for f, spans in fates_of(state).items() if any(_in(number, s) for s in spans)), ""
        )
        found.append(FactLine(name="What became of it", words=fate))
    if own is not None:
        found.append(FactLine(name="Its own weight", words=_weighed_words(own, step, zone)))
    before = [w for w in near if number is not None and (w.fact.container or 0) < number][-2:]
    after = [w for w in near if number is not None and (w.fact.container or 0) > number][:2]
    for name, beside in (("Weighed before it", before), ("Weighed after it", after)):
        if beside:
            shown = "; ".join(
                f"{word} {w.fact.container}: {_weighed_words(w, step, zone)}" for w in beside
            )
            found.append(FactLine(name=name, words=shown))
    found += _tare_lines(state, number)
    found += _check_lines(state, _time_of(near, own, number), zone)
    for what, name in (("container", "Carton"), ("lid", "Lids"), ("drum", "Drum")):
        use = state.lots.at(what, number) if number is not None else None  # type: ignore[arg-type]
        if number is not None:
            told_words = "not on record" if use is None else code_words(use)
            found.append(FactLine(name=name, words=told_words))
    look = _look_before(state, number)
    found.append(FactLine(name="Look at a first one", words=look))
    found.append(FactLine(name="Times by the clock of", words=told_zone(zone)))
    return tuple(found)


def _in(number: int, span: Span) -> bool:
    """Return True when a container is in a span."""
    return span.first <= number <= span.last


def _weighed_words(weighed: Weighed, step: Decimal, zone: str) -> str:
    """Return a weight in words."""
    return f"{shown_g(weighed.fact.net_g, step)} net, {local(weighed.at, zone).strftime(_STAMP)}"


def _tare_lines(state: JobState, number: int | None) -> list[FactLine]:
    """Return the tare that was taken off."""
    if state.known.tare_way == "zeroed":
        return [FactLine(name="Empty", words="each one zeroed away by itself")]
    tare = state.lots.tare_of(number)
    if tare is None:
        kept = state.known.container.tare_g
        words = "not on record" if kept is None else f"{plain(kept)} g, from the facts of the job"
        return [FactLine(name="Empty", words=words)]
    spread = "" if tare.sd_g is None else f", spread {tare.sd_g:.2g} g (1 s)"
    words = f"average {plain(tare.tare_g)} g of {tare.empties}{spread}"
    return [FactLine(name="Empty", words=words)]


def _time_of(near: list[Weighed], own: Weighed | None, number: int | None) -> datetime | None:
    """Return about when the container was filled."""
    if own is not None:
        return own.at
    if not near or number is None:
        return None
    return min(near, key=lambda w: abs((w.fact.container or 0) - number)).at


def _check_lines(state: JobState, at: datetime | None, zone: str) -> list[FactLine]:
    """Return the checks of the scale before and after that hour."""
    if not state.checks:
        return [FactLine(name="Weighing scale", words="no check on record")]
    before = [one for one in state.checks if at is None or one[0] <= at][-1:]
    after = [one for one in state.checks if at is not None and one[0] > at][:1]
    return [
        FactLine(name=name, words=_check_words(when, check, zone))
        for name, one in (("Scale check before", before), ("Scale check after", after))
        for when, check in one
    ]


def _check_words(at: datetime, check: CheckTaken, zone: str) -> str:
    """Return a check in words."""
    good = "good" if check.passed else "not good"
    return (
        f"{plain(check.weight_g)} g read {plain(check.reading_g)} g, allowed "
        f"{plain(check.allowed_g)} g: {good}, {local(at, zone).strftime(_STAMP)}"
    )


def _look_before(state: JobState, number: int | None) -> str:
    """Return the look at a first one that speaks for a container."""
    looks = [
        one.fact
        for one in state.lots.looks
        if isinstance(one.fact, FirstJarLooked)
        and (number is None or one.fact.container <= number)
    ]
    if not looks:
        return "none on record before it"
    last = looks[-1]
    word = state.known.container.word
    if last.skipped:
        return f"skipped at {word} {last.container}: {last.skipped}"
    leak = next((a for a in last.answers if a.key == "leak"), None)
    told = "no leak" if leak is None or leak.is_right else f"leak: {leak.reason}"
    return f"{word} {last.container}: {told}"
