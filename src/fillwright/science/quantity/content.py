"""From a scale reading to a content, and from a label volume to a weight.

Equations of quantity determination with air buoyancy; all exact.  Mass needs no temperature, only
a density: the one at 20 °C for the content, the one at product temperature for the stroke.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from fillwright.errors import BadInput
from fillwright.science.quantity.exact import (
    Exact,
    above_zero,
    checked,
    not_negative,
    on_one_denominator,
)

__all__ = [
    "AIR_DENSITY",
    "WEIGHTS_DENSITY",
    "TargetWeight",
    "content_volume",
    "content_volumes",
    "reading_for_volume",
    "target_weight",
    "volume_per_gram",
]

AIR_DENSITY = Fraction(12, 10_000)
"""Conventional density of air, 0.0012 g/mL. [g/mL]"""
WEIGHTS_DENSITY = Fraction(8)
"""Conventional density of weights, 8.0 g/mL. [g/mL]"""
_REFERENCE_C = 20
_DENSEST = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class TargetWeight:
    """The weight that carries a label volume, and the stroke that delivers it.

    Attributes
    ----------
    nominal_ml : Decimal
        Volume at 20 °C to be delivered. [mL]
    density_20_g_per_ml : Fraction
        Density at 20 °C. [g/mL]
    density_product_g_per_ml : Fraction
        Density at product temperature. [g/mL]
    target_g : Fraction
        True mass. [g]
    reading_g : Fraction
        What the scale shows for it. [g]
    stroke_ml_at_product_temp : Fraction
        Volume that the stroke must deliver at product temperature. [mL]
    equation : str
        Equations and their source.
    assumptions : tuple of str
        What was taken for granted.
    because : str
        One sentence.
    """

    nominal_ml: Decimal
    density_20_g_per_ml: Fraction
    density_product_g_per_ml: Fraction
    target_g: Fraction
    reading_g: Fraction
    stroke_ml_at_product_temp: Fraction
    equation: str
    assumptions: tuple[str, ...]
    because: str


def volume_per_gram(*, density_20_g_per_ml: Exact, buoyancy: bool) -> Fraction:
    """Return the volume at 20 °C that one gram of net reading stands for.

    Parameters
    ----------
    density_20_g_per_ml : Decimal, Fraction or int
        Density of the product at 20 °C: the true one with buoyancy, the apparent one (weighed in
        air against weights) without. [g/mL]
    buoyancy : bool
        Whether to correct for the buoyancy of air.

    Returns
    -------
    Fraction
        Volume for one gram. [mL/g]

    Raises
    ------
    BadInput
        If the density is not a density of a liquid.

    Notes
    -----
    (1 - ρa/ρw)/(ρ - ρa) with ρa = 0.0012 g/mL and ρw = 8.0 g/mL [1]_; 1/ρ without buoyancy.

    References
    ----------
    .. [1] OIML D 28, Conventional value of the result of weighing in air, conventional densities
       of air and weights; from memory.
    """
    density = _density(density_20_g_per_ml, "density_20_g_per_ml")
    if not buoyancy:
        return 1 / density
    return (1 - AIR_DENSITY / WEIGHTS_DENSITY) / (density - AIR_DENSITY)


def content_volume(net_g: Exact, *, density_20_g_per_ml: Exact, buoyancy: bool) -> Fraction:
    """Return the volume at 20 °C behind a net reading.

    Parameters
    ----------
    net_g : Decimal, Fraction or int
        Net reading of the scale. [g]
    density_20_g_per_ml : Decimal, Fraction or int
        Density of the product at 20 °C. [g/mL]
    buoyancy : bool
        Whether to correct for the buoyancy of air.

    Returns
    -------
    Fraction
        Volume at 20 °C, exact. [mL]

    Raises
    ------
    BadInput
        If the reading is negative or not exact, or the density is not one of a liquid.

    Notes
    -----
    Reading times `volume_per_gram`.  Leaving buoyancy out understates the volume by about 0.1 %.
    """
    net = not_negative(net_g, "net_g")
    return net * volume_per_gram(density_20_g_per_ml=density_20_g_per_ml, buoyancy=buoyancy)


def content_volumes(
    nets_g: Sequence[Exact], *, density_20_g_per_ml: Exact, buoyancy: bool
) -> tuple[Fraction, ...]:
    """Return the volumes at 20 °C behind a list of net readings.

    Parameters
    ----------
    nets_g : sequence of Decimal, Fraction or int
        Net readings. [g]
    density_20_g_per_ml : Decimal, Fraction or int
        Density of the product at 20 °C. [g/mL]
    buoyancy : bool
        Whether to correct for the buoyancy of air.

    Returns
    -------
    tuple of Fraction
        Volumes at 20 °C, exact, in the order given. [mL]

    Raises
    ------
    BadInput
        If a reading is negative or not exact, or the density is not one of a liquid.
    """
    exact = on_one_denominator(nets_g, "net_g {}".format)
    if any(numerator < 0 for numerator in exact.numerators):
        not_negative(min(Fraction(net) for net in nets_g), "net_g")
    each = volume_per_gram(density_20_g_per_ml=density_20_g_per_ml, buoyancy=buoyancy)
    each /= exact.denominator
    return tuple(each * numerator for numerator in exact.numerators)


def reading_for_volume(
    volume_ml: Exact, *, density_20_g_per_ml: Exact, buoyancy: bool
) -> Fraction:
    """Return the net reading that a volume at 20 °C gives.

    Parameters
    ----------
    volume_ml : Decimal, Fraction or int
        Volume at 20 °C. [mL]
    density_20_g_per_ml : Decimal, Fraction or int
        Density of the product at 20 °C. [g/mL]
    buoyancy : bool
        Whether to correct for the buoyancy of air.

    Returns
    -------
    Fraction
        Net reading, exact; a limit in millilitres becomes a limit on the scale. [g]

    Raises
    ------
    BadInput
        If the volume is negative or not exact, or the density is not one of a liquid.

    Notes
    -----
    The inverse of `content_volume`.
    """
    volume = not_negative(volume_ml, "volume_ml")
    return volume / volume_per_gram(density_20_g_per_ml=density_20_g_per_ml, buoyancy=buoyancy)


def target_weight(
    nominal_ml: Decimal,
    *,
    density_g_per_ml: Exact,
    density_temp_c: Exact,
    expansion_per_k: Exact,
    product_c: Exact,
    buoyancy: bool,
) -> TargetWeight:
    """Return the weight to aim at for a label volume, and the stroke at product temperature.

    Parameters
    ----------
    nominal_ml : Decimal
        Volume at 20 °C to be delivered. [mL]
    density_g_per_ml : Decimal, Fraction or int
        Density as measured. [g/mL]
    density_temp_c : Decimal, Fraction or int
        Temperature at which it was measured. [°C]
    expansion_per_k : Decimal, Fraction or int
        Fall of density per kelvin as a share of the measured density. [1/K]
    product_c : Decimal, Fraction or int
        Temperature of the product at the piston. [°C]
    buoyancy : bool
        Whether the density is a true one, so that the scale shows less than the mass.

    Returns
    -------
    TargetWeight
        Mass, reading and stroke, exact.

    Raises
    ------
    BadInput
        If the volume is not above zero, or the densities at 20 °C and at product temperature are
        not those of a liquid.

    Notes
    -----
    ρ(t) = ρ_m (1 - β (t - t_m)); mass = V ρ(20); reading = V (ρ(20) - ρa)/(1 - ρa/ρw);
    stroke = V ρ(20)/ρ(t).  The mass is the same at every product temperature; a hot product needs
    a longer stroke.  The straight line in density is common practice, no source; it is good near
    the measured temperature.
    """
    volume = above_zero(nominal_ml, "nominal_ml")
    measured = _density(density_g_per_ml, "density_g_per_ml")
    at = checked(density_temp_c, "density_temp_c")
    product = checked(product_c, "product_c")
    expansion = checked(expansion_per_k, "expansion_per_k")
    at_20 = _density(measured * (1 - expansion * (_REFERENCE_C - at)), "density at 20 °C")
    hot = _density(measured * (1 - expansion * (product - at)), "density at product_c")
    mass = volume * at_20
    reading = reading_for_volume(volume, density_20_g_per_ml=at_20, buoyancy=buoyancy)
    kind = (
        "The density is a true one; the scale shows less than the mass by the buoyancy of air."
        if buoyancy
        else "The density is an apparent one, weighed in air; mass and reading are the same."
    )
    stroke = volume * at_20 / hot
    return TargetWeight(
        nominal_ml=nominal_ml,
        density_20_g_per_ml=at_20,
        density_product_g_per_ml=hot,
        target_g=mass,
        reading_g=reading,
        stroke_ml_at_product_temp=stroke,
        equation="mass = V ρ(20 °C); stroke = V ρ(20 °C)/ρ(t); conventional weighing in air",
        assumptions=(kind, "Density falls in a straight line with temperature."),
        because=f"{nominal_ml} mL at 20 °C weigh {float(mass):.6g} g; the scale shows "
        f"{float(reading):.6g} g; at {product_c} °C the stroke delivers {float(stroke):.6g} mL.",
    )


def _density(value: Exact, field: str) -> Fraction:
    """Return a density, and refuse what is lighter than air or heavier than any metal."""
    density = checked(value, field)
    if not AIR_DENSITY < density <= _DENSEST:
        raise BadInput(
            f"{field}: {float(density):g} g/mL is not the density of a liquid; give g/mL, such "
            "as 0.998 for water.",
            field=field,
            given=value,
            allowed=f"above {float(AIR_DENSITY):g}, up to {_DENSEST} g/mL",
        )
    return density
