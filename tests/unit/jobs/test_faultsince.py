"""Some faults come in with a rebuild or a changeover: how long ago those were, by the journal."""

from __future__ import annotations

from dataclasses import replace

from workshop import Workshop

from fillwright.jobs.fault.learn import figures_of
from fillwright.jobs.fault.since import cycles_since
from fillwright.jobs.opening import open_job
from fillwright.jobs.strip import stage as strip


def test_without_a_strip_and_another_product_nothing_is_known():
    """The first job of a machine says nothing of either."""
    shop = Workshop().to_finished()

    assert cycles_since(shop.desk, shop.state) == {}


def test_after_a_strip_the_next_job_counts_from_its_first_shot():
    """Nothing filled since is nought; the jars of the job before do not count."""
    shop = Workshop().to_released()
    shop.clock.go(60)
    strip.stripped(shop.desk, shop.number, shop.press, air_is_off=True, missing_piece="")
    shop.clock.go(60)
    product = replace(shop.facts.product, name="Plain cream")
    open_job(shop.desk, replace(shop.facts, number="0500", product=product), shop.press)
    new = shop.desk.book.job("0500")

    assert cycles_since(shop.desk, shop.state) == {"rebuild": 0}
    assert cycles_since(shop.desk, new) == {"rebuild": 0, "changeover": 0}


def test_the_same_product_again_is_no_changeover():
    """Only another product, cylinder or nozzle changes what may be wrong."""
    shop = Workshop().to_released()
    shop.clock.go(60)
    open_job(shop.desk, replace(shop.facts, number="0500"), shop.press)

    assert cycles_since(shop.desk, shop.desk.book.job("0500")) == {}


def test_long_after_a_rebuild_its_faults_weigh_less():
    """A piston put together wrongly shows at once or hardly ever."""
    shop = Workshop().to_released()
    fresh, late = (figures_of(shop.desk, {"rebuild": cycles}).net for cycles in (0, 500))
    place = fresh.causes.index("piston_misbuilt")

    assert fresh.weights[place] > 10 * late.weights[place]
