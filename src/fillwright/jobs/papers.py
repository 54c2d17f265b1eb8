"""The papers of a job, filled from its state: batch record, proof, job card."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from fillwright.errors import BadInput
from fillwright.jobs import charts
from fillwright.jobs.clockback import clock_went_back
from fillwright.jobs.day.cleaning import cleaned_before
from fillwright.jobs.desk import Desk
from fillwright.jobs.fault.by_number import check_places, first_looks
from fillwright.jobs.held.fates import fate_lines
from fillwright.jobs.held.papers import held_lines, relabelled_lines
from fillwright.jobs.limits import (
    LABEL_C,
    Limits,
    content_of,
    density_at,
    judge_weight,
    limits_of,
)
from fillwright.jobs.match.stage import cautions_of
from fillwright.jobs.prove.why import plot_of
from fillwright.jobs.release.lot import sample_of
from fillwright.jobs.run.around_words import changes_of, row_words
from fillwright.jobs.run.course import course_of
from fillwright.jobs.setup.starting import control_facts
from fillwright.jobs.setup.tare_fit import tare_warnings
from fillwright.jobs.trace.complaint_look import complaint_words, complaints_of_job
from fillwright.jobs.traveller import next_act
from fillwright.jobs.words import plain
from fillwright.records.book import stream_of
from fillwright.records.entities import JobFacts
from fillwright.records.entries import (
    AdjustmentMade,
    CheckTaken,
    Entry,
    RunPaused,
    SettingMoved,
    StruckOut,
)
from fillwright.records.fold import JobState
from fillwright.records.proofwords import PROOF_WORDS
from fillwright.records.sheets import (
    BatchRecordSheet,
    FactLine,
    JobCardSheet,
    LotLine,
    ProofLine,
    ProofSheet,
    ScaleCheckLine,
    SignatureLine,
    StruckLine,
    TurnLine,
    WeighedLine,
    WeightLimit,
)

__all__ = ["batch_record", "job_card", "proof_sheet"]


def batch_record(desk: Desk, state: JobState) -> BatchRecordSheet:
    """Return the whole record of a job, ready to print."""
    facts = state.known
    site, brought = desk.book.site().settings, state.files.brought
    entries = list(desk.journal.entries(stream_of(state.number)))
    return BatchRecordSheet(
        facts=facts,
        maker=site.maker if brought is None else brought.maker,
        made_at=_dated(state),
        zone=desk.clock.zone(),
        lot=state.lot,
        other_lot=state.other_lot if state.lot is not None else None,
        released=state.released,
        limits=_weight_limits(limits_of(facts, desk.rule_sets), facts),
        content_formula=_formulas(state),
        weighings=tuple(
            WeighedLine(at=w.at, person=w.person, fact=w.fact, struck=w.struck)
            for w in state.weighings
        ),
        turns=tuple(
            TurnLine(at=e.at, person=e.person, fact=e.payload)
            for e in entries
            if isinstance(e.payload, SettingMoved | AdjustmentMade)
        ),
        pauses=tuple(e.payload for e in entries if isinstance(e.payload, RunPaused)),
        course=(*changes_of(state, entries), *course_of(entries, facts.container.word)),
        held=held_lines(state),
        fates=fate_lines(state),
        relabelled=relabelled_lines(state),
        checks=tuple(
            ScaleCheckLine(at=e.at, person=e.person, fact=e.payload)
            for e in entries
            if isinstance(e.payload, CheckTaken)
        ),
        tare=state.tare,
        trim=state.trim,
        proof=state.proof,
        proof_plan=state.proof_plan,
        samples=tuple(state.samples),
        sample_lines=_sample_lines(desk, state),
        signatures=tuple(SignatureLine(at=at, fact=fact) for at, fact in state.signatures),
        signatures_wanted=site.signatures if brought is None else brought.signatures,
        strikes=_strikes(state, entries),
        notes=_notes(desk, state),
        dose_chart=charts.dose_chart(desk, state) if state.filled_to else None,
        proof_chart=charts.proof_chart(state) if state.proof else None,
        proof_plot=plot_of(state, state.proof)
        if state.proof and not state.again.kept_from
        else None,
        lot_chart=charts.lot_chart(desk, state),
        entries=state.revision,
        last_hash=state.last_hash,
        program=desk.program,
    )


def proof_sheet(desk: Desk, state: JobState) -> ProofSheet:
    """Return the proof of repeatability by itself.

    Raises
    ------
    BadInput
        If nothing has been proved in this job.
    """
    facts = state.known
    if state.proof is None or state.proof_plan is None:
        message = "There is no finished proving run in this job."
        raise BadInput(message, field="proof", code="missing")
    if state.again.kept_from:
        message = f"The proof is that of job {state.again.kept_from}. Print it there."
        raise BadInput(message, field="proof", code="missing")
    return ProofSheet(
        title=f"{facts.product.name}, {facts.container.name}, {facts.machine.name}",
        source=f"job {facts.number}",
        made_at=_dated(state),
        zone=desk.clock.zone(),
        proof=state.proof,
        aim_g=facts.aim_g,
        claim_pct=state.proof_plan.claim_pct,
        content_pct=state.proof_plan.content_pct,
        confidence_pct=state.proof_plan.confidence_pct,
        lines=tuple(
            ProofLine(
                row=str(place),
                shown=f"{s.fact.value} {s.fact.unit}",
                net_g=s.fact.net_g,
                set_aside=s.struck or s.fact.set_aside,
            )
            for place, s in enumerate(state.proof_shots, start=1)
        ),
        facts=_facts(facts),
        chart=charts.proof_chart(state),
        plot=plot_of(state, state.proof),
        program=desk.program,
        is_invented=facts.is_invented,
    )


def job_card(desk: Desk, state: JobState) -> JobCardSheet:
    """Return the one sheet that stands beside the machine."""
    facts = state.known
    limits = limits_of(facts, desk.rule_sets)
    readings = {
        "Air": state.steps.get("air"),
        "Ten strokes": state.steps.get("strokes"),
        "Product": state.steps.get("product"),
    }
    word = facts.container.word
    return JobCardSheet(
        facts=facts,
        made_at=_dated(state),
        zone=desk.clock.zone(),
        next_order=next_act(desk, state).order,
        setting_marks=state.setting_marks,
        low_g=limits.band_low_g,
        high_g=limits.band_high_g,
        limits=_weight_limits(limits, facts),
        settings=tuple(
            FactLine(name=name, words=step.reading)
            for name, step in readings.items()
            if step is not None and step.reading
        )
        + tuple(FactLine(name=fact.name, words=fact.words) for fact in control_facts(desk, state)),
        parts=(
            FactLine(name="Cylinder", words=f"{plain(facts.cylinder.capacity_ml)} mL"),
            FactLine(name="Nozzle", words=f"{plain(facts.nozzle.outside_mm)} mm"),
        ),
        nozzle_gap_mm=Decimal(5),
        weigh_words=f"The last {word} of each tray of {facts.tray_size}, or one in "
        f"{facts.weigh_every}. After a refill, a pause or a turn: the next one. One odd "
        f"{word}: weigh two more, do not turn.",
        cautions=tuple(c.words for c in cautions_of(facts)),
        checks=first_looks(desk.faults.book),
        places=check_places(desk.faults.book),
        revision=state.revision,
        program=desk.program,
    )


def _dated(state: JobState) -> datetime:
    """Return the time of the last entry, which dates the paper."""
    if state.changed_at is None:
        message = f"job {state.number} has no entry"
        raise LookupError(message)
    return state.changed_at


def _weight_limits(limits: Limits, facts: JobFacts) -> tuple[WeightLimit, ...]:
    """Return the limits as weights on the scale."""
    rows = [
        ("Band, low", limits.band_low_g, f"{plain(facts.band_pct)} % below the aim"),
        ("Band, high", limits.band_high_g, f"{plain(facts.band_pct)} % above the aim"),
        ("Label", limits.label_g, facts.label_words),
        ("Short, below T1", limits.t1_g, "rounded up to the scale's step"),
        ("Far short, below T2", limits.t2_g, "none may go out"),
        ("Brim", limits.brim_g, "at product temperature"),
    ]
    if len(limits.markets) > 1:
        for market in limits.markets:
            rows.append(("T1 alone", market.t1_g, f"under {market.rules}"))
            rows.append(("T2 alone", market.t2_g, f"under {market.rules}"))
    return tuple(
        WeightLimit(name=name, limit_g=value, note=note)
        for name, value, note in rows
        if value is not None
    )


def _formulas(state: JobState) -> str:
    """Return how a weight becomes a content, for each density of the lot."""
    starts = [one.after_container for one in state.lots.fillings] or [0]
    found = [_formula(state.lots.facts_for(state.known, after + 1)) for after in starts]
    if len(found) == 1 or not any(found):
        return found[0]
    word = state.known.container.word
    return "; ".join(
        f"from {word} {after + 1}: {told}" for after, told in zip(starts, found, strict=True)
    )


def _formula(facts: JobFacts) -> str:
    """Return how a weight becomes a content, with the numbers filled in."""
    if facts.unit == "g":
        return ""
    density = float(density_at(facts.product, LABEL_C))
    if facts.product.is_apparent:
        return f"content in mL = net in g / {density:.6g} (density weighed in air, at 20 °C)"
    return (
        f"content in mL = net in g x (1 - 0.0012/8.0) / ({density:.6g} - 0.0012), at 20 °C, "
        "with the buoyancy of air"
    )


def _sample_lines(desk: Desk, state: JobState) -> tuple[LotLine, ...]:
    """Return what the lot test used, in drawing order."""
    facts = state.known
    weighed = sample_of(state, extra={})
    found: list[LotLine] = []
    for which, draw in enumerate(state.samples, start=1):
        for number in draw.containers:
            if number not in weighed:
                continue
            net_g = weighed[number]
            then = state.lots.facts_for(facts, number)
            judged = judge_weight(limits_of(then, desk.rule_sets), net_g)
            content = "" if facts.unit == "g" else f"{float(content_of(then, net_g)):.2f}"
            found.append(
                LotLine(
                    row=f"{facts.container.word} {number}{row_words(state, number)}",
                    shown=f"{net_g} g net",
                    net_g=net_g,
                    content=content,
                    sample=which,
                    state=judged if judged in ("short", "far-short") else "",
                )
            )
    return tuple(found)


def _strikes(state: JobState, entries: list[Entry]) -> tuple[StruckLine, ...]:
    """Return all strike-outs, with who struck what."""
    found: list[StruckLine] = []
    for entry in entries:
        if not isinstance(entry.payload, StruckOut):
            continue
        reason, what = entry.payload.reason, entry.payload.entry_id
        weighed = state.weighings.find(what)
        if weighed is not None:
            fact = weighed.fact
            number = "" if fact.container is None else f", number {fact.container}"
            what = f"{fact.value} {fact.unit} ({fact.purpose}{number})"
        found.append(StruckLine(at=entry.at, person=entry.person, what=what, reason=reason))
    return tuple(found)


def _notes(desk: Desk, state: JobState) -> tuple[str, ...]:
    """Return what else belongs on record."""
    cleaned = cleaned_before(desk, state)
    notes = [cleaned] if cleaned else []
    notes += [
        f"Released and opened again, {at:%Y-%m-%d} by {person}: {fact.reason}. "
        f"{fact.containers} had gone out."
        for at, person, fact in state.reopenings
    ]
    notes += [
        f"Set up, {step.step}: not done, {step.reason}."
        for step in state.steps.values()
        if step.outcome == "cannot"
    ]
    if state.priming is not None:
        notes.append(f"Air out after {state.priming.shots} weighed shots: {state.priming.because}")
    notes += [
        f"Proof of job {one.from_job} held against {one.shots} doses (mean {one.mean_g:.2f} g, s "
        f"{one.sd_g:.2f} g): {one.verdict}. {one.because}"
        for one in state.again.ended
    ]
    notes += [
        f"Proving run {proof.attempt} of this claim: {PROOF_WORDS[proof.verdict].lower()}, "
        f"{proof.shots} shots."
        for proof in state.proofs[:-1]
    ]
    run = state.run
    if run is not None and run.started is not None and run.started.without_proof:
        notes.append(f"The run started without a proof: {run.started.without_proof}.")
    if run is not None and run.finished is not None and run.finished.reason:
        notes.append(f"The run ended at {run.finished.filled}: {run.finished.reason}.")
    if state.trim is not None and state.trim.verdict != "trimmed":
        notes.append(f"Trim taken as it was: {state.trim.because}.")
    word = state.known.container.word
    notes += tare_warnings(desk.rule_sets, state)
    notes += clock_went_back(desk.journal.entries(stream_of(state.number)))
    notes += [complaint_words(one, word) for one in complaints_of_job(desk, state.number)]
    brought = state.files.brought
    if brought is not None:
        notes.append(
            f"Brought from elsewhere as one file, whose chain was checked: job {brought.number} "
            f"of {brought.bench}, last hash there {brought.last_hash}."
        )
    notes += [
        f"{tally.fact.name}: {tally.count} weights that were weighed elsewhere are on record"
        + (
            f", struck out: {tally.struck}."
            if tally.struck
            else "; no proof and no lot test counts them."
        )
        for tally in state.files.files.values()
        if tally.fact.purpose == "elsewhere"
    ]
    return tuple(notes)


def _facts(facts: JobFacts) -> tuple[FactLine, ...]:
    """Return the facts that a proof belongs to."""
    return (
        FactLine(name="Machine", words=facts.machine.name),
        FactLine(name="Cylinder", words=f"{plain(facts.cylinder.capacity_ml)} mL"),
        FactLine(name="Nozzle", words=f"{plain(facts.nozzle.outside_mm)} mm"),
        FactLine(
            name="Weighing scale",
            words=f"{facts.scale.name}, steps of {plain(facts.scale.readability_g)} g",
        ),
        FactLine(name="Lot", words=facts.lot_code),
    )
