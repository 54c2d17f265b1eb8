"""What a filled container costs: where the money of a lot went, what scatter is worth, a quote.

Plain arithmetic: an amount times its price. What has no price or no amount is named, never
taken as nothing. The range of a quote is a prediction interval on the logarithm of the cost.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from fillwright.errors import BadInput
from fillwright.science.given_many import all_above_zero, all_finite, all_from_zero

__all__ = [
    "Amount",
    "CostPart",
    "LotCost",
    "Price",
    "Quote",
    "lot_cost",
    "quote",
    "scatter_worth",
]


class Price(StrEnum):
    """What has a price."""

    PRODUCT = "product"
    CONTAINER = "container"
    WORK = "work"
    CLEANER = "cleaner"
    AIR = "air"


class Amount(StrEnum):
    """What a lot uses."""

    LABEL = "product on the label"
    CONTAINERS = "containers and lids"
    GIVEAWAY = "giveaway"
    PURGE = "purge"
    TRIM = "trim shots"
    HOPPER = "left in the hopper"
    REJECT_PRODUCT = "product in rejects"
    REJECT_CONTAINERS = "containers of rejects"
    CLEANER = "cleaner"
    AIR = "free air"
    MATCH = "work in Match"
    SET_UP = "work in Set up"
    TRIM_WORK = "work in Trim"
    PROVE = "work in Prove"
    RUN = "work in Run"
    RELEASE = "work in Release"
    STRIP = "work in Strip"
    FAULT = "work on faults"
    MORE_WORK = "work beside the bench"


_PRICED_BY: Final[dict[Amount, Price]] = {
    Amount.LABEL: Price.PRODUCT,
    Amount.CONTAINERS: Price.CONTAINER,
    Amount.GIVEAWAY: Price.PRODUCT,
    Amount.PURGE: Price.PRODUCT,
    Amount.TRIM: Price.PRODUCT,
    Amount.HOPPER: Price.PRODUCT,
    Amount.REJECT_PRODUCT: Price.PRODUCT,
    Amount.REJECT_CONTAINERS: Price.CONTAINER,
    Amount.CLEANER: Price.CLEANER,
    Amount.AIR: Price.AIR,
    Amount.MATCH: Price.WORK,
    Amount.SET_UP: Price.WORK,
    Amount.TRIM_WORK: Price.WORK,
    Amount.PROVE: Price.WORK,
    Amount.RUN: Price.WORK,
    Amount.RELEASE: Price.WORK,
    Amount.STRIP: Price.WORK,
    Amount.FAULT: Price.WORK,
    Amount.MORE_WORK: Price.WORK,
}
_SOLD: Final = (Amount.LABEL, Amount.CONTAINERS)


@dataclass(frozen=True, slots=True, kw_only=True)
class CostPart:
    """One thing that a lot costs.

    Attributes
    ----------
    what : Amount
        What was used.
    price : Price
        What it is paid by.
    is_sold : bool
        True for what the buyer gets for the money: the label quantity in its container.
    cost : ndarray or None
        Cost in each lot; None where an amount or a price is missing. [money]
    missing : tuple of str
        ``"amount"``, ``"price"``, both or neither.
    """

    what: Amount
    price: Price
    is_sold: bool
    cost: NDArray[np.float64] | None
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCost:
    """What lots cost, with what could not be counted.

    Attributes
    ----------
    parts : tuple of CostPart
        Every part, in the order in which they were given.
    ranked : tuple of CostPart
        Those on top of what is sold that have a cost, the dearest over all lots first.
    sold : ndarray
        What the buyer gets: label quantity and container, as far as they are priced. [money]
    on_top : ndarray
        All the rest. [money]
    each : ndarray
        All of it for one container that went out. [money]
    missing_prices : tuple of Price
        Prices that something waits for.
    missing_amounts : tuple of Amount
        Amounts that nobody put on record.
    """

    parts: tuple[CostPart, ...]
    ranked: tuple[CostPart, ...]
    sold: NDArray[np.float64]
    on_top: NDArray[np.float64]
    each: NDArray[np.float64]
    missing_prices: tuple[Price, ...]
    missing_amounts: tuple[Amount, ...]


def lot_cost(
    amounts: Mapping[Amount, ArrayLike | None],
    prices: Mapping[Price, float | None],
    *,
    containers: ArrayLike,
) -> LotCost:
    """Return what lots cost, part by part.

    Parameters
    ----------
    amounts : mapping of Amount to array_like or None
        What each lot used: product in kg, containers in ones, work in s, cleaner and air in m³.
        None where nobody knows; giveaway may be negative. [unit of each]
    prices : mapping of Price to float or None
        Money for one of that unit; None where nobody said. [money per unit of each]
    containers : float or ndarray, shape (lots,)
        Containers that went out of each lot. [1]

    Returns
    -------
    LotCost
        The parts, the dearest on top, and what is missing.

    Raises
    ------
    BadInput
        If a price is negative, an amount is not finite, or no container went out.
    """
    out = np.atleast_1d(all_above_zero(containers, "containers"))
    parts: list[CostPart] = []
    for what, amount in amounts.items():
        kind = _PRICED_BY[what]
        price = prices.get(kind)
        if price is not None:
            all_from_zero(price, f"price of {kind}")
        missing = tuple(
            name for name, given in (("amount", amount), ("price", price)) if given is None
        )
        cost = None
        if amount is not None and price is not None:
            cost = np.broadcast_to(all_finite(amount, what.value) * price, out.shape)
        elif amount is not None and not np.any(all_finite(amount, what.value)):
            # Nothing was used, so it costs nothing at any price.
            cost, missing = np.zeros(out.shape), ()
        is_sold = what in _SOLD
        parts.append(CostPart(what=what, price=kind, is_sold=is_sold, cost=cost, missing=missing))
    sold, on_top = _sum(parts, out, is_sold=True), _sum(parts, out, is_sold=False)
    dear = [p for p in parts if not p.is_sold and p.cost is not None and np.any(p.cost != 0.0)]
    return LotCost(
        parts=tuple(parts),
        ranked=tuple(sorted(dear, key=lambda p: -_total(p))),
        sold=sold,
        on_top=on_top,
        each=(sold + on_top) / out,
        missing_prices=tuple(
            dict.fromkeys(p.price for p in parts if "price" in p.missing and p.cost is None)
        ),
        missing_amounts=tuple(p.what for p in parts if "amount" in p.missing),
    )


def scatter_worth(
    target: ArrayLike,
    target_with_less: ArrayLike,
    *,
    containers: ArrayLike,
    product_price: ArrayLike,
) -> NDArray[np.float64]:
    """Return what less scatter saves: the aim may come down, container by container.

    Parameters
    ----------
    target : float or ndarray
        Least safe aim with the scatter as it is. [kg]
    target_with_less : float or ndarray
        Least safe aim with less of it. [kg]
    containers : float or ndarray
        Containers filled in the time that is asked about. [1]
    product_price : float or ndarray
        Price of the product. [money/kg]

    Returns
    -------
    ndarray
        Saved in that time; nothing where the aim does not come down. [money]

    Raises
    ------
    BadInput
        If a figure is not finite, or a count or a price is negative.
    """
    lower = all_finite(target, "target") - all_finite(target_with_less, "target_with_less")
    many = all_from_zero(containers, "containers")
    price = all_from_zero(product_price, "product_price")
    return np.asarray(np.maximum(lower, 0.0) * many * price)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """What a new job is likely to cost, at several lot sizes.

    Attributes
    ----------
    lot_sizes : ndarray, shape (sizes,)
        Containers of the lot. [1]
    middle : ndarray, shape (sizes,)
        Cost that is as likely passed as not. [money]
    low, high : ndarray or None, shape (sizes,)
        Ends of the range for the one job to come; None where they rest on one job. [money]
    confidence : float
        How often the job to come lies inside. [1]
    rests_on : int
        Earlier jobs.
    """

    lot_sizes: NDArray[np.float64]
    middle: NDArray[np.float64]
    low: NDArray[np.float64] | None
    high: NDArray[np.float64] | None
    confidence: float
    rests_on: int


def quote(
    fixed: ArrayLike,
    each: ArrayLike,
    *,
    sold_each: float,
    lot_sizes: ArrayLike,
    confidence: float = 0.8,
) -> Quote:
    """Return what a new job is likely to cost, from what earlier ones cost.

    Parameters
    ----------
    fixed : array_like, shape (jobs,)
        What each earlier job cost whatever its size: setting up, purge, clean. [money]
    each : array_like, shape (jobs,)
        What it cost on top for each container: run, giveaway, rejects, air. [money]
    sold_each : float
        Label quantity and container of the new job, for one. [money]
    lot_sizes : array_like, shape (sizes,)
        Lot sizes asked about. [1]
    confidence : float
        How often the job to come is to lie in the range. [1]

    Returns
    -------
    Quote
        Middle and range at each lot size; no range from a single job.

    Raises
    ------
    BadInput
        If there is no earlier job, the figures of the jobs do not pair, a lot is empty, a job
        would cost nothing, or the confidence is not between 0 and 1.

    Notes
    -----
    Every earlier job is reckoned at the new lot size, T = F + (v + c) N, and ln T of the job to
    come is taken from the same normal distribution: mean ± t s √(1 + 1/n) with n - 1 degrees
    of freedom [1]_. Costs cannot be negative and lean to the dear side, hence the logarithm
    (our own choice).

    References
    ----------
    .. [1] ISO 16269-8, prediction intervals, one further observation, both parameters unknown;
       from memory.

    Examples
    --------
    >>> round(float(quote([60.0], [0.1], sold_each=0.5, lot_sizes=[100]).middle[0]), 6)
    120.0
    """
    start, more = all_finite(fixed, "fixed").ravel(), all_finite(each, "each").ravel()
    sizes = np.atleast_1d(all_above_zero(lot_sizes, "lot_sizes"))
    n = start.size
    if n == 0 or more.size != n:
        message = f"fixed has {n} jobs, each has {more.size}; give as many of both, at least one."
        raise BadInput(message, field="fixed", given=n, allowed="1 or more", code="inconsistent")
    if not 0.0 < confidence < 1.0:
        message = f"confidence is {confidence:g}; give a share between 0 and 1."
        raise BadInput(message, field="confidence", given=confidence, allowed="between 0 and 1")
    totals = start[:, None] + (more[:, None] + sold_each) * sizes[None, :]
    logs = np.log(all_above_zero(totals, "cost of a job"))
    middle = np.asarray(logs.mean(axis=0))
    low = high = None
    if n > 1:
        t = float(stats.t.ppf((1.0 + confidence) / 2.0, n - 1))
        half = t * logs.std(axis=0, ddof=1) * math.sqrt(1.0 + 1.0 / n)
        low, high = np.exp(middle - half), np.exp(middle + half)
    return Quote(
        lot_sizes=sizes,
        middle=np.exp(middle),
        low=low,
        high=high,
        confidence=confidence,
        rests_on=n,
    )


def _sum(parts: list[CostPart], out: NDArray[np.float64], *, is_sold: bool) -> NDArray[np.float64]:
    """Return the cost of the parts that are sold, or of those that are not. [money]."""
    costs = [p.cost for p in parts if p.is_sold == is_sold and p.cost is not None]
    return np.asarray(np.sum(costs, axis=0)) if costs else np.zeros(out.shape)


def _total(part: CostPart) -> float:
    """Return the cost of a part over all lots. [money]."""
    return 0.0 if part.cost is None else float(part.cost.sum())
