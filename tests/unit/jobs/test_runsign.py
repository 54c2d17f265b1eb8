"""What the weights of a run look like: said, recorded, and handed on to Fault."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from workshop import SCATTER, Workshop, job

from fillwright.jobs.run import acts as runacts
from fillwright.jobs.run import stage as run
from fillwright.jobs.run.sign import sign_of
from fillwright.language.voice import voice_of
from fillwright.records.entries import SignatureSeen
from fillwright.science.signature_kinds import DoseKind


def ran(off, n=45, **changes):
    """Return a shop whose weights lie as `off` says, with seeded scatter, in a wide band."""
    shop = Workshop(job(lot_size=2000, weigh_every=5, band_pct=Decimal(3), **changes)).to_run()
    scatter = np.random.default_rng(4).normal(0, 0.4, n)
    for place in range(n):
        shop.off(round(scatter[place] + off(place), 1))
    return shop


def kept(shop):
    """Return the signs on record."""
    return [e.payload for e in shop.entries() if isinstance(e.payload, SignatureSeen)]


class TestSign:
    """What the notes say."""

    def test_nothing_is_said_before_the_run_and_of_few_weights(self):
        """Without a run, or below eight weights since a turn, it stays silent."""
        shop = Workshop().to_proved()
        assert sign_of(shop.state) is None
        shop = Workshop().to_run()
        run.adjust(
            shop.desk, shop.number, shop.state.setting_marks + 1, shop.press, is_locked=True
        )
        shop.off("0.1")

        assert sign_of(shop.state) is None

    def test_a_steady_run_is_steady_and_leads_nowhere(self):
        """No finding, no way to Fault, nothing on record."""
        shop = ran(lambda _: 0.0)

        sign = sign_of(shop.state)

        assert (sign.words, sign.state, sign.sign) == ("The run is steady.", "on", "")
        assert kept(shop) == []

    def test_a_step_has_its_range_of_containers_and_its_size(self):
        """Since when with 80 %, how large with 80 %, and what is seen for Fault."""
        shop = ran(lambda place: 1.5 if place > 30 else 0.0)

        sign = sign_of(shop.state)
        [*_, last] = kept(shop)

        assert sign.words == "The run shows a step."
        assert sign.sign == "creeps"
        assert last.change_low <= 170 <= last.change_high + 5
        assert last.size_low_g <= 1.5 <= last.size_high_g
        assert last.runner_up

    def test_the_figures_behind_it_have_the_words_of_the_page(self):
        """Each kind is called what the notes call it, in German too; no name of the code."""
        shop = ran(lambda place: 1.5 if place > 30 else 0.0)

        why = sign_of(shop.state).why
        names = [fact.name for fact in why.facts]
        said = [*names, *(fact.words for fact in why.facts), *why.words]
        german = voice_of("de")

        assert "Probability: a step" in names
        assert not {kind.value for kind in DoseKind} & {words.split(": ")[-1] for words in said}
        assert german.said("Probability: a step") == "Wahrscheinlichkeit: eine Stufe"
        assert [words for words in said if german.left(words)] == []

    def test_without_the_level_a_creep_is_creep_or_level(self):
        """A falling hopper looks the same: both are said, and the level is asked for."""
        shop = ran(lambda place: -0.05 * place)

        sign = sign_of(shop.state)

        assert "a creep or a dose that follows the hopper level" in sign.words
        assert sign.asks_level

    def test_with_the_level_the_level_is_named(self):
        """The dose follows a level that rises and falls: read now and then, it is told apart."""
        shop = Workshop(job(lot_size=2000, weigh_every=5, band_pct=Decimal(3))).to_run()
        scatter = np.random.default_rng(4).normal(0, 0.3, 60)
        for place in range(60):
            level = 20 + 10 * np.sin(place / 8)
            runacts.read_hopper(shop.desk, shop.number, round_(level), shop.press)
            shop.off(round(scatter[place] + 0.15 * (level - 20), 1))

        assert sign_of(shop.state).words.endswith("a dose that follows the hopper level.")

    @pytest.mark.parametrize("seed", range(3))
    def test_a_creep_and_a_hopper_that_is_filled_up_are_named_together(self, seed):
        """The level is read at every third weight; a refill in between is no slow rise."""
        shop = Workshop(job(lot_size=2000, weigh_every=5, band_pct=Decimal(3))).to_run()
        scatter = np.random.default_rng(seed).normal(0, 0.4, 60)
        for place in range(60):
            level = 20 - 12 * (place % 30) / 30
            if place % 3 == 0:
                runacts.read_hopper(shop.desk, shop.number, round_(level), shop.press)
            creep = 0.06 * max(place - 20, 0)
            shop.off(round(scatter[place] + 0.12 * (level - 20) - creep, 1))

        words = sign_of(shop.state).words
        assert words == "The run shows a creep and a dose that follows the hopper level."

    @pytest.mark.parametrize("seed", range(3))
    def test_a_step_with_growing_scatter_is_not_forced_into_one(self, seed):
        """Both from the same container on: both are named, and what either may come from."""
        shop = Workshop(job(lot_size=2000, weigh_every=5, band_pct=Decimal(3))).to_run()
        scatter = np.random.default_rng(seed).normal(0, 0.4, 60)
        for place in range(60):
            late = place >= 30
            shop.off(round(scatter[place] * (3.5 if late else 1.0) + 1.8 * late, 1))

        sign = sign_of(shop.state)
        assert sign.words == "The run shows a step and growing scatter."
        assert " Or: " in sign.rest

    def test_growing_scatter_is_a_jumping_dose(self):
        """Scatter that grows leads Fault to the dose that jumps about."""
        shop = ran(lambda place: 0.0 if place < 20 else float(SCATTER[place % 13]) * 3)

        assert sign_of(shop.state).sign == "jumps"

    def test_a_coarse_scale_abstains(self):
        """A step of the scale far above the scatter: it says that it cannot say."""
        shop = Workshop(
            job(scale={"readability_g": Decimal(1)}, lot_size=2000, band_pct=Decimal(3))
        )
        shop.to_prove()
        run.start(shop.desk, shop.number, shop.press, without_proof="a test")
        for place in range(12):
            shop.off(place % 2)

        sign = sign_of(shop.state)

        assert (sign.state, sign.sign) == ("wait", "")
        assert sign.words == "I cannot say what the weights look like."

    def test_the_record_speaks_once(self):
        """The same finding is not kept again and again."""
        shop = ran(lambda place: -0.05 * place)

        kinds = [set(seen.kinds) for seen in kept(shop)]

        assert kinds
        assert all(a != b for a, b in pairwise(kinds))

    def test_the_look_does_not_grow_with_the_run(self):
        """At most the last 120 weights are looked at."""
        shop = ran(lambda _: 0.0, n=140)

        assert sign_of(shop.state).why.facts[0].words.startswith("120,")


def round_(value):
    """Return a level as it is read."""
    return Decimal(str(round(value, 1)))


@pytest.mark.parametrize("kind", ["fold", "page"])
def test_a_fold_of_the_record_is_the_same(kind):
    """What was kept folds to the same signs; looking again changes nothing."""
    shop = ran(lambda place: 1.5 if place > 30 else 0.0)
    if kind == "page":
        sign_of(shop.state)

    assert shop.refolded().signatures_seen == shop.state.signatures_seen
