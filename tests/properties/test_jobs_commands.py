"""Whatever people press, in whatever order: the job stays whole and always has an answer."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st
from workshop import AB, SCATTER, Workshop, differences, job, settled_watch

from fillwright.errors import BadInput
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.held import settle
from fillwright.jobs.held.fates import FATES, fates_of
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import change_facts
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.release import stage as release
from fillwright.jobs.release.keep_sample import keep_sample
from fillwright.jobs.run import cartons, changes
from fillwright.jobs.run import first_jar as firstjar
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.weigh import strike_out, undo
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.strip import stage as strip
from fillwright.jobs.traveller import act_of, next_act, purpose_now
from fillwright.jobs.trim import stage as trim
from fillwright.records.entities import Stage
from fillwright.records.spans import Span, count, join, minus

PURPOSES = st.sampled_from(
    [None, None, None, "tare", "purge", "shot", "proof", "dose", "held", "sample"]
)
NUMBERS = st.none() | st.integers(-1, 40)
WEIGHTS = st.sampled_from(
    ["252.0", "252.3", "251.6", "247.0", "240.9", "231.0", "283.1", "40", "0"]
)
PRESSES = st.one_of(
    st.tuples(st.just("weigh"), WEIGHTS, PURPOSES, NUMBERS),
    st.tuples(st.just("do-as-told"), st.integers(1, 12)),
    st.tuples(st.just("do-as-told"), st.integers(1, 12)),
    st.tuples(st.just("spoilt"), PURPOSES),
    st.tuples(st.just("undo")),
    st.tuples(st.just("strike"), st.integers(0, 99)),
    st.tuples(st.just("take")),
    st.tuples(st.just("step"), st.sampled_from(["setting", "air", "scale", "empties", "wet-end"])),
    st.tuples(st.just("moved"), st.integers(-1, 95)),
    st.tuples(st.just("take-as-is")),
    st.tuples(st.just("trim-again")),
    st.tuples(st.just("begin")),
    st.tuples(st.just("again")),
    st.tuples(st.just("start")),
    st.tuples(st.just("adjust"), st.integers(-1, 95)),
    st.tuples(st.just("pause"), st.sampled_from(["pause", "refill", "fault"]), NUMBERS),
    st.tuples(st.just("finish"), st.integers(0, 45)),
    st.tuples(st.just("carton"), st.sampled_from(["container", "lid"]), NUMBERS),
    st.tuples(st.just("drum"), st.sampled_from(["0.985", "0.99", "1.3"]), NUMBERS),
    st.tuples(st.just("person"), NUMBERS),
    st.tuples(st.just("look"), st.sampled_from([None, "drips", ""])),
    st.tuples(st.just("skip-look")),
    st.tuples(st.just("keep"), st.integers(1, 24)),
    st.tuples(st.just("keep-tare")),
    st.tuples(st.just("settle"), st.sampled_from(["scrapped", "released-with-reason"])),
    st.tuples(st.just("draw"), st.integers(0, 9)),
    st.tuples(st.just("sign")),
    st.tuples(st.just("release")),
    st.tuples(st.just("close")),
    st.tuples(st.just("strip"), st.booleans()),
    st.tuples(st.just("fault")),
    st.tuples(st.just("facts"), st.sampled_from(["aim", "label", "claim", "warm", "jar"])),
)
SMALL = {"lot_size": 24, "tray_size": 6, "weigh_every": 6, "rules": "UK-2006/659", "plan": None}
READINGS = {"setting": "48", "air": "5.8", "product": "22", "strokes": "44", "scale": "200"}
STARTS = st.sampled_from(["open", "to_trim", "to_shots", "to_proved", "to_run", "to_finished"])


def strike(shop, which):
    """Strike one of the weights out, if there is one."""
    weighings = shop.state.weighings
    if weighings:
        one = weighings[which % len(weighings)]
        strike_out(shop.desk, shop.number, one.id, "typed wrong", shop.press)


def settle_first(shop, outcome):
    """Settle the first of the held spans, if there is one."""
    spans = shop.state.open_spans
    if spans:
        settle.settle(shop.desk, shop.number, spans[0], outcome, "looked at", shop.press)


def step(shop, key, reading=""):
    """Do a step of Set up."""
    text = reading or READINGS.get(key, "")
    setup.done(shop.desk, shop.number, key, text, shop.press)


def moved(shop, marks):
    """Turn the wheel in the trim."""
    trim.moved(shop.desk, shop.number, Decimal(marks), shop.press, is_locked=True)


def adjusted(shop, marks):
    """Turn the wheel in the run."""
    run.adjust(shop.desk, shop.number, Decimal(marks), shop.press, is_locked=True)


def stripped(shop, *, misses_a_piece):
    """Strip the machine."""
    piece = "hopper joint" if misses_a_piece else ""
    strip.stripped(shop.desk, shop.number, shop.press, air_is_off=True, missing_piece=piece)


def changed(shop, which):
    """Change one fact."""
    facts = other_facts(shop.state.known, which)
    change_facts(shop.desk, shop.number, facts, "", shop.press)


def carton(shop, what, n):
    """Take a new carton into use."""
    changes.take_lot(shop.desk, shop.number, what, "K-2", shop.press, last_filled=n)


def drum(shop, density, n):
    """Take a new drum into use."""
    given_ = {"density_g_per_ml": Decimal(density), "last_filled": n}
    changes.take_drum(shop.desk, shop.number, "D-2", shop.press, **given_)


def obey_times(shop, times):
    """Do what the job asks for, so many times."""
    for _ in range(times):
        obey(shop)


def of(command, *given_, **named):
    """Return a press of a command of the jobs."""
    return lambda shop, *more: command(shop.desk, shop.number, *more, *given_, shop.press, **named)


PRESSED = {
    "weigh": lambda s, value, purpose, n: s.weigh(value, purpose=purpose, container=n),
    "spoilt": lambda s, purpose: s.weigh("100", purpose=purpose, set_aside="spilled"),
    "undo": of(undo),
    "strike": strike,
    "take": of(match.take),
    "step": step,
    "moved": moved,
    "take-as-is": of(trim.take_as_is, "near enough"),
    "trim-again": of(trim.trim_again, "to see"),
    "begin": of(prove.begin),
    "again": of(prove.again),
    "start": of(run.start, without_proof="a sample batch"),
    "adjust": adjusted,
    "pause": lambda s, reason, n: run.pause(s.desk, s.number, reason, s.press, filled_to=n),
    "finish": of(run.finish, reason="out of product"),
    "settle": settle_first,
    "draw": lambda s, seed: s.draw(seed),
    "sign": lambda s: s.sign(),
    "release": of(release.release),
    "close": of(release.close, "no more"),
    "strip": lambda s, misses: stripped(s, misses_a_piece=misses),
    "fault": of(fault.note, "creeps-up", "lock was loose"),
    "facts": changed,
    "carton": carton,
    "drum": drum,
    "person": lambda s, n: changes.change_person(s.desk, s.number, "CD", s.press, last_filled=n),
    "look": lambda s, wrong: s.look_at_first(leak=wrong),
    "skip-look": of(firstjar.skip_look, "seen by two"),
    "keep": lambda s, n: keep_sample(s.desk, s.number, str(n), "shelf 4", "", s.press),
    "keep-tare": of(cartons.carry_tare_on, "no empties to spare"),
    "do-as-told": obey_times,
}


def press(shop, what, *given_):
    """Press one button; return how it was refused, or None when it was taken."""
    try:
        PRESSED[what](shop, *given_)
    except BadInput as refused:
        return refused
    return None


def other_facts(facts, which):
    """Return the facts with one thing changed."""
    warm = replace(facts.product, product_c=facts.product.product_c + 6)
    return {
        "aim": replace(facts, aim_g=facts.aim_g + 1),
        "label": replace(facts, nominal=Decimal(249)),
        "claim": replace(facts, claim_pct=Decimal("1.5")),
        "warm": replace(facts, product=warm),
        "jar": replace(facts, container=replace(facts.container, brim_ml=Decimal(285))),
    }[which]


def weigh_as_told(shop, act):
    """Weigh what is asked for; what a weight cannot settle is scrapped."""
    state = shop.state
    purpose = purpose_now(state)
    assert purpose is not None
    piece = any(hold.reason.startswith(settle.PIECE) for hold in state.holds)
    if purpose == "held" and (piece or act.state == "short"):
        settle_first(shop, "scrapped")
    else:
        shop.off(SCATTER[len(state.weighings) % 13])


def step_as_told(shop, act):
    """Do the step of Set up that is in hand."""
    step(shop, setup.look(shop.desk, shop.state).now.key, act.value)


def facts_as_told(shop, act):
    """Change the facts back, or close a lot that has no plan."""
    if act.stage is Stage.RELEASE:
        release.close(shop.desk, shop.number, "it may not go out", shop.press)
    else:
        change_facts(shop.desk, shop.number, job(**SMALL), "as it was", shop.press)


def told(command, *given_):
    """Return an answer to an act that needs nothing from it."""
    return lambda shop, _: command(shop.desk, shop.number, *given_, shop.press)


def valued(command, kind=str):
    """Return an answer to an act that says its own value."""
    return lambda shop, act: command(shop.desk, shop.number, kind(act.value), shop.press)


ANSWERS = {
    "weigh": weigh_as_told,
    "take": told(match.take),
    "done": step_as_told,
    "moved": lambda shop, act: moved(shop, act.value),
    "begin": told(prove.begin),
    "again": told(prove.again),
    "trim-again": valued(trim.trim_again),
    "start-run": told(run.start),
    "first-look": lambda shop, _: shop.look_at_first(),
    "weigh-empty": lambda shop, _: shop.weigh("12.5", purpose="tare"),
    "adjust": lambda shop, act: adjusted(shop, act.value),
    "pause": valued(run.pause),
    "finish": valued(run.finish, int),
    "draw": lambda shop, _: shop.draw(5),
    "sign": lambda shop, act: shop.sign(AB, act.value),
    "release": told(release.release),
    "close": told(release.close, "it may not go out"),
    "facts": facts_as_told,
    "stripped": lambda shop, _: stripped(shop, misses_a_piece=False),
}


def obey(shop):
    """Do what the job asks for, as its act says it; False when it asks for nothing more."""
    act = next_act(shop.desk, shop.state)
    if (act.stage, act.what) == (Stage.STRIP, "next"):
        return False
    ANSWERS[act.what](shop, act)
    return True


def check(shop, before, what):
    """See that the job is whole after a press."""
    state = shop.state
    if what not in ("undo", "strike", "finish"):
        assert state.filled_to >= before
    assert state.filled_to >= 0
    assert minus(state.scrapped, state.open_spans) == state.scrapped
    assert all(span.first >= 1 for span in state.open_spans)
    if state.released is not None and state.released.outcome == "released":
        assert state.lot.verdict == "accepted"
        assert state.signatures
    # No container is in two states, and none in none.
    fates = fates_of(state)
    assert set(fates) <= set(FATES)
    assert sum(count(spans) for spans in fates.values()) == state.filled_to
    whole = join(span for spans in fates.values() for span in spans)
    assert whole == ((Span(1, state.filled_to),) if state.filled_to else ())
    for sample in state.samples:
        assert len(set(sample.containers)) == len(sample.containers)
        scrapped = {n for span in state.scrapped for n in range(span.first, span.last + 1)}
        assert not scrapped & set(sample.containers)
    act = next_act(shop.desk, state)
    assert act.main
    assert act.order.endswith((".", "?"))


@settings(max_examples=30)
@given(start=STARTS, presses=st.lists(PRESSES, min_size=1, max_size=12))
def test_presses_in_any_order_keep_the_job_whole(start, presses):
    """A press is taken or refused in words; nothing else happens, and every page has an order.

    The number filled never falls but by a strike-out; scrapped ones are neither held nor
    sampled; what was released was accepted and signed; the fold agrees with the journal.
    """
    shop = Workshop(job(**SMALL))
    if start != "open":
        getattr(shop, start)()
    for what, *given_ in presses:
        before, entries = shop.state.filled_to, len(shop.entries())
        refused = press(shop, what, *given_)
        if refused is not None:
            assert refused.message.endswith((".", "?"))
            # A scale check that failed is kept though the step is not.
            assert len(shop.entries()) == entries or what in {"do-as-told", "step"}
        check(shop, before, what)

    assert differences(settled_watch(shop.refolded()), settled_watch(shop.state)) == []
    assert all(act_of(shop.desk, shop.state, stage).order for stage in Stage)


@settings(max_examples=12)
@given(start=STARTS, presses=st.lists(PRESSES, max_size=8))
def test_every_job_can_be_brought_to_its_end(start, presses):
    """From wherever presses have left it, doing what the acts say closes and strips the job."""
    shop = Workshop(job(**SMALL))
    if start != "open":
        getattr(shop, start)()
    for what, *given_ in presses:
        press(shop, what, *given_)

    for _ in range(400):
        if not obey(shop):
            break

    assert next_act(shop.desk, shop.state).stage is Stage.STRIP
    assert "strip" in shop.state.steps
