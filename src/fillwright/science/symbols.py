"""Symbols of the net-contents equations, with meaning and unit, for reports and reference pages.

One row a symbol; names in code follow the words, single letters stand only beside an equation.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["QUANTITY_SYMBOLS", "Symbol"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Symbol:
    """A symbol of an equation.

    Attributes
    ----------
    symbol : str
        As printed.
    meaning : str
        In the words of the trade.
    unit : str
        Unit, ``1`` where there is none.
    """

    symbol: str
    meaning: str
    unit: str


QUANTITY_SYMBOLS: Final = (
    Symbol(symbol="Qn", meaning="label (nominal) quantity", unit="g or mL"),
    Symbol(symbol="x", meaning="actual content of a package, volumes at 20 °C", unit="g or mL"),
    Symbol(symbol="e", meaning="package error, x - Qn; negative is short", unit="g or mL"),
    Symbol(symbol="T", meaning="tolerable shortage of one package", unit="g or mL"),
    Symbol(symbol="T1", meaning="limit Qn - T", unit="g or mL"),
    Symbol(symbol="T2", meaning="limit Qn - 2T", unit="g or mL"),
    Symbol(symbol="N", meaning="packages in the lot", unit="1"),
    Symbol(symbol="n", meaning="packages in the sample", unit="1"),
    Symbol(symbol="s", meaning="standard deviation of the sample, divisor n - 1", unit="g or mL"),
    Symbol(symbol="k", meaning="sample correction factor as printed in the rule", unit="1"),
    Symbol(symbol="Ac", meaning="most short packages that still accept", unit="1"),
    Symbol(symbol="Re", meaning="fewest short packages that reject", unit="1"),
    Symbol(symbol="µ", meaning="process mean", unit="g or mL"),
    Symbol(symbol="σw", meaning="standard deviation of contents within a lot", unit="g or mL"),
    Symbol(symbol="σb", meaning="standard deviation of the mean from lot to lot", unit="g or mL"),
    Symbol(symbol="σt", meaning="standard deviation of single tares", unit="g"),
    Symbol(symbol="W", meaning="net reading of the scale", unit="g"),
    Symbol(symbol="ρ", meaning="density of the product", unit="g/mL"),
    Symbol(symbol="ρa", meaning="conventional density of air", unit="g/mL"),
    Symbol(symbol="ρw", meaning="conventional density of weights", unit="g/mL"),
    Symbol(symbol="d", meaning="division of the scale", unit="g"),
)
