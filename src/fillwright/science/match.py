"""Match: do product, dose, container and machine suit, with which parts, and how sure is that.

Every rule is run, the first "no" or not, so that a person buys once. Each figure is worked out
with every input at both ends of its range; where the ends differ the answer is "with care" and
names the input to measure.
"""

from __future__ import annotations

from typing import Final

from fillwright.errors import BadInput
from fillwright.science.given import above_zero
from fillwright.science.match_lanes import rows_of
from fillwright.science.match_parts import (
    container_rule,
    cylinder_rule,
    fits_rule,
    holds_rule,
    particle_rule,
    seal_rule,
    take_cylinder,
    take_nozzle,
    take_valve,
    valve_rule,
)
from fillwright.science.match_run import Flowing
from fillwright.science.match_types import (
    Case,
    Match,
    MatchOutcome,
    MatchVerdict,
    Nearest,
    Reason,
)
from fillwright.science.match_words import figured
from fillwright.science.unit_slips import refuse_slip, viscosity_slip

__all__ = ["judge_match"]

_HOT: Final = 45.0
RULES: Final = (
    "cylinder", "container", "nozzle-fits", "nozzle-holds", "clean-fill", "particles", "valve",
    "seals", "hopper", "recharge", "drive", "rating", "claim",
)  # fmt: skip
"""Every rule, in the order in which they are told."""

OK, CARE, NO = MatchOutcome.OK, MatchOutcome.WITH_CARE, MatchOutcome.NO


def judge_match(case: Case) -> Match:
    """Return whether a product, a dose, a container and a machine suit.

    Parameters
    ----------
    case : Case
        What is known; a rule that lacks input is not judged, and listed.

    Returns
    -------
    Match
        Verdict, parts, a reason with its range for every rule, and what would do instead.

    Raises
    ------
    BadInput
        If there is no cylinder or nozzle, a figure is not above zero, or one is so far from
        what a benchtop filler meets that another unit was likely meant.

    Notes
    -----
    Thresholds are judgement or common practice, as each rule says. Ranges: the root of the sum
    of squares of what each input does alone (JCGM 100:2008, from memory).
    """
    _check(case)
    rows = rows_of(case)
    taken = take_cylinder(case)
    nozzle = take_nozzle(case)
    found: list[tuple[Reason, tuple[Nearest, ...]] | None] = [
        cylinder_rule(case, rows, taken),
        container_rule(case, rows),
        fits_rule(case, rows, nozzle),
        None if nozzle is None else holds_rule(case, rows, nozzle),
        particle_rule(case, nozzle),
    ]
    valve = take_valve(case)
    found.append(None if valve is None else valve_rule(rows, valve))
    seals: tuple[str, ...] | None = None
    if case.seals:
        told, near, seals = seal_rule(case)
        found.append((told, near))
    flow = Flowing(case, rows, taken, nozzle)
    found += flow.rules()
    judged = sorted(
        (one for one in found if one is not None), key=lambda f: RULES.index(f[0].rule)
    )
    reasons = tuple(reason for reason, _ in judged)
    nearest = tuple(near for _, some in judged for near in some)
    _, thick, index = (float(one) for one in case.product.curve.figures)
    slip = viscosity_slip(thick, index=index)
    verdict = _verdict(reasons)
    because = _because(verdict, reasons, nearest)
    return Match(
        verdict=verdict,
        because=f"{slip} {because}" if slip else because,
        cylinder=None if taken is None else taken[0].name,
        nozzle=None if nozzle is None else nozzle.name,
        hopper=None if flow.hopper is None else flow.hopper.name,
        valve=valve,
        shots=None if taken is None else taken[1].count,
        share=None if taken is None else taken[1].share,
        seals=seals,
        reasons=reasons,
        nearest=nearest,
        expected=flow.expected,
        matters_most=_matters_most(reasons),
        not_judged=tuple(r for r in RULES if r not in {reason.rule for reason in reasons}),
        cautions=_cautions(case),
    )


def _check(case: Case) -> None:
    """Refuse a case without parts, and figures that look like another unit."""
    for name, parts in (("cylinders", case.cylinders), ("nozzles", case.nozzles)):
        if not parts:
            raise BadInput(
                f"machine.{name} is empty; give at least one.",
                field=f"machine.{name}",
                given=[],
                allowed="one or more",
                code="missing",
            )
    above_zero(case.dose, "dose_m3")
    cubic, metre = ("m³", "mL", 1e-6), ("m", "mm", 1e-3)
    refuse_slip(case.dose, "dose_m3", low=1e-8, high=0.1, units=cubic)
    refuse_slip(case.neck_bore, "container.neck_bore_m", low=5e-4, high=1.0, units=metre)
    refuse_slip(case.brimful, "container.volume_m3", low=1e-8, high=0.5, units=cubic)
    product = case.product
    heavy = ("kg/m³", "g/mL", 1e3)
    refuse_slip(product.density, "product.density_kg_m3", low=200.0, high=6000.0, units=heavy)
    pull = ("N/m", "mN/m", 1e-3)
    refuse_slip(
        product.surface_tension, "product.surface_tension_n_m", low=0.005, high=0.6, units=pull
    )
    for place, nozzle in enumerate(case.nozzles):
        for end, size in (("bore_m", nozzle.bore), ("outside_m", nozzle.outside)):
            where = f"machine.nozzles[{place}].{end}"
            refuse_slip(size, where, low=1e-4, high=0.5, units=metre)
        if nozzle.bore > nozzle.outside:
            raise BadInput(
                f"machine.nozzles[{place}]: the bore is wider than the outside.",
                field=f"machine.nozzles[{place}].bore_m",
                given=nozzle.bore,
                allowed=f"up to {nozzle.outside:g}",
                code="inconsistent",
            )


def _verdict(reasons: tuple[Reason, ...]) -> MatchVerdict:
    """Return the verdict of all rules: the worst decides."""
    outcomes = {reason.outcome for reason in reasons}
    if NO in outcomes:
        return MatchVerdict.DOES_NOT_SUIT
    return MatchVerdict.SUITS_WITH_CARE if CARE in outcomes else MatchVerdict.SUITS


def _because(
    verdict: MatchVerdict, reasons: tuple[Reason, ...], nearest: tuple[Nearest, ...]
) -> str:
    """Return the sentence of the first rule that decides, with what would do."""
    if verdict is MatchVerdict.SUITS:
        return "Everything that was judged suits."
    wanted = NO if verdict is MatchVerdict.DOES_NOT_SUIT else CARE
    first = next(reason for reason in reasons if reason.outcome is wanted)
    near = next((one for one in nearest if one.rule == first.rule), None)
    return first.because if near is None else f"{first.because} {near.words}"


def _matters_most(reasons: tuple[Reason, ...]) -> str | None:
    """Return the input that moves a rule most for how far that rule is from turning."""
    most = max(reasons, key=lambda reason: reason.pull)
    return most.matters_most


def _cautions(case: Case) -> tuple[str, ...]:
    """Return what to mind with this product."""
    found = []
    warm = case.product.temperature
    if warm is not None and warm > _HOT:
        found.append(f"Hot: {figured(warm)} °C. Gloves and sleeve, lid on.")
    if case.product.is_foaming:
        found.append("Foams: fill slowly and from below; let it settle before weighing.")
    return tuple(found)
