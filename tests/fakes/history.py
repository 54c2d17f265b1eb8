"""Four weeks of an invented small maker: three jobs a day on the simulated bench, all by command.

Maker, people, products, codes and weights are invented. Nothing is drawn twice: the same seed
gives the same journal, for the clock is a script too.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Final

import numpy as np

from fillwright.jobs.act import Act, Expects
from fillwright.jobs.catalogue import change_settings, keep_thing, list_person
from fillwright.jobs.day import cleaning
from fillwright.jobs.desk import Desk, Press, find_job, keep_on_site
from fillwright.jobs.money.prices import keep_prices, note_losses
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.release.keep_sample import keep_sample
from fillwright.jobs.run import changes
from fillwright.jobs.strip import stage as strip
from fillwright.jobs.strip.acts import Evidence, begin, see_seal, tick
from fillwright.jobs.strip.guide import SealRow, guide_of
from fillwright.jobs.strip.shelf import shelve
from fillwright.jobs.trace import complaints
from fillwright.jobs.trace.complaint import Told
from fillwright.jobs.trace.complaints import Telling
from fillwright.knowledge.procedures_types import SealPlace
from fillwright.records.entities import JobFacts, Person
from fillwright.records.entries import (
    CleanDone,
    LossesNoted,
    ProductTraits,
    SealSeen,
    SealsShelved,
)
from fillwright.records.fold import JobState
from fillwright.scale.simulated import SimulatedBench, bench_from
from fillwright.wiring import maker
from fillwright.wiring.player import play

__all__ = ["BEGAN", "JOBS", "SCALE", "ScriptedClock", "opened", "play_history"]

BEGAN: Final = date(2031, 2, 3)
"""A Monday."""
JOBS: Final = 60
SCALE: Final = replace(maker.SCALES[0], checked_on="2030-11-04")
_SEED: Final = 31
_PROFILE: Final = "Piston filler, general"
_STARTS_H: Final = (7.0, 10.5, 14.0)
_ROUND: Final = (0, 1, 2, 0, 3, 2, 1, 0, 3, 2, 1, 3)
"""Which of the four products comes next, by its place in the invented maker's list."""
_CREEPS_IN: Final = (7, 19, 34, 52)
_CARTON_IN: Final = 4
_DRUM_IN: Final = 5
_TAKEOVER_IN: Final = 5
_STRIP_EVERY: Final = 6
_SOUND_EVERY: Final = 3
"""After so many jobs a machine is stripped; after twice as many step by step."""
_COMPLAINTS: Final = {
    22: ("short", 57, "It looks less than the last one.", "in-order"),
    37: ("leaked", 12, "The lid was wet when it came.", "leaked"),
    51: ("short", 80, "The level is low.", ""),
}
"""After so many jobs a complaint about the lot ten before: what, which jar, words, finding."""
_PRICES: Final = {
    "Elderflower cordial": ("3.20", "250 mL bottle", "0.42"),
    "Oat hand wash": ("4.10", "300 mL pump bottle", "0.68"),
    "Rosemary oil": ("12.50", "100 mL oil bottle", "0.55"),
    "Plum butter": ("5.40", "370 mL jar", "0.60"),
}
_TRAITS: Final = (
    ("Elderflower cordial", "none", "light", "light", "water"),
    ("Oat hand wash", "none", "light", "light", "water"),
    ("Rosemary oil", "none", "light", "strong", "oil"),
    ("Plum butter", "none", "dark", "light", "water"),
)
_SEAL_LOTS: Final = (
    ("S-EP-3", "EPDM", "2 in"),
    ("S-FK-1", "FKM", "152"),
    ("S-FK-2", "FKM", "224"),
    ("S-FK-3", "FKM", "012"),
    ("S-FK-4", "FKM", "227"),
)
_ZEROED: Final = ("Rosemary oil", "Plum butter")
"""Glass differs too much from piece to piece for one average empty."""
_TAKES_S: Final = {"done": 110, "first-look": 75, "draw": 120, "sign": 60, "release": 45}
_EACH_S: Final = 8


