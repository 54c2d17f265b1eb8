"""Open a job, propose its aim, and change its facts; says what a change reopens."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput, OutsideModel
from fillwright.jobs.desk import Desk, Press, find_job, keep
from fillwright.jobs.limits import rules_of
from fillwright.jobs.match.product_figures import must_be_density
from fillwright.jobs.match.product_flow import told_flow
from fillwright.jobs.release.aiming import Aim, propose_aim
from fillwright.jobs.release.markets import check_second
from fillwright.records.book import stream_of
from fillwright.records.codec import draft
from fillwright.records.dosing_parts import dosing_parts
from fillwright.records.entities import Container, Cylinder, JobFacts, Machine, Product
from fillwright.records.entries import FactsChanged, JobOpened
from fillwright.records.fold import JobState

__all__ = [
    "Aim",
    "best_cylinder",
    "best_nozzle",
    "change_facts",
    "next_number",
    "open_job",
    "propose_aim",
    "trays_for",
]

_HIGHEST_C: Final = 130
_ALLOWANCE_K: Final = Decimal(5)
_STAGES: Final = ("match", "trim", "prove")


def next_number(desk: Desk) -> str:
    """Return the next free job number."""
    used = [int(n) for n in desk.book.numbers() if n.isascii() and n.isdigit()]
    return f"{max(used, default=0) + 1:04d}"


def best_cylinder(machine: Machine, dose_ml: Decimal) -> Cylinder:
    """Return the cylinder that the dose stands best in: the middle of its stroke."""
    whole = [c for c in machine.cylinders if c.capacity_ml >= dose_ml]
    if not whole:
        return max(machine.cylinders, key=lambda c: c.capacity_ml)
    return min(whole, key=lambda c: abs(dose_ml / c.capacity_ml - Decimal("0.55")))


def best_nozzle(machine: Machine, container: Container) -> int:
    """Return the place of the widest nozzle that goes into the neck, else of the narrowest."""
    room = Decimal(4)
    order = sorted(
        range(len(machine.nozzles)), key=lambda i: machine.nozzles[i].outside_mm, reverse=True
    )
    for place in order:
        if machine.nozzles[place].outside_mm + room <= container.mouth_mm:
            return place
    return order[-1]


def trays_for(lot_size: int) -> int:
    """Return a tray size that suits a lot, where nobody said one."""
    many = 100
    return 12 if lot_size >= many else 6


def open_job(desk: Desk, facts: JobFacts, press: Press) -> JobState:
    """Open a job.

    Parameters
    ----------
    desk : Desk
        Where to keep it.
    facts : JobFacts
        The job.
    press : Press
        Who opened it.

    Returns
    -------
    JobState
        The job as it stands.

    Raises
    ------
    BadInput
        If a fact cannot be, or the number is taken.
    """
    _check(desk, facts)
    with desk.book.lock:
        if desk.book.job(facts.number) is not None:
            message = f"Job {facts.number} is there already. Take the next free number."
            raise BadInput(message, field="number", given=facts.number, code="inconsistent")
        entry = draft(
            JobOpened(facts=facts),
            stream=stream_of(facts.number),
            at=desk.clock.now(),
            zone=desk.clock.zone(),
            person=press.person,
            bench=desk.bench,
        )
        desk.journal.append([entry], seen=0)
        return find_job(desk, facts.number)


def change_facts(desk: Desk, number: str, facts: JobFacts, reason: str, press: Press) -> JobState:
    """Change the facts of a job; what that makes doubtful is reopened.

    Raises
    ------
    BadInput
        If a fact cannot be, the lot is closed, or nothing was changed.
    """
    _check(desk, facts)
    with desk.book.lock:
        state = find_job(desk, number)
        if state.released is not None:
            message = "The lot is closed: its facts stay as they are. Open a new job."
            raise BadInput(message, field="facts", code="inconsistent")
        if facts == state.known:
            return state
        reopens, words = _reopened(state.known, facts)
        why = reason.strip() or words
        fact = FactsChanged(facts=replace(facts, number=number), reason=why, reopens=reopens)
        return keep(desk, state, [fact], press)


def _reopened(old: JobFacts, new: JobFacts) -> tuple[tuple[str, ...], str]:
    """Return the stages that a change opens again, and the cause in words."""
    found: list[tuple[tuple[str, ...], str]] = []
    cooler = replace(new.product, product_c=old.product.product_c)
    plainer = _as_known(cooler, old.product)
    if (old.product, *_parts(old)) == (plainer, *_parts(new)) and cooler != plainer:
        found.append((("match",), "More is known of how the product flows, or what is in it."))
    if (old.product, *_parts(old)) != (plainer, *_parts(new)):
        found.append((("match", "trim", "prove"), "Product, machine or parts were changed."))
    elif old.product.product_c != new.product.product_c:
        warmer = new.product.product_c - old.product.product_c
        words = f"Product is {abs(warmer)} °C {'warmer' if warmer > 0 else 'cooler'}."
        found.append((("trim",) if abs(warmer) > _ALLOWANCE_K else (), words))
    if old.container != new.container:
        found.append((("match",), "The container was changed."))
    if old.aim_g != new.aim_g:
        words = f"The aim is {new.aim_g} g now, {old.aim_g} g before."
        found.append((("trim", "prove"), words))
    if _claim(old) != _claim(new):
        found.append((("prove",), "The claim was changed."))
    if _label(old) != _label(new):
        found.append((("match",), "Label quantity or rules were changed."))
    opened = [stage for stages, _ in found for stage in stages]
    words = " ".join(words for _, words in found) or "Facts were changed."
    return tuple(stage for stage in _STAGES if stage in opened), words


def _as_known(new: Product, old: Product) -> Product:
    """Return a product with what only a match reads as it was known before."""
    return replace(
        new,
        flow=old.flow,
        weighed=old.weighed,
        media=old.media,
        particle_mm=old.particle_mm,
    )


def _parts(facts: JobFacts) -> tuple[object, ...]:
    """Return what a dose passes through."""
    return dosing_parts(facts)


def _claim(facts: JobFacts) -> tuple[Decimal, ...]:
    """Return what the proof is about."""
    return (facts.claim_pct, facts.claim_content_pct, facts.claim_confidence_pct)


def _label(facts: JobFacts) -> tuple[object, ...]:
    """Return what the law compares with."""
    own = (facts.own_plan, facts.supplied_shortage)
    return (facts.nominal, facts.unit, facts.rules, facts.second_rules, facts.plan, *own)


def _check(desk: Desk, facts: JobFacts) -> None:
    """Refuse facts that cannot be, naming the field."""
    rules_of(desk.rule_sets, facts.rules)
    check_second(desk, facts)
    _above_zero(facts)
    _words(facts)
    product = facts.product
    told_flow(product)
    must_be_density(product.density_g_per_ml)
    if not 0 <= product.product_c <= _HIGHEST_C:
        message = f"Product temperature {product.product_c} °C: give 0 to {_HIGHEST_C} °C."
        raise OutsideModel(
            message,
            field="product_c",
            given=str(product.product_c),
            allowed=f"0 to {_HIGHEST_C}",
        )
    if facts.aim_g >= facts.scale.capacity_g:
        message = (
            f"The aim of {facts.aim_g} g is more than {facts.scale.name} can weigh "
            f"({facts.scale.capacity_g} g)."
        )
        raise BadInput(message, field="aim_g", given=str(facts.aim_g), code="inconsistent")


def _above_zero(facts: JobFacts) -> None:
    """Refuse figures that must be above zero."""
    figures: dict[str, Decimal | int] = {
        "nominal": facts.nominal,
        "lot_size": facts.lot_size,
        "tray_size": facts.tray_size,
        "weigh_every": facts.weigh_every,
        "aim_g": facts.aim_g,
        "band_pct": facts.band_pct,
        "claim_pct": facts.claim_pct,
        "readability_g": facts.scale.readability_g,
        "capacity_g": facts.scale.capacity_g,
        "check_weight_g": facts.scale.check_weight_g,
        "brim_ml": facts.container.brim_ml,
        "mouth_mm": facts.container.mouth_mm,
        "capacity_ml": facts.cylinder.capacity_ml,
        "ml_per_mark": facts.cylinder.ml_per_mark,
    }
    for field, value in figures.items():
        if not value > 0:
            name = field.rsplit("_", 1)[0].replace("_", " ")
            message = f"{name.capitalize()} is {value}; give a number above zero."
            raise BadInput(message, field=field, given=str(value), allowed="above 0")


def _words(facts: JobFacts) -> None:
    """Refuse names that are missing."""
    names = {
        "number": facts.number,
        "product": facts.product.name,
        "container": facts.container.name,
        "machine": facts.machine.name,
        "scale": facts.scale.name,
        "lot_code": facts.lot_code,
    }
    for field, value in names.items():
        if not value.strip():
            message = f"Give the {field.replace('_', ' ')} a name."
            raise BadInput(message, field=field, given=value, code="missing")
    plain = facts.number.replace("-", "")
    if not (plain.isascii() and plain.isalnum()):
        message = f"Job number {facts.number!r}: give letters, digits and hyphens only."
        raise BadInput(message, field="number", given=facts.number, allowed="A to Z, 0 to 9, -")
