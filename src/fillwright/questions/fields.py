"""The kinds of figure at the edge of a question, and the two forms that every model has.

A number comes as a JSON number, read by its shortest decimal text, or as a string, read as it
stands. Exact figures leave as strings, computed ones as numbers.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Annotated, Any, Final, Literal, TypeVar

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    PlainSerializer,
    WithJsonSchema,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from fillwright import __version__
from fillwright.errors import BadInput
from fillwright.records.units import g_from_kg, ml_from_m3

__all__ = [
    "LIST_MOST",
    "LONGEST_SHOWN",
    "Answer",
    "Count",
    "Exact",
    "ExactFigure",
    "Figures",
    "Given",
    "Real",
    "RulesName",
    "Text",
    "UnitName",
    "Values",
    "check_span",
    "grams",
    "millilitres",
    "shown",
]

LIST_MOST: Final = 100_000
_DIGITS_MOST: Final = 30
_MOST_STEPS: Final = 1_000_000
LONGEST_SHOWN: Final = 80
_LARGEST_SHOWN: Final = 10**40
_WRITTEN: Final = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_PATTERN: Final = r"^[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]{1,3})?$"
_PLAIN_PATTERN: Final = r"^-?[0-9]+(\.[0-9]+)?$"
_LARGEST: Final = Decimal("1e15")
_SMALLEST: Final = Decimal("1e-12")
_NOTHING: Final = Decimal("1e-60")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Number:
    """A number within limits; `code` is the error where it is not."""

    above: float | None = None
    at_least: float | None = None
    below: float | None = None
    at_most: float | None = None
    code: Literal["range", "outside-model"] = "range"

    def allowed(self) -> str:
        """Return in words what would do."""
        parts = []
        if self.above is not None:
            parts.append(f"above {self.above:g}")
        if self.at_least is not None:
            parts.append(f"{self.at_least:g} or more")
        if self.below is not None:
            parts.append(f"below {self.below:g}")
        if self.at_most is not None:
            parts.append(f"{self.at_most:.15g} or less")
        return f"{self._kind()} {' and '.join(parts)}".strip()

    def read(self, value: object) -> Any:  # noqa: ANN401  Decimal, float or int by kind
        """Return the number that was given, or refuse it."""
        exact = self._exact(value)
        inside = (
            (self.above is None or exact > _limit(self.above))
            and (self.at_least is None or exact >= _limit(self.at_least))
            and (self.below is None or exact < _limit(self.below))
            and (self.at_most is None or exact <= _limit(self.at_most))
        )
        if not inside:
            raise self._refused(self.code, f"{exact:f} is outside")
        return self._made(exact)

    def _exact(self, value: object) -> Decimal:
        """Return what was given as an exact decimal of a sane size."""
        if value is None:
            raise self._refused("missing", "it is missing")
        if isinstance(value, str):
            exact = self._from_text(value.strip())
        elif isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
            raise self._refused("type", f"{_noun(value)} is not a number")
        elif isinstance(value, int) and abs(value) > _LARGEST_SHOWN:
            raise self._refused("range", "the number is too large to be meant")
        elif not math.isfinite(value):
            raise self._refused("not-finite", f"{value} is not finite")
        else:
            exact = Decimal(repr(float(value))) if isinstance(value, float) else Decimal(value)
        if abs(exact) > _LARGEST:
            raise self._refused("range", "the number is too large to be meant")
        if self.above == 0 and 0 < exact < _SMALLEST:
            raise self._refused("range", "the number is too small to be meant")
        if 0 < abs(exact) < _NOTHING:
            return Decimal(0)
        if len(exact.as_tuple().digits) > _DIGITS_MOST:
            raise self._refused("range", f"more than {_DIGITS_MOST} digits")
        return exact

    def _from_text(self, text: str) -> Decimal:
        """Return the exact decimal that a text writes."""
        if text.lower().lstrip("+-") in {"nan", "inf", "infinity"}:
            raise self._refused("not-finite", f"{text} is not finite")
        if len(text) > 4 * _DIGITS_MOST or _WRITTEN.fullmatch(text) is None:
            raise self._refused("type", f"{text[:40]!r} is not a number")
        return Decimal(text)

    def _refused(self, code: str, what: str) -> PydanticCustomError:
        """Return the error in the form that the edge turns into a sentence."""
        return PydanticCustomError(code, "{what}", {"what": what, "allowed": self.allowed()})

    def _kind(self) -> str:
        """Return what it must be, before any limit."""
        return "a number"

    def _made(self, exact: Decimal) -> Any:  # noqa: ANN401  by kind
        """Return the number in the type of its kind."""
        return float(exact)

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        limits = {
            "exclusiveMinimum": _whole_if_it_is(self.above),
            "minimum": _whole_if_it_is(self.at_least),
            "exclusiveMaximum": _whole_if_it_is(self.below),
            "maximum": _whole_if_it_is(self.at_most),
        }
        given = {word: limit for word, limit in limits.items() if limit is not None}
        number = {"type": self._json_type(), **given}
        return {"anyOf": [number, {"type": "string", "pattern": _PATTERN}]}

    def _json_type(self) -> str:
        """Return the JSON Schema type of the number."""
        return "number"


@dataclass(frozen=True, slots=True, kw_only=True)
class Exact(_Number):
    """A figure that a scale showed or a law compares: stays the decimal it was given as."""

    def _made(self, exact: Decimal) -> Any:  # noqa: ANN401  a Decimal
        return exact


@dataclass(frozen=True, slots=True, kw_only=True)
class Real(_Number):
    """A figure that is computed with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Count(_Number):
    """A whole number."""

    def _exact(self, value: object) -> Decimal:
        exact = _Number._exact(self, value)  # noqa: SLF001  a slotted dataclass has no bare super
        if exact != exact.to_integral_value():
            raise self._refused("type", f"{exact:f} is not whole")
        return exact

    def _made(self, exact: Decimal) -> Any:  # noqa: ANN401  an int
        return int(exact)

    def _kind(self) -> str:
        return "a whole number"

    def _json_type(self) -> str:
        return "integer"


