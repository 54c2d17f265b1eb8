"""What a product runs like: the shipped file is whole, and a wrong one is refused by its line."""

from __future__ import annotations

from importlib.resources import files

import pytest

from fillwright.errors import KnowledgeError
from fillwright.knowledge.product_presets import parse_presets, product_presets
from fillwright.records.entities import RunsLike
from fillwright.science.product import water_density, water_viscosity

TEXT = (files("fillwright.knowledge") / "data" / "products.toml").read_text("utf-8")


def test_every_word_of_older_records_has_a_preset():
    """What older records say a product runs like is held, and every preset says its basis."""
    known = product_presets()

    assert {kind.value for kind in RunsLike} <= set(known)
    assert all(one.source and one.basis for one in known.values())


def test_water_is_inside_its_range():
    """The range of what runs like water holds water itself, by the formulas of the science."""
    like = product_presets()["water"]
    thick = float(water_viscosity(20.0)) / like.k_pa_sn

    assert like.thick_low <= thick <= like.thick_high
    density = float(water_density(20.0)) / 1000.0
    assert like.density_low_g_per_ml <= density <= like.density_high_g_per_ml


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('model = "newtonian"', 'model = "plastic"', r"line 14: model is 'plastic'; choose from"),
        ("k_pa_sn = 0.0015", "k_pa_sn = 0", r"line 15: k_pa_sn is 0; give a number above zero"),
        ("k_pa_sn = 0.0015", "yield_pa = 3", r"yield_pa does not belong to it; newtonian takes"),
        ("thick_high = 2.0", "thick_high = 0.5", r"thick_high is not above thick_low"),
        ("thick_low = 0.6", "thick_low = 1.2", r"the middle, 1, is not inside"),
        ('basis = "from memory"', 'basis = "sure"', r"basis is 'sure'; choose from"),
        ("thinning_k = 2000", "thinning = 2000", r"thinning is not known here"),
        ('source = "water', 'sauce = "water', r"sauce is not known here"),
        ("n = 0.7", "n = 3", r"n is 3\.0; give 0\.05 to 2\.0"),
        ("n = 0.7", "", r"n is missing; power-law takes k_pa_sn, n"),
        ("thinning_k = 2000", "", r"thinning_k is missing; add it"),
        ('name = "water"', 'name = ""', r"name is ''; give a text"),
        ("[water]", "[water", r"not readable as TOML"),
    ],
)
def test_a_wrong_file_is_refused(old, new, told):
    """One thing wrong: the file, its line and what would do."""
    with pytest.raises(KnowledgeError, match=r"mine\.toml.*" + told):
        parse_presets(TEXT.replace(old, new, 1), file="mine.toml")


@pytest.mark.parametrize("text", ["", "water = 3"])
def test_a_file_without_presets_is_refused(text):
    """An empty file, or a name without figures."""
    with pytest.raises(KnowledgeError, match=r"no preset in it|water is no table"):
        parse_presets(text, file="mine.toml")
