"""Every conversion between the units people read and coherent SI, in one place.

Factors of the pound, ounce, inch and US gallon are exact by definition (NIST Handbook 44,
Appendix C, and NIST SP 811, Appendix B, from memory); the metric ones follow from the prefixes.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction
from typing import Final

from fillwright.errors import BadInput

__all__ = [
    "GRAMS_PER",
    "LABEL_UNITS",
    "MILLILITRES_PER",
    "US_CUSTOMARY",
    "UsUnit",
    "conductance_from_dm3_per_s_bar",
    "g_from_kg",
    "g_per_mark_from_si",
    "g_per_ml_from_kg_per_m3",
    "grams",
    "kelvin_from_c",
    "kg_from_g",
    "kg_per_m3_from_g_per_mark",
    "kg_per_m3_from_g_per_ml",
    "kpa_from_pa",
    "label_as_declared",
    "label_in_metric",
    "m3_from_ml",
    "m_from_mm",
    "metric_from_us",
    "min_from_s",
    "ml_from_litres",
    "ml_from_m3",
    "mm_from_m",
    "mpa_s_from_pa_s",
    "n_per_m_from_mn_per_m",
    "pa_from_bar",
    "pa_from_hpa",
    "pa_from_kpa",
    "pa_s_from_mpa_s",
    "pct_from_share",
    "per_m3_from_per_litre",
    "per_s_from_per_h",
    "s_from_min",
    "share_from_pct",
    "unit_named",
    "us_from_metric",
]

GRAMS_PER: Final[dict[str, Decimal]] = {
    "g": Decimal(1),
    "kg": Decimal(1000),
    "mg": Decimal("0.001"),
    "lb": Decimal("453.59237"),
    "oz": Decimal("28.349523125"),
}
MILLILITRES_PER: Final[dict[str, Decimal]] = {
    "ml": Decimal(1),
    "cl": Decimal(10),
    "dl": Decimal(100),
    "l": Decimal(1000),
}
_US_GALLON_ML: Final = Decimal("3785.411784")
"""231 cubic inches."""
_US_FLUID_OUNCE_ML: Final = Decimal("29.5735295625")
"""The US gallon over 128."""
_PSI_PA: Final = Fraction(Decimal("4.4482216152605")) / Fraction(Decimal("0.00064516"))
"""A pound-force, by the standard acceleration of free fall, on a square inch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UsUnit:
    """The US customary unit that stands for a metric one.

    Parameters
    ----------
    name : str
        How it is written.
    size_factor : Fraction
        How many of the metric unit one of it is, exactly.
    zero_c : Fraction
        What the metric unit shows where this one shows zero: only a temperature has one.
    decimals : int or None
        Places that the metric figure is kept to where the exact one has no end; None where
        every figure has one.
    """

    name: str
    size_factor: Fraction
    zero_c: Fraction = Fraction(0)
    decimals: int | None = None


def _us(name: str, size: Decimal | Fraction | str, decimals: int | None = None) -> UsUnit:
    """Return a unit of one size."""
    return UsUnit(name=name, size_factor=Fraction(size), decimals=decimals)


_OUNCE: Final = Fraction(GRAMS_PER["oz"])
_POUND: Final = Fraction(GRAMS_PER["lb"])
_FLUID_OUNCE: Final = Fraction(_US_FLUID_OUNCE_ML)
_GALLON: Final = Fraction(_US_GALLON_ML)
_CUBIC_FOOT_L: Final = Fraction(Decimal("28.316846592"))

