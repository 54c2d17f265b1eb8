"""Match: do product, dose and container suit this machine, and with which parts.

Compares ranges and says the reasons; common practice of the trade is marked as such.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Final, Literal

from fillwright.errors import BadInput
from fillwright.jobs.act import CAUTIONS, Act, Caution, Option, hot
from fillwright.jobs.act import Expects as Awaits
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import dose_ml, limits_of
from fillwright.jobs.match.case import Matched, matched
from fillwright.jobs.match.look import (
    Expects,
    Reason,
    assumed_of,
    behind_of,
    computed,
    expects_of,
    matters_most,
)
from fillwright.jobs.match.parts import NECK_CLEARANCE_MM, Part, parts_of, seals_reason
from fillwright.jobs.match.product_flow import Assumed
from fillwright.jobs.release.markets import small_lot_words
from fillwright.jobs.setup.rig import described
from fillwright.jobs.words import in_steps, plain, shown_g
from fillwright.records.entities import Cylinder, JobFacts, RunsLike, Stage
from fillwright.records.entries import MatchJudged
from fillwright.records.fold import JobState
from fillwright.records.units import m3_from_ml
from fillwright.science.rate import shots_for

__all__ = ["HOT_C", "Lane", "MatchLook", "Reason", "cautions_of", "dose_ml", "look", "take"]

HOT_C: Final = Decimal(45)
"""Above this a product is called hot on the pages (our own choice)."""
_LEAST_SHARE: Final = Decimal("0.10")
_COARSE_SHARE: Final = Decimal("0.20")
_FREE_SPACE: Final = Decimal("1.03")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """A product cylinder held against the dose."""

    cylinder: Cylinder
    low_ml: Decimal
    high_ml: Decimal
    words: str
    is_fitted: bool
    is_best: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchLook:
    """Everything the Match page shows.

    Parameters
    ----------
    act : Act
        The order of the page.
    verdict, headline : str
        How it came out, in a word and in a line.
    dose_ml : Decimal
        What the piston must push.
    lanes : tuple of Lane
        Every cylinder held against the dose.
    reasons : tuple of Reason
        Everything that was compared.
    changes : tuple of str
        What stops it or asks for care.
    parts : tuple of Part
        Parts to fit.
    expects, behind : tuple of Expects
        Figures to expect: the few of the first screen, and those behind it.
    assumed : tuple of Assumed
        What was not told, and how much it matters.
    not_judged : str
        What is not judged, and why; empty where everything is.
    matters_most : str
        Input that moves the answer most; empty where nothing was computed.
    """

    act: Act
    verdict: Literal["suits", "suits-with-changes", "does-not-suit"]
    headline: str
    dose_ml: Decimal
    lanes: tuple[Lane, ...]
    reasons: tuple[Reason, ...]
    changes: tuple[str, ...]
    parts: tuple[Part, ...] = ()
    expects: tuple[Expects, ...] = ()
    behind: tuple[Expects, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    not_judged: str = ""
    matters_most: str = ""


def cautions_of(facts: JobFacts) -> tuple[Caution, ...]:
    """Return the cautions that this product brings to every stage."""
    found: list[Caution] = []
    if facts.product.is_flammable:
        found.append(CAUTIONS["flammable"])
    if facts.product.product_c > HOT_C:
        found.append(hot(facts.product.product_c))
    return tuple(found)


def look(desk: Desk, state: JobState) -> MatchLook:
    """Return what the Match page shows."""
    facts = state.known
    dose = dose_ml(facts)
    lanes = _lanes(facts, dose)
    seen = matched(desk, state)
    machine = described(desk, facts)
    flows = () if seen is None else computed(seen, facts)
    reasons = (*_parts(desk, facts, dose), *seals_reason(facts), *flows, *_quantity(desk, facts))
    stops = [r for r in reasons if r.state == "stop"]
    warns = [r for r in reasons if r.state == "warn"]
    name = facts.machine.name
    if stops:
        verdict, headline = "does-not-suit", f"Does not suit {name}"
    elif warns:
        verdict, headline = "suits-with-changes", f"Suits {name}, with changes"
    else:
        verdict, headline = "suits", f"Suits {name}"
    changes = tuple(f"{r.words} {r.cure}".strip() for r in (*stops, *warns))
    return MatchLook(
        act=_act(state, facts, stops, headline),
        verdict=verdict,  # type: ignore[arg-type]  # one of the three words above
        headline=headline,
        dose_ml=dose,
        lanes=lanes,
        reasons=reasons,
        changes=changes,
        parts=parts_of(facts, machine, seen),
        expects=() if seen is None else expects_of(seen, machine),
        behind=() if seen is None else behind_of(seen),
        assumed=assumed_of(facts, machine),
        not_judged=_not_judged(facts, seen),
        matters_most="" if seen is None else matters_most(seen),
    )


def take(desk: Desk, number: str, press: Press) -> Act:
    """Take the parts: the match is judged and kept.

    Raises
    ------
    BadInput
        If the machine does not suit; the facts must be changed first.
    """
    with desk.book.lock:
        state = find_job(desk, number)
        seen = look(desk, state)
        if seen.verdict == "does-not-suit":
            message = f"{seen.headline}: {seen.changes[0]} Change the facts first."
            raise BadInput(message, field="match", given=seen.verdict, code="inconsistent")
        fact = MatchJudged(
            verdict=seen.verdict,
            because=seen.headline,
            reasons=tuple(f"{r.name}: {r.figure}. {r.words}" for r in seen.reasons),
            expected=tuple(
                f"{e.name}: {e.words}{f' ({e.span})' if e.span else ''}"
                for e in (*seen.expects, *seen.behind)
            ),
            assumed=tuple(f"{a.name}: {a.words} {a.matters}" for a in seen.assumed),
            not_judged=seen.not_judged,
        )
        return look(desk, keep(desk, state, [fact], press)).act


def _act(state: JobState, facts: JobFacts, stops: list[Reason], headline: str) -> Act:
    """Return the act of the page."""
    change = Option(what="facts", label="Change the facts", key="-")
    if stops:
        return Act(
            stage=Stage.MATCH,
            what="facts",
            order=f"{headline}. Change the facts.",
            why=stops[0].words,
            main="Change the facts",
            expects=Awaits.NOTHING,
            cautions=cautions_of(facts),
            state="stop",
            state_words="Does not suit",
        )
    if state.match is not None:
        return Act(
            stage=Stage.MATCH,
            what="next",
            order="Parts taken. Go on with Set up.",
            why=state.match.because,
            main="Go on with Set up",
            expects=Awaits.NOTHING,
            cautions=cautions_of(facts),
            options=(change,),
            state="on",
            state_words="Suits",
        )
    return Act(
        stage=Stage.MATCH,
        what="take",
        order=f"Take the {plain(facts.cylinder.capacity_ml)} mL cylinder.",
        why=headline + ".",
        main="Take these parts",
        expects=Awaits.CONFIRM,
        cautions=cautions_of(facts),
        options=(change,),
        state="on",
        state_words="Suits",
    )


def _lanes(facts: JobFacts, dose: Decimal) -> tuple[Lane, ...]:
    """Return every cylinder of the machine held against the dose."""
    fitting = [
        c for c in facts.machine.cylinders if c.capacity_ml * _LEAST_SHARE <= dose <= c.capacity_ml
    ]
    best = min(fitting, key=lambda c: abs(dose / c.capacity_ml - Decimal("0.55")), default=None)
    return tuple(
        Lane(
            cylinder=cylinder,
            low_ml=cylinder.capacity_ml * _LEAST_SHARE,
            high_ml=cylinder.capacity_ml,
            words=_lane_words(dose / cylinder.capacity_ml),
            is_fitted=cylinder == facts.cylinder,
            is_best=cylinder == best,
        )
        for cylinder in facts.machine.cylinders
    )


def _lane_words(share: Decimal) -> str:
    """Return how a dose stands in a cylinder, in words."""
    if share > 1:
        return "too small"
    if share < _LEAST_SHARE:
        return "too big: under a tenth of its stroke"
    percent = f"{float(share) * 100:.0f} % of its stroke"
    return f"{percent}, a coarse setting" if share < _COARSE_SHARE else percent


def _parts(desk: Desk, facts: JobFacts, dose: Decimal) -> tuple[Reason, ...]:
    """Return the reasons that lie in the machine's parts."""
    share = dose / facts.cylinder.capacity_ml
    cylinder = f"{plain(facts.cylinder.capacity_ml)} mL"
    if not _LEAST_SHARE <= share <= 1:
        words, state = f"The dose is {_lane_words(share)}. Fit another cylinder.", "stop"
        if share > 1:
            shots = shots_for(m3_from_ml(dose), cylinder=m3_from_ml(facts.cylinder.capacity_ml))
            each = plain(in_steps(dose / (shots.count or 1), Decimal("0.1"), ROUND_HALF_UP))
            words += f" By hand it is {shots.count} shots of {each} mL."
    elif share < _COARSE_SHARE:
        words, state = "A coarse setting: a smaller cylinder sets finer.", "warn"
    else:
        words, state = "The dose stands well inside its stroke (common practice).", "on"
    reasons = [Reason(name="Cylinder", figure=cylinder, state=state, words=words)]  # type: ignore[arg-type]
    reasons += [_nozzle(facts), _temperature(facts), _air(facts), _room(desk, facts)]
    if facts.product.is_flammable:
        approved = facts.machine.is_approved_for_flammables
        reasons.append(
            Reason(
                name="Flammable",
                figure="yes",
                state="warn" if approved else "stop",
                words=CAUTIONS["flammable"].words
                if approved
                else "The machine facts do not say that its papers allow flammables. Stop here.",
            )
        )
    if facts.product.runs_like is RunsLike.FOAMY:
        reasons.append(
            Reason(
                name="Foam",
                figure="foamy",
                state="warn",
                words="Fill slowly, nozzle low in the neck, and let foam settle before weighing.",
            )
        )
    return tuple(reasons)


