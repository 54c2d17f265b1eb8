"""Questions of net contents that judge: the tolerable shortage and the test of a lot."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from pydantic import Field, GetJsonSchemaHandler, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from fillwright.questions.fields import (
    Answer,
    Count,
    Exact,
    ExactFigure,
    Given,
    RulesName,
    Text,
    UnitName,
    Values,
)

if TYPE_CHECKING:
    from fillwright.science.quantity import LotVerdict, OwnPlan, SuppliedShortage

__all__ = ["lot_answer", "lot_test", "shortage"]

MOST_PACKAGES: Final = 10_000_000
Content = Annotated[Decimal, Exact(at_least=0)]
Label = Annotated[Decimal, Exact(above=0, at_most=1_000_000)]
PlanName = Literal["single", "double", "destructive", "census", "own"]
Basis = Literal["R", "C", "M", "D", "S"]


class MavSupplied(Given):
    """A maximum allowable variation from the document; a bare number is taken as its value."""

    value: Annotated[Decimal, Exact(above=0)] = Field(description="The variation.")
    edition: Text = Field(default="not stated", description="Edition of the document.")
    page: Text = Field(default="not stated", description="Page or table.")

    @model_validator(mode="before")
    @classmethod
    def _bare_number(cls, given: Any) -> Any:  # noqa: ANN401  anything may come in
        return given if isinstance(given, dict) else {"value": given}

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core_schema: CoreSchema, handler: GetJsonSchemaHandler, /
    ) -> JsonSchemaValue:
        form = handler.resolve_ref_schema(handler(core_schema))
        return {"anyOf": [form, form["properties"]["value"]]}

    def as_science(self) -> SuppliedShortage:
        """Return the figure as science takes it."""
        from fillwright.science.quantity import SuppliedShortage  # noqa: PLC0415  when asked

        return SuppliedShortage(value=self.value, edition=self.edition, page=self.page)


class OwnPlanGiven(Given):
    """A sampling plan typed from a document."""

    n: Annotated[int, Count(at_least=2, at_most=MOST_PACKAGES)] = Field(
        description="Packages drawn."
    )
    k: Annotated[Decimal, Exact(at_least=0, at_most=1000)] = Field(
        description="Sample correction factor."
    )
    acceptance_number: Annotated[int, Count(at_least=0, at_most=MOST_PACKAGES)] = Field(
        description="Most packages short by more than the shortage that still accept."
    )
    t2_allowed: Annotated[int, Count(at_least=0, at_most=MOST_PACKAGES)] = Field(
        description="Packages that may be short by more than twice the shortage."
    )

    def as_science(self) -> OwnPlan:
        """Return the plan as science takes it."""
        from fillwright.science.quantity import OwnPlan  # noqa: PLC0415  when asked

        return OwnPlan(
            n=self.n,
            k=self.k,
            acceptance_number=self.acceptance_number,
            t2_allowed=self.t2_allowed,
        )


class ShortageGiven(Given):
    """A label under a rule set."""

    rules: RulesName = Field(description="Rule set.", examples=["EU-76/211"])
    nominal: Label = Field(description="Declared quantity.", examples=[250])
    unit: UnitName = Field(description="Unit of the label.", examples=["mL"])
    mav_supplied: MavSupplied | None = Field(
        default=None, description="Variation typed from the document, where no table is held."
    )


class ShortageAnswer(Answer):
    """What one package may be short by."""

    verdict: Literal["ok", "out-of-scope", "not-available"]
    t: ExactFigure | None = Field(serialization_alias="T")
    t_raw: ExactFigure | None = Field(serialization_alias="T_raw")
    t1_limit: ExactFigure | None = Field(serialization_alias="T1_limit")
    t2_limit: ExactFigure | None = Field(serialization_alias="T2_limit")
    row: str | None
    basis: Basis | None
    rounding_step: ExactFigure | None
    rounding_basis: Basis | None
    rule: str
    notes: tuple[str, ...]


def shortage(given: ShortageGiven) -> ShortageAnswer:
    """Answer with the tolerable shortage of one package."""
    from fillwright.knowledge.load import rule_set  # noqa: PLC0415  loaded when asked
    from fillwright.science import quantity  # noqa: PLC0415  loaded when asked

    found = quantity.tolerable_shortage(
        rule_set(given.rules),
        given.nominal,
        unit=given.unit,
        supplied=None if given.mav_supplied is None else given.mav_supplied.as_science(),
    )
    return ShortageAnswer(
        verdict=found.verdict.value,
        t=found.t,
        t_raw=found.t_raw,
        t1_limit=found.t1_limit,
        t2_limit=found.t2_limit,
        row=found.row,
        basis=None if found.basis is None else found.basis.value,
        rounding_step=found.rounding_step,
        rounding_basis=None if found.rounding_basis is None else found.rounding_basis.value,
        rule=found.rule,
        notes=found.notes,
        because=found.because,
        assumptions=found.assumptions,
        sources=found.sources,
    )


class LotTestGiven(Given):
    """The sample of a lot under a rule set; the sample stands in random drawing order."""

    rules: RulesName = Field(description="Rule set.", examples=["EU-76/211"])
    nominal: Label = Field(description="Declared quantity.", examples=[250])
    unit: UnitName = Field(description="Unit of label and sample.", examples=["mL"])
    lot_size: Annotated[int, Count(at_least=1, at_most=MOST_PACKAGES)] = Field(
        description="Packages in the lot.", examples=[420]
    )
    sample: Values[Content] = Field(
        description="Actual contents in random drawing order, corrected to 20 °C in mL.",
        examples=[["250.4", "249.8", "251.1", "250.0"] * 7 + ["250.3", "249.6"]],
    )
    plan: PlanName | None = Field(
        default=None,
        description="Where the rule set has a choice; double for the EU, single for the UK "
        "when left out.",
    )
    second_sample: Values[Content] | None = Field(
        default=None, description="Second sample of a double plan."
    )
    mav_supplied: MavSupplied | None = Field(
        default=None, description="Variation typed from the document, where no table is held."
    )
    own_plan: OwnPlanGiven | None = Field(
        default=None, description="Figures of the plan own, typed from a document."
    )


class LotTestAnswer(Answer):
    """The verdict on a lot with every figure behind it; what does not apply is null."""

    verdict: Literal[
        "accepted",
        "rejected",
        "second-sample",
        "sample-too-small",
        "no-plan",
        "out-of-scope",
        "not-evaluated",
    ]
    compliant: bool | None
    t: ExactFigure | None = Field(serialization_alias="T")
    t_raw: ExactFigure | None = Field(serialization_alias="T_raw")
    t1_limit: ExactFigure | None = Field(serialization_alias="T1_limit")
    t2_limit: ExactFigure | None = Field(serialization_alias="T2_limit")
    t_row: str | None = Field(serialization_alias="T_row")
    t_basis: Basis | None = Field(serialization_alias="T_basis")
    plan: PlanName | None
    plan_row: str | None
    plan_basis: Basis | None
    required_n: int | None
    mean_n: int | None
    missing: int | None
    cannot_pass: bool
    mean: float | None
    mean_error: float | None
    s: float | None
    k: float | None
    limit: float | None
    margin: float | None
    mean_ok: bool | None
    count_below_t1: int | None = Field(serialization_alias="count_below_T1")
    count_below_t2: int | None = Field(serialization_alias="count_below_T2")
    acceptance_number: int | None
    rejection_number: int | None
    individual_test: Literal["accepted", "rejected", "second-sample"] | None
    t2_ok: bool | None
    count_below_t1_total: int | None = Field(serialization_alias="count_below_T1_total")
    acceptance_number_2: int | None
    rejection_number_2: int | None
    mav_limit: ExactFigure | None
    count_beyond_mav: int | None
    sample_error_limit: float | None
    rule: str
    notes: tuple[str, ...]


def lot_test(given: LotTestGiven) -> LotTestAnswer:
    """Answer with the verdict on a lot."""
    from fillwright.knowledge.load import rule_set  # noqa: PLC0415  loaded when asked
    from fillwright.science import quantity  # noqa: PLC0415  loaded when asked

    found = quantity.lot_test(
        rule_set(given.rules),
        given.sample,
        nominal=given.nominal,
        unit=given.unit,
        lot_size=given.lot_size,
        plan=given.plan,
        second_sample=given.second_sample or (),
        supplied=None if given.mav_supplied is None else given.mav_supplied.as_science(),
        own_plan=None if given.own_plan is None else given.own_plan.as_science(),
    )
    return lot_answer(found)


def lot_answer(found: LotVerdict) -> LotTestAnswer:
    """Return a verdict on a lot in the form of the answer.

    Parameters
    ----------
    found : LotVerdict
        What `fillwright.science.quantity.lot_test` returned.

    Returns
    -------
    LotTestAnswer
        The same, ready for JSON.
    """
    return LotTestAnswer(
        verdict=found.verdict.value,
        compliant=found.compliant,
        t=found.t,
        t_raw=found.t_raw,
        t1_limit=found.t1_limit,
        t2_limit=found.t2_limit,
        t_row=found.t_row,
        t_basis=None if found.t_basis is None else found.t_basis.value,
        plan=None if found.plan is None else found.plan.value,
        plan_row=found.plan_row,
        plan_basis=None if found.plan_basis is None else found.plan_basis.value,
        required_n=found.required_n,
        mean_n=found.mean_n,
        missing=found.missing,
        cannot_pass=found.cannot_pass,
        mean=found.mean,
        mean_error=found.mean_error,
        s=found.s,
        k=None if found.k is None else float(found.k),
        limit=found.limit,
        margin=found.margin,
        mean_ok=found.mean_ok,
        count_below_t1=found.count_below_t1,
        count_below_t2=found.count_below_t2,
        acceptance_number=found.acceptance_number,
        rejection_number=found.rejection_number,
        individual_test=None if found.individual_test is None else found.individual_test.value,
        t2_ok=found.t2_ok,
        count_below_t1_total=found.count_below_t1_total,
        acceptance_number_2=found.acceptance_number_2,
        rejection_number_2=found.rejection_number_2,
        mav_limit=found.mav_limit,
        count_beyond_mav=found.count_beyond_mav,
        sample_error_limit=found.sample_error_limit,
        rule=found.rule,
        notes=found.notes,
        because=found.because,
        assumptions=found.assumptions,
        sources=found.sources,
    )
