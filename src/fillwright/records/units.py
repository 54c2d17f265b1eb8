"""Every conversion between the units people read and coherent SI, in one place.

Factors of the pound and ounce are exact by definition (NIST Handbook 44, Appendix C, from
memory); the metric ones follow from the SI prefixes.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Final

from fillwright.errors import BadInput

__all__ = [
    "GRAMS_PER",
    "MILLILITRES_PER",
    "g_from_kg",
    "g_per_mark_from_si",
    "grams",
    "kelvin_from_c",
    "kg_from_g",
    "kg_per_m3_from_g_per_mark",
    "kg_per_m3_from_g_per_ml",
    "m3_from_ml",
    "m_from_mm",
    "min_from_s",
    "ml_from_m3",
    "mm_from_m",
    "pa_from_hpa",
    "pct_from_share",
    "s_from_min",
    "share_from_pct",
    "unit_named",
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


def kg_from_g(mass_g: float | Decimal) -> float:
    """Return kilograms from grams."""
    return float(mass_g) / 1000.0


def g_from_kg(mass: float) -> float:
    """Return grams from kilograms."""
    return mass * 1000.0


def m_from_mm(length_mm: float) -> float:
    """Return metres from millimetres."""
    return length_mm / 1000.0


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


def kg_per_m3_from_g_per_mark(slope_g_per_mark: float, ml_per_mark: float) -> float:
    """Return a dose slope per volume of scale from a slope per mark of the volume scale."""
    return slope_g_per_mark / ml_per_mark * 1000.0


def g_per_mark_from_si(slope: float, ml_per_mark: float) -> float:
    """Return grams per mark of the volume scale from a slope in kilograms per cubic metre."""
    return slope / 1000.0 * ml_per_mark


def kelvin_from_c(temperature_c: float) -> float:
    """Return kelvins from degrees Celsius."""
    return temperature_c + 273.15


def pa_from_hpa(pressure_hpa: float) -> float:
    """Return pascals from hectopascals."""
    return pressure_hpa * 100.0


def share_from_pct(percent: float | Decimal) -> float:
    """Return a share from a percentage."""
    return float(percent) / 100.0


def pct_from_share(share: float) -> float:
    """Return a percentage from a share."""
    return share * 100.0
