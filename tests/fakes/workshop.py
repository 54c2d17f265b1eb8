"""An invented workshop for the tests: a journal in memory, a clock that stands, a job.

Nothing here replaces a function of ours: the journal keeps what the Protocol of the records
promises, and every stage is reached by its own commands.
"""

from __future__ import annotations

import dataclasses
import json
import math
from array import array
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cache

from fillwright.errors import Conflict
from fillwright.jobs.desk import Desk, Press, find_job
from fillwright.jobs.held import settle
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.release import stage as release
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import weigh
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.setup.steps import AIR_OUT
from fillwright.jobs.trim import stage as trim
from fillwright.knowledge.load import rule_sets
from fillwright.records.alike import AlikeKept
from fillwright.records.book import SITE, Book, stream_of
from fillwright.records.capture import Capture
from fillwright.records.codec import GENESIS, hash_of, payload_to_json, stamp
from fillwright.records.entities import (
    Container,
    Cylinder,
    JobFacts,
    Machine,
    Nozzle,
    Person,
    Product,
    SiteSettings,
    WeighingScale,
)
from fillwright.records.entries import (
    Draft,
    Entry,
    LearntStart,
    PrimingJudged,
    SiteSettingsChanged,
)
from fillwright.records.fold import fold_job
from fillwright.records.spans import Span

_REACHED = {}
BEGAN = datetime(2031, 3, 5, 8, 0, tzinfo=UTC)
AB = Person(initials="AB", name="A. Bench")
CD = Person(initials="CD", name="C. Drum")
CYLINDER = Cylinder(capacity_ml=Decimal(450), ml_per_mark=Decimal(5))
SMALL = Cylinder(capacity_ml=Decimal(180), ml_per_mark=Decimal(2))
NOZZLE = Nozzle(outside_mm=Decimal(14), bore_mm=Decimal(11))
MACHINE = Machine(
    name="East filler",
    cylinders=(SMALL, CYLINDER),
    nozzles=(NOZZLE, Nozzle(outside_mm=Decimal(24), bore_mm=Decimal(21))),
    last_mark=Decimal(90),
    step_marks=Decimal("0.1"),
    marks_per_turn=Decimal("2.5"),
    lost_motion_marks=Decimal("0.5"),
    wheel_sd_pct_of_cylinder=Decimal("0.05"),
)
# Deviations from the aim in grams, invented: no trend, no pattern, sd 0.39.
SCATTER = (
    Decimal("0.3"),
    Decimal("-0.2"),
    Decimal("0.1"),
    Decimal("-0.5"),
    Decimal("0.4"),
    Decimal("0.0"),
    Decimal("-0.3"),
    Decimal("0.6"),
    Decimal("-0.1"),
    Decimal("-0.6"),
    Decimal("0.2"),
    Decimal("0.5"),
    Decimal("-0.4"),
)


class MemoryJournal:
    """The journal as its Protocol promises it, in a list; the chain of hashes is real."""

    def __init__(self):
        self.log = []
        self.heads = {}
        self.listeners = []

    def append(self, drafts, *, seen=None):
        """Keep all drafts, or none of them."""
        known = {entry.id: entry for entry in self.log}
        first = drafts[0]
        stream = first.stream
        if first.id in known:
            if known[first.id].payload != first.payload:
                message = f"the id {first.id} is used for something else"
                raise Conflict(message)
        elif seen is not None and seen != self.revision(stream):
            raise Conflict("the stream moved on", since=tuple(self.entries(stream, after=seen)))
        stored, fresh = [], []
        for draft in drafts:
            entry = known.get(draft.id)
            if entry is None:
                entry = self._entry(draft)
                fresh.append(entry)
            stored.append(entry)
        if fresh:
            for listener in tuple(self.listeners):
                listener(tuple(fresh))
        return tuple(stored)

    def append_alike(self, alike):
        """Keep all weights of a file, or none where one is there already."""
        if any(self.entry(row[0]) for row in alike.rows):
            return None
        head = () if alike.head is None else self.append([alike.head])
        stored = self.append(alike.drafts_of(alike.rows))
        return AlikeKept(
            head=head[0] if head else None,
            first_revision=stored[0].revision,
            last_revision=stored[-1].revision,
            last_hash=stored[-1].hash,
        )

    def entries(self, stream, *, after=0):
        """Yield one stream's entries in order."""
        yield from [e for e in self.log if e.stream == stream and e.revision > after]

    def entry(self, entry_id):
        """Return the entry with an id."""
        return next((e for e in self.log if e.id == entry_id), None)

    def streams(self, prefix=""):
        """Return the streams, oldest first."""
        return tuple(name for name in self.heads if name.startswith(prefix))

    def subscribe(self, listener):
        """Call `listener` after each append."""
        self.listeners.append(listener)
        return lambda: self.listeners.remove(listener)

    def revision(self, stream):
        """Return the number of entries of a stream."""
        return self.heads.get(stream, 0)

    def _entry(self, draft: Draft) -> Entry:
        """Store one draft at the end of the chain."""
        seq, revision = len(self.log) + 1, self.revision(draft.stream) + 1
        previous = self.log[-1].hash if self.log else GENESIS
        fields = {
            "seq": seq,
            "revision": revision,
            "stream": draft.stream,
            "zone": draft.zone,
            "person": draft.person,
            "bench": draft.bench,
            "previous_hash": previous,
        }
        digest = hash_of(
            entry_id=draft.id,
            kind=draft.payload.kind,
            version=draft.payload.version,
            at=stamp(draft.at),
            payload=json.loads(payload_to_json(draft.payload)),
            **fields,
        )
        entry = Entry(id=draft.id, at=draft.at, payload=draft.payload, hash=digest, **fields)
        self.log.append(entry)
        self.heads[draft.stream] = revision
        return entry