US_CUSTOMARY: Final[dict[str, UsUnit]] = {
    "g": _us("oz", _OUNCE),
    "mg": _us("oz", 1000 * _OUNCE),
    "kg": _us("lb", _POUND / 1000),
    "mL": _us("fl oz", _FLUID_OUNCE),
    "cL": _us("fl oz", _FLUID_OUNCE / 10),
    "L": _us("gal", _GALLON / 1000),
    "m³": _us("ft³", _CUBIC_FOOT_L / 1000),
    "mm": _us("in", Decimal("25.4")),
    "cm": _us("in", Decimal("2.54")),
    "m": _us("ft", Decimal("0.3048")),
    "mm²": _us("in²", Decimal("645.16")),
    "µm": _us("in", Decimal(25400)),
    "bar": _us("psi", _PSI_PA / 100_000, 6),
    "kPa": _us("psi", _PSI_PA / 1000, 4),
    "MPa": _us("psi", _PSI_PA / 1_000_000, 7),
    "hPa": _us("inHg", Decimal("33.86389"), 4),
    "°C": UsUnit(name="°F", size_factor=Fraction(5, 9), zero_c=Fraction(-160, 9), decimals=4),
    "K": _us("°F", Fraction(5, 9), 4),
    "g/mL": _us("lb/gal", _POUND / _GALLON, 9),
    "kg/L": _us("lb/gal", _POUND / _GALLON, 9),
    "kg/m³": _us("lb/gal", 1000 * _POUND / _GALLON, 6),
    "mL/s": _us("fl oz/s", _FLUID_OUNCE),
    "mL/min": _us("fl oz/min", _FLUID_OUNCE),
    "mL/h": _us("fl oz/h", _FLUID_OUNCE),
    "g/s": _us("oz/s", _OUNCE),
    "g/min": _us("oz/min", _OUNCE),
    "g/h": _us("oz/h", _OUNCE),
    "g/dose": _us("oz/dose", _OUNCE),
    "g/turn": _us("oz/turn", _OUNCE),
    "kg/h": _us("lb/h", _POUND / 1000),
    "L/min": _us("scfm", _CUBIC_FOOT_L, 6),
    "L/h": _us("gal/h", _GALLON / 1000),
    "m³/h": _us("scfm", 60 * _CUBIC_FOOT_L / 1000, 6),
    "1/kg": _us("/lb", 1000 / _POUND, 9),
    "1/L": _us("/gal", 1000 / _GALLON, 9),
    "1/m³": _us("/1000 ft³", 1 / _CUBIC_FOOT_L, 9),
    "mm/s": _us("in/s", Decimal("25.4")),
    "m/s": _us("ft/s", Decimal("0.3048")),
}
"""The US customary unit for each metric one that pages and papers show.

The standard cubic foot a minute is taken as a cubic foot of free air, as figures of compressors
are quoted (common practice, no source); the inch of mercury is the conventional one at 0 °C.
"""
LABEL_UNITS: Final = ("mL", "g", "fl oz", "oz", "lb", "L", "kg")
"""What a label may be declared in; all but the first two are kept in one of those."""
_LABEL_UNITS: Final = {
    "oz": ("g", _OUNCE),
    "lb": ("g", _POUND),
    "kg": ("g", Fraction(1000)),
    "fl oz": ("mL", _FLUID_OUNCE),
    "L": ("mL", Fraction(1000)),
}

_WORDS_FOR: Final = {
    "g": "gram grams gramme grammes gramm gramos grammi",
    "kg": "kgs kilo kilos kilogram kilograms kilogramme kilogrammes kilogramm kilogramos",
    "mg": "milligram milligrams milligramme milligrammes milligramm",
    "lb": "lbs pound pounds",
    "oz": "ozs ounce ounces",
    "ml": "millilitre millilitres milliliter milliliters mls",
    "cl": "centilitre centilitres centiliter",
    "dl": "decilitre decilitres deciliter",
    "l": "litre litres liter liters",
}
_UNIT_OF: Final = {
    **{unit: unit for unit in (*GRAMS_PER, *MILLILITRES_PER)},
    **{word: unit for unit, words in _WORDS_FOR.items() for word in words.split()},
}


def unit_named(word: str) -> str:
    """Return the unit that a word stands for, whatever its case; empty where it is none."""
    return _UNIT_OF.get(word.lower(), "")


def grams(value: Decimal, unit: str) -> Decimal:
    """Return a scale reading in grams, exactly.

    Parameters
    ----------
    value : Decimal
        What the weighing scale showed, in `unit`.
    unit : str
        One of ``GRAMS_PER``.

    Returns
    -------
    Decimal
        The same mass in grams.

    Raises
    ------
    BadInput
        If the unit is not one of ``GRAMS_PER``.
    """
    if unit not in GRAMS_PER:
        allowed = ", ".join(GRAMS_PER)
        message = f"The unit is {unit!r}; give one of {allowed}."
        raise BadInput(message, field="unit", given=unit, allowed=allowed, code="unit")
    return value * GRAMS_PER[unit]


def us_from_metric(value: Decimal, unit: str) -> Fraction:
    """Return a metric figure in the US customary unit of ``US_CUSTOMARY``, exactly."""
    us = US_CUSTOMARY[unit]
    return (Fraction(value) - us.zero_c) / us.size_factor


def metric_from_us(value: Decimal, unit: str) -> Decimal:
    """Return the metric figure, in `unit`, that a figure in its US customary unit stands for.

    It is exact wherever the exact figure ends; temperatures, pressures and densities are kept
    to so many places that turning them back gives what was typed.
    """
    us = US_CUSTOMARY[unit]
    return _decimal(Fraction(value) * us.size_factor + us.zero_c, us.decimals)


def label_in_metric(value: Decimal, unit: str) -> tuple[Decimal, str]:
    """Return a declared quantity in g or mL, exactly, with the unit that it comes to.

    Raises
    ------
    BadInput
        If no label is declared in that unit.
    """
    if unit in ("g", "mL"):
        return value, unit
    if unit not in _LABEL_UNITS:
        allowed = ", ".join(("g", "mL", *_LABEL_UNITS))
        message = f"The unit of the label is {unit!r}; give one of {allowed}."
        raise BadInput(message, field="unit", given=unit, allowed=allowed, code="unit")
    metric, factor = _LABEL_UNITS[unit]
    return _decimal(Fraction(value) * factor, None), metric