class ScriptedClock:
    """A clock that only the script moves."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def now(self) -> datetime:
        """Return the moment."""
        return self.at

    def zone(self) -> str:
        """Return a zone."""
        return "Europe/Vienna"

    def go(self, seconds: float) -> None:
        """Let so many seconds pass."""
        self.at += timedelta(seconds=seconds)

    def go_to(self, day: date, hour: float) -> None:
        """Wait for an hour of a day; an hour that is past stays past."""
        wanted = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(hours=hour)
        self.at = max(self.at, wanted)


@dataclass
class _Stores:
    """Drums and cartons by product, which is open; and the machine as it stands with a product."""

    opened: dict[str, int] = field(default_factory=dict)
    benches: dict[str, SimulatedBench] = field(default_factory=dict)

    def code(self, kind: str, product: str, *, fresh: bool = False) -> str:
        """Return the code of the one that is open, or of the next."""
        key = f"{kind}-{product[:2].upper()}"
        if fresh or key not in self.opened:
            self.opened[key] = self.opened.get(key, 0) + 1
        return f"{key}-{self.opened[key]:02d}"


def play_history(desk: Desk, clock: ScriptedClock, *, jobs: int = JOBS) -> None:
    """Play so many jobs of the invented maker, from the first Monday on."""
    _found(desk)
    stores = _Stores()
    for place in range(jobs):
        day = BEGAN + timedelta(days=place // 15 * 7 + place % 15 // 3)
        clock.go_to(day, _STARTS_H[place % 3])
        _one_job(desk, clock, stores, place)
        if place in _COMPLAINTS:
            _complain(desk, place)


def _found(desk: Desk) -> None:
    """List people and things, what they cost, what they leave behind, and the seals."""
    press = Press(person="AB")
    change_settings(desk, maker.SETTINGS, press)
    for person in maker.PEOPLE:
        list_person(desk, person, press)
    for thing in (*maker.PRODUCTS, *maker.CONTAINERS, *maker.MACHINES, SCALE):
        keep_thing(desk, thing, press)
    for facts in maker.JOBS:
        per_kg, _, each = _PRICES[facts.product.name]
        common = replace(
            desk.book.site().prices,
            money="EUR",
            work_cost_per_h=Decimal(32),
            cleaner_per_litre=Decimal("1.80"),
            air_cost_per_m3=Decimal("0.03"),
        )
        keep_prices(
            desk, facts, common, press,
            product_cost_per_kg=Decimal(per_kg), container_cost_each=Decimal(each),
        )  # fmt: skip
    for name, allergen, colour, scent, base in _TRAITS:
        traits = ProductTraits(
            product=name, allergen=allergen, colour=colour, scent=scent, base=base
        )
        _keep_traits(desk, traits, press)
    for code, material, size in _SEAL_LOTS:
        lot = SealsShelved(
            seal_lot=code, material=material, size=size, pieces=8, cured_on="2030-06-30"
        )
        shelve(desk, lot, press)


def _keep_traits(desk: Desk, traits: ProductTraits, press: Press) -> None:
    """Keep what a product leaves behind."""
    keep_on_site(desk, [traits], press)


def _one_job(desk: Desk, clock: ScriptedClock, stores: _Stores, place: int) -> None:
    """Clean, open, play and release one job, keep two of it, and strip the machine."""
    number = f"{place + 1:04d}"
    person = maker.PEOPLE[place % 2]
    press = Press(person=person.initials)
    facts = opened(desk, number, _ROUND[place % len(_ROUND)], press)
    clock.go(600)
    _clean(desk, facts, press)
    clock.go(300)
    product = facts.product.name
    changes.tell_lots(
        desk,
        number,
        {
            "container": stores.code("C", product, fresh=place % 8 == 1),
            "lid": stores.code("L", product),
            "drum": stores.code("D", product),
        },
        press,
        batch=f"B-{product[:2].upper()}-{place // 15 + 1}",
    )
    script = _Script(desk, clock, stores, place, person)
    if product not in stores.benches:
        chance = np.random.Generator(np.random.PCG64([_SEED, place]))
        stores.benches[product] = bench_from(facts, chance, time.monotonic)
    script.bench = stores.benches[product]
    script.bench.number_from(1)
    play(
        desk, number, script.bench, person,
        until=lambda s: s.released is not None, seed=_SEED + place,
        told=script.before, checks_kept=True,
    )  # fmt: skip
    if place + 1 in _CREEPS_IN:
        # The cause was found and mended: the next job finds the machine as it was.
        del stores.benches[product]
    note_losses(
        desk,
        LossesNoted(
            job=number,
            flushed_kg=Decimal("0.6") + Decimal(place % 4) / 10,
            hopper_kg=Decimal("0.35") + Decimal(place % 3) / 20,
            cleaner_l=Decimal(2),
            work_min=Decimal(12),
        ),
        press,
    )
    clock.go(900)
    if place % _STRIP_EVERY == _STRIP_EVERY - 1:
        _guided_strip(desk, clock, find_job(desk, number), press, place)
    if place % _SOUND_EVERY == _SOUND_EVERY - 1:
        strip.stripped(desk, number, press, air_is_off=True, missing_piece="")


def opened(desk: Desk, number: str, what: int, press: Press) -> JobFacts:
    """Open a job of the maker's product at this place of its list, at the aim of the rules."""
    facts = replace(
        maker.JOBS[what],
        number=number,
        lot_code=f"NE-{number}",
        scale=SCALE,
        lot_size=120,
        tray_size=12,
        weigh_every=12,
    )
    if facts.product.name in _ZEROED:
        facts = replace(facts, tare_way="zeroed")
    facts = replace(facts, aim_g=propose_aim(desk, facts).aim_g)
    open_job(desk, facts, press)
    return facts