class StandingClock:
    """A clock that only a test moves."""

    def __init__(self, at=BEGAN):
        self.at = at

    def now(self):
        """Return the moment."""
        return self.at

    def zone(self):
        """Return a zone."""
        return "Europe/Vienna"

    def go(self, seconds):
        """Let so many seconds pass."""
        self.at += timedelta(seconds=seconds)


def job(number="0417", *, product=None, container=None, machine=None, scale=None, **changes):
    """Return an invented job: 250 g of hand cream into jars, 120 of them, trays of ten.

    `product`, `container`, `machine` and `scale` are changes to the usual ones.
    """
    things = {
        "product": (
            Product(name="Hand cream", density_g_per_ml=Decimal("1.01"), product_c=Decimal(22)),
            product,
        ),
        "container": (
            Container(
                name="250 mL jar",
                brim_ml=Decimal(280),
                mouth_mm=Decimal(58),
                tare_g=Decimal("40.00"),
                tare_sd_g=Decimal("0.05"),
            ),
            container,
        ),
        "machine": (MACHINE, machine),
        "scale": (
            WeighingScale(
                name="Bench scale",
                capacity_g=Decimal(3000),
                readability_g=Decimal("0.1"),
                repeatability_sd_g=Decimal("0.05"),
            ),
            scale,
        ),
    }
    facts = JobFacts(
        number=number,
        lot_code=f"L-{number}",
        **{name: replace(usual, **(changed or {})) for name, (usual, changed) in things.items()},
        cylinder=CYLINDER,
        nozzle=NOZZLE,
        nominal=Decimal(250),
        unit="g",
        rules="EU-76/211",
        plan="double",
        lot_size=120,
        tray_size=10,
        weigh_every=10,
        aim_g=Decimal(252),
        expected_sd_pct=Decimal("0.16"),
        tare_way="zeroed",
        is_invented=True,
    )
    return replace(facts, **changes)


@cache
def known_rules():
    """Return the rule sets that come with the program, read once."""
    return rule_sets()


def empty_desk(journal, clock):
    """Return a desk with nothing on it yet."""
    return Desk(
        journal=journal,
        clock=clock,
        book=Book(journal),
        rule_sets=known_rules(),
        program="Fillwright tests",
    )