def label_as_declared(metric: Decimal, unit: str) -> Decimal:
    """Return grams or millilitres in the unit that a label was declared in; empty is as kept."""
    if unit not in _LABEL_UNITS:
        return metric
    return _decimal(Fraction(metric) / _LABEL_UNITS[unit][1], 6)


def _decimal(exact: Fraction, decimals: int | None) -> Decimal:
    """Return a fraction as a decimal, rounded to so many places, or as it is."""
    with localcontext() as context:
        context.prec = 60
        found = Decimal(exact.numerator) / Decimal(exact.denominator)
        if decimals is not None:
            found = found.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_EVEN)
        text = format(found, "f")
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)


def kg_from_g(mass_g: float | Decimal) -> float:
    """Return kilograms from grams."""
    return float(mass_g) / 1000.0


def g_from_kg(mass: float) -> float:
    """Return grams from kilograms."""
    return mass * 1000.0


def m_from_mm(length_mm: float | Decimal) -> float:
    """Return metres from millimetres."""
    return float(length_mm) / 1000.0


def mm_from_m(length: float) -> float:
    """Return millimetres from metres."""
    return length * 1000.0


def s_from_min(time_min: float) -> float:
    """Return seconds from minutes."""
    return time_min * 60.0


def min_from_s(time: float) -> float:
    """Return minutes from seconds."""
    return time / 60.0


def m3_from_ml(volume_ml: float | Decimal) -> float:
    """Return cubic metres from millilitres."""
    return float(volume_ml) / 1.0e6


def ml_from_m3(volume: float) -> float:
    """Return millilitres from cubic metres."""
    return volume * 1.0e6


def kg_per_m3_from_g_per_ml(density_g_per_ml: float | Decimal | Fraction) -> float:
    """Return kilograms per cubic metre from grams per millilitre."""
    return float(density_g_per_ml) * 1000.0


def g_per_ml_from_kg_per_m3(density: float) -> float:
    """Return a density in grams per millilitre from kilograms per cubic metre."""
    return density / 1000.0


def kg_per_m3_from_g_per_mark(slope_g_per_mark: float, ml_per_mark: float) -> float:
    """Return a dose slope per volume of scale from a slope per mark of the volume scale."""
    return slope_g_per_mark / ml_per_mark * 1000.0


def g_per_mark_from_si(slope: float, ml_per_mark: float) -> float:
    """Return grams per mark of the volume scale from a slope in kilograms per cubic metre."""
    return slope / 1000.0 * ml_per_mark


def kelvin_from_c(temperature_c: float) -> float:
    """Return kelvins from degrees Celsius."""
    return temperature_c + 273.15


def pa_from_bar(pressure_bar: float | Decimal) -> float:
    """Return pascals from bars."""
    return float(pressure_bar) * 100_000.0


def conductance_from_dm3_per_s_bar(c_dm3_per_s_bar: float | Decimal) -> float:
    """Return m³/(s·Pa) from litres a second for each bar, as flow controls are rated."""
    return float(c_dm3_per_s_bar) * 1.0e-8


def kpa_from_pa(pressure: float) -> float:
    """Return kilopascals from pascals."""
    return pressure / 1000.0


def pa_from_kpa(pressure_kpa: float) -> float:
    """Return pascals from kilopascals."""
    return pressure_kpa * 1000.0


def mpa_s_from_pa_s(viscosity: float) -> float:
    """Return a viscosity in millipascal seconds from pascal seconds."""
    return 1000.0 * viscosity


def pa_s_from_mpa_s(viscosity_mpa_s: float | Decimal) -> float:
    """Return a viscosity in pascal seconds from millipascal seconds."""
    return float(viscosity_mpa_s) / 1000.0


def n_per_m_from_mn_per_m(tension_mn_per_m: float) -> float:
    """Return newtons per metre from millinewtons per metre."""
    return tension_mn_per_m / 1000.0


def pa_from_hpa(pressure_hpa: float) -> float:
    """Return pascals from hectopascals."""
    return pressure_hpa * 100.0


def ml_from_litres(volume_l: float | Decimal) -> float:
    """Return a volume in millilitres from litres."""
    return float(volume_l) * 1000.0


def per_m3_from_per_litre(cost_per_litre: float | Decimal) -> float:
    """Return a price for a cubic metre from one for a litre."""
    return float(cost_per_litre) * 1000.0


def per_s_from_per_h(cost_per_h: float | Decimal) -> float:
    """Return a price for a second from one for an hour."""
    return float(cost_per_h) / 3600.0


def share_from_pct(percent: float | Decimal) -> float:
    """Return a share from a percentage."""
    return float(percent) / 100.0


def pct_from_share(share: float) -> float:
    """Return a percentage from a share."""
    return share * 100.0