def _not_judged(facts: JobFacts, seen: Matched | None) -> str:
    """Return what is not judged, and what to tell so that it is."""
    missing = []
    if seen is None:
        missing.append("recharge, push, drip, rate and air: describe the machine")
    if not facts.product.media:
        missing.append("seals: tell what is in the product")
    if facts.product.particle_mm is None:
        missing.append("pieces against bores: tell the largest piece")
    return f"Not judged: {'; '.join(missing)}." if missing else ""


def _nozzle(facts: JobFacts) -> Reason:
    """Hold the nozzle against the neck."""
    outside, mouth = facts.nozzle.outside_mm, facts.container.mouth_mm
    figure = f"nozzle {plain(outside)} mm, mouth {plain(mouth)} mm"
    fits = outside + NECK_CLEARANCE_MM <= mouth
    return Reason(
        name="Nozzle",
        figure=figure,
        state="on" if fits else "stop",
        words="Goes into the neck with room for air to leave."
        if fits
        else "Too wide for the neck: fit a narrower nozzle, so that air can leave.",
    )


def _temperature(facts: JobFacts) -> Reason:
    """Hold the product temperature against the valve."""
    warm, limit = facts.product.product_c, facts.machine.hot_limit_c
    fits = warm <= limit
    return Reason(
        name="Temperature",
        figure=f"{plain(warm)} °C",
        state="on" if fits else "stop",
        words=f"The valve is good to {plain(limit)} °C."
        if fits
        else f"The valve is good to {plain(limit)} °C only: another valve, or a cooler fill.",
    )