def _complain(desk: Desk, place: int) -> None:
    """Take a complaint about a lot of earlier, and answer and close it where that was done."""
    about, container, words, finding = _COMPLAINTS[place]
    press = Press(person="AB")
    told = Told(code=f"NE-{place - 9:04d}", container=container, about=about)
    number = complaints.take(desk, told, Telling(words=words), press)
    if finding:
        complaints.answer(desk, number, finding, "weights before and after it", press)
        complaints.close(desk, number, "a new one sent", press)


def _clean(desk: Desk, facts: JobFacts, press: Press) -> None:
    """Clean the machine as what it bears and what comes ask for."""
    seen = cleaning.look(desk, facts.machine.name, next_job=facts.number)
    done = CleanDone(
        machine=facts.machine.name,
        after_job="",
        after_product="",
        before_job=facts.number,
        clean=seen.wanted or "flush-through",
        wanted="",
        agent="Citric rinse 2 %",
        agent_batch="CR-12",
        residue="rinse-clear",
        discarded_l=Decimal(4),
    )
    cleaning.keep_clean(desk, done, press)


class _Script:
    """What happens in a job besides its acts: the time that goes by, and what is changed."""

    def __init__(
        self, desk: Desk, clock: ScriptedClock, stores: _Stores, place: int, person: Person
    ) -> None:
        self.desk, self.clock, self.stores, self.place = desk, clock, stores, place
        self.person = person
        self.bench: SimulatedBench | None = None
        self.done: set[str] = set()

    def before(self, state: JobState, act: Act) -> None:
        """Let the time of an act go by, and do what the script has at this jar."""
        self.clock.go(self._takes_s(act))
        press = Press(person=self.person.initials)
        if act.what == "sign" and self._once("kept"):
            free = [n for n in (30, 31, 90, 91) if not _in_scrapped(state, n)][:2]
            keep_sample(
                self.desk, state.number, f"{free[0]}, {free[1]}", "shelf 4",
                f"{self.clock.at.year + 2}-{self.clock.at:%m-%d}", press,
            )  # fmt: skip
        if state.run is None or state.run.finished is not None or state.open_spans:
            return
        if act.what != "weigh":
            return
        self._change(state, press)

    def _change(self, state: JobState, press: Press) -> None:
        """Do what the script has at this jar of the run."""
        product, filled, bench = state.known.product.name, state.filled_to, self.bench
        if bench is None:
            return
        if self.place % _CARTON_IN == 1 and filled > 44 and self._once("carton"):
            code = self.stores.code("C", product, fresh=True)
            changes.take_lot(self.desk, state.number, "container", code, press)
        elif self.place % _DRUM_IN == 2 and filled > 66 and self._once("drum"):
            code = self.stores.code("D", product, fresh=True)
            density = state.known.product.density_g_per_ml
            is_volume = state.known.unit == "mL"
            changes.take_drum(
                self.desk, state.number, code, press,
                density_g_per_ml=density if is_volume else None,
                density_c=state.known.product.product_c if is_volume else None,
                note="" if is_volume else "label in grams",
            )  # fmt: skip
        elif self.place + 1 in _CREEPS_IN and filled > 60 and self._once("creep"):
            bench.machine.creep_on(-0.02 * bench.machine.mean_dose_g)
            bench.place_jar(filled + 2)
            bench.machine.creep_off()

    def _once(self, what: str) -> bool:
        """Tell whether something is done for the first time in this job."""
        if what in self.done:
            return False
        self.done.add(what)
        return True

    def _takes_s(self, act: Act) -> float:
        """Return how long an act takes at this bench."""
        if act.expects is Expects.WEIGHT:
            return 12 * _EACH_S + 20 if act.stage.value == "run" else 25
        return _TAKES_S.get(act.what, 40)


