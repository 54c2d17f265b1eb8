"""Machine profiles: what is refused, where, and that a broken file breaks nothing else."""

from __future__ import annotations

from importlib.resources import files

import pytest

from fillwright.errors import KnowledgeError
from fillwright.knowledge.procedures_load import parse_profile, profiles, shipped_profiles

TEXT = (files("fillwright.knowledge") / "data" / "procedures" / "piston_filler.toml").read_text(
    "utf-8"
)


def test_what_is_taken_off_is_put_back():
    """The shipped profile hangs together: each part once off and once on."""
    profile = next(iter(shipped_profiles().values()))
    off = [step.id for step in profile.steps if step.part]

    assert sorted(off) == sorted(step.undoes for step in profile.steps if step.undoes)
    assert sum(step.minutes for step in profile.steps) == 186


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('after = ["empty"]', 'after = ["emtpy"]', "park names the step 'emtpy'"),
        ('undoes = "glide_off"\n', "", "no step puts back what glide_off"),
        ('undoes = "piston_out"', 'undoes = "glide_off"', "both put back"),
        ('undoes = "piston_out"', 'undoes = "rinse"', "takes no part off"),
        ('id = "empty"\n', 'id = "park"\n', "twice"),
        ("after = []", 'after = ["reprove"]', "in a circle"),
        ("minutes = 5", "minutes = -5", "empty has no whole minutes"),
        ('proof = "tick"', 'proof = "trust"', "empty has no proof"),
        ('bigger_end = "the valve"\n', "", "asks for 'bigger_end'"),
        ('name = "Piston filler, general"\n', "", "the profile has no name"),
        ('rear_recharge = "pull"', 'rear_recharge = "whistle"', "rear_recharge is none"),
        ("after = []\nminutes", "afters = []\nminutes", "empty has 'afters'"),
    ],
)
def test_a_broken_profile_names_file_line_and_mend(old, new, said):
    """Unknown steps, circles, parts not put back, wrong words: refused with file and line."""
    assert old in TEXT

    with pytest.raises(KnowledgeError, match=rf"mine\.toml, line \d+: .*{said}.*; \w"):
        parse_profile(TEXT.replace(old, new, 1), file="mine.toml")


def test_the_line_is_that_of_the_step():
    """The line named is where the step stands."""
    text = TEXT.replace('after = ["empty"]', 'after = ["emtpy"]', 1)
    with pytest.raises(KnowledgeError, match=r"line (\d+)") as error:
        parse_profile(text, file="mine.toml")

    line = int(str(error.value).partition("line ")[2].partition(":")[0])
    assert text.splitlines()[line - 1] == "[[procedure.step]]"
    assert text.splitlines()[line] == 'id = "park"'


def test_a_broken_file_of_the_user_leaves_the_shipped_ones(tmp_path):
    """Good files are added, broken ones are told, the shipped profile stays."""
    (tmp_path / "good.toml").write_text(
        TEXT.replace('"Piston filler, general"', '"Long stroke"'), "utf-8"
    )
    (tmp_path / "broken.toml").write_text("[[procedure", "utf-8")
    (tmp_path / "bytes.toml").write_bytes(b"\xff\xfe")
    (tmp_path / "large.toml").write_text("#" * 1_000_001, "utf-8")

    found = profiles(tmp_path)

    assert set(found.by_name) == {*shipped_profiles(), "Long stroke"}
    assert len(found.problems) == 3
    for name in ("broken.toml", "bytes.toml", "large.toml"):
        assert any(name in words for words in found.problems)


def test_another_make_is_another_file():
    """Which end has the long chamfer and which is bigger are facts of the profile."""
    other = TEXT.replace('bigger_end = "the valve"', 'bigger_end = "the rod"')
    steps = {step.id: step for step in parse_profile(other, file="other.toml").steps}

    assert "toward the rod" in steps["cylinder_on"].do
    assert "the rod" in steps["cylinder_on"].trap
