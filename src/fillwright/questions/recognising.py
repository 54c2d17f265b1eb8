"""The question of the dose signature: what kind of wandering a row of doses shows."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Figures, Given, Real, Values, check_span, grams
from fillwright.records.units import kg_from_g

if TYPE_CHECKING:
    from fillwright.science.signature_kinds import KindShares

__all__ = ["signature"]

_MOST_DOSES = 2_000
_FEWEST_DOSES = 8
_EXAMPLE = [250.1, 249.9, 250.0, 250.2, 249.8, 249.5, 249.4, 249.1, 249.0, 248.8, 248.7, 248.5]


class SignatureGiven(Given):
    """Doses in the order they were made."""

    doses_g: Values[Annotated[float, Real(at_least=-1e6, at_most=1e6)]] = Field(
        description="Net weights, in order.",
        min_length=_FEWEST_DOSES,
        max_length=_MOST_DOSES,
        examples=[_EXAMPLE],
    )
    target_g: Annotated[float, Real(above=0)] = Field(description="Dose wanted.", examples=[250])
    readability_g: Annotated[float, Real(at_least=0)] = Field(
        description="Step of the weighing scale.", examples=[0.1]
    )
    hopper_level: Values[Annotated[float, Real(at_least=-1e9, at_most=1e9)]] | None = Field(
        default=None, description="Product level at each dose, in any one unit."
    )
    sd_guess_g: Annotated[float, Real(above=0)] | None = Field(
        default=None, description="Sd of a dose, right within a factor of three."
    )


class Shares(Figures):
    """One figure for each kind of wandering."""

    steady: float
    step: float
    creep: float
    scatter: float
    purge: float
    alternate: float
    level: float
    short: float
    autocorr: float


class SignatureAnswer(Answer):
    """What the doses look like; `likelihood` is what a fault finder takes, never `posterior`."""

    usable: bool
    likelihood: Shares
    posterior: Shares
    best: str | None
    runner_up: str | None
    together: tuple[str, ...]
    at_once: bool
    stated: float
    change_at: int | None
    change_interval: tuple[int, int] | None
    size_g: float | None
    size_interval_g: tuple[float, float] | None
    size_means: str
    short_at: tuple[int, ...]
    stands_out: tuple[int, ...]
    noise_sd_g: float | None
    ask_level: bool


def signature(given: SignatureGiven) -> SignatureAnswer:
    """Answer what kind of wandering the doses show."""
    from fillwright.science.signature import recognise  # noqa: PLC0415  loaded when asked

    check_span(given.doses_g, "doses_g", step=given.readability_g)
    level = given.hopper_level
    if level is not None and len(level) != len(given.doses_g):
        raise BadInput(
            f"hopper_level has {len(level)} figures for {len(given.doses_g)} doses; give one for "
            "each dose, or leave it out.",
            field="hopper_level",
            given=len(level),
            allowed=str(len(given.doses_g)),
            code="inconsistent",
        )
    found = recognise(
        [kg_from_g(dose) for dose in given.doses_g],
        target=kg_from_g(given.target_g),
        readability=kg_from_g(given.readability_g),
        level=level,
        sd_guess=None if given.sd_guess_g is None else kg_from_g(given.sd_guess_g),
    )
    low_high = found.size_interval
    return SignatureAnswer(
        usable=found.usable,
        likelihood=_shares(found.likelihood),
        posterior=_shares(found.posterior),
        best=None if found.best is None else found.best.value,
        runner_up=None if found.runner_up is None else found.runner_up.value,
        together=tuple(kind.value for kind in found.together),
        at_once=found.at_once,
        stated=found.stated,
        change_at=found.change_at,
        change_interval=found.change_interval,
        size_g=None if found.size is None else grams(found.size),
        size_interval_g=None if low_high is None else (grams(low_high[0]), grams(low_high[1])),
        size_means=found.size_means,
        short_at=found.short_at,
        stands_out=found.stands_out,
        noise_sd_g=None if found.noise_sd is None else grams(found.noise_sd),
        ask_level=found.ask_level,
        because=found.because,
        assumptions=found.assumptions,
        sources=(found.equation,),
    )


def _shares(shares: KindShares) -> Shares:
    """Return the figures of all kinds by name."""
    return Shares(**{name: float(getattr(shares, name)) for name in Shares.model_fields})
