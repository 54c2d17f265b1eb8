"""Questions about money: what a lot cost, what another will, what less scatter is worth."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from fillwright.questions.fields import Answer, Figures, Given, Real, Values
from fillwright.records.units import (
    kg_from_g,
    m3_from_ml,
    ml_from_litres,
    per_m3_from_per_litre,
    per_s_from_per_h,
    s_from_min,
    share_from_pct,
)

__all__ = ["lot_cost", "quote", "scatter_worth"]

NotNegative = Annotated[float, Real(at_least=0)]
Positive = Annotated[float, Real(above=0)]
_OURS = "Plain arithmetic: an amount times its price; our own list of parts"
_RANGE = (
    "ISO 16269-8, prediction interval of one further observation (from memory), on the logarithm "
    "of the cost (our own choice)"
)


class LotCostGiven(Given):
    """What a lot used, and what that costs; all in one money, left out where nobody knows."""

    containers: Positive = Field(description="Containers that went out.", examples=[120])
    label_g: Positive = Field(description="Label quantity of one.", examples=[250])
    mean_g: Positive | None = Field(
        default=None,
        description="Mean net weight of those going out; the giveaway is what is above the label.",
        examples=[252],
    )
    purge_kg: NotNegative | None = Field(default=None, description="Product purged and lost.")
    trim_kg: NotNegative | None = Field(
        default=None, description="Trim shots lost.", examples=[0.5]
    )
    hopper_kg: NotNegative | None = Field(
        default=None, description="Product left in hopper and wet end."
    )
    rejects: NotNegative | None = Field(
        default=None, description="Containers scrapped, each with the mean weight in it."
    )
    cleaner_l: NotNegative | None = Field(default=None, description="Cleaner used.")
    air_m3: NotNegative | None = Field(default=None, description="Free air used.")
    work_min: NotNegative | None = Field(
        default=None, description="Minutes of work, all together.", examples=[45]
    )
    product_cost_per_kg: NotNegative | None = Field(
        default=None, description="A kilogram of product.", examples=[8]
    )
    container_cost_each: NotNegative | None = Field(
        default=None, description="A container with its lid.", examples=[0.35]
    )
    work_cost_per_h: NotNegative | None = Field(
        default=None, description="An hour of work.", examples=[36]
    )
    cleaner_per_litre: NotNegative | None = Field(
        default=None, description="A litre of cleaner, ready to use."
    )
    air_cost_per_m3: NotNegative | None = Field(
        default=None, description="A cubic metre of free air."
    )


class CostPartFigures(Figures):
    """One part of the costs, and whether the buyer gets it."""

    part: str
    cost: float
    is_sold: bool


class LotCostAnswer(Answer):
    """Parts with a cost, those on top of what is sold dearest first; what is missing is named."""

    each: float
    sold: float
    on_top: float
    parts: tuple[CostPartFigures, ...]
    missing_prices: tuple[str, ...]
    missing_amounts: tuple[str, ...]


def lot_cost(given: LotCostGiven) -> LotCostAnswer:
    """Answer with what a lot cost, part by part."""
    from fillwright.science.costs import Amount, Price  # noqa: PLC0415  loaded when asked
    from fillwright.science.costs import lot_cost as reckoned  # noqa: PLC0415  the same

    out, mean_g = given.containers, given.mean_g
    label_kg = kg_from_g(given.label_g)
    rejects, minutes, litres = given.rejects, given.work_min, given.cleaner_l
    amounts = {
        Amount.LABEL: out * label_kg,
        Amount.CONTAINERS: out,
        Amount.GIVEAWAY: None if mean_g is None else out * (kg_from_g(mean_g) - label_kg),
        Amount.PURGE: given.purge_kg,
        Amount.TRIM: given.trim_kg,
        Amount.HOPPER: given.hopper_kg,
        Amount.REJECT_PRODUCT: None
        if rejects is None
        else rejects * kg_from_g(given.label_g if mean_g is None else mean_g),
        Amount.REJECT_CONTAINERS: rejects,
        Amount.CLEANER: None if litres is None else m3_from_ml(ml_from_litres(litres)),
        Amount.AIR: given.air_m3,
        Amount.MORE_WORK: None if minutes is None else s_from_min(minutes),
    }
    hour, litre = given.work_cost_per_h, given.cleaner_per_litre
    prices = {
        Price.PRODUCT: given.product_cost_per_kg,
        Price.CONTAINER: given.container_cost_each,
        Price.WORK: None if hour is None else per_s_from_per_h(hour),
        Price.CLEANER: None if litre is None else per_m3_from_per_litre(litre),
        Price.AIR: given.air_cost_per_m3,
    }
    found = reckoned(amounts, prices, containers=out)
    each, sold, on_top = (float(row[0]) for row in (found.each, found.sold, found.on_top))
    names = {Amount.MORE_WORK: "work"}
    bought = [part for part in found.parts if part.is_sold and part.cost is not None]
    return LotCostAnswer(
        each=each,
        sold=sold,
        on_top=on_top,
        parts=tuple(
            CostPartFigures(
                part=names.get(part.what, part.what.value),
                cost=0.0 if part.cost is None else float(part.cost[0]),
                is_sold=part.is_sold,
            )
            for part in (*bought, *found.ranked)
        ),
        missing_prices=tuple(price.value for price in found.missing_prices),
        missing_amounts=tuple(names.get(a, a.value) for a in found.missing_amounts),
        because=f"One costs {each:.4g}: {sold / out:.4g} of it the buyer gets.",
        assumptions=("What has no price or no amount costs nothing here, and is named.",),
        sources=(_OURS,),
    )


class QuoteGiven(Given):
    """What earlier jobs cost, and the lot sizes asked about; all in one money."""

    fixed: Values[Annotated[float, Real()]] = Field(
        min_length=1,
        description="What each earlier job cost whatever its size: setting up, purge, clean.",
        examples=[[60, 52, 71]],
    )
    each: Values[Annotated[float, Real()]] = Field(
        min_length=1,
        description="What it cost on top for each container: run, giveaway, rejects, air.",
        examples=[[0.11, 0.09, 0.12]],
    )
    sold_each: NotNegative = Field(
        description="Label quantity and container of the new job, for one.", examples=[2.35]
    )
    lot_sizes: Values[Annotated[float, Real(above=0)]] = Field(
        min_length=1, max_length=1000, description="Lot sizes.", examples=[[60, 120, 480]]
    )
    confidence_percent: Annotated[float, Real(above=0, below=100)] = Field(
        default=80.0, description="How often the job to come is to lie in the range."
    )


class QuoteAnswer(Answer):
    """The whole lot and one container, by lot size; ranges are null from a single job."""

    lot_sizes: tuple[float, ...]
    middle: tuple[float, ...]
    low: tuple[float, ...] | None
    high: tuple[float, ...] | None
    middle_each: tuple[float, ...]
    low_each: tuple[float, ...] | None
    high_each: tuple[float, ...] | None
    rests_on: int


def quote(given: QuoteGiven) -> QuoteAnswer:
    """Answer with what another job is likely to cost."""
    from fillwright.science.costs import quote as reckoned  # noqa: PLC0415  loaded when asked

    found = reckoned(
        given.fixed,
        given.each,
        sold_each=given.sold_each,
        lot_sizes=given.lot_sizes,
        confidence=share_from_pct(given.confidence_percent),
    )
    sizes = found.lot_sizes
    many = found.rests_on
    spread = (
        "one earlier job tells no range."
        if many == 1
        else f"{given.confidence_percent:g} in 100 jobs to come lie in the range."
    )
    return QuoteAnswer(
        lot_sizes=tuple(map(float, sizes)),
        middle=tuple(map(float, found.middle)),
        low=None if found.low is None else tuple(map(float, found.low)),
        high=None if found.high is None else tuple(map(float, found.high)),
        middle_each=tuple(map(float, found.middle / sizes)),
        low_each=None if found.low is None else tuple(map(float, found.low / sizes)),
        high_each=None if found.high is None else tuple(map(float, found.high / sizes)),
        rests_on=many,
        because=f"Resting on {many}, {spread}",
        assumptions=("The job to come is made as the earlier ones were, at today's prices.",),
        sources=(_RANGE,),
    )


class ScatterWorthGiven(Given):
    """The least safe aim with the scatter as it is, and with less of it."""

    target_g: Positive = Field(description="Least safe aim now.", examples=[252.6])
    target_with_less_g: Positive = Field(
        description="Least safe aim with less scatter.", examples=[252.1]
    )
    containers: NotNegative = Field(
        description="Containers filled in the time asked about.", examples=[40000]
    )
    product_cost_per_kg: NotNegative = Field(description="A kilogram of product.", examples=[8])


class ScatterWorthAnswer(Answer):
    """What less scatter saves in that time; nothing where the aim does not come down."""

    saved: float


def scatter_worth(given: ScatterWorthGiven) -> ScatterWorthAnswer:
    """Answer with what less scatter is worth."""
    from fillwright.science.costs import scatter_worth as reckoned  # noqa: PLC0415  when asked

    saved = float(
        reckoned(
            kg_from_g(given.target_g),
            kg_from_g(given.target_with_less_g),
            containers=given.containers,
            product_price=given.product_cost_per_kg,
        )
    )
    return ScatterWorthAnswer(
        saved=saved,
        because=f"The aim comes down by {max(given.target_g - given.target_with_less_g, 0):.4g} g "
        f"in each, worth {saved:.6g} in all.",
        assumptions=("All that is saved is product; the aim is the least that is safe.",),
        sources=(_OURS,),
    )
