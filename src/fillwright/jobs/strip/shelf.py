"""The shelf: how long seals live by their place, which to change, spares, shelf dates."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Final

from fillwright.errors import BadInput, OutsideModel
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.jobs.strip.life import age_cycles
from fillwright.jobs.strip.strokes import COUNTED, jobs_of
from fillwright.knowledge.seal_tables import materials
from fillwright.records.entries import SealsShelved
from fillwright.records.sitefold import SiteState

__all__ = ["LifeRow", "LotRow", "ShelfLook", "ShelfWishes", "look", "lot_row", "shelve"]

_SOON_DAYS: Final = 90


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfWishes:
    """What the advice is reckoned with; judgement until the site sets its own.

    Parameters
    ----------
    next_job_cycles : int
        Cycles of the job to come.
    next_strip_cycles : int
        Cycles until the machine is opened anyway.
    lead_cycles : int
        Cycles that the machine runs while spares are on their way.
    failure_cost_ratio : float
        What a failure costs, in planned changes.
    service_share : float
        Chance wanted that the spares last.
    """

    next_job_cycles: int = 500
    next_strip_cycles: int = 500
    lead_cycles: int = 5000
    failure_cost_ratio: float = 6.0
    service_share: float = 0.95


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeRow:
    """A seal position: what is on record and what follows from it."""

    machine: str
    position: str
    material: str
    product: str
    failed: int
    good: int
    run_cycles: int
    life_words: str
    advice: str
    state: str
    next_job_words: str
    spares_words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotRow:
    """A lot of seals on the shelf, with the date until which it may be fitted."""

    lot: SealsShelved
    until: str
    state: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfLook:
    """Everything the page of the shelf shows; `headline` says what is due on which machine."""

    headline: str
    rows: tuple[LifeRow, ...]
    lots: tuple[LotRow, ...]
    wishes: ShelfWishes
    shelf_source: str
    food_references: tuple[str, ...]
    material_names: tuple[str, ...]
    counted: str = COUNTED


def look(desk: Desk, wishes: ShelfWishes) -> ShelfLook:
    """Return what the page of the shelf shows.

    Parameters
    ----------
    desk : Desk
        Where the records are.
    wishes : ShelfWishes
        What the advice is reckoned with.
    """
    with desk.book.lock:
        site = desk.book.site()
        held = materials()
        today = desk.clock.now().date()
        rows = tuple(_life_rows(desk, site, wishes))
        return ShelfLook(
            headline=_headline(rows),
            rows=rows,
            lots=tuple(lot_row(lot, today) for lot in site.shelf.values()),
            wishes=wishes,
            shelf_source=held.shelf_source,
            food_references=held.food_references,
            material_names=tuple(held.materials),
        )


def shelve(desk: Desk, lot: SealsShelved, press: Press) -> None:
    """Put a lot of seals on the shelf, or correct its count.

    Raises
    ------
    BadInput
        If it has no lot code, the material is not known or the date is none.
    """
    if not lot.seal_lot.strip():
        message = "Type the lot of the seals, as on the bag."
        raise BadInput(message, field="seal_lot", given=lot.seal_lot, code="missing")
    names = materials().materials
    if lot.material not in names:
        allowed = ", ".join(names)
        message = f"There is no material {lot.material!r}. Choose one of {allowed}."
        raise BadInput(
            message, field="material", given=lot.material, allowed=allowed, code="choice"
        )
    try:
        date.fromisoformat(lot.cured_on)
    except ValueError as error:
        message = f"The date of cure is {lot.cured_on!r}. Type it as 2026-03-31."
        raise BadInput(message, field="cured_on", given=lot.cured_on, code="type") from error
    keep_on_site(desk, [lot], press)


def _headline(rows: tuple[LifeRow, ...]) -> str:
    """Return what is due at the next strip, machine by machine."""
    if not rows:
        return "No seal was looked at yet."
    due: dict[str, dict[str, None]] = {}
    for row in rows:
        if row.state == "held":
            due.setdefault(row.machine, {})[row.position] = None
    if not due:
        machines = ", ".join(dict.fromkeys(row.machine for row in rows))
        return f"No seal is due: {machines}."
    told = "; ".join(f"{machine}, {', '.join(places)}" for machine, places in due.items())
    return f"Change at the next strip: {told}."


def _life_rows(desk: Desk, site: SiteState, wishes: ShelfWishes) -> list[LifeRow]:
    """Return a row for each place, material and product family on record.

    A machine stands for its product family where it always fills the same; a product that
    swells a seal differently is a life of its own, so lives are kept apart by product.
    """
    lives: dict[tuple[str, str, str, str], tuple[list[int], list[int]]] = defaultdict(
        lambda: ([], [])
    )
    latest: dict[tuple[str, str], tuple[str, str]] = {}
    for _, _, seal in site.seals:
        key = (seal.machine, seal.position, seal.material, seal.product)
        failed, good = lives[key]
        if seal.action == "replaced" and seal.life_cycles > 0:
            (failed if seal.reason == "failed" else good).append(seal.life_cycles)
        # What was seen is the old one; from then on the place holds what its lot is made of.
        lot = site.shelf.get(seal.seal_lot) if seal.action == "replaced" else None
        now = seal.material if lot is None else lot.material
        lives[seal.machine, seal.position, now, seal.product]
        latest[seal.machine, seal.position] = (now, seal.product)
    rows = []
    for (machine, position, material, product), (failed, good) in lives.items():
        runs_now = latest[machine, position] == (material, product)
        age = age_cycles(desk, jobs_of(desk, machine), machine, position) if runs_now else 0
        running = [*good, age] if age else good
        rows.append(
            _row(
                (machine, position, material, product),
                [float(x) for x in failed],
                [float(x) for x in running],
                age,
                wishes,
            )
        )
    return rows


def _row(
    key: tuple[str, str, str, str],
    failed: list[float],
    running: list[float],
    age: int,
    wishes: ShelfWishes,
) -> LifeRow:
    """Return what follows from the lives of one place."""
    from fillwright.science import life, life_policy  # noqa: PLC0415  loaded when asked

    words, shape, scale = "Nothing has run yet.", None, None
    if len(failed) >= life.FEWEST_FAILURES:
        try:
            fit = life.weibull_fit(failed, running)
        except (BadInput, OutsideModel) as error:
            words = f"No fit: {error}"
        else:
            shape, scale = fit.shape, fit.scale
            low, high = fit.scale_interval
            words = f"Mean {fit.mean:.0f} cycles; scale {low:.0f} to {high:.0f} (95 %)."
    elif failed or running:
        belief = life.life_prior(failed, running)
        low, high = belief.scale_interval
        words = (
            f"{len(failed)} failed: no fit under 3. Shape 2 taken, scale {low:.0f} to {high:.0f}."
        )
        if failed:
            # Without a failure the belief has no upper end worth acting on.
            shape, scale = belief.shape, belief.scale
    advice, state, chance, stock = "No advice before one has failed.", "", "", ""
    if shape is not None and scale is not None:
        policy = life_policy.age_replacement(
            shape, scale, cost_planned=1.0, cost_failure=wishes.failure_cost_ratio
        )
        change = life_policy.change_advice(
            policy, age=float(age), until_next_strip=float(wishes.next_strip_cycles)
        )
        state = "held" if change is life_policy.ChangeAdvice.CHANGE_NOW else "on"
        advice = "Run to failure costs no more."
        if policy.age is not None:
            now = "Change at the next strip" if state == "held" else "Leave it in"
            advice = f"{now}: best age {policy.age:.0f} cycles."
        risk = life_policy.failure_within(
            shape, scale, age=float(age), horizon=float(wishes.next_job_cycles)
        )
        chance = f"{risk:.1%} in the next {wishes.next_job_cycles} cycles"
        demand = wishes.lead_cycles / life_policy.mean_life(shape, scale)
        kept = life_policy.spares(demand, wishes.service_share)
        stock = f"keep {kept.stock} ({kept.achieved:.1%})"
    machine, position, material, product = key
    return LifeRow(
        machine=machine,
        position=position,
        material=material,
        product=product,
        failed=len(failed),
        good=len(running),
        run_cycles=age,
        life_words=words,
        advice=advice,
        state=state,
        next_job_words=chance,
        spares_words=stock,
    )


def lot_row(lot: SealsShelved, today: date) -> LotRow:
    """Return a lot with the date until which it may be fitted.

    Parameters
    ----------
    lot : SealsShelved
        As it stands on the shelf.
    today : date
        By the clock of the bench.
    """
    years = materials().materials[lot.material].shelf_years
    if not years:
        return LotRow(lot=lot, until="", state="on", words="No shelf limit set here")
    cured = date.fromisoformat(lot.cured_on)
    last_day = 28 if (cured.month, cured.day) == (2, 29) else cured.day
    until = cured.replace(year=cured.year + years, day=last_day)
    left = (until - today).days
    if left < 0:
        state, words = "stop", "Past its shelf date: do not fit"
    elif left < _SOON_DAYS:
        state, words = "held", f"{left} days left"
    else:
        state, words = "on", "In date"
    return LotRow(lot=lot, until=until.isoformat(), state=state, words=words)