def _whole_if_it_is(limit: float | None) -> float | None:
    """Return a limit as a whole number where it is one.

    Two equal limits, one written 1000 and one 1e3, share one annotation, so that the order of
    imports would decide how both are shown.
    """
    return int(limit) if limit is not None and limit == int(limit) else limit


@cache
def _limit(value: float) -> Decimal:
    """Return a limit by its shortest decimal text, as numbers are read too: 0.1 is 0.1."""
    return Decimal(repr(value))


def _plain(value: Decimal) -> str:
    """Return a decimal in plain notation."""
    return f"{value:f}"


ExactFigure = Annotated[
    Decimal,
    PlainSerializer(_plain, return_type=str),
    WithJsonSchema({"type": "string", "pattern": _PLAIN_PATTERN}, mode="serialization"),
]
UnitName = Literal["g", "mL"]
Text = Annotated[str, Field(min_length=1, max_length=200)]


@dataclass(frozen=True, slots=True)
class _NamesOfRuleSets:
    """Puts the rule sets that are held into the schema; the loader refuses other names."""

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        from fillwright.knowledge.load import rule_sets  # noqa: PLC0415  read only for a schema

        return {"type": "string", "enum": list(rule_sets())}


RulesName = Annotated[str, _NamesOfRuleSets()]
_T = TypeVar("_T")
Values = Annotated[tuple[_T, ...], Field(max_length=LIST_MOST, strict=False)]


class Given(BaseModel):
    """What a question is given: unknown fields are refused, null is the same as left out."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, defer_build=True, allow_inf_nan=False, strict=True
    )

    @model_validator(mode="before")
    @classmethod
    def _null_is_left_out(cls, given: Any) -> Any:  # noqa: ANN401  anything may come in
        if not isinstance(given, dict):
            return given
        known = {field.alias or name for name, field in cls.model_fields.items()}
        return {
            name: value for name, value in given.items() if value is not None or name not in known
        }


class Figures(BaseModel):
    """Figures of an answer that belong together."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class Answer(Figures):
    """What every answer carries besides its figures."""

    because: str
    assumptions: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    version: str = __version__


def grams(mass: float) -> float:
    """Return a computed mass in grams, without the last digit's noise of the conversion.

    Parameters
    ----------
    mass : float
        Mass in kilograms.

    Returns
    -------
    float
        The same in grams, to 15 significant digits.
    """
    return float(f"{g_from_kg(mass):.15g}")


def millilitres(volume: float) -> float:
    """Return a computed volume in millilitres, without the noise of the conversion.

    Parameters
    ----------
    volume : float
        Volume in cubic metres.

    Returns
    -------
    float
        The same in millilitres, to 15 significant digits.
    """
    return float(f"{ml_from_m3(volume):.15g}")


def check_span(readings: tuple[float, ...], field: str, *, step: float = 0.0) -> None:
    """Refuse readings whose spread is out of all proportion to a scale's step.

    Parameters
    ----------
    readings : tuple of float
        Readings in the unit of `step`.
    field : str
        Name of the field, for the message.
    step : float
        Step of the weighing scale; 0 where it can be neglected.

    Raises
    ------
    BadInput
        If the readings span more than a million steps.
    """
    reach = max(readings) - min(readings)
    if step and reach > _MOST_STEPS * step:
        raise BadInput(
            f"{field} span {reach:g}, over a million steps of {step:g}; check the units.",
            field=field,
            given=reach,
            allowed=f"a span of up to {_MOST_STEPS} steps",
            code="inconsistent",
        )


def shown(value: object) -> str:
    """Return what was given, short enough for a message.

    Parameters
    ----------
    value : object
        Anything that may come in.

    Returns
    -------
    str
        Text of at most 80 characters.
    """
    if isinstance(value, (list, tuple)):
        return f"a list of {len(value)}"
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) > _LARGEST_SHOWN:
        return "a very large number"
    text = str(value)
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 3]}..."


def _noun(value: object) -> str:
    """Return what kind of thing was given, in words of JSON."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, (list, tuple)):
        return "a list"
    return f"a {type(value).__name__}"
