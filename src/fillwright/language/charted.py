"""A chart in US customary units: its figures are turned before it is drawn, its units after.

So axes, marks and rows are those of a chart in ounces, not of one in grams with other words.
"""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final, TypeVar, cast

from fillwright.language.measures import in_us
from fillwright.language.usfigures import Rounding, shown
from fillwright.records.charts import Chart, CylinderLanes, DoseChart, LimitMark, LotChart
from fillwright.records.units import US_CUSTOMARY, us_from_metric

__all__ = ["chart_in_us", "named_in_us"]

_ENDINGS: Final = {"_g": "g", "_ml": "mL", "_mm": "mm", "_c": "°C"}
_ROUNDED: Final[dict[str, Rounding]] = {
    "limit_g": "up",
    "aim_g": "up",
    "low_g": "up",
    "claim_low_g": "up",
    "high_g": "down",
    "claim_high_g": "down",
    "nominal": "up",
    "t1_label_unit": "up",
    "t2_label_unit": "up",
}
"""Limits and the aim are rounded up, bands and claims inwards."""
_NAMED: Final = re.compile(r"(?<=\d )(?:g|mL|mm|°C)(?![\w/])|(?<=, )(?:g|mL|mm|°C)(?=$|[<\"])")
_LABELLED: Final = frozenset({"values_label_unit", "nominal", "mean", "limit"}) | {
    "t1_label_unit",
    "t2_label_unit",
}
_Spec = TypeVar("_Spec")


def chart_in_us(spec: Chart) -> Chart:
    """Return a chart with its weights, volumes, lengths and temperatures in US units.

    Parameters
    ----------
    spec : Chart
        In grams, millilitres, millimetres and degrees Celsius.
    """
    if isinstance(spec, LotChart):
        return _kept_apart(spec, _turned(spec, spec.unit))
    return _turned(spec, "")


def named_in_us(drawn: str) -> str:
    """Return a drawing, or words about it, with the names of the US units behind its figures."""
    return _NAMED.sub(lambda found: US_CUSTOMARY[found[0]].name, drawn)


def _turned(spec: _Spec, label_unit: str) -> _Spec:
    """Return a part of a chart with every figure turned that says its unit."""
    decimals = getattr(spec, "decimals", None)
    new: dict[str, Any] = {}
    for one in fields(cast("Any", spec)):
        value = getattr(spec, one.name)
        unit = _unit_of(one.name) or (label_unit if one.name in _LABELLED else "")
        rounding = _ROUNDED.get(one.name, "nearest")
        if unit:
            new[one.name] = _figures(value, unit, rounding, decimals)
        elif isinstance(value, str) and one.name in ("words", "title", "name"):
            new[one.name] = in_us(value)
        elif isinstance(value, tuple) and value and is_dataclass(value[0]):
            new[one.name] = tuple(_turned(item, label_unit) for item in value)
        elif is_dataclass(value):
            new[one.name] = _turned(value, label_unit)
    if label_unit:
        new["unit"] = US_CUSTOMARY[label_unit].name
    if isinstance(spec, CylinderLanes):
        new["unit"] = US_CUSTOMARY["mL"].name
    if decimals is not None:
        new["decimals"] = _decimals(decimals, label_unit or "g")
    if isinstance(spec, DoseChart):
        new["limits"] = tuple(_limit(limit, spec.decimals) for limit in spec.limits)
    return cast("_Spec", replace(cast("Any", spec), **new))


def _kept_apart(spec: LotChart, turned: LotChart) -> LotChart:
    """Return a turned lot with every value on the side of each limit where it was."""
    values = list(turned.values_label_unit)
    step = Decimal(1).scaleb(-turned.decimals)
    for name in ("t1_label_unit", "t2_label_unit"):
        limit, shown_limit = getattr(spec, name), getattr(turned, name)
        if limit is None:
            continue
        for place, value in enumerate(spec.values_label_unit):
            is_below = Fraction(value) < Fraction(limit)
            if is_below != (Fraction(values[place]) < Fraction(shown_limit)):
                values[place] = Decimal(str(shown_limit)) - (step if is_below else 0)
    return replace(turned, values_label_unit=tuple(values))


def _unit_of(name: str) -> str:
    """Return the metric unit that the end of a name says; empty where it says none."""
    return next((unit for ending, unit in _ENDINGS.items() if name.endswith(ending)), "")


def _limit(limit: LimitMark, decimals: int) -> LimitMark:
    """Return a limit, rounded up."""
    turned = _figures(limit.limit_g, "g", "up", decimals)
    return replace(limit, limit_g=cast("Decimal", turned))


def _figures(value: object, unit: str, rounding: Rounding, decimals: int | None) -> object:
    """Return one figure or a row of them in the US unit."""
    if isinstance(value, tuple):
        return tuple(_figures(item, unit, rounding, decimals) for item in value)
    if isinstance(value, Decimal):
        return Decimal(_shown(format(value, "f"), unit, rounding))
    if not isinstance(value, float):
        return value
    if rounding != "nearest" and decimals is not None:
        return float(_shown(f"{value:.{decimals}f}", unit, rounding))
    if unit == "mm":
        return float(_shown(format(Decimal(f"{value:g}"), "f"), unit, rounding))
    return float(us_from_metric(Decimal(value), unit)) if abs(value) < float("inf") else value


def _shown(figure: str, unit: str, rounding: Rounding) -> str:
    """Return a figure as pages show it, with a plain minus."""
    return shown(figure, unit, rounding=rounding).replace("\u2212", "-")


def _decimals(decimals: int, unit: str) -> int:
    """Return the places of the US unit for so many places of the metric one."""
    return len(_shown(f"{1:.{decimals}f}", unit, "nearest").partition(".")[2])