def _in_scrapped(state: JobState, number: int) -> bool:
    """Tell whether a container of the batch was scrapped."""
    return any(span.first <= number <= span.last for span in state.scrapped)


def _guided_strip(
    desk: Desk, clock: ScriptedClock, state: JobState, press: Press, place: int
) -> None:
    """Strip by the profile: every step ticked, every seal seen, one now and then replaced."""
    begin(desk, state.number, _PROFILE, press)
    while (guide := guide_of(desk, find_job(desk, state.number), person=press.person)) is not None:
        if guide.now is None:
            return
        step = guide.now
        clock.go(60 * min(step.minutes, 20))
        if step.id == "inspect_seals":
            for row in guide.seals:
                _see(desk, state.number, row, press, place)
        full = Evidence(
            reading="0", photo="tablet", air_is_off=True, ports=("pull", "none", "none", "push")
        )
        tick(desk, state.number, step.id, full, press)


def _lot_for(place: SealPlace) -> str:
    """Return the lot on the shelf of the material of a place, of its size where there is one."""
    fits = [(code, size) for code, material, size in _SEAL_LOTS if material == place.material]
    same = [code for code, size in fits if size == place.size]
    return next(iter(same or [code for code, _ in fits]), "")


def _see(desk: Desk, number: str, row: SealRow, press: Press, place: int) -> None:
    """Say how a seal looks: every so often one is worn and replaced from the lot that suits it."""
    is_worn = (row.number + place) % 7 == 0
    seen = SealSeen(
        job=number, machine="", product="", material="", size="",
        position=row.place.position,
        state="worn" if is_worn else "good",
        action="replaced" if is_worn else "kept",
        reason="failed" if is_worn and row.number % 2 else ("due" if is_worn else ""),
        seal_lot=_lot_for(row.place) if is_worn else "",
    )  # fmt: skip
    see_seal(desk, number, seen, press)
