"""One odd weight in a run, on a real journal: two more are weighed before the wheel is turned."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from fillwright.jobs.desk import Press
from fillwright.jobs.limits import limits_of
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.run.weigh import weigh
from fillwright.records.capture import Capture
from fillwright.records.codec import new_id
from fillwright.scale.simulated import bench_from
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on
from fillwright.wiring.player import play


@pytest.fixture
def running(tmp_path):
    """A desk with the invented job of the terminal demo at the start of its run."""
    desk = desk_on(tmp_path / "journal.sqlite3")
    facts = replace(maker.JOBS[0], number="0001", lot_code="NE-0001")
    facts = replace(facts, aim_g=propose_aim(desk, facts).aim_g)
    open_job(desk, facts, Press(person="AB"))
    bench = bench_from(facts, np.random.Generator(np.random.PCG64(7)), lambda: 0.0)
    play(
        desk,
        "0001",
        bench,
        maker.PEOPLE[0],
        until=lambda state: state.run is not None and state.run.weighed_since_start > 1,
        seed=7,
    )
    yield desk
    desk.journal.close()


def _keep(desk, state, net_g):
    """Keep a weight that is `net_g` without its container."""
    capture = Capture(
        weighing_id=new_id(desk.clock.now()),
        value=net_g + state.tare.tare_g,
        basis="gross",
    )
    return weigh(desk, "0001", capture, Press(person="AB"))


def test_one_high_weight_asks_for_two_more_and_no_turn(running):
    """However far one weight is off, the order is two more; only then the wheel is turned."""
    limits = limits_of(running.book.job("0001").known, running.rule_sets)
    high_g = limits.band_high_g + Decimal(2)

    first = _keep(running, running.book.job("0001"), high_g)
    second = _keep(running, first.state, high_g)
    third = _keep(running, second.state, high_g)

    assert first.act.what == "weigh"
    assert first.act.order.startswith("Fill two more and weigh both.")
    assert second.act.order.startswith("One more:")
    assert third.act.what == "adjust"
    assert third.act.why.endswith("two more weights agree.")