def _air(facts: JobFacts) -> Reason:
    """Say the air that the machine wants."""
    low, high = facts.machine.air_min_bar_g, facts.machine.air_max_bar_g
    return Reason(
        name="Air",
        figure=f"{plain(low)} to {plain(high)} bar",
        state="on",
        words="At the gauge, with the machine cycling; its plate goes before this page.",
    )


def _room(desk: Desk, facts: JobFacts) -> Reason:
    """Hold the dose against the brim."""
    limits = limits_of(facts, desk.rule_sets)
    fits = facts.aim_g * _FREE_SPACE <= limits.brim_g
    step = facts.scale.readability_g
    return Reason(
        name="Container",
        figure=f"aim {shown_g(facts.aim_g, step)}, brims at {shown_g(limits.brim_g, step)}",
        state="on" if fits else "stop",
        words="Room above the fill."
        if fits
        else "No room above the fill: a bigger container, or a smaller dose.",
    )


def _quantity(desk: Desk, facts: JobFacts) -> tuple[Reason, ...]:
    """Hold the aim and the scale against the label quantity."""
    limits = limits_of(facts, desk.rule_sets)
    step = facts.scale.readability_g
    below = facts.aim_g < limits.label_g
    label = Reason(
        name="Label",
        figure=f"{facts.label_words} is {shown_g(limits.label_g, step)}",
        state="stop" if below else "on",
        words=f"The aim is {shown_g(facts.aim_g - limits.label_g, step)} above the label."
        if not below
        else "The aim is below the label quantity: raise it.",
    )
    shortage = limits.shortage
    if limits.t1_g is None:
        law = Reason(
            name="Short limit",
            figure=facts.rules,
            state="warn",
            words=shortage.because,
        )
    else:
        law = Reason(
            name="Short limit",
            figure=f"below {shown_g(limits.t1_g, step)}",
            state="on",
            words=" ".join(
                f"{one.rules}: tolerable shortage {one.shortage.t} {facts.unit}."
                for one in limits.markets
            ),
        )
    small = small_lot_words(desk, facts)
    lot = Reason(name="Lot", figure=f"{facts.lot_size}", state="on", words=small)
    return (label, law, lot) if small else (label, law)
