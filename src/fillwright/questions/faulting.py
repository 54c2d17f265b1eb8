"""Questions about faults: what next, in what order to repair, and whether a check pays."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from fillwright.errors import BadInput
from fillwright.questions.fields import Answer, Count, Figures, Given, Real, Text, Values

if TYPE_CHECKING:
    from fillwright.knowledge.faults_types import FaultBook
    from fillwright.science.faults_next import Advice
    from fillwright.science.faults_order import Planned
    from fillwright.science.faults_plan import Candidate

__all__ = ["check_value", "fault_next", "repair_order"]

_MOST = 200
_SHOWN = 4
_Name = Annotated[str, Field(min_length=1, max_length=60)]
_Share = Annotated[float, Real(at_least=0, at_most=1)]
_Cost = Annotated[float, Real(at_least=0, at_most=1e6)]
_METHOD = "Heckerman, Breese & Rommelse, CACM 38(3), 1995 (from memory)"
_JUDGED = "Weights, links, leaks, minutes and losses are judgement until closed cases speak."


class SinceGiven(Given):
    """Cycles since the parts were touched."""

    rebuild: Annotated[int, Count(at_least=0, at_most=1e9)] | None = Field(
        default=None, description="Cycles since the last rebuild."
    )
    changeover: Annotated[int, Count(at_least=0, at_most=1e9)] | None = Field(
        default=None, description="Cycles since the last changeover."
    )


class RatesGiven(Given):
    """What steps cost on this site."""

    minute: Annotated[float, Real(above=0, at_most=1e6)] = Field(
        default=1.0, description="Cost of a minute."
    )
    product_ml: _Cost = Field(default=0.01, description="Cost of a millilitre lost.")
    technician_call: Annotated[float, Real(above=0, at_most=1e6)] = Field(
        default=180.0, description="Cost of handing over."
    )


class FaultGiven(Given):
    """What was seen, found and tried."""

    present: Values[_Name] = Field(
        description="Findings that are there.", max_length=_MOST, examples=[["dose_creep"]]
    )
    absent: Values[_Name] = Field(
        default=(), description="Findings that are not there.", max_length=_MOST
    )
    signature: dict[_Name, Annotated[float, Real(at_least=0, at_most=1e300)]] | None = Field(
        default=None,
        description="P(doses | class) up to a common factor; replaces stated signs of the dose.",
        max_length=_SHOWN * _SHOWN,
    )
    cycles_since: SinceGiven | None = Field(default=None, description="Since parts were touched.")
    done: Values[_Name] = Field(
        default=(), description="Checks and repairs tried without a cure.", max_length=_MOST
    )
    costs: RatesGiven | None = Field(default=None, description="What steps cost on this site.")


class CauseShare(Figures):
    """A cause and how likely it is."""

    id: str
    probability: float
    word: str


class StepShown(Figures):
    """A step that could come next."""

    kind: Literal["check", "repair", "walk-round", "hand-over"]
    id: str
    number: int | None
    minutes: float
    cost: float
    needs: tuple[str, ...]
    cautions: tuple[str, ...]
    why: str


class PairShown(Figures):
    """Two causes that explain it better than one."""

    ids: tuple[str, str]
    share: float


class FaultAnswer(Answer):
    """What it can be, what to do next, and whether to hand over."""

    causes: tuple[CauseShare, ...]
    next: tuple[StepShown, ...]
    pair: PairShown | None
    hand_over: bool
    reason: str


def fault_next(given: FaultGiven) -> FaultAnswer:
    """Answer what to check or repair next."""
    from fillwright.knowledge.faults_load import fault_book  # noqa: PLC0415  loaded when asked
    from fillwright.knowledge.faults_types import Costs  # noqa: PLC0415  loaded when asked
    from fillwright.science.faults import (  # noqa: PLC0415  loaded when asked
        Evidence,
        class_factors,
        net_of,
    )
    from fillwright.science.faults_next import DOSE_SIGNS, advise  # noqa: PLC0415

    book = fault_book()
    _check_names(book, given)
    both = sorted(set(given.present) & set(given.absent))
    if both:
        raise BadInput(
            f"{both[0]} is given as present and as absent; leave it out of one.",
            field="absent",
            given=both[0],
            allowed="findings that are not in present",
            code="inconsistent",
        )
    stated = frozenset(given.present)
    factors = None
    if given.signature is not None:
        factors = class_factors(book, given.signature)
        stated -= DOSE_SIGNS
    since = given.cycles_since
    counted = {} if since is None else since.model_dump(exclude_none=True)
    net = net_of(book, cycles_since=counted)
    evidence = Evidence(
        present=stated,
        absent=frozenset(given.absent) - (DOSE_SIGNS if factors is not None else frozenset()),
        factors=factors,
    )
    advice = advise(
        book,
        net,
        evidence,
        done=tuple(name for name in given.done if name in book.repairs),
        skipped=tuple(name for name in given.done if name in book.checks),
        costs=None if given.costs is None else Costs(**given.costs.model_dump()),
    )
    top = advice.causes[0]
    return FaultAnswer(
        causes=tuple(
            CauseShare(id=one.cause, probability=one.chance, word=one.word)
            for one in advice.causes
        ),
        next=_steps(book, advice),
        pair=None
        if advice.pair is None
        else PairShown(ids=(advice.pair.first, advice.pair.second), share=advice.pair.share),
        hand_over=bool(advice.hand_over),
        reason=advice.hand_over,
        because=f"{book.causes[top.cause].name}: {top.word}.",
        assumptions=(_JUDGED, "One fault at a time; a pair is named where two explain it better."),
        sources=(_METHOD,),
    )


def _check_names(book: FaultBook, given: FaultGiven) -> None:
    """Refuse names that the fault data do not hold."""
    for field in ("present", "absent"):
        for name in getattr(given, field):
            if name not in book.findings:
                raise _unknown(field, name, "finding")
    for name in given.signature or {}:
        if name not in book.classes:
            raise _unknown("signature", name, "class", ", ".join(book.classes))
    for name in given.done:
        if name not in book.checks and name not in book.repairs:
            raise _unknown("done", name, "check or repair")


def _unknown(field: str, name: str, kind: str, allowed: str = "") -> BadInput:
    """Say that a name is not known."""
    return BadInput(
        f"{field}: there is no {kind} {name!r}; use a name that is known.",
        field=field,
        given=name,
        allowed=allowed or f"a {kind} of the fault data",
        code="choice",
    )


def _steps(book: FaultBook, advice: Advice) -> tuple[StepShown, ...]:
    """Return the first steps; where it is handed over, that alone."""
    found = [_step(book, step, advice) for step in advice.steps]
    if advice.hand_over:
        return tuple(step for step in found if step.kind == "hand-over")
    return tuple(found[:_SHOWN])


def _step(book: FaultBook, step: Candidate, advice: Advice) -> StepShown:
    """Return one step with what it needs."""
    from fillwright.science.faults_menu import WALK  # noqa: PLC0415  loaded when asked
    from fillwright.science.faults_next import reason_of  # noqa: PLC0415  loaded when asked

    why = reason_of(book, advice, step)
    if step.kind == "hand-over" or step.key == WALK:
        is_walk = step.key == WALK
        share = len(advice.walk) / len(book.walk_checks)
        cautions = [book.checks[name].caution for name in advice.walk] if is_walk else []
        return StepShown(
            kind="walk-round" if is_walk else "hand-over",
            id=step.key,
            number=None,
            minutes=book.walk_minutes * share if is_walk else 0.0,
            cost=step.expected_cost,
            needs=(),
            cautions=tuple(words for words in cautions if words),
            why=why,
        )
    row = book.repairs[step.key] if step.kind == "repair" else book.checks[step.key]
    return StepShown(
        kind="repair" if step.kind == "repair" else "check",
        id=step.key,
        number=None if step.kind == "repair" else book.checks[step.key].number,
        minutes=row.minutes,
        cost=step.expected_cost,
        needs=tuple(book.needs[name] for name in row.needs),
        cautions=(row.caution,) if row.caution else (),
        why=why,
    )


class ActionGiven(Given):
    """An action that may end the fault."""

    id: Text = Field(description="Name.", examples=["a"])
    p: _Share = Field(description="Chance that it ends the fault.", examples=[0.5])
    cost: _Cost = Field(default=0.0, description="Cost, where there is no look.", examples=[10])
    look: _Cost | None = Field(default=None, description="Cost of a look that decides.")
    repair: _Cost | None = Field(default=None, description="Cost of the repair after the look.")


class OrderGiven(Given):
    """Actions, one fault, each tested after it is done."""

    actions: Values[ActionGiven] = Field(
        description="Each ends causes of its own.",
        min_length=1,
        max_length=_MOST,
        examples=[
            [
                {"id": "a", "p": 0.5, "cost": 10},
                {"id": "b", "p": 0.3, "cost": 3},
                {"id": "c", "p": 0.2, "cost": 4},
            ]
        ],
    )
    call_cost: Annotated[float, Real(above=0, at_most=1e6)] | None = Field(
        default=None, description="Cost of a call that always ends the fault."
    )
    unknown_p: _Share = Field(default=0.0, description="Chance that no action ends it.")


class OrderAnswer(Answer):
    """The order that costs least."""

    order: tuple[str, ...]
    expected_cost: float


def repair_order(given: OrderGiven) -> OrderAnswer:
    """Answer in what order to repair."""
    from fillwright.science.faults_order import order_repairs  # noqa: PLC0415  loaded when asked

    _check_ids([action.id for action in given.actions], "actions")
    found = order_repairs(
        [_planned(action) for action in given.actions],
        call_cost=given.call_cost,
        unknown=given.unknown_p,
    )
    return OrderAnswer(
        order=found.keys,
        expected_cost=found.expected_cost,
        because="By falling chance over cost, until a call is cheaper.",
        assumptions=("One fault; costs do not depend on what was done before.",),
        sources=(_METHOD,),
    )


def _planned(action: ActionGiven) -> Planned:
    """Return an action as the planner takes it."""
    from fillwright.science.faults_order import Planned  # noqa: PLC0415  loaded when asked

    if (action.look is None) != (action.repair is None):
        raise BadInput(
            f"{action.id}: give look and repair together, or cost alone.",
            field="actions",
            given=action.id,
            allowed="look with repair, or cost",
            code="inconsistent",
        )
    cost = action.cost if action.look is None else action.look
    return Planned(key=action.id, chance=action.p, cost=cost, repair=action.repair or 0.0)


def _check_ids(ids: list[str], field: str) -> None:
    """Refuse a name that comes twice."""
    for place, name in enumerate(ids):
        if name in ids[:place]:
            raise BadInput(
                f"{field}: {name} comes twice; give each its own id.",
                field=field,
                given=name,
                allowed="each id once",
                code="inconsistent",
            )


class CausePrice(Given):
    """A cause, how likely it is and what its repair costs."""

    id: Text = Field(description="Name.", examples=["valve"])
    p: _Share = Field(description="Chance of it.", examples=[0.4])
    cost: _Cost = Field(description="Cost of its repair.", examples=[20])


class CheckPrice(Given):
    """A check, its cost and where it shows something."""

    cost: _Cost = Field(description="Cost of the check.", examples=[6])
    shows: dict[_Name, _Share] = Field(
        description="Chance that it shows, for each cause.",
        max_length=_MOST,
        examples=[{"valve": 0.9}],
    )


class CheckGiven(Given):
    """Causes and a check before their repairs."""

    causes: Values[CausePrice] = Field(
        description="Exactly one of them is there.",
        min_length=1,
        max_length=_MOST,
        examples=[
            [
                {"id": "valve", "p": 0.4, "cost": 20},
                {"id": "glide", "p": 0.35, "cost": 25},
                {"id": "hopper", "p": 0.25, "cost": 4},
            ]
        ],
    )
    check: CheckPrice = Field(
        description="The check.",
        examples=[{"cost": 6, "shows": {"valve": 0.9, "glide": 0.3, "hopper": 0.05}}],
    )


class CheckAnswer(Answer):
    """What the check is worth."""

    expected_cost_without: float
    expected_cost_with: float
    worth_it: bool
    break_even_cost: float


def check_value(given: CheckGiven) -> CheckAnswer:
    """Answer whether a check before the repairs pays."""
    from fillwright.science.faults_order import Planned  # noqa: PLC0415  loaded when asked
    from fillwright.science.faults_order import check_value as value_of  # noqa: PLC0415

    ids = [cause.id for cause in given.causes]
    _check_ids(ids, "causes")
    for name in given.check.shows:
        if name not in ids:
            raise _unknown("check", name, "cause", ", ".join(ids))
    found = value_of(
        [Planned(key=cause.id, chance=cause.p, cost=cause.cost) for cause in given.causes],
        cost=given.check.cost,
        shows=given.check.shows,
    )
    worth = found.with_check < found.without
    return CheckAnswer(
        expected_cost_without=found.without,
        expected_cost_with=found.with_check,
        worth_it=worth,
        break_even_cost=found.break_even,
        because="The check pays for itself." if worth else "Repairing in order costs less.",
        assumptions=("One fault; the check does not change the costs of repairs.",),
        sources=(_METHOD,),
    )
