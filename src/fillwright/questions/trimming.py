"""The question behind the hand wheel while trimming: where to set it next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Given, Real, Values, grams, millilitres
from fillwright.records.units import (
    kg_from_g,
    kg_per_m3_from_g_per_ml,
    m3_from_ml,
    share_from_pct,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fillwright.science.trim import ShotGroup, TrimHistory, TrimPrior

__all__ = ["trim_next"]

_MOST_SHOTS = 200
_MOST_PAST = 50
Percent = Annotated[float, Real(above=0, at_most=100)]
Density = Annotated[float, Real(above=0.01, at_most=30)]
Positive = Annotated[float, Real(above=0)]
NotNegative = Annotated[float, Real(at_least=0)]


class Shots(Given):
    """The shots of one stay at a setting."""

    setting_ml: NotNegative = Field(description="Where the volume scale stood.")
    g: Values[NotNegative] = Field(
        description="Net readings in the order they were shot.",
        min_length=1,
        max_length=_MOST_SHOTS,
    )
    from_above: bool = Field(
        default=False,
        description="True where the setting was come to from above: the play is not taken up. "
        "A stay from below and one from above at the same setting teach the play.",
    )


class Past(Given):
    """An earlier trim of the same machine, cylinder and product."""

    target_g: Positive = Field(description="Reading that was wanted.")
    density_g_per_ml: Density = Field(description="Apparent density of that batch.")
    shots: Values[Shots] = Field(
        description="Its stays in the order they were shot.",
        min_length=1,
        max_length=_MOST_SHOTS,
    )


class Prior(Given):
    """What is known of the machine before the first shot."""

    slope_between: Values[Positive] | None = Field(
        default=None,
        min_length=2,
        max_length=2,
        description="Ends of the dose gained per millilitre of scale, in grams.",
    )
    slope_sd_percent: Percent | None = Field(
        default=None, description="Sd of that slope, of the density."
    )
    offset_sd_percent_of_cylinder: Percent | None = Field(
        default=None, description="Sd of the dose at setting zero, of the full cylinder."
    )
    shot_sd_g: Positive | None = Field(default=None, description="Sd from shot to shot.")
    shot_sd_percent: Percent | None = Field(
        default=None, description="The same, of the target; give one of the two."
    )
    air_chance: Annotated[float, Real(at_least=0, below=1)] | None = Field(
        default=None,
        description="Chance that priming left air in the wet path; 0.05 when left out.",
    )
    first_shortfall_percent: Percent | None = Field(
        default=None, description="How much the first shot is short by where air is left."
    )


class TrimNextGiven(Given):
    """The dose that is wanted, the machine, and the shots so far."""

    target_g: Positive = Field(description="Reading wanted of the mean dose.", examples=[250])
    upper_limit_g: Positive = Field(
        description="Reading that a shot must not pass.", examples=[252.5]
    )
    within_percent: Percent = Field(
        description="Half width of the band for the mean, of the target.", examples=[0.5]
    )
    probability: Annotated[float, Real(above=0, below=1)] = Field(
        description="Wanted probability that the mean is inside the band.", examples=[0.9]
    )
    alpha: Annotated[float, Real(above=0, below=1)] = Field(
        description="Allowed probability for one shot to pass the upper limit.", examples=[0.05]
    )
    cylinder_ml: Positive = Field(
        description="Volume of the product cylinder, full scale.", examples=[500]
    )
    density_g_per_ml: Density = Field(
        description="Apparent density of the product, weighed from this batch.", examples=[1.0]
    )
    readability_g: NotNegative = Field(description="Step of the weighing scale.", examples=[0.1])
    hand_wheel_sd_ml: NotNegative | None = Field(
        default=None,
        description="Sd of the setting when it is come to from below; 0.1 % of the cylinder "
        "when left out.",
    )
    lost_motion_ml: NotNegative | None = Field(
        default=None, description="Play of the hand wheel; 1 % of the cylinder when left out."
    )
    shots: Values[Shots] = Field(
        description="Stays in the order they were shot; empty before the first.",
        max_length=_MOST_SHOTS,
        examples=[[{"setting_ml": 246.0, "g": [247.1]}]],
    )
    prior: Prior | None = Field(default=None, description="What is known of the machine.")
    past: Values[Past] = Field(
        default=(),
        max_length=_MOST_PAST,
        description="Earlier trims of the same machine, cylinder and product; what prior says "
        "goes before them.",
    )


class TrimNextAnswer(Answer):
    """Where to set the volume scale next, and what is known of the dose."""

    done: bool
    feasible: bool
    setting_ml: float
    via_ml: float | None
    direction: Literal["up", "down", "stay"]
    p_within: float
    p_over: float
    mean_g: float
    mean_sd_g: float
    sd_g: float
    set_aside: tuple[int, ...]
    next_upper_g: float
    setting_between_ml: tuple[float, float]
    ceiling: float
    limited_by: Literal["wheel", "scale", "scatter"]
    lost_motion_ml: float
    lost_motion_sd_ml: float
    p_air: float


def trim_next(given: TrimNextGiven) -> TrimNextAnswer:
    """Answer with the next setting, or that the mean dose is right."""
    from fillwright.science import trim  # noqa: PLC0415  loaded when asked

    _check(given)
    found = trim.next_setting(
        _groups(given.shots),
        target=kg_from_g(given.target_g),
        upper_limit=kg_from_g(given.upper_limit_g),
        within=share_from_pct(given.within_percent),
        probability=given.probability,
        alpha=given.alpha,
        cylinder=m3_from_ml(given.cylinder_ml),
        density=kg_per_m3_from_g_per_ml(given.density_g_per_ml),
        readability=kg_from_g(given.readability_g),
        hand_wheel_sd=None
        if given.hand_wheel_sd_ml is None
        else m3_from_ml(given.hand_wheel_sd_ml),
        lost_motion=None if given.lost_motion_ml is None else m3_from_ml(given.lost_motion_ml),
        prior=_prior(given),
        history=_history(given),
    )
    return TrimNextAnswer(
        done=found.done,
        feasible=found.feasible,
        setting_ml=millilitres(found.setting),
        via_ml=None if found.via is None else millilitres(found.via),
        direction=found.direction.value,
        p_within=found.p_within,
        p_over=found.p_over,
        mean_g=grams(found.mean),
        mean_sd_g=grams(found.mean_sd),
        sd_g=grams(found.sd),
        set_aside=tuple(place + 1 for place in found.set_aside),
        next_upper_g=grams(found.next_upper),
        setting_between_ml=(millilitres(found.setting_low), millilitres(found.setting_high)),
        ceiling=found.ceiling,
        limited_by=found.limited_by,  # type: ignore[arg-type]  # one of the three words
        lost_motion_ml=millilitres(found.lost_motion),
        lost_motion_sd_ml=millilitres(found.lost_motion_sd),
        p_air=found.p_air,
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


def _check(given: TrimNextGiven) -> None:
    """Refuse figures that contradict each other, in the units they were given in."""
    if given.upper_limit_g <= given.target_g:
        raise BadInput(
            f"upper_limit_g is {given.upper_limit_g:g}; give one above target_g, "
            f"{given.target_g:g}.",
            field="upper_limit_g",
            given=given.upper_limit_g,
            allowed=f"above {given.target_g:g}",
            code="inconsistent",
        )
    full_g = given.cylinder_ml * given.density_g_per_ml
    if given.target_g > full_g:
        raise BadInput(
            f"target_g is {given.target_g:g}; a full cylinder gives {full_g:g} g: take a "
            "larger cylinder.",
            field="target_g",
            given=given.target_g,
            allowed=f"up to {full_g:g}",
            code="inconsistent",
        )
    _check_stays(given.shots, "shots", given.cylinder_ml)
    for number, past in enumerate(given.past):
        _check_stays(past.shots, f"past[{number}].shots", given.cylinder_ml)


def _check_stays(stays: Sequence[Shots], field: str, cylinder_ml: float) -> None:
    """Refuse a setting beyond the scale, and more readings than one trim has."""
    for number, stay in enumerate(stays):
        if stay.setting_ml > cylinder_ml:
            raise BadInput(
                f"{field}[{number}].setting_ml is {stay.setting_ml:g}; the scale ends at "
                f"{cylinder_ml:g}.",
                field=f"{field}[{number}].setting_ml",
                given=stay.setting_ml,
                allowed=f"0 to {cylinder_ml:g}",
                code="inconsistent",
            )
    count = sum(len(stay.g) for stay in stays)
    if count > _MOST_SHOTS:
        raise BadInput(
            f"{field} holds {count} readings; give {_MOST_SHOTS} or fewer.",
            field=field,
            given=count,
            allowed=f"up to {_MOST_SHOTS} readings",
        )


def _groups(stays: Sequence[Shots]) -> tuple[ShotGroup, ...]:
    """Return stays in SI."""
    from fillwright.science.trim import ShotGroup as Stay  # noqa: PLC0415  loaded when asked

    return tuple(
        Stay(
            setting=m3_from_ml(stay.setting_ml),
            readings=tuple(kg_from_g(reading) for reading in stay.g),
            from_above=stay.from_above,
        )
        for stay in stays
    )


def _history(given: TrimNextGiven) -> TrimHistory | None:
    """Return what the earlier trims teach, or None where none are given."""
    from fillwright.science import trim  # noqa: PLC0415  loaded when asked

    return trim.history_of(
        [
            trim.PastTrim(
                shots=_groups(past.shots),
                target=kg_from_g(past.target_g),
                cylinder=m3_from_ml(given.cylinder_ml),
                density=kg_per_m3_from_g_per_ml(past.density_g_per_ml),
                readability=kg_from_g(given.readability_g),
                hand_wheel_sd=None
                if given.hand_wheel_sd_ml is None
                else m3_from_ml(given.hand_wheel_sd_ml),
                lost_motion=None
                if given.lost_motion_ml is None
                else m3_from_ml(given.lost_motion_ml),
            )
            for past in given.past
        ]
    )


def _prior(given: TrimNextGiven) -> TrimPrior | None:
    """Return what is known of the machine in SI, or None."""
    from fillwright.science.trim import TrimPrior as Known  # noqa: PLC0415  loaded when asked

    prior = given.prior
    if prior is None:
        return None
    if prior.shot_sd_g is not None and prior.shot_sd_percent is not None:
        raise BadInput(
            "prior.shot_sd_percent and prior.shot_sd_g are both given; give one of them.",
            field="prior.shot_sd_percent",
            given=prior.shot_sd_percent,
            allowed="one of shot_sd_g and shot_sd_percent",
            code="inconsistent",
        )
    low = high = None
    if prior.slope_between is not None:
        low, high = (kg_per_m3_from_g_per_ml(slope) for slope in prior.slope_between)
        if low > high:
            raise BadInput(
                "prior.slope_between has its larger end first; give [low, high].",
                field="prior.slope_between",
                given=list(prior.slope_between),
                allowed="[low, high]",
                code="inconsistent",
            )
    shot_sd = None if prior.shot_sd_g is None else kg_from_g(prior.shot_sd_g)
    if prior.shot_sd_percent is not None:
        shot_sd = kg_from_g(given.target_g) * share_from_pct(prior.shot_sd_percent)
    return Known(
        slope_low=low,
        slope_high=high,
        slope_sd=_share(prior.slope_sd_percent),
        offset_sd=_share(prior.offset_sd_percent_of_cylinder),
        shot_sd=shot_sd,
        air_chance=prior.air_chance,
        air=_share(prior.first_shortfall_percent),
    )


def _share(percent: float | None) -> float | None:
    """Return a percentage that may be left out as a share."""
    return None if percent is None else share_from_pct(percent)