class Workshop:
    """A desk on a journal in memory, with one job on it.

    Parameters
    ----------
    facts : JobFacts, optional
        The job that is opened; the usual one when left out.
    settings : SiteSettings, optional
        Settings of the site.
    """

    def __init__(self, facts=None, *, settings=None):
        self.journal, self.clock, self._given = MemoryJournal(), StandingClock(), 0
        self.press = Press(person=AB.initials)
        self.desk = empty_desk(self.journal, self.clock)
        if settings is not None:
            self.tell_site(SiteSettingsChanged(settings=settings))
        facts = job() if facts is None else facts
        self.number = facts.number
        open_job(self.desk, facts, self.press)

    @property
    def state(self):
        """The job as it stands."""
        return find_job(self.desk, self.number)

    @property
    def facts(self):
        """Facts of the job."""
        return self.state.known

    def entries(self):
        """Return the job's entries."""
        return list(self.journal.entries(stream_of(self.number)))

    def facts_since(self, revision):
        """Return the payloads appended after `revision`."""
        return [e.payload for e in self.journal.entries(stream_of(self.number), after=revision)]

    def refolded(self):
        """Return the state folded anew from the first entry."""
        return fold_job(self.number, self.entries())

    def tell_site(self, fact):
        """Append one fact to the site's stream."""
        self.tell(fact, stream=SITE)

    def tell(self, *facts, stream=None):
        """Append facts as they are, without a command."""
        return self.journal.append(self.drafts(*facts, stream=stream))

    def drafts(self, *facts, stream=None):
        """Return drafts of facts, each with an id of its own."""
        return [
            Draft(
                id=self.next_id(),
                stream=stream or stream_of(self.number),
                at=self.clock.now(),
                zone=self.clock.zone(),
                person=AB.initials,
                bench="bench 1",
                payload=fact,
            )
            for fact in facts
        ]

    def next_id(self):
        """Return an id that was not used before; the same ones in every run."""
        self._given += 1
        return f"01e1b0c0-0000-7000-8000-{self._given:012d}"

    def weigh(self, value, *, entry_id=None, purpose=None, press=None, **given):
        """Weigh: what the scale showed, for whatever the job waits for."""
        self.clock.go(30)
        capture = Capture(
            weighing_id=entry_id or self.next_id(), value=Decimal(value), source="typed", **given
        )
        return weigh(self.desk, self.number, capture, press or self.press, purpose=purpose)

    def off(self, deviation, **given):
        """Weigh one that is so many grams off the aim."""
        step = self.facts.scale.readability_g
        value = self.facts.aim_g + Decimal(str(deviation))
        shown = value.quantize(step) if step < 1 else value
        return self.weigh(shown if shown == value else value, **given)

    def change_site(self, **changes):
        """Change the settings of the site."""
        now = self.desk.book.site().settings
        self.tell_site(SiteSettingsChanged(settings=replace(now, **changes)))

    def _reach(self, stage, reach):
        """Go on to a stage; a way that was gone before is copied, not gone again."""
        key = (self.facts, self.desk.book.site().settings, self._given, stage)
        if self._is_fresh and key in _REACHED:
            log, heads, at, given = _REACHED[key]
            self.journal.log, self.journal.heads = list(log), dict(heads)
            self.clock.at, self._given = at, given
            self.desk = replace(self.desk, book=Book(self.journal))
        else:
            was_fresh = self._is_fresh
            reach()
            if was_fresh:
                kept = (tuple(self.journal.log), dict(self.journal.heads))
                _REACHED[key] = (*kept, self.clock.at, self._given)
        return self

    @property
    def _is_fresh(self):
        """True while nothing but the opening is on record."""
        return self.journal.revision(stream_of(self.number)) == 1

    def to_setup(self):
        """Take the parts."""
        match.take(self.desk, self.number, self.press)
        return self

    def to_trim(self):
        """Set the machine up, the empties apart: these jobs zero each empty away."""
        return self._reach("trim", self._set_up)

    def _set_up(self):
        """Do every step of Set up."""
        self.to_setup()
        start = str(setup.look(self.desk, self.state).start_marks)
        readings = {"setting": start, "air": "5.8", "product": "22", "strokes": "44"}
        readings["scale"] = str(self.facts.scale.check_weight_g)
        for step in setup.steps_of(self.desk, self.state):
            if step.key != "empties":
                if step.key == AIR_OUT:
                    self.tell(self._air_is_out())
                reading = readings.get(step.key, "")
                setup.done(self.desk, self.number, step.key, reading, self.press)

    def _air_is_out(self):
        """A flush that was weighed and showed no air: the trim need not reckon with any."""
        return PrimingJudged(
            job=self.number,
            product=self.facts.product.name,
            machine=self.facts.machine.name,
            shots=12,
            low_shots=(),
            quiet=9,
            p_primed=0.95,
            limit_pct=0.3,
            p_wanted=0.83,
            settled_g=float(self.facts.aim_g),
            because="No sign of air in the last 9 doses.",
            equation="",
            assumptions=(),
            learnt=LearntStart(
                decay_doses=3.5,
                decay_spread_ratio=0.65,
                first_shortfall_pct=8.0,
                sd_pct=0.3,
                sd_spread_ratio=0.6,
                slow_share=0.15,
                late_share=0.06,
                low_share=0.1,
                starts=1,
            ),
        )

    def to_prove(self):
        """Trim as it stands, on two shots at the aim."""
        return self._reach("prove", self._trim)

    def _trim(self):
        """Weigh two shots at the aim."""
        self.to_trim()
        for _ in range(2):
            self.off(0, purpose="shot")
        if self.state.trim is None:
            trim.take_as_is(self.desk, self.number, "near enough for a test", self.press)

    def to_shots(self):
        """Plan the proving run."""
        self.to_prove()
        prove.begin(self.desk, self.number, self.press)
        return self

    def to_proved(self):
        """Prove the dose with a scatter that has no pattern."""
        return self._reach("proved", self._prove)

    def _prove(self):
        """Weigh all the planned shots."""
        self.to_shots()
        for place in range(self.state.proof_plan.shots):
            self.off(SCATTER[place % len(SCATTER)])

    def to_run(self):
        """Start the run on a proved dose."""
        self.to_proved()
        run.start(self.desk, self.number, self.press)
        return self.look_at_first()

    def look_at_first(self, **wrong):
        """Look at the first jar: all right, but for what is named with its reason."""
        answers = {key: wrong.get(key.replace("-", "_")) for key in firstjar.KEYS}
        firstjar.look_at_first(self.desk, self.number, answers, self.press)
        return self

    def fill_up(self):
        """Weigh whatever is due, all on the pattern of the scatter, until all are filled."""
        place = 0
        while run.look(self.desk, self.state).act.what == "weigh":
            self.off(SCATTER[place % len(SCATTER)])
            place += 1
        return self

    def to_finished(self):
        """Fill the whole lot and finish the run."""
        return self._reach("finished", self._fill)

    def _fill(self):
        """Run the lot to its end."""
        self.to_run().fill_up()
        run.finish(self.desk, self.number, self.state.filled_to, self.press)

    def draw(self, seed=11):
        """Draw the sample."""
        return release.draw(self.desk, self.number, self.press, seed=seed)

    def weigh_sample(self, *values):
        """Weigh what was drawn and is not weighed yet: `values` first, then at the aim."""
        left = list(values)
        while self.waiting():
            deviation = left.pop(0) if left else SCATTER[len(self.state.weighings) % 13]
            self.off(deviation, purpose="sample")
        return self

    def waiting(self):
        """Return what was drawn and is not weighed yet."""
        return release.look(self.desk, self.state).still_to_weigh

    def to_judged(self, *values, seed=11):
        """Draw the sample and weigh it."""
        if values:
            self.to_finished().draw(seed)
            return self.weigh_sample(*values)
        return self._reach(("judged", seed), lambda: self._judge(seed))

    def _judge(self, seed):
        """Weigh a sample that is on the pattern of the scatter."""
        self.to_finished().draw(seed)
        self.weigh_sample()

    def sign(self, person=AB, role="filled"):
        """Put a name to the lot."""
        return release.sign(self.desk, self.number, role, person, self.press)

    def scrap(self, first, last, reason="spilled"):
        """Scrap held containers."""
        span = Span(first, last)
        return settle.settle(self.desk, self.number, span, "scrapped", reason, self.press)

    def to_released(self):
        """Release the lot."""
        self.to_judged()
        self.sign()
        release.release(self.desk, self.number, self.press)
        return self


