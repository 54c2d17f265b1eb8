"""What stands behind the order of the Trim page: the numbers, the assumptions, the source."""

from __future__ import annotations

from typing import Final

from fillwright.jobs.setup.settings import groups_of, mean_within
from fillwright.jobs.trim.unsettled import wanted_probability
from fillwright.jobs.why import Fact, Why
from fillwright.records.fold import JobState
from fillwright.records.units import g_from_kg, ml_from_m3
from fillwright.science.trim import TrimStep

__all__ = ["why_of"]

_COARSE: Final = 1.5
_LIMITS: Final = {
    "wheel": "the wheel, which does not come back to the same place",
    "scale": "the step of the weighing scale",
    "scatter": "the scatter of the doses",
}


def why_of(state: JobState, step: TrimStep) -> Why:
    """Return the figures behind the next act of trimming."""
    facts = state.known
    within = 100 * mean_within(facts)
    per_mark = float(facts.cylinder.ml_per_mark)
    sure = wanted_probability(state)
    wanted = f"mean within ±{within:.3g} % of the aim, probability {sure:.2f}"
    rows = [Fact(name="Wanted", words=wanted)]
    if groups_of(state):
        mean, doubt = g_from_kg(step.mean), g_from_kg(step.mean_sd)
        rows += [
            Fact(name="Mean dose here", words=f"{mean:.5g} g, ±{2 * doubt:.2g} g"),
            Fact(name="It is that close with", words=f"probability {step.p_within:.2f}"),
            Fact(name="Spread of a shot (1 s)", words=_spread(state, step)),
        ]
    rows += [
        Fact(name="Next shot above 101 % of the aim", words=f"probability {step.p_over:.2g}"),
        Fact(name="At best this can reach", words=f"probability {step.ceiling:.2f}"),
        Fact(name="What sets that", words=_LIMITS.get(step.limited_by, step.limited_by)),
        Fact(
            name="Play of the wheel",
            words=f"{ml_from_m3(step.lost_motion) / per_mark:.2g} marks, "
            f"±{2 * ml_from_m3(step.lost_motion_sd) / per_mark:.2g}",
        ),
        Fact(name="Air still leaving at the start", words=f"probability {step.p_air:.2f}"),
    ]
    if step.set_aside:
        shots = ", ".join(str(place + 1) for place in step.set_aside)
        rows.append(Fact(name="Shots that do not fit, left out", words=shots))
    return Why(facts=tuple(rows), assumptions=tuple(step.assumptions), source=step.equation)


def _spread(state: JobState, step: TrimStep) -> str:
    """Return the spread of a shot, or that the step of the scale hides it."""
    sd_g, readability_g = g_from_kg(step.sd), float(state.known.scale.readability_g)
    if readability_g > _COARSE * sd_g:
        return f"hidden by the scale's step; assumed {sd_g:.2g} g"
    return f"{sd_g:.2g} g"
