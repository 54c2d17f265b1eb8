"""The charts of a job, filled from its state; `report` draws them for page and paper."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Final, cast

import numpy as np

from fillwright.jobs.desk import Desk
from fillwright.jobs.limits import content_of, limits_of
from fillwright.jobs.match.stage import MatchLook
from fillwright.jobs.release.lot import view_of
from fillwright.jobs.trim.stage import TrimLook
from fillwright.jobs.words import decimals_of
from fillwright.records.charts import (
    CylinderLane,
    CylinderLanes,
    Dose,
    DoseChart,
    DoseState,
    HeldSpan,
    LimitMark,
    LotChart,
    ProofChart,
    ProofShot,
    VolumeScale,
)
from fillwright.records.fold import JobState
from fillwright.records.runbook import RunBook

__all__ = ["cylinder_lanes", "dose_chart", "lot_chart", "proof_chart", "volume_scale"]

_SHOWN: Final = 200
_COLUMNS: Final = 600
_MARKS: Final = 60
_NOT_DRAWN: Final = ("not-steady", "scale-too-coarse", "stopped")
_STATES: Final = ("on", "low", "high", "short", "far-short", "overfull")


def dose_chart(desk: Desk, state: JobState) -> DoseChart:
    """Return the row of containers; its size does not grow with the batch.

    The last containers are all there; of the run before them every column keeps its least
    and its greatest weight, so that nothing that stood out is lost.
    """
    facts = state.known
    limits = limits_of(facts, desk.rule_sets)
    first = max(1, state.filled_to - _SHOWN + 1)
    book = state.run
    early = _thinned(book, before=first) if book is not None else ()
    named = (("T1", limits.t1_g), ("T2", limits.t2_g))
    return DoseChart(
        filled=state.filled_to,
        tray_size=facts.tray_size,
        doses=(*early, *_window(state, first)),
        aim_g=limits.aim_g,
        low_g=limits.band_low_g,
        high_g=limits.band_high_g,
        limits=tuple(LimitMark(name=n, limit_g=g) for n, g in named if g is not None),
        held=tuple(HeldSpan(first=s.first, last=s.last) for s in state.open_spans[-_MARKS:]),
        posts=tuple(book.posts[-_MARKS:]) if book is not None else (),
        weighed=len(book.all_containers) if book is not None else None,
        decimals=decimals_of(facts.scale.readability_g),
        word=facts.container.word,
        words=f"{facts.container.word}s",
    )


def proof_chart(state: JobState) -> ProofChart:
    """Return the shots of the proving run against the claim; figures only after the last."""
    shots = [s for s in state.proof_shots if not s.struck]
    # A drum that came later moved the aim of what came after it, not that of these shots.
    first = min((s.fact.container for s in shots if s.fact.container), default=None)
    facts = state.lots.facts_for(state.known, first)
    half = facts.aim_g * facts.claim_pct / 100
    proof = state.proof
    width = None
    if proof is not None and proof.verdict not in _NOT_DRAWN:
        width = proof.half_width_g
    return ProofChart(
        shots=tuple(
            ProofShot(net_g=s.fact.net_g, is_set_aside=bool(s.fact.set_aside)) for s in shots
        ),
        planned=state.proof_plan.shots if state.proof_plan else 0,
        aim_g=facts.aim_g,
        claim_low_g=facts.aim_g - half,
        claim_high_g=facts.aim_g + half,
        claim_pct=facts.claim_pct,
        within_low_g=None if proof is None or width is None else proof.mean_g - width,
        within_high_g=None if proof is None or width is None else proof.mean_g + width,
        decimals=decimals_of(facts.scale.readability_g),
    )


def volume_scale(state: JobState, seen: TrimLook) -> VolumeScale:
    """Return the machine's own scale around the setting."""
    machine = state.known.machine
    is_turn = seen.face == "turn"
    return VolumeScale(
        now_marks=seen.now_marks,
        set_marks=seen.set_marks if is_turn else None,
        likely_low_marks=seen.low_marks,
        likely_high_marks=seen.high_marks,
        via_marks=seen.via_marks if is_turn else None,
        step_marks=machine.step_marks,
        last_mark=machine.last_mark,
    )


def cylinder_lanes(seen: MatchLook) -> CylinderLanes:
    """Return the cylinders owned against the dose."""
    return CylinderLanes(
        dose_ml=seen.dose_ml,
        lanes=tuple(
            CylinderLane(
                capacity_ml=lane.cylinder.capacity_ml, words=lane.words, is_taken=lane.is_fitted
            )
            for lane in seen.lanes
        ),
    )


def lot_chart(desk: Desk, state: JobState) -> LotChart | None:
    """Return the sample against label, T1 and T2; None while nothing is weighed."""
    facts = state.known
    lot_view = view_of(desk, state)
    sample = [n for n in lot_view.drawn if n in lot_view.weighed_g]
    if not sample:
        return None
    shortage = limits_of(facts, desk.rule_sets).shortage
    lot = state.lot
    contents = [
        float(Fraction(content_of(state.lots.facts_for(facts, n), lot_view.weighed_g[n])))
        for n in sample
    ]
    return LotChart(
        values_label_unit=tuple(contents),
        nominal=facts.nominal,
        mean=lot.mean if lot is not None else None,
        limit=lot.limit if lot is not None else None,
        t1_label_unit=shortage.t1_limit,
        t2_label_unit=shortage.t2_limit,
        unit=facts.unit,
        decimals=decimals_of(facts.scale.readability_g),
        words=f"{facts.container.word}s",
    )


def _window(state: JobState, first: int) -> tuple[Dose, ...]:
    """Return the weighed containers from `first` on."""
    found: list[Dose] = []
    for weighed in reversed(state.weighings):
        fact = weighed.fact
        if fact.container is None or fact.purpose not in ("proof", "dose"):
            continue
        if fact.container < first:
            break
        if weighed.counts:
            judged = fact.state if fact.state in _STATES else "on"
            found.append(
                Dose(
                    container=fact.container,
                    net_g=fact.net_g,
                    state=cast("DoseState", judged),
                )
            )
    return tuple(reversed(found))


def _thinned(book: RunBook, *, before: int) -> tuple[Dose, ...]:
    """Return the least and the greatest weight of each column of the run before a container.

    A column is wider by doubling alone, so that those that are full stay as the run goes on.
    """
    containers = np.array(book.all_containers)
    early = int(np.searchsorted(containers, float(before)))
    if early == 0:
        return ()
    wide = 1 << max(-(-early // _COLUMNS) - 1, 0).bit_length()
    nets = np.full(-(-early // wide) * wide, np.nan)
    nets[:early] = book.all_nets_g[:early]
    columns = nets.reshape(-1, wide)
    starts = np.arange(len(columns)) * wide
    least, most = np.nanargmin(columns, axis=1), np.nanargmax(columns, axis=1)
    picked = np.union1d(starts + least, starts + most)
    return tuple(map(_dose, containers[picked].astype(int).tolist(), nets[picked].tolist()))


@lru_cache(maxsize=4 * _COLUMNS)
def _dose(container: int, net_g: float) -> Dose:
    """Return a weight that was kept before the last ones, as the page drew it before."""
    return Dose(container=container, net_g=Decimal(str(net_g)))