def site(**changes):
    """Return settings of an invented site."""
    return SiteSettings(maker="Nine Elder Works (an invented maker)", **changes)


def differences(one, other, *, without=(), where="state"):
    """Return where two states differ; floats may differ in their last digits.

    A watch that takes its readings in blocks adds them up in another order.
    """
    if isinstance(one, float) and isinstance(other, float):
        same = math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
        return [] if same else [f"{where}: {one!r} is not {other!r}"]
    if type(one) is not type(other):
        return [f"{where}: {one!r} is not {other!r}"]
    if dataclasses.is_dataclass(one):
        names = [f.name for f in dataclasses.fields(one)]
        pairs = [(f"{where}.{n}", getattr(one, n), getattr(other, n)) for n in names]
    elif isinstance(one, dict):
        if list(one) != list(other):
            return [f"{where}: keys {list(one)} are not {list(other)}"]
        pairs = [(f"{where}[{key!r}]", one[key], other[key]) for key in one]
    elif isinstance(one, list | tuple | array):
        if len(one) != len(other):
            return [f"{where}: {len(one)} is not {len(other)} long"]
        pairs = [(f"{where}[{i}]", a, b) for i, (a, b) in enumerate(zip(one, other, strict=True))]
    else:
        return [] if one == other else [f"{where}: {one!r} is not {other!r}"]
    return [
        found
        for place, mine, theirs in pairs
        if place.rsplit(".", 1)[-1] not in without
        for found in differences(mine, theirs, without=without, where=place)
    ]


def settled_watch(state):
    """Return the state with every reading handed to its watch, so that states compare."""
    if state.run is not None:
        _ = state.run.watch
    return state
