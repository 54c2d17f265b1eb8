"""Where the spread of a dose comes from, biggest source first, and what a narrower claim takes.

What was measured here stands as it is: the proof, the empties, the weighing scale. The rest is
a judgement of ours until a proof shows the whole; then the guesses are brought down to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import Act
from fillwright.jobs.desk import Desk, find_job
from fillwright.jobs.setup.dose_sources import Source, brought_down, sources_of
from fillwright.jobs.setup.rig import Rig, rig_of
from fillwright.jobs.setup.stroke_plan import plan_of
from fillwright.jobs.why import Fact, Why
from fillwright.jobs.words import plain
from fillwright.records.entities import JobFacts, Stage
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg, kg_from_g
from fillwright.science.budget import Budget, Demand, Kind, dose_budget, what_it_takes

__all__ = ["BudgetLook", "BudgetRow", "look"]

COVERAGE: Final = 2.0
_LATEST_JOBS: Final = 20
_KINDS: Final = {
    Kind.WITHIN: "from shot to shot",
    Kind.DRIFT: "slow",
    Kind.BIAS: "set away in the trim",
}
_ASSUMPTIONS: Final = (
    "Sources are independent of each other, and small beside the dose.",
    "Temperature within 1 K, drums within 0.05 %, gas 0.06 % of the dose (0.2 % where it foams), "  # noqa: ISC004  one sentence
    "leaks 0.04 %, the stop within 0.02 mm: judgements of ours, no source.",
    "A last drop that falls or stays is even over its size.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One source.

    Parameters
    ----------
    name : str
        What it is.
    size_g : float
        What it gives alone.
    variance_share : float
        Its share of the square of the spread.
    words : str
        Both as the page shows them.
    kind : str
        How it acts.
    basis : str
        ``"measured here"``, ``"read"`` or ``"taken"``.
    cure : str
        What shrinks it.
    """

    name: str
    size_g: float
    variance_share: float
    words: str
    kind: str
    basis: str
    cure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLook:
    """What the page of the error budget shows.

    Parameters
    ----------
    act : Act
        The order of the page.
    rows : tuple of BudgetRow
        Largest first.
    holds : bool
        Whether the claim that is asked about holds.
    claim_pct : Decimal
        The claim that is asked about.
    takes : str
        What it would take, by name.
    spread_pct : float
        Two standard deviations as a share of the dose.
    measured : str
        What was measured here, in words.
    warning : str
        Why the budget cannot be trusted; empty where it can.
    why : Why
        The numbers behind it.
    """

    act: Act
    rows: tuple[BudgetRow, ...]
    holds: bool
    claim_pct: Decimal
    takes: str
    spread_pct: float
    measured: str
    warning: str
    why: Why


