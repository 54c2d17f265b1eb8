"""The facts of a job, read from its form: kept things picked by name, or described anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final, TypeVar

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk
from fillwright.jobs.match.stage import dose_ml
from fillwright.jobs.opening import best_cylinder, best_nozzle, propose_aim
from fillwright.records.entities import (
    Container,
    Cylinder,
    JobFacts,
    Machine,
    Nozzle,
    OwnPlanFacts,
    Product,
    SuppliedShortageFacts,
    WeighingScale,
)
from fillwright.records.units import label_as_declared, label_in_metric
from fillwright.web.forms import (
    choice,
    figure,
    figure_or_none,
    given,
    is_ticked,
    text,
    whole,
    whole_or_none,
)
from fillwright.web.productfacts import form_of_product, new_product, with_measured
from fillwright.web.visit import Form

__all__ = ["PARTS", "form_of", "read_facts"]

PARTS: Final = 4
"""Rows for cylinders and nozzles on the form of a machine."""
_ANY: Final = Decimal(1)
_COUNT: Final = 1_000_000
_Thing = TypeVar("_Thing", Product, Container, Machine, WeighingScale)


def read_facts(desk: Desk, form: Form, number: str) -> JobFacts:
    """Return the facts of a job; an aim that was left empty is the one proposed.

    Parameters
    ----------
    desk : Desk
        Knows what was kept for next time, and the rule sets.
    form : mapping
        What was typed.
    number : str
        Job number.

    Returns
    -------
    JobFacts
        Checked field by field; what does not fit together is found when the job is opened.

    Raises
    ------
    BadInput
        If a field is missing or cannot be.
    """
    site = desk.book.site()
    product = _picked(form, "product_pick", site.products) or new_product(form)
    product = with_measured(form, product)
    if given(form, "product_c_now"):
        product = replace(product, product_c=figure(form, "product_c_now", "Temperature", least=0))
    container = _picked(form, "container_pick", site.containers) or _container(form)
    machine = _picked(form, "machine_pick", site.machines) or _machine(form)
    scale = _picked(form, "scale_pick", site.scales) or _scale(form)
    tray = whole(form, "tray_size", "The tray size", least=1, most=_COUNT)
    nominal, unit, label_unit = _label(form)
    bare = JobFacts(
        number=number,
        lot_code=text(form, "lot_code", "The lot code"),
        product=product,
        container=container,
        machine=machine,
        scale=scale,
        cylinder=machine.cylinders[0],
        nozzle=machine.nozzles[best_nozzle(machine, container)],
        nominal=nominal,
        unit="g" if unit == "g" else "mL",
        label_unit=label_unit,
        rules=choice(form, "rules", "a rule set", tuple(desk.rule_sets)),
        plan=given(form, "plan") or None,
        lot_size=whole(form, "lot_size", "The lot size", least=1, most=_COUNT),
        tray_size=tray,
        weigh_every=whole_or_none(form, "weigh_every", "How often to weigh") or tray,
        aim_g=_ANY,
        band_pct=figure_or_none(form, "band_pct", "The band", above=0) or site.settings.band_pct,
        claim_pct=figure_or_none(form, "claim_pct", "The claim", above=0) or Decimal(1),
        expected_sd_pct=figure_or_none(form, "expected_sd_pct", "The spread", above=0),
        tare_way="zeroed" if given(form, "tare_way") == "zeroed" else "mean",
        own_plan=_own_plan(form),
        supplied_shortage=_supplied(form, label_unit),
        is_invented=site.settings.is_invented,
        second_rules=given(form, "second_rules"),
    )
    aim = figure_or_none(form, "aim_g", "The aim", above=0) or propose_aim(desk, bare).aim_g
    aimed = replace(bare, aim_g=aim)
    return replace(aimed, cylinder=_cylinder(form, aimed), nozzle=_nozzle(form, aimed))


def form_of(facts: JobFacts) -> dict[str, str]:
    """Return a form filled with the facts of a job, its things picked by name."""
    shown = {
        "product_pick": facts.product.name,
        "container_pick": facts.container.name,
        "machine_pick": facts.machine.name,
        "scale_pick": facts.scale.name,
        "lot_code": facts.lot_code,
        "nominal": facts.label_words.partition(" ")[0],
        "unit": facts.label_unit or facts.unit,
        "rules": facts.rules,
        "plan": facts.plan or "",
        "second_rules": facts.second_rules,
        "lot_size": str(facts.lot_size),
        "tray_size": str(facts.tray_size),
        "weigh_every": str(facts.weigh_every),
        "aim_g": f"{facts.aim_g:f}",
        "band_pct": f"{facts.band_pct:f}",
        "claim_pct": f"{facts.claim_pct:f}",
        "tare_way": facts.tare_way,
        "cylinder": f"{facts.cylinder.capacity_ml:f}",
        "nozzle": f"{facts.nozzle.outside_mm:f}",
        "product_c_now": f"{facts.product.product_c:f}",
    }
    shown |= form_of_product(facts.product)
    if facts.expected_sd_pct is not None:
        shown["expected_sd_pct"] = f"{facts.expected_sd_pct:f}"
    if facts.supplied_shortage is not None:
        supplied = facts.supplied_shortage
        shown |= {
            "supplied": f"{label_as_declared(supplied.value_label_unit, facts.label_unit):f}",
            "supplied_edition": supplied.edition,
            "supplied_page": supplied.page,
        }
    if facts.own_plan is not None:
        own = facts.own_plan
        shown |= {
            "own_n": str(own.n),
            "own_k": f"{own.k:f}",
            "own_accept": str(own.acceptance_number),
            "own_t2": str(own.t2_allowed),
            "own_source": own.source,
        }
    return shown


def _picked(form: Form, field: str, known: Mapping[str, _Thing]) -> _Thing | None:
    """Return a kept thing, or None when a new one is described."""
    name = given(form, field)
    if name and name not in known:
        message = f"There is no {name!r} kept here any more. Choose another, or describe it."
        raise BadInput(message, field=field, given=name, code="choice")
    return known[name] if name else None


def _container(form: Form) -> Container:
    """Return a container that is described."""
    return Container(
        name=text(form, "container_name", "The container's name"),
        word=given(form, "container_word") or "jar",
        brim_ml=figure(form, "brim_ml", "The volume to the brim", above=0),
        mouth_mm=figure(form, "mouth_mm", "The mouth", above=0),
        tare_g=figure_or_none(form, "tare_g", "The average empty", above=0),
        tare_sd_g=figure_or_none(form, "tare_sd_g", "How empties differ"),
    )


def _machine(form: Form) -> Machine:
    """Return a machine that is described."""
    bare = Machine(name="", cylinders=(), nozzles=())
    last_mark = figure_or_none(form, "last_mark", "The highest number", above=0) or bare.last_mark
    cylinders = []
    for place in range(1, PARTS + 1):
        if given(form, f"cylinder_{place}"):
            size = figure(form, f"cylinder_{place}", f"Cylinder {place}", above=0)
            mark = figure_or_none(form, f"per_mark_{place}", "What one mark moves", above=0)
            cylinders.append(Cylinder(capacity_ml=size, ml_per_mark=mark or size / last_mark))
    nozzles = []
    for place in range(1, PARTS + 1):
        if given(form, f"nozzle_{place}"):
            outside = figure(form, f"nozzle_{place}", f"Nozzle {place}", above=0)
            bore = figure_or_none(form, f"bore_{place}", "Its bore", above=0)
            nozzles.append(Nozzle(outside_mm=outside, bore_mm=bore or outside))
    for field, name, found in (
        ("cylinder_1", "one cylinder", cylinders),
        ("nozzle_1", "one nozzle", nozzles),
    ):
        if not found:
            message = f"Give at least {name} of the machine."
            raise BadInput(message, field=field, allowed="a size", code="missing")
    return Machine(
        name=text(form, "machine_name", "The machine's name"),
        cylinders=tuple(cylinders),
        nozzles=tuple(nozzles),
        last_mark=last_mark,
        step_marks=figure_or_none(form, "step_marks", "The step of the ticks", above=0)
        or bare.step_marks,
        marks_per_turn=figure_or_none(form, "marks_per_turn", "Marks in one turn", above=0)
        or bare.marks_per_turn,
        clockwise_raises=given(form, "clockwise") != "lowers",
        lost_motion_marks=figure_or_none(form, "lost_motion_marks", "The play")
        or bare.lost_motion_marks,
        air_min_bar_g=figure_or_none(form, "air_min_bar_g", "Least air") or bare.air_min_bar_g,
        air_max_bar_g=figure_or_none(form, "air_max_bar_g", "Most air") or bare.air_max_bar_g,
        hot_limit_c=figure_or_none(form, "hot_limit_c", "Warmest product") or bare.hot_limit_c,
        is_approved_for_flammables=is_ticked(form, "is_approved"),
    )


def _scale(form: Form) -> WeighingScale:
    """Return a weighing scale that is described."""
    step = figure(form, "readability_g", "The smallest step", above=0)
    return WeighingScale(
        name=text(form, "scale_name", "The weighing scale's name"),
        capacity_g=figure(form, "capacity_g", "What it can weigh", above=0),
        readability_g=step,
        repeatability_sd_g=figure_or_none(form, "repeatability_sd_g", "Its spread", above=0)
        or step / 2,
        check_weight_g=figure(form, "check_weight_g", "The check weight", above=0),
        checked_on=given(form, "checked_on"),
    )


def _cylinder(form: Form, facts: JobFacts) -> Cylinder:
    """Return the cylinder that was picked, or the one that the dose stands best in."""
    wanted = given(form, "cylinder")
    for cylinder in facts.machine.cylinders:
        if wanted and f"{cylinder.capacity_ml:f}" == wanted:
            return cylinder
    return best_cylinder(facts.machine, dose_ml(facts))


def _nozzle(form: Form, facts: JobFacts) -> Nozzle:
    """Return the nozzle that was picked, or the widest that goes into the neck."""
    wanted = given(form, "nozzle")
    for nozzle in facts.machine.nozzles:
        if wanted and f"{nozzle.outside_mm:f}" == wanted:
            return nozzle
    return facts.nozzle


def _label(form: Form) -> tuple[Decimal, str, str]:
    """Return the quantity in g or mL, which of them, and another unit it was declared in."""
    declared = given(form, "unit") or "mL"
    typed = figure(form, "nominal", "The label quantity", above=0)
    nominal, unit = label_in_metric(typed, declared)
    return nominal, unit, "" if declared == unit else declared


def _supplied(form: Form, label_unit: str) -> SuppliedShortageFacts | None:
    """Return the tolerable shortage that was taken from a document, in the unit of the label."""
    value = figure_or_none(form, "supplied", "The tolerable shortage", above=0)
    if value is None:
        return None
    return SuppliedShortageFacts(
        value_label_unit=label_in_metric(value, label_unit)[0] if label_unit else value,
        edition=text(form, "supplied_edition", "The edition of the document"),
        page=text(form, "supplied_page", "The page in the document"),
    )


def _own_plan(form: Form) -> OwnPlanFacts | None:
    """Return the sampling plan that was taken from a document."""
    count = whole_or_none(form, "own_n", "The sample")
    if count is None:
        return None
    return OwnPlanFacts(
        n=count,
        k=figure(form, "own_k", "The factor k", least=0),
        acceptance_number=whole(form, "own_accept", "Most short ones"),
        t2_allowed=whole(form, "own_t2", "Most far short ones"),
        source=text(form, "own_source", "The document"),
    )
