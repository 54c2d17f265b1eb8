"""What one dose weighs, and what warmth and trapped air do to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput, OutsideModel
from fillwright.science.air import AMBIENT
from fillwright.science.given import above_zero, finite, whole
from fillwright.science.given_many import all_above_zero, all_finite, all_from_zero, all_inside

__all__ = [
    "FIRST_ORDER_MOST",
    "DoseModel",
    "SampledSpread",
    "dose_model",
    "sampled_spread",
    "thermal_change",
    "withheld_by_air",
]

FIRST_ORDER_MOST: Final = 0.1
_NAMES: Final = (
    "density", "bore", "stroke", "fill_fraction", "gas_fraction", "leak_fraction",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseModel:
    """A dose and how it answers to each thing it depends on.

    Attributes
    ----------
    dose : float
        Mass of one dose. [kg]
    density : float
        Change of the dose for a change of the product's density. [m³]
    bore : float
        Change of the dose for a change of the cylinder's bore. [kg/m]
    stroke : float
        Change of the dose for a change of the stroke. [kg/m]
    fill_fraction : float
        Change of the dose for a change of the share that is full. [kg]
    gas_fraction : float
        Change of the dose for a change of the share of gas. [kg]
    leak_fraction : float
        Change of the dose for a change of the share that leaks. [kg]
    """

    dose: float
    density: float
    bore: float
    stroke: float
    fill_fraction: float
    gas_fraction: float
    leak_fraction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SampledSpread:
    """Spread of a dose found by drawing its sources.

    Attributes
    ----------
    mean : float
        Mean dose. [kg]
    sd : float
        Standard deviation of the dose. [kg]
    standard_error : float
        Standard error of that standard deviation. [kg]
    """

    mean: float
    sd: float
    standard_error: float


def dose_model(
    *,
    density: float,
    bore: float,
    stroke: float,
    fill_fraction: float = 1.0,
    gas_fraction: float = 0.0,
    leak_fraction: float = 0.0,
) -> DoseModel:
    """Return the mass of a dose and its partial derivatives.

    Parameters
    ----------
    density : float
        Density of the product. [kg/m³]
    bore : float
        Bore of the product cylinder. [m]
    stroke : float
        Drawn stroke. [m]
    fill_fraction : float
        Share of the cylinder that is full after the recharge. [1]
    gas_fraction : float
        Share of that which is gas at ambient pressure. [1]
    leak_fraction : float
        Share that goes back or past the piston. [1]

    Returns
    -------
    DoseModel
        m = ρ (π/4) D² s φ (1 - g) (1 - λ) and its derivatives.

    Raises
    ------
    BadInput
        If a size is not above zero or a share not between 0 and 1.
    """
    rho, wide = above_zero(density, "density"), above_zero(bore, "bore")
    length = above_zero(stroke, "stroke")
    full = _share(fill_fraction, "fill_fraction")
    sound = 1.0 - _share(gas_fraction, "gas_fraction")
    tight = 1.0 - _share(leak_fraction, "leak_fraction")
    swept = math.pi / 4.0 * wide**2 * length
    kept = full * sound * tight
    return DoseModel(
        dose=rho * swept * kept,
        density=swept * kept,
        bore=2.0 * rho * swept * kept / wide,
        stroke=rho * swept * kept / length,
        fill_fraction=rho * swept * sound * tight,
        gas_fraction=-rho * swept * full * tight,
        leak_fraction=-rho * swept * full * sound,
    )


def sampled_spread(
    values: dict[str, float],
    uncertainties: dict[str, float],
    rng: Generator,
    *,
    draws: int = 200_000,
) -> SampledSpread:
    """Return the spread of a dose by drawing, where first order does not hold.

    Parameters
    ----------
    values : dict of str to float
        Arguments of ``dose_model`` by name. [unit of each]
    uncertainties : dict of str to float
        Standard uncertainties of some of them. [unit of each]
    rng : Generator
        Where the draws come from.
    draws : int
        How many.

    Returns
    -------
    SampledSpread
        Shares are cut off at 0 and 1, so that a cylinder is never more than full.

    Raises
    ------
    BadInput
        If a name is none of the model, or a figure is not one that the model takes.

    Notes
    -----
    Wanted where the cylinder is not full or a relative uncertainty passes 0.1; normal draws
    (JCGM 101:2008, from memory).
    """
    model = dose_model(**values)
    count = whole(draws, "draws", at_least=2)
    mass = np.full(count, model.dose)
    for name, spread in uncertainties.items():
        if name not in _NAMES:
            raise BadInput(
                f"uncertainties names {name}; the model knows {', '.join(_NAMES)}.",
                field="uncertainties",
                given=name,
                allowed=", ".join(_NAMES),
                code="choice",
            )
        middle = values.get(name, 1.0 if name == "fill_fraction" else 0.0)
        drawn = rng.normal(middle, finite(spread, name), count)
        mass *= _factor(name, drawn) / _factor(name, np.asarray(middle))
    sd = float(mass.std(ddof=1))
    kurtosis = float(np.mean((mass - mass.mean()) ** 4)) / sd**4 if sd > 0.0 else 3.0
    return SampledSpread(
        mean=float(mass.mean()),
        sd=sd,
        standard_error=sd * math.sqrt(max(kurtosis - 1.0, 0.0) / count) / 2.0,
    )


def thermal_change(
    dose: ArrayLike,
    *,
    expansion: ArrayLike,
    cylinder_expansion: ArrayLike,
    change: ArrayLike,
) -> NDArray[np.float64]:
    """Return how much a dose changes when product and cylinder grow warmer.

    Parameters
    ----------
    dose : float or ndarray
        Mass of the dose. [kg]
    expansion : float or ndarray
        Relative growth of the product's volume for each kelvin. [1/K]
    cylinder_expansion : float or ndarray
        Relative growth of the cylinder's length and bore for each kelvin. [1/K]
    change : float or ndarray
        How much warmer. [K]

    Returns
    -------
    ndarray
        Change of the dose: -m (β - 3 α) ΔT. [kg]

    Raises
    ------
    BadInput
        If the dose is not above zero or a figure is not finite.
    """
    mass = all_above_zero(dose, "dose")
    grows = all_finite(expansion, "expansion") - 3.0 * all_finite(
        cylinder_expansion, "cylinder_expansion"
    )
    return np.asarray(-mass * grows * all_finite(change, "temperature_change"))


def withheld_by_air(
    gas: ArrayLike, *, end: ArrayLike, after: ArrayLike, ambient: float = AMBIENT
) -> NDArray[np.float64]:
    """Return what trapped air keeps back of a dose, pressed together when the stroke ends.

    Parameters
    ----------
    gas : float or ndarray
        Volume of the air at ambient pressure. [m³]
    end : float or ndarray
        Pressure when the stroke ends, absolute. [Pa]
    after : float or ndarray
        Pressure when the valve has closed or the product has come to rest, absolute. [Pa]
    ambient : float
        Pressure of the air around, absolute. [Pa]

    Returns
    -------
    ndarray
        Product that comes late, or not at all where the valve closes first. [m³]

    Raises
    ------
    BadInput
        If a pressure is not above zero or the gas is negative.
    OutsideModel
        If the pressure after is above that at the end: nothing is kept back then.
    """
    room = all_from_zero(gas, "gas")
    pressed = all_above_zero(end, "end")
    rest = all_above_zero(after, "after")
    if (rest > pressed).any():
        raise OutsideModel(
            f"after is {rest.max():g} Pa, above end ({pressed.min():g} Pa); trapped air keeps "
            "product back only while the pressure falls.",
            field="after",
            given=float(rest.max()),
            allowed="the pressure at the end or less",
        )
    return np.asarray(room * (ambient / rest - ambient / pressed))


def _factor(name: str, drawn: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what a drawn source multiplies the dose by."""
    if name in {"density", "stroke"}:
        return drawn
    if name == "bore":
        return np.square(drawn)
    inside = np.clip(drawn, 0.0, 1.0)
    return inside if name == "fill_fraction" else 1.0 - inside


def _share(value: float, field: str) -> float:
    """Refuse a share that is not between nothing and all."""
    return float(all_inside(value, field, low=0.0, high=1.0 + 1e-12))
