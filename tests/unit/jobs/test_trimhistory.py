"""What a job learns from the trims of earlier jobs like it."""

from __future__ import annotations

from dataclasses import replace

from workshop import Workshop, job

from fillwright.jobs.desk import Press
from fillwright.jobs.opening import open_job
from fillwright.jobs.setup.settings import start_marks
from fillwright.jobs.trim import stage as trim
from fillwright.jobs.trim.history import history


def _trimmed():
    """A workshop whose one job was trimmed dead on the aim, at its starting setting."""
    shop = Workshop().to_trim()
    while shop.state.trim is None:
        shop.off(0, purpose="shot")
    return shop


def test_the_first_job_has_no_history():
    """A job that is still being trimmed teaches itself nothing."""
    shop = Workshop().to_trim()
    shop.off(-8, purpose="shot")

    assert history(shop.desk, shop.facts) is None


def test_a_trimmed_job_does_not_teach_itself():
    """Its own shots are not counted twice."""
    shop = _trimmed()

    assert history(shop.desk, shop.facts) is None


def test_a_second_job_of_the_same_product_starts_where_the_first_ended():
    """The machine gave more than the density says; the next start is lower for it."""
    shop = _trimmed()
    again = replace(shop.facts, number="0500", lot_code="L500")
    found = history(shop.desk, again)

    assert found.setups == 1
    # The aim came at the starting setting, which was meant to be short of it.
    assert start_marks(shop.desk, again) < start_marks(shop.desk, shop.facts)
    open_job(shop.desk, again, Press(person="AB"))
    assert trim.look(shop.desk, shop.desk.book.job("0500")).face == "turn"


def test_another_machine_product_or_cylinder_teaches_nothing():
    """What is not alike is left out."""
    shop = _trimmed()
    again = replace(shop.facts, number="0500")

    assert history(shop.desk, replace(again, machine=replace(again.machine, name="b"))) is None
    assert history(shop.desk, replace(again, product=replace(again.product, name="b"))) is None
    other = replace(again.cylinder, capacity_ml=again.cylinder.capacity_ml + 1)
    assert history(shop.desk, replace(again, cylinder=other)) is None


def test_a_dose_of_another_size_is_taught_too():
    """The line of the machine serves any aim of the same cylinder."""
    shop = _trimmed()
    half = replace(job(), number="0500", aim_g=shop.facts.aim_g / 2)

    assert history(shop.desk, half).setups == 1
