"""A proving run from a file: the claim, the readings, what they prove, and its words."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.cli.terminal import loud, wrapped
from fillwright.errors import BadInput
from fillwright.questions.proving import ProveAnswer, prove_answer
from fillwright.records.proofwords import proof_headline, spread_words
from fillwright.records.units import kg_from_g, share_from_pct
from fillwright.records.weights import Weights
from fillwright.science import proof

__all__ = ["Claim", "Proved", "proof_text", "prove"]

_FEWEST: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """So many in a hundred doses within so much of the target, at this confidence."""

    target_g: Decimal
    tolerance_pct: Decimal
    content_pct: Decimal
    confidence_pct: Decimal
    readability_g: Decimal

    def words(self) -> str:
        """Return the claim in one line."""
        return (
            f"{self.content_pct} of 100 doses within ±{self.tolerance_pct} % of "
            f"{self.target_g} g, at {self.confidence_pct} % confidence"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """What the readings of a file prove about a claim."""

    claim: Claim
    read: Weights
    answer: ProveAnswer


def prove(claim: Claim, read: Weights) -> Proved:
    """Return what readings prove about a claim.

    Parameters
    ----------
    claim : Claim
        The claim.
    read : Weights
        The readings in the order they were filled.

    Returns
    -------
    Proved
        The verdict with its figures.

    Raises
    ------
    BadInput
        If there are fewer than four readings.
    """
    if len(read.weights) < _FEWEST:
        raise BadInput(
            f"{read.source}: {len(read.weights)} readings prove nothing; give at least "
            f"{_FEWEST}, and rather 30.",
            field=read.source,
            given=len(read.weights),
            allowed=f"at least {_FEWEST} readings",
        )
    found = proof.prove(
        [kg_from_g(value) for value in read.net_g],
        target=kg_from_g(claim.target_g),
        tolerance=kg_from_g(claim.target_g * claim.tolerance_pct / 100),
        content=share_from_pct(claim.content_pct),
        confidence=share_from_pct(claim.confidence_pct),
        readability=kg_from_g(claim.readability_g),
    )
    return Proved(claim=claim, read=read, answer=prove_answer(found))


def proof_text(proved: Proved) -> str:
    """Return what the terminal shows of a proof.

    Parameters
    ----------
    proved : Proved
        The verdict with its figures.

    Returns
    -------
    str
        Lines of text: the verdict first, then the reason, then the figures.
    """
    a, claim = proved.answer, proved.claim
    order = a.order_tests
    far = proved.read.weights[order.farthest - 1]
    half_g = claim.target_g * claim.tolerance_pct / 100
    by_hand = [
        f"claim: {claim.words()}",
        f"limits of the claim: {claim.target_g - half_g:f} to {claim.target_g + half_g:f} g",
        *_spread_lines(a),
        (
            f"between smallest and largest, whatever their shape: {100 * a.free_content:.3g} %; "
            f"{a.free_n} readings for the claim"
        ),
    ]
    steadiness = [
        f"slope {order.slope_per_dose:+.3g} g a dose (p {order.p_two_sided:.3g})",
        f"ratio of neighbours {_figure(order.von_neumann_ratio)}, 2 in a steady run",
        f"its chance in a steady run: p {order.p_von_neumann:.3g}",
        f"correlation of neighbours {_figure(order.lag1)}",
        f"farthest: reading {order.farthest} in row {far.row}, {order.farthest_sds:.3g} sd off",
        f"its chance in a steady run: p {order.p_outlier:.3g}",
    ]
    parts = [loud(proof_headline(a.verdict, claim.tolerance_pct)), wrapped(a.because)]
    for head, lines in (
        ("To check by hand", by_hand),
        ("Was the run steady", steadiness),
        ("How it was read", [f"{proved.read.source}: {proved.read.how}"]),
        ("Assumptions", [f"- {text}" for text in a.assumptions]),
        ("Sources", [f"- {text}" for text in a.sources]),
    ):
        parts += ["", head, *(wrapped(line, lead="  ", indent="    ") for line in lines)]
    return "\n".join(parts)


def _spread_lines(a: ProveAnswer) -> list[str]:
    """Return the lines that need a spread; only its bound where the step hides it."""
    if a.spread_g is None:
        words = spread_words(None, a.spread_upper_g)
        return [
            f"n = {a.n}, mean = {a.mean:.6g} g",
            f"spread of the doses: {words} (95 %); no figure, the scale's step hides it",
        ]
    return [
        f"n = {a.n}, mean = {a.mean:.6g} g, s = {a.sd:.5g} g (divisor n − 1)",
        *([f"spread without the rounding: {a.spread_g:.4g} g"] if a.spread_g != a.sd else []),
        f"half width = k × s = {a.k:.5g} × {a.sd:.5g} = {a.half_width_g:.5g} g",
        f"half width = {a.half_width_percent:.3g} % of the target",
        f"doses stay in {a.mean - a.half_width_g:.6g} to {a.mean + a.half_width_g:.6g} g",
        f"low side alone, k1 = {a.k_one_sided:.5g}: above {a.mean - a.k_one_sided * a.sd:.6g} g",
        f"high side alone: below {a.mean + a.k_one_sided * a.sd:.6g} g",
        f"sd of all doses, 95 %: {a.sd_interval_g[0]:.4g} to {a.sd_interval_g[1]:.4g} g",
        f"share inside the claim that is proved: {100 * a.content_provable:.4g} %",
    ]


def _figure(value: float | None) -> str:
    """Return a figure that may not be there."""
    return "none" if value is None else f"{value:.3g}"
