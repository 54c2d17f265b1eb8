"""A lot from a file: what was given, its contents, and the verdict on it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from fillwright.cli.labels import Label
from fillwright.cli.readings import Empties
from fillwright.knowledge.load import rule_set
from fillwright.knowledge.types import RuleSet
from fillwright.records.weights import Weight, Weights
from fillwright.science.quantity import (
    LotVerdict,
    OwnPlan,
    SuppliedShortage,
    content_volumes,
    lot_test,
    reading_for_volume,
    tare_check,
)

__all__ = ["Case", "Content", "Judged", "Package", "judge"]

Content = Decimal | Fraction
_FAR: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What was given to judge a lot; the density is that at 20 °C, None for a label in g."""

    label: Label
    rules: str
    lot_size: int
    density_g_per_ml: Decimal | None
    is_apparent: bool
    plan: str | None
    supplied: SuppliedShortage | None
    own_plan: OwnPlan | None
    own_source: str
    empties: Empties | None
    first: Weights
    second: Weights | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """A package: its weight, its content in the unit of the label, and whether it counts."""

    weight: Weight
    content: Content
    sample: int
    is_used: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The verdict, with the contents that it was given on, in the unit of the label."""

    case: Case
    rules: RuleSet
    verdict: LotVerdict
    first: tuple[Content, ...]
    second: tuple[Content, ...]
    tare_words: str

    @property
    def used(self) -> int:
        """How many of the first sample the verdict rests on: the plan's, from the first on."""
        required = self.verdict.required_n
        return len(self.first) if required is None else min(required, len(self.first))

    def packages(self) -> list[Package]:
        """Return each weight with its content and what was made of it."""
        found = [
            Package(weight=weight, content=content, sample=1, is_used=place < self.used)
            for place, (weight, content) in enumerate(
                zip(self.case.first.weights, self.first, strict=True)
            )
        ]
        if self.case.second is not None:
            found += [
                Package(weight=weight, content=content, sample=2, is_used=True)
                for weight, content in zip(self.case.second.weights, self.second, strict=True)
            ]
        return found

    def state_of(self, content: Content) -> str:
        """Return ``short``, ``far-short`` or nothing, compared exactly."""
        exact = Fraction(content)
        if self.verdict.t2_limit is not None and exact < Fraction(self.verdict.t2_limit):
            return "far-short"
        if self.verdict.t1_limit is not None and exact < Fraction(self.verdict.t1_limit):
            return "short"
        return ""

    def doubt(self) -> str:
        """Return a warning where the mean is nowhere near the label, or nothing."""
        mean, nominal = self.verdict.mean, float(self.case.label.nominal)
        if mean is None or nominal / _FAR < mean < nominal * _FAR:
            return ""
        what = "unit and tare" if self.case.density_g_per_ml is None else "unit, tare and density"
        return f"The mean is {mean / nominal:.3g} times what the label declares: check {what}."

    def content_formula(self) -> str:
        """Return how a net weight becomes a content, with the numbers filled in."""
        density = self.case.density_g_per_ml
        if density is None:
            return ""
        if self.case.is_apparent:
            return f"volume at 20 °C = net / {density} g/mL, density weighed in air"
        return (
            f"volume at 20 °C = net × (1 − 0.0012/8.0) / ({density} − 0.0012) g/mL, "
            "corrected for the buoyancy of air"
        )

    def as_read(self) -> dict[str, Any]:
        """Return how the file was read, for JSON."""
        case = self.case
        return {
            "as_read": {
                "file": case.first.source,
                "how": case.first.how,
                "label": f"{case.label.nominal:f} {case.label.unit}",
                "content_formula": self.content_formula() or None,
                "tare_g": None if case.empties is None else f"{case.empties.mean_g:f}",
                "tare_check": self.tare_words or None,
                "doubt": self.doubt() or None,
                "net_g": [f"{value:f}" for value in case.first.net_g],
                "second_net_g": None
                if case.second is None
                else [f"{value:f}" for value in case.second.net_g],
            }
        }


def judge(case: Case) -> Judged:
    """Return the verdict on a lot.

    Parameters
    ----------
    case : Case
        What was given.

    Returns
    -------
    Judged
        The verdict and the contents.

    Raises
    ------
    BadInput
        If the rule set is not known, or the figures contradict each other.
    """
    rules = rule_set(case.rules)
    first = _contents(case, case.first)
    second = () if case.second is None else _contents(case, case.second)
    verdict = lot_test(
        rules,
        first,
        nominal=case.label.nominal,
        unit=case.label.unit,
        lot_size=case.lot_size,
        plan=case.plan,
        second_sample=second,
        supplied=case.supplied,
        own_plan=case.own_plan,
    )
    return Judged(
        case=case,
        rules=rules,
        verdict=verdict,
        first=first,
        second=second,
        tare_words=_tare_words(case, verdict),
    )


def _contents(case: Case, weights: Weights) -> tuple[Content, ...]:
    """Return net weights as contents in the unit of the label."""
    if case.density_g_per_ml is None:
        return weights.net_g
    return content_volumes(
        weights.net_g,
        density_20_g_per_ml=case.density_g_per_ml,
        buoyancy=not case.is_apparent,
    )


def _tare_words(case: Case, verdict: LotVerdict) -> str:
    """Return what is to be said of a mean tare that was weighed, or nothing."""
    empties, shortage = case.empties, verdict.t
    if empties is None or empties.sd_g is None or empties.count is None or shortage is None:
        return ""
    shortage_g: Content = shortage
    if case.density_g_per_ml is not None:
        shortage_g = reading_for_volume(
            shortage,
            density_20_g_per_ml=case.density_g_per_ml,
            buoyancy=not case.is_apparent,
        )
    return tare_check(shortage_g=shortage_g, tare_sd_g=empties.sd_g, empties=empties.count).because
