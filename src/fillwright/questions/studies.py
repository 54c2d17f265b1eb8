"""Questions of a study: how a spread splits into its parts, and the capability indices."""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Count, Figures, Given, Real, Values

__all__ = ["capability", "repeatability_study"]

_MOST_ROWS = 10_000
_LONGEST_NAME = 60


def _read_name(value: Any) -> str:  # noqa: ANN401  anything may come in
    """Return the name of a container or an operator: text or a whole number."""
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        told = {"what": "it is no name", "allowed": "text or a whole number"}
        raise PydanticCustomError("type", "{what}", told)
    if isinstance(value, int) and abs(value) > 10**12:
        raise PydanticCustomError(
            "range", "{what}", {"what": "the number is too large", "allowed": "up to 1e12"}
        )
    name = str(value).strip()
    if not 0 < len(name) <= _LONGEST_NAME:
        told = {"what": f"{len(name)} letters", "allowed": f"1 to {_LONGEST_NAME} letters"}
        raise PydanticCustomError("range", "{what}", told)
    return name


Name = Annotated[
    str,
    BeforeValidator(_read_name),
    WithJsonSchema({"anyOf": [{"type": "string", "minLength": 1}, {"type": "integer"}]}),
]


class StudyRow(Given):
    """One reading of a study."""

    container: Name = Field(description="Which filled container.")
    operator: Name | None = Field(default=None, description="Who weighed it.")
    reading: Annotated[float, Real(at_least=-1e9, at_most=1e9)] = Field(
        description="What the scale showed."
    )


class RepeatabilityStudyGiven(Given):
    """Filled containers, each weighed several times in shuffled order."""

    rows: Values[StudyRow] = Field(
        description="Readings in any one unit.",
        min_length=3,
        max_length=_MOST_ROWS,
        examples=[
            [
                {"container": "a", "reading": 250.1},
                {"container": "a", "reading": 250.2},
                {"container": "b", "reading": 249.6},
                {"container": "b", "reading": 249.6},
                {"container": "c", "reading": 250.5},
                {"container": "c", "reading": 250.3},
            ]
        ],
    )


class Variances(Figures):
    """Variance components, in the square of the unit of the readings."""

    within: float
    between: float
    operator: float | None
    interaction: float | None


class RepeatabilityStudyAnswer(Answer):
    """Where the spread comes from."""

    components: Variances
    within_sd: float
    within_sd_interval: tuple[float, float]
    ms_between: float
    ms_within: float
    df_between: int
    df_within: int
    f: float | None


def repeatability_study(given: RepeatabilityStudyGiven) -> RepeatabilityStudyAnswer:
    """Answer how a spread splits into scale, doses and operators."""
    from fillwright.science import repeatability  # noqa: PLC0415  loaded when asked

    operators = [row.operator for row in given.rows]
    if None in operators and any(name is not None for name in operators):
        place = operators.index(None)
        raise BadInput(
            f"rows[{place}].operator is missing; name the operator in every row or in none.",
            field=f"rows[{place}].operator",
            allowed="a name",
            code="missing",
        )
    found = repeatability.repeatability_study(
        [row.container for row in given.rows],
        [row.reading for row in given.rows],
        operators=None if None in operators else operators,
    )
    return RepeatabilityStudyAnswer(
        components=Variances(
            within=found.within,
            between=found.between,
            operator=found.operator,
            interaction=found.interaction,
        ),
        within_sd=found.within_sd,
        within_sd_interval=found.within_sd_interval,
        ms_between=found.ms_between,
        ms_within=found.ms_within,
        df_between=found.df_between,
        df_within=found.df_within,
        f=found.f,
        because=f"One container weighed again scatters with sd {found.within_sd:.3g}; "
        f"containers differ with sd {math.sqrt(found.between):.3g}.",
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


class CapabilityGiven(Given):
    """Readings, or their number, mean and sd, against two limits; any one unit."""

    readings: Values[Annotated[float, Real(at_least=-1e9, at_most=1e9)]] | None = Field(
        default=None, description="The readings; or the three below."
    )
    n: Annotated[int, Count(at_least=2, at_most=10_000_000)] | None = Field(
        default=None, description="Number of readings.", examples=[50]
    )
    mean: Annotated[float, Real(at_least=-1e9, at_most=1e9)] | None = Field(
        default=None, description="Their mean.", examples=[250.1]
    )
    sd_overall: Annotated[float, Real(above=0, at_most=1e9)] | None = Field(
        default=None, description="Their sd, divisor n - 1.", examples=[0.6]
    )
    lower: Annotated[float, Real(at_least=-1e9, at_most=1e9)] = Field(
        description="Lower limit.", examples=[247.5]
    )
    upper: Annotated[float, Real(at_least=-1e9, at_most=1e9)] = Field(
        description="Upper limit.", examples=[252.5]
    )


class CapabilityAnswer(Answer):
    """Indices by the overall sd, with their uncertainty."""

    pp: float = Field(serialization_alias="Pp")
    ppk: float = Field(serialization_alias="Ppk")
    pp_interval: tuple[float, float] = Field(serialization_alias="Pp_interval")
    ppk_lower: float = Field(serialization_alias="Ppk_lower")
    share_outside: float


def capability(given: CapabilityGiven) -> CapabilityAnswer:
    """Answer with Pp and Ppk against two limits."""
    from fillwright.science import capability as science  # noqa: PLC0415  loaded when asked

    if given.upper <= given.lower:
        raise BadInput(
            f"upper is {given.upper:g}; give one above lower, {given.lower:g}.",
            field="upper",
            given=given.upper,
            allowed=f"above {given.lower:g}",
            code="inconsistent",
        )
    n, mean, sd = _summary(given)
    found = science.capability(n, mean=mean, sd_overall=sd, lower=given.lower, upper=given.upper)
    return CapabilityAnswer(
        pp=found.pp,
        ppk=found.ppk,
        pp_interval=found.pp_interval,
        ppk_lower=found.ppk_lower,
        share_outside=found.share_outside,
        because=f"Pp is {found.pp:.3g}, Ppk {found.ppk:.3g} and above {found.ppk_lower:.3g} "
        f"with 95 %; a share of {found.share_outside:.2g} lies outside.",
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


def _summary(given: CapabilityGiven) -> tuple[int, float, float]:
    """Return number, mean and sd, from the readings or as given."""
    told = (given.n, given.mean, given.sd_overall)
    if given.readings is None:
        if given.n is None or given.mean is None or given.sd_overall is None:
            name = ("n", "mean", "sd_overall")[told.index(None)]
            raise BadInput(
                f"{name} is missing; give n, mean and sd_overall, or the readings.",
                field=name,
                allowed="a number",
                code="missing",
            )
        return given.n, given.mean, given.sd_overall
    if told != (None, None, None):
        raise BadInput(
            "readings are given beside n, mean or sd_overall; give one of the two.",
            field="readings",
            given=f"{len(given.readings)} readings",
            allowed="readings, or n with mean and sd_overall",
            code="inconsistent",
        )
    n = len(given.readings)
    mean = math.fsum(given.readings) / max(n, 1)
    squares = math.fsum((reading - mean) ** 2 for reading in given.readings)
    if n < 2 or squares == 0:  # noqa: PLR2004  a spread needs two
        raise BadInput(
            "readings show no spread; give two or more that differ.",
            field="readings",
            given=f"{n} readings",
            allowed="two or more that differ",
        )
    return n, mean, math.sqrt(squares / (n - 1))
