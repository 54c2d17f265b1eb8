"""The fault data load, and a damaged file is refused by file and line, with how to mend it."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from fillwright.errors import KnowledgeError
from fillwright.knowledge.faults_lines import LineBook
from fillwright.knowledge.faults_load import fault_book, faults_used, parse_fault_book, with_own

TEXT = (files("fillwright.knowledge") / "data" / "service" / "faults.toml").read_text("utf-8")
FILE = "own.toml"


def line_of(text, part):
    """The line on which a part stands."""
    return text[: text.index(part)].count("\n") + 1


def test_the_shipped_data_load_once():
    """Causes, findings, checks and repairs of the reference, read only once."""
    book = fault_book()

    assert (len(book.causes), len(book.findings)) == (54, 82)
    assert (len(book.checks), len(book.repairs)) == (48, 53)
    assert fault_book() is book


@pytest.mark.parametrize(
    ("key", "number"), [("see_estop", 1), ("wheel_lock", 14), ("slow_recharge_trial", 21)]
)
def test_numbers_that_are_said_over_the_phone_stay(key, number):
    """A number is never used again for another check."""
    assert fault_book().checks[key].number == number


@pytest.mark.parametrize(
    ("old", "new", "at", "told"),
    [
        ("links = { no_motion = 0.95,", "links = { wobble = 0.95,", None, "no finding 'wobble'"),
        ("links = { no_motion = 0.95,", "links = { no_motion = 1.5,", None, "less than 1"),
        ("links = { no_motion = 0.95,", "links = { no_motion = 0.0,", None, "greater than 0"),
        ('confirm = "gauge_rest"', 'confirm = "gouge"', None, "no check 'gouge'"),
        ('confirm = "gauge_rest"', 'confirm = "bowl"', None, "shows none of the causes"),
        ("fixes = { air_off", "fixes = { air_of", None, "no cause 'air_of'"),
        ("number = 14", "number = 1 ", "number = 1 \n", "number 1 is that of 'see_estop'"),
        ('needs = ["guard_fitted"]', 'needs = ["gloves"]', None, "no precondition 'gloves'"),
        (
            "[symptom.no_motion]",
            '[symptom.wobble]\ntext = "Wobbles"\nleak = 0.1\n\n[symptom.no_motion]',
            "[symptom.wobble]",
            "no cause shows the finding 'wobble'",
        ),
        (
            "implies_absent = []",
            'implies_absent = ["dose_low"]',
            'implies_absent = ["dose_low"]',
            "a circle",
        ),
        ("minutes = 0.5", "minutes = -1", None, "greater than 0"),
        ("minutes = 0.5", "minuets = 0.5", None, "minutes|minuets"),
    ],
)
def test_a_damaged_file_is_refused_with_its_line(old, new, at, told):
    """The message names file and line, says what is wrong and how it is mended."""
    assert old in TEXT
    text = TEXT.replace(old, new, 1)
    with pytest.raises(KnowledgeError, match=told) as e:
        parse_fault_book(text, file=FILE)

    words = str(e.value)
    assert words.startswith(f"{FILE}, line ")
    line = int(words.removeprefix(f"{FILE}, line ").partition(":")[0])
    assert abs(line - line_of(text, at or new)) <= 5
    assert any(mend in words for mend in ("Mend", "Name", "Give", "Link", "Take"))


def test_hands_inside_need_the_air_off_and_vented():
    """A step that opens the machine with the air only shut is refused."""
    text = TEXT.replace('needs = ["air_isolated", "air_vented"]', 'needs = ["air_isolated"]', 1)
    with pytest.raises(KnowledgeError, match="without the air vented"):
        parse_fault_book(text, file=FILE)


def test_a_repair_of_the_technician_is_never_opened_to_others():
    """Taking the precondition away from a repair that is kept for technicians is refused."""
    text = TEXT.replace(
        '"air_isolated", "air_vented", "qualified"', '"air_isolated", "air_vented"'
    )
    with pytest.raises(KnowledgeError, match="kept for a qualified technician"):
        parse_fault_book(text, file=FILE)


def test_the_shipped_data_work_beside_a_broken_file():
    """What is wrong is told, and the program goes on with its own data."""
    book, told = with_own("cause = 3", file=FILE)

    assert book is fault_book()
    assert told.startswith(FILE)
    assert told.endswith("The data of the program are used instead.")


def test_a_sound_file_of_the_user_is_used():
    """Another weight in the user's own file counts."""
    book, told = with_own(TEXT.replace("weight = 5.0", "weight = 7.5", 1), file=FILE)

    assert told == ""
    assert book.causes["air_off"].weight == 7.5


def test_a_file_of_the_site_is_read_where_there_is_one(tmp_path):
    """None there is no fault; a sound one is used by its name."""
    there = tmp_path / "faults.toml"
    before = faults_used(there)
    there.write_text(TEXT.replace("weight = 5.0", "weight = 7.5", 1), encoding="utf-8")
    after = faults_used(there)

    assert (before.book, before.file, before.problem) == (fault_book(), "", "")
    assert (after.book.causes["air_off"].weight, after.file) == (7.5, "faults.toml")
    assert faults_used(None).book is fault_book()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (TEXT.replace('direction = "up"', 'direction = "north"').encode(), r"line \d+: sign\."),
        (b"\xff\xfe broken", "faults.toml"),
        (b"x" * 2_000_001, "take parts out"),
    ],
)
def test_a_file_of_the_site_that_does_not_fit_changes_nothing(tmp_path, data, words):
    """It is named with what is wrong, and the program's own data are used."""
    there = tmp_path / "faults.toml"
    there.write_bytes(data)

    used = faults_used(there)

    assert used.book is fault_book()
    assert used.file == ""
    assert re.search(words, used.problem)
    assert used.problem.endswith("The data of the program are used instead.")


@pytest.mark.parametrize("text", ["[", "a = " + "[" * 4000, "x" * 2_000_001])
def test_what_is_no_toml_is_refused(text):
    """Broken, far too deep, or far too long."""
    with pytest.raises(KnowledgeError, match=FILE):
        parse_fault_book(text, file=FILE)


def test_lines_are_found_for_tables_and_keys():
    """The nearest table stands in for a key that is not on a line of its own."""
    lines = LineBook('[a]\nb = 1\n[a."c-d"]\ne = { f = 2 }\n')

    assert [lines.find("a", "b"), lines.find("a", "c-d", "e", "f"), lines.find("z")] == [2, 4, 1]