def look(desk: Desk, state: JobState, claim_pct: Decimal | None = None) -> BudgetLook:
    """Return where the spread of this job's dose comes from.

    Parameters
    ----------
    desk : Desk
        Knows what was proved before.
    state : JobState
        The job.
    claim_pct : Decimal, optional
        A claim to ask about; that of the job when left out.

    Raises
    ------
    BadInput
        If the claim is not above zero.
    """
    facts = state.known
    asked = facts.claim_pct if claim_pct is None else claim_pct
    if not 0 < asked <= 100:  # noqa: PLR2004  a whole dose
        message = f"A claim of ±{asked} % cannot be; give more than 0 and at most 100."
        raise BadInput(message, field="claim", given=str(asked), allowed="above 0, at most 100")
    rig = rig_of(desk, state)
    sources = sources_of(state, rig)
    proof = _proved(desk, state)
    measured_sd = None if proof is None else kg_from_g(proof.sd_g)
    sources = brought_down(sources, measured_sd)
    # What the trim sets away is no part of the spread: it stands below, without a share.
    spread = [source for source in sources if source.one.kind is not Kind.BIAS]
    budget = dose_budget([source.one for source in spread], measured_sd=measured_sd)
    demand = what_it_takes(budget, kg_from_g(facts.aim_g * asked / 100), coverage=COVERAGE)
    rows = (*_rows(budget, spread), *(_set_away(s) for s in sources if s not in spread))
    twice = 100.0 * COVERAGE * budget.repeatability / kg_from_g(facts.aim_g)
    return BudgetLook(
        act=_act(rows),
        rows=rows,
        holds=demand.holds,
        claim_pct=asked,
        takes=_takes(demand, rows, asked, twice),
        spread_pct=twice,
        measured=_measured_words(proof, state),
        warning=_warning(state, rig),
        why=_why(budget, facts),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Proved:
    """Scatter that a proof has shown."""

    sd_g: float
    shots: int
    job: str


def _proved(desk: Desk, state: JobState) -> _Proved | None:
    """Return what a proof of this product on this machine has shown last."""
    if state.proof is not None and state.proof.sd_g > 0:
        return _Proved(sd_g=state.proof.sd_g, shots=state.proof.shots, job=state.number)
    facts = state.known
    same = (facts.product.name, facts.machine.name, facts.cylinder.capacity_ml, facts.aim_g)
    for number in list(desk.book.numbers())[::-1][:_LATEST_JOBS]:
        other = find_job(desk, number)
        known = other.known
        if (
            other.proof is not None
            and other.proof.sd_g > 0
            and same
            == (
                known.product.name,
                known.machine.name,
                known.cylinder.capacity_ml,
                known.aim_g,
            )
        ):
            return _Proved(sd_g=other.proof.sd_g, shots=other.proof.shots, job=number)
    return None


def _rows(budget: Budget, sources: Sequence[Source]) -> tuple[BudgetRow, ...]:
    """Return the rows as the page lists them."""
    basis = {source.one.name: source.basis for source in sources}
    return tuple(
        BudgetRow(
            name="not explained" if row.name == "other" else row.name,
            size_g=g_from_kg(row.contribution),
            variance_share=row.share,
            words=f"{g_from_kg(row.contribution):.2g} g, {100.0 * row.share:.0f} %",
            kind=_KINDS[row.kind],
            basis=basis.get(row.name, "measured here"),
            cure=row.cure or "look for it: Fault",
        )
        for row in budget.rows
        if row.contribution > 0.0
    )


def _set_away(source: Source) -> BudgetRow:
    """Return the row of what the trim sets away."""
    size_g = g_from_kg(abs(source.one.sensitivity) * source.one.standard_uncertainty)
    return BudgetRow(
        name=source.one.name,
        size_g=size_g,
        variance_share=0.0,
        words=f"{size_g:.2g} g",
        kind=_KINDS[source.one.kind],
        basis=source.basis,
        cure=source.one.cure,
    )


def _act(rows: tuple[BudgetRow, ...]) -> Act:
    """Return the order of the page: the top one only."""
    first = rows[0]
    return Act(
        stage=Stage.SET_UP,
        what="next",
        order=f"Work on the top one only: {first.name}.",
        why=f"It gives {100.0 * first.variance_share:.0f} % of the square of the spread. "
        f"{first.cure[:1].upper()}{first.cure[1:]}.",
        main="Back to Set up",
    )


def _takes(
    demand: Demand, rows: tuple[BudgetRow, ...], claim_pct: Decimal, spread_pct: float
) -> str:
    """Return what the claim takes, by name."""
    if demand.holds:
        return (
            f"±{plain(claim_pct)} % holds: two standard deviations are ±{spread_pct:.2g} %. "
            "A proof has the last word."
        )
    names = {row.name for row in rows}
    first = rows[0]
    if demand.alone is not None:
        return (
            f"±{plain(claim_pct)} % takes one thing: {first.name} down from {first.size_g:.2g} g "
            f"to {g_from_kg(demand.alone):.2g} g. {first.cure[:1].upper()}{first.cure[1:]}."
        )
    listed = [name if name in names else "not explained" for name in demand.sources]
    words = ", ".join(listed[:-1]) + f" and {listed[-1]}" if len(listed) > 1 else listed[0]
    return (
        f"±{plain(claim_pct)} % takes {len(listed)} things: {words}, each down to "
        f"{g_from_kg(demand.limit):.2g} g."
    )


def _measured_words(proof: _Proved | None, state: JobState) -> str:
    """Return what of the budget was measured on this machine."""
    parts = []
    if proof is not None:
        where = "here" if proof.job == state.number else f"in job {proof.job}"
        parts.append(f"{proof.shots} shots of a proof {where}: spread {proof.sd_g:.2g} g")
    if state.tare is not None and state.tare.sd_g is not None:
        parts.append(f"{state.tare.empties} empties: spread {state.tare.sd_g:.2g} g")
    if not parts:
        return "Nothing was measured here yet: all this is judgement. A proof replaces it."
    return "Measured: " + "; ".join(parts) + "."


def _warning(state: JobState, rig: Rig | None) -> str:
    """Return why no budget holds: a cylinder that does not fill is a cliff, not a spread."""
    timed = state.start.timed
    if rig is None:
        return "The machine is not described: stop and nozzle are missing here."
    edge = plan_of(rig).edge_s
    if timed is not None and edge is not None and timed.fitted_recharge_s < edge:
        return (
            f"The recharge takes {timed.fitted_recharge_s:.1f} s and fills from {edge:.1f} s on: "
            "each degree moves the dose. Slow the recharge first."
        )
    return ""


def _why(budget: Budget, facts: JobFacts) -> Why:
    """Return the numbers behind the budget."""
    total = g_from_kg(budget.total)
    return Why(
        facts=(
            Fact(name="Dose", words=f"{plain(facts.aim_g)} g"),
            Fact(name="All together", words=f"{total:.3g} g, one standard deviation"),
        ),
        assumptions=_ASSUMPTIONS,
        source=budget.equation,
    )
