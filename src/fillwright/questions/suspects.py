"""The question after a bad check: which containers are suspect."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Count, Given, Real, Values, shown

if TYPE_CHECKING:
    from fillwright.science.hold import Check

__all__ = ["suspect"]

_MOST_CONTAINER = 10_000_000
Container = Annotated[int, Count(at_least=1, at_most=_MOST_CONTAINER)]
_CONTAINER = Count(at_least=1, at_most=_MOST_CONTAINER)


def _read_at(value: Any) -> tuple[int, int]:  # noqa: ANN401  anything may come in
    """Return the containers weighed: one number, or first and last."""
    ends = value if isinstance(value, (list, tuple)) else [value, value]
    allowed = "a number, or [first, last] with the first not above the last"
    if len(ends) != 2:  # noqa: PLR2004  two ends
        raise PydanticCustomError(
            "type", "{what}", {"what": f"{len(ends)} numbers", "allowed": allowed}
        )
    first, last = (int(_CONTAINER.read(end)) for end in ends)
    if first > last:
        raise PydanticCustomError(
            "inconsistent", "{what}", {"what": "the first is above the last", "allowed": allowed}
        )
    return first, last


def _read_ok(value: Any) -> str:  # noqa: ANN401  anything may come in
    """Return the outcome of a check by its name."""
    known = {True: "good", False: "bad"}
    if isinstance(value, bool):
        return known[value]
    if value in ("void", "alarm"):
        return str(value)
    allowed = 'true, false, "void" or "alarm"'
    raise PydanticCustomError(
        "choice", "{what}", {"what": f"{shown(value)!r} is not known", "allowed": allowed}
    )


class CheckGiven(Given):
    """One check during a run."""

    at: Annotated[
        tuple[int, int],
        BeforeValidator(_read_at),
        WithJsonSchema(
            {
                "anyOf": [
                    {"type": "integer", "minimum": 1},
                    {"type": "string", "pattern": "^[0-9]+$"},
                    {
                        "type": "array",
                        "items": {
                            "anyOf": [
                                {"type": "integer", "minimum": 1},
                                {"type": "string", "pattern": "^[0-9]+$"},
                            ]
                        },
                        "minItems": 2,
                        "maxItems": 2,
                    },
                ]
            }
        ),
    ] = Field(description="Number of the container weighed, or first and last of them.")
    ok: Annotated[
        str,
        BeforeValidator(_read_ok),
        WithJsonSchema({"enum": [True, False, "void", "alarm"]}),
    ] = Field(
        description="Whether it was good; void where the scale was at fault, alarm of a chart."
    )
    adjusted_after: bool | None = Field(
        default=None, description="Whether the machine was corrected right after it."
    )
    adjusted_before_container: Container | None = Field(
        default=None, description="First container filled after that correction."
    )


class SuspectGiven(Given):
    """The checks of a run and where it was stopped."""

    checks: Values[CheckGiven] = Field(
        description="Checks in the order they were made.",
        max_length=10_000,
        examples=[[{"at": 40, "ok": True}, {"at": 80, "ok": False}]],
    )
    stopped_after: Annotated[int, Count(at_least=0, at_most=_MOST_CONTAINER)] = Field(
        description="Last container filled before the run was stopped.", examples=[85]
    )
    first_container: Container = Field(
        default=1, description="Number of the first container of the run."
    )
    alarm_zero_at_check: Annotated[int, Count(at_least=0, at_most=10_000)] | None = Field(
        default=None,
        description="Check, counted from 1, at which the alarming sum was last zero.",
    )
    deviations_in_sd: Values[Annotated[float, Real(at_least=-1000, at_most=1000)]] | None = Field(
        default=None,
        min_length=1,
        max_length=10_000,
        description="What the last checks up to the alarm read, one figure a check, as "
        "deviation over the sd of a dose. The range then goes back to where the change lies "
        "after with 95 %, if that is earlier.",
    )


class SuspectAnswer(Answer):
    """Which containers are suspect; null where none is."""

    first: int | None
    last: int | None


def suspect(given: SuspectGiven) -> SuspectAnswer:
    """Answer which containers are suspect."""
    from fillwright.science import hold  # noqa: PLC0415  loaded when asked

    _check_order(given)
    found = hold.suspect_range(
        [_check(one) for one in given.checks],
        stopped_after=given.stopped_after,
        first_container=given.first_container,
        alarm_zero_at_check=given.alarm_zero_at_check,
        change_after_check=_change_after(given),
    )
    return SuspectAnswer(
        first=found.first,
        last=found.last,
        because=found.because,
        assumptions=found.assumptions,
        sources=("All after the last good, valid check; common practice, no source",),
    )


def _change_after(given: SuspectGiven) -> int | None:
    """Return the check after which the change came, where the readings are given."""
    from fillwright.science import suspect as hold  # noqa: PLC0415  loaded when asked

    rows = given.deviations_in_sd
    alarms = [n for n, one in enumerate(given.checks, 1) if one.ok == "alarm"]
    if rows is None:
        return None
    if not alarms or len(rows) > alarms[-1]:
        raise BadInput(
            f"deviations_in_sd holds {len(rows)} figures; give one for each check up to the "
            "alarm, the last ones.",
            field="deviations_in_sd",
            given=len(rows),
            allowed=f"up to {alarms[-1]}" if alarms else "none without an alarm",
            code="inconsistent",
        )
    return alarms[-1] - len(rows) + hold.change_not_before(rows)


def _check(one: CheckGiven) -> Check:
    """Return a check as science takes it."""
    from fillwright.science import hold  # noqa: PLC0415  loaded when asked

    return hold.Check(
        first=one.at[0],
        last=one.at[1],
        outcome=hold.CheckOutcome(one.ok),
        adjusted_after=bool(one.adjusted_after),
        adjusted_before_container=one.adjusted_before_container,
    )


def _check_order(given: SuspectGiven) -> None:
    """Refuse checks that are out of order, or containers that were not filled yet."""
    before = given.first_container - 1
    for number, one in enumerate(given.checks):
        if one.at[0] <= before:
            raise BadInput(
                f"checks[{number}].at is {one.at[0]}; give checks in order, above {before}.",
                field=f"checks[{number}].at",
                given=one.at[0],
                allowed=f"above {before}",
                code="inconsistent",
            )
        before = one.at[1]
    if before > given.stopped_after:
        raise BadInput(
            f"stopped_after is {given.stopped_after}; container {before} was filled before.",
            field="stopped_after",
            given=given.stopped_after,
            allowed=f"{before} or more",
            code="inconsistent",
        )
    zero = given.alarm_zero_at_check
    if zero is not None and zero > len(given.checks):
        raise BadInput(
            f"alarm_zero_at_check is {zero}; there are {len(given.checks)} checks.",
            field="alarm_zero_at_check",
            given=zero,
            allowed=f"up to {len(given.checks)}",
            code="inconsistent",
        )
