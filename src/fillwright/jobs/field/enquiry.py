"""An enquiry: which of the machines that are described suit, and what is still to be asked.

Every described machine is matched as a job on it would be, with the cylinder that suits the
dose and each nozzle that goes into the mouth; the best stands for the machine.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.act import Caution
from fillwright.jobs.desk import Desk, Press
from fillwright.jobs.field.register import keep_in_field, register
from fillwright.jobs.limits import density_at
from fillwright.jobs.machines.shipped import shipped_machine
from fillwright.jobs.match import stage as match
from fillwright.jobs.match.parts import NECK_CLEARANCE_MM
from fillwright.jobs.match.stage import MatchLook, cautions_of
from fillwright.jobs.opening import best_cylinder, best_nozzle
from fillwright.jobs.words import in_steps, plain
from fillwright.records.entities import JobFacts, Machine, Nozzle, WeighingScale
from fillwright.records.entries import EnquiryTaken
from fillwright.records.fold import JobState
from fillwright.records.sheets import FactLine
from fillwright.records.sheets_field import AskedLine, EnquirySheet, SuitsLine

__all__ = [
    "EnquiryLook",
    "Suits",
    "asked_of",
    "enquiry_of",
    "enquiry_sheet",
    "look",
    "take_enquiry",
]

_ORDER: Final = ("suits", "suits-with-changes", "does-not-suit")
_WORDS: Final = {
    "suits": "Suits",
    "suits-with-changes": "Suits, with changes",
    "does-not-suit": "Does not suit",
}
_STATES: Final = {"suits": "on", "suits-with-changes": "warn", "does-not-suit": "stop"}
_NOT_ASKED: Final = frozenset({"Label", "Short limit", "Second market"})
"""Reasons that hang on a label, which an enquiry does not have."""
_MOST_NOZZLES: Final = 4
_STEP_G: Final = Decimal("0.1")
_SOME_SCALE: Final = WeighingScale(
    name="a scale",
    capacity_g=Decimal(30000),
    readability_g=_STEP_G,
    repeatability_sd_g=Decimal("0.05"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Suits:
    """A machine held against an enquiry.

    Parameters
    ----------
    machine : Machine
        The machine.
    field_numbers : tuple of int
        Machines of the register that have this description.
    state, word : str
        How it came out: ``"on"``, ``"warn"`` or ``"stop"``, and in words.
    why : tuple of str
        What stops it or asks for care.
    look : MatchLook
        The match behind it.
    """

    machine: Machine
    field_numbers: tuple[int, ...]
    state: str
    word: str
    why: tuple[str, ...]
    look: MatchLook


@dataclass(frozen=True, slots=True, kw_only=True)
class EnquiryLook:
    """An enquiry with the machines, best first, and what is to be asked."""

    enquiry: EnquiryTaken
    at: datetime
    machines: tuple[Suits, ...]
    asked: tuple[AskedLine, ...]
    cautions: tuple[Caution, ...]

    @property
    def headline(self) -> str:
        """Return what it came to in a line."""
        good = [one for one in self.machines if one.state != "stop"]
        if not self.machines:
            return "No machine is described yet. Describe one, then look again."
        if not good:
            return "None of the machines suits."
        return f"{good[0].word}: {good[0].machine.name}."


def take_enquiry(desk: Desk, enquiry: EnquiryTaken, press: Press) -> int:
    """Keep an enquiry.

    Returns
    -------
    int
        Its number.

    Raises
    ------
    BadInput
        If the dose is not above zero, or does not go into the container.
    """
    if enquiry.dose_ml <= 0:
        message = "The dose must be above zero. Type how much goes into one container."
        raise BadInput(message, field="dose_ml", given=str(enquiry.dose_ml), allowed="above 0")
    brim = enquiry.container.brim_ml
    if enquiry.dose_ml > brim:
        message = (
            f"{plain(enquiry.dose_ml)} mL do not go into a container that brims at "
            f"{plain(brim)} mL. Ask again for both."
        )
        raise BadInput(message, field="dose_ml", given=str(enquiry.dose_ml), code="inconsistent")
    with desk.book.lock:
        state = register(desk)
        number = max(state.enquiries, default=0) + 1
        keep_in_field(desk, state, [replace(enquiry, enquiry=number)], press)
        return number


def enquiry_of(desk: Desk, number: int) -> tuple[datetime, EnquiryTaken]:
    """Return an enquiry and when it was taken.

    Raises
    ------
    BadInput
        If there is none of this number.
    """
    kept = register(desk).enquiries.get(number)
    if kept is None:
        message = f"There is no enquiry {number}. Pick one from the list."
        raise BadInput(message, field="enquiry", given=number, code="choice")
    at, _, enquiry = kept
    return at, enquiry


def look(desk: Desk, number: int) -> EnquiryLook:
    """Return an enquiry held against every machine that is kept.

    Raises
    ------
    BadInput
        If there is none of this number.
    """
    at, enquiry = enquiry_of(desk, number)
    # The lock is left to those who weigh: a match takes its time and keeps nothing.
    field = register(desk).machines
    machines = tuple(desk.book.site().machines.values())
    found = []
    for machine in machines:
        seen = _best(desk, enquiry, machine)
        reasons = [r for r in seen.reasons if r.name not in _NOT_ASKED and r.state != "on"]
        stops = any(reason.state == "stop" for reason in reasons)
        verdict = _ORDER[2] if stops else _ORDER[1] if reasons else _ORDER[0]
        found.append(
            Suits(
                machine=machine,
                field_numbers=tuple(
                    n
                    for n, one in field.items()
                    if one.line.profile == machine.name and not one.line.is_retired
                ),
                state=_STATES[verdict],
                word=_WORDS[verdict],
                why=tuple(f"{r.words} {r.cure}".strip() for r in reasons),
                look=seen,
            )
        )
    found.sort(key=lambda one: (list(_STATES.values()).index(one.state), len(one.why)))
    some = machines[0] if machines else shipped_machine("medium")
    return EnquiryLook(
        enquiry=enquiry,
        at=at,
        machines=tuple(found),
        asked=asked_of(enquiry),
        cautions=cautions_of(_facts(desk, enquiry, some, some.nozzles[0])),
    )


def enquiry_sheet(desk: Desk, number: int) -> EnquirySheet:
    """Return the enquiry sheet.

    Raises
    ------
    BadInput
        If there is none of this number.
    """
    seen = look(desk, number)
    enquiry = seen.enquiry
    container = enquiry.container
    wanted = [
        FactLine(name="Product", words=enquiry.product.name),
        FactLine(
            name="Container",
            words=f"{container.name}, brims at {plain(container.brim_ml)} mL, mouth "
            f"{plain(container.mouth_mm)} mm",
        ),
        FactLine(name="Dose", words=f"{plain(enquiry.dose_ml)} mL"),
    ]
    if enquiry.rate_per_min is not None:
        wanted.append(FactLine(name="Wanted", words=f"{plain(enquiry.rate_per_min)} a minute"))
    return EnquirySheet(
        enquiry=number,
        wanted=tuple(wanted),
        machines=tuple(
            SuitsLine(
                machine=one.machine.name,
                word=one.word,
                parts="; ".join(f"{part.name} {part.words}" for part in one.look.parts),
                why=" ".join(one.why) or "Everything that was judged suits.",
                expects="; ".join(f"{e.name}: {e.words}" for e in one.look.expects),
            )
            for one in seen.machines
        ),
        asked=seen.asked,
        cautions=tuple(caution.words for caution in seen.cautions),
        note=enquiry.note,
        made_at=desk.clock.now(),
        zone=desk.clock.zone(),
        program=desk.program,
        is_invented=desk.book.site().settings.is_invented,
    )


def asked_of(enquiry: EnquiryTaken) -> tuple[AskedLine, ...]:
    """Return what to ask the enquirer; what was told stands beside the question."""
    product, container = enquiry.product, enquiry.container
    flow = product.flow
    measured = flow is not None and flow.way != "like"
    density = f"{plain(product.density_g_per_ml)} g/mL at {plain(product.density_c)} °C"
    rows = [
        ("What is it, and what does it run like?", f"{product.name}: {product.runs_like}",
         "Everything else hangs on it."),
        ("What does one litre weigh, at which temperature?", density,
         "The dose is swept by volume and judged by weight."),
        ("How thick: data sheet, viscometer at two speeds, or flow cup?",
         "measured" if measured else "",
         "It decides recharge, push and drip; not told, a middle figure stands for it."),
        ("How warm is it at the nozzle?", f"{plain(product.product_c)} °C",
         "Above 45 °C it is hot: valve, seals, gloves; and it thins as it warms."),
        ("Largest piece in it?",
         "" if product.particle_mm is None else f"{plain(product.particle_mm)} mm",
         "Valve passages and nozzle must let it through."),
        ("What is in it, and what is it cleaned with?", ", ".join(product.media),
         "The wrong rubber swells within a shift."),
        ("Can it or its vapour burn? Flash point, from its safety sheet?",
         "it can burn" if product.is_flammable else "",
         "Only where the papers of machine and place allow it."),
        ("Allergens, colour, scent? Food or cosmetic?", product.notes,
         "They decide the cleaning between products."),
        ("The container: brim, mouth, empty weight, ten of them?",
         f"{plain(container.brim_ml)} mL, {plain(container.mouth_mm)} mm",
         "The nozzle goes into the mouth with 2 mm to spare all round."),
        ("How much in each, and what does the label say?", f"{plain(enquiry.dose_ml)} mL",
         "The law tests the label's quantity; the aim lies above it."),
        ("How close must each be?", "", "It decides how many shots are proved."),
        ("How many a minute, how many a day, how many products?",
         "" if enquiry.rate_per_min is None else f"{plain(enquiry.rate_per_min)} a minute",
         "One person's hands are mostly the slower part."),
        ("Compressed air: pressure at the gauge, litres a minute, dry and clean?", "",
         "Below its least pressure a machine slows and stops."),
        ("Can five litres and ten empties come for a trial fill?", "",
         "A few shots show drip, splash, foam and air."),
    ]  # fmt: skip
    return tuple(AskedLine(question=q, told=t, why=w) for q, t, w in rows)


def _best(desk: Desk, enquiry: EnquiryTaken, machine: Machine) -> MatchLook:
    """Return the match of a machine with the nozzle that suits best."""
    room = enquiry.container.mouth_mm - NECK_CLEARANCE_MM
    first = best_nozzle(machine, enquiry.container)
    others = [
        place
        for place, nozzle in enumerate(machine.nozzles)
        if place != first and nozzle.outside_mm <= room
    ]
    best: MatchLook | None = None
    for place in (first, *others[: _MOST_NOZZLES - 1]):
        facts = _facts(desk, enquiry, machine, machine.nozzles[place])
        seen = match.look(desk, JobState(number=facts.number, facts=facts))
        if best is None or _ORDER.index(seen.verdict) < _ORDER.index(best.verdict):
            best = seen
        if best.verdict == _ORDER[0]:
            break
    if best is None:
        message = f"{machine.name} has no nozzle. Describe one."
        raise BadInput(message, field="machine", given=machine.name, code="missing")
    return best


def _facts(desk: Desk, enquiry: EnquiryTaken, machine: Machine, nozzle: Nozzle) -> JobFacts:
    """Return a job as it would be opened for an enquiry; nothing of it is kept."""
    site = desk.book.site()
    density = density_at(enquiry.product, enquiry.product.product_c)
    aim = in_steps(Fraction(enquiry.dose_ml) * density, _STEP_G, ROUND_HALF_UP)
    return JobFacts(
        number="enquiry",
        lot_code="",
        product=enquiry.product,
        container=enquiry.container,
        machine=machine,
        scale=next(iter(site.scales.values()), _SOME_SCALE),
        cylinder=best_cylinder(machine, enquiry.dose_ml),
        nozzle=nozzle,
        # No label yet: a label that the aim lies well above judges nothing.
        nominal=in_steps(aim * Decimal("0.9"), _STEP_G, ROUND_DOWN),
        unit="g",
        rules=site.settings.rules,
        plan=None,
        lot_size=1000,
        tray_size=10,
        weigh_every=10,
        aim_g=aim,
    )
