"""Are the tare and the weighing scale good enough for the tolerable shortage.

Requirements come from the rule sets; the shares of the shortage that the tare may use up are our
own choice, marked so.  All comparisons are exact: squares are compared, no root is taken.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from fillwright.knowledge.types import RuleSet
from fillwright.science.quantity.exact import Exact, above_zero, ceiling, not_negative
from fillwright.science.quantity.plans import check_count

__all__ = ["ScaleFit", "ScaleVerdict", "TareCheck", "TareVerdict", "scale_fit", "tare_check"]

_SCATTER_SHARE = Fraction(1, 4)
_MEAN_SHARE = Fraction(1, 50)
_FEWEST_EMPTIES = 10


class TareVerdict(StrEnum):
    """Whether one mean tare will do."""

    ENOUGH = "enough"
    MORE_EMPTIES = "more-empties"
    WEIGH_EACH = "weigh-each"


class ScaleVerdict(StrEnum):
    """Whether the weighing scale will do."""

    ENOUGH = "enough"
    TOO_COARSE = "too-coarse"
    NO_DIVISION = "no-division"


@dataclass(frozen=True, slots=True, kw_only=True)
class TareCheck:
    """Whether one mean tare is good enough.

    Attributes
    ----------
    verdict : TareVerdict
        What to do.
    scatter_ok : bool
        Whether the scatter of single tares is at most a quarter of the shortage.
    mean_ok : bool
        Whether the standard error of the mean tare is at most a fiftieth of the shortage.
    u_tare_g : float
        Standard error of the mean tare: the same error in every package. [g]
    u_tare_limit_g : Fraction
        Most it may be. [g]
    scatter_limit_g : Fraction
        Most the scatter of single tares may be. [g]
    empties_needed : int
        Empties that make the mean tare good enough.
    rule : str
        Where the two limits come from.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        One sentence.
    """

    verdict: TareVerdict
    scatter_ok: bool
    mean_ok: bool
    u_tare_g: float
    u_tare_limit_g: Fraction
    scatter_limit_g: Fraction
    empties_needed: int
    rule: str
    assumptions: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleFit:
    """Whether a weighing scale is good enough for a label quantity.

    Attributes
    ----------
    verdict : ScaleVerdict
        Whether the division given will do; without one, whether any will.
    largest_division_g : float or None
        Largest division that passes; None where none does. [g]
    largest_usual_division_g : Decimal or None
        Largest one, two or five times a power of ten that passes. [g]
    expanded_uncertainty_g : float or None
        Twice the standard uncertainty of a content with the division given. [g]
    allowed_g : Fraction
        Most the expanded uncertainty, or the division, may be. [g]
    rule : str
        The requirement and its source.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        One sentence.
    """

    verdict: ScaleVerdict
    largest_division_g: float | None
    largest_usual_division_g: Decimal | None
    expanded_uncertainty_g: float | None
    allowed_g: Fraction
    rule: str
    assumptions: tuple[str, ...]
    because: str


def tare_check(*, shortage_g: Exact, tare_sd_g: Exact, empties: int) -> TareCheck:
    """Say whether one mean tare is good enough for all packages.

    Parameters
    ----------
    shortage_g : Decimal, Fraction or int
        Tolerable shortage, as a weight. [g]
    tare_sd_g : Decimal, Fraction or int
        Standard deviation of single tares. [g]
    empties : int
        Empties weighed for the mean tare.

    Returns
    -------
    TareCheck
        The verdict and how many empties would do.

    Raises
    ------
    BadInput
        If the shortage is not above zero, the deviation is negative, or there are no empties.

    Notes
    -----
    Scatter: s_t <= T/4.  Mean: s_t/√m <= T/50, so m >= (50 s_t/T)², and at least ten.  The quarter
    and the ten are those of OIML R 87, Annex B, from memory; the fiftieth is our own choice.
    """
    shortage = above_zero(shortage_g, "shortage_g")
    scatter = not_negative(tare_sd_g, "tare_sd_g")
    check_count(empties, "empties", 1)
    scatter_ok = scatter <= _SCATTER_SHARE * shortage
    needed = max(_FEWEST_EMPTIES, ceiling((scatter / (_MEAN_SHARE * shortage)) ** 2))
    mean_ok = scatter**2 <= empties * (_MEAN_SHARE * shortage) ** 2
    if not scatter_ok:
        verdict = TareVerdict.WEIGH_EACH
        because = (
            f"Tares scatter by {float(scatter):.3g} g, more than a quarter of "
            f"{float(shortage):g} g: weigh each container before it is filled."
        )
    elif empties < needed:
        verdict = TareVerdict.MORE_EMPTIES
        because = f"{empties} empties are too few for the mean tare: weigh {needed}."
    else:
        verdict = TareVerdict.ENOUGH
        because = f"{empties} empties are enough for the mean tare; {needed} are needed."
    return TareCheck(
        verdict=verdict,
        scatter_ok=scatter_ok,
        mean_ok=mean_ok,
        u_tare_g=float(scatter) / math.sqrt(empties),
        u_tare_limit_g=_MEAN_SHARE * shortage,
        scatter_limit_g=_SCATTER_SHARE * shortage,
        empties_needed=needed,
        rule="s_t <= T/4 and ten empties: OIML R 87, Annex B, from memory; "
        "s_t/√m <= T/50: our own choice",
        assumptions=("The empties come from the containers in use; a new carton starts anew.",),
        because=because,
    )


def scale_fit(
    rules: RuleSet,
    *,
    shortage_g: Exact,
    division_g: Exact | None = None,
    scale_uncertainty_g: Exact = 0,
    tare_uncertainty_g: Exact = 0,
    nominal_g: Exact = 0,
    density_uncertainty: Exact = 0,
    capacity_g: Exact | None = None,
) -> ScaleFit:
    """Say whether a weighing scale is good enough, and which division would be.

    Parameters
    ----------
    rules : RuleSet
        The rule set, with what it asks of the scale.
    shortage_g : Decimal, Fraction or int
        Tolerable shortage, as a weight. [g]
    division_g : Decimal, Fraction or int, optional
        Division of the scale at hand. [g]
    scale_uncertainty_g : Decimal, Fraction or int
        Standard uncertainty of the scale apart from its division. [g]
    tare_uncertainty_g : Decimal, Fraction or int
        Standard uncertainty of one tare. [g]
    nominal_g : Decimal, Fraction or int
        Label quantity as a weight, for the share of the density. [g]
    density_uncertainty : Decimal, Fraction or int
        Standard uncertainty of the density as a share of it. [1]
    capacity_g : Decimal, Fraction or int, optional
        Capacity of the scale, where the rules ask for a number of divisions. [g]

    Returns
    -------
    ScaleFit
        The verdict and the largest division that passes.

    Raises
    ------
    BadInput
        If the shortage, the division or the capacity is not above zero, or an uncertainty is
        negative.

    Notes
    -----
    Where the rules limit the uncertainty: 2 √(u_scale² + u_tare² + (Qn u_ρ/ρ)² + 2 d²/12) <= T/5,
    gross and tare each rounded to d; the budget is our own, the limit the rules'.  Where the rules
    limit the division: d <= T/6 and at least 100 divisions.
    """
    shortage = above_zero(shortage_g, "shortage_g")
    division = None if division_g is None else above_zero(division_g, "division_g")
    rest = (
        not_negative(scale_uncertainty_g, "scale_uncertainty_g") ** 2
        + not_negative(tare_uncertainty_g, "tare_uncertainty_g") ** 2
        + (
            not_negative(nominal_g, "nominal_g")
            * not_negative(density_uncertainty, "density_uncertainty")
        )
        ** 2
    )
    square, allowed = _largest_square(rules, shortage, rest)
    words = _rule_words(rules)
    if capacity_g is not None and rules.scale.divisions_at_least is not None:
        by_number = above_zero(capacity_g, "capacity_g") / rules.scale.divisions_at_least
        square = min(square, by_number**2)
    usual = _usual_division(square) if square > 0 else None
    verdict = ScaleVerdict.ENOUGH
    if usual is None:
        verdict = ScaleVerdict.NO_DIVISION
        because = "The uncertainty of scale, tare and density alone is more than is allowed."
    elif division is not None and division**2 > square:
        verdict = ScaleVerdict.TOO_COARSE
        because = f"A division of {float(division):g} g is too coarse; {usual} g would do."
    else:
        because = f"A division of {usual} g or finer is good enough."
    return ScaleFit(
        verdict=verdict,
        largest_division_g=math.sqrt(square) if square > 0 else None,
        largest_usual_division_g=usual,
        expanded_uncertainty_g=None if division is None else 2 * math.sqrt(rest + division**2 / 6),
        allowed_g=allowed,
        rule=f"{words}; {rules.source_text(rules.scale.source)}",
        assumptions=("Gross and tare are each rounded to the division.",),
        because=because,
    )


def _largest_square(
    rules: RuleSet, shortage: Fraction, rest: Fraction
) -> tuple[Fraction, Fraction]:
    """Return the square of the largest division, and what the rules allow."""
    number = rules.scale.divisions_in_shortage
    if number is not None:
        return (shortage / number) ** 2, shortage / number
    allowed = Fraction(rules.scale.uncertainty_share or 0) * shortage
    return 6 * ((allowed / 2) ** 2 - rest), allowed


def _rule_words(rules: RuleSet) -> str:
    """Say what the rules ask of the scale."""
    scale = rules.scale
    if scale.divisions_in_shortage is None:
        return f"expanded uncertainty of a content at most {scale.uncertainty_share} T"
    return (
        f"division at most T/{scale.divisions_in_shortage}, "
        f"at least {scale.divisions_at_least} divisions"
    )


def _usual_division(square: Fraction) -> Decimal:
    """Return the largest one, two or five times a power of ten whose square is not above."""
    power = math.floor(math.log10(math.sqrt(square))) + 1
    steps = (Decimal(f"{digit}E{exponent}") for exponent in _down(power) for digit in (5, 2, 1))
    step = next(step for step in steps if Fraction(step) ** 2 <= square)
    return Decimal(f"{step:f}")


def _down(power: int) -> range:
    """Return exponents from one power of ten downward, far enough to find a step."""
    return range(power, power - 4, -1)
