"""The edges of the command line: help, version, failures, files written whole."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fillwright import __version__
from fillwright.cli.files import write_whole
from fillwright.cli.labels import label_of
from fillwright.errors import BadInput


def test_the_version(command):
    """The version is printed and nothing else."""
    ended = command("--version")

    assert (ended.status, ended.out) == (0, f"fillwright {__version__}\n")


@pytest.mark.parametrize("words", [(), ("--help",), ("lot", "--help"), ("ask", "-h")])
def test_help_fits_80_columns_without_colour(command, words):
    """Help is plain text that an 80-column terminal and a pipe take alike."""
    ended = command(*words)

    text = ended.out or ended.err
    assert "Usage: fillwright" in text
    assert "\x1b" not in text
    assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize("words", [("lots",), ("lot",), ("lot", "x", "--lot-size", "none")])
def test_a_wrong_word_ends_with_2(command, words):
    """An unknown command and a missing option are the person's to mend."""
    ended = command(*words)

    assert ended.status == 2
    assert "Traceback" not in ended.err


def test_a_failure_of_ours_is_one_sentence(command, monkeypatch):
    """What nobody expected ends with 1 and a sentence with its place, no traceback."""
    monkeypatch.setitem(os.environ, "FILLWRIGHT_STORE", "nowhere://")
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: 1 / 0)
    monkeypatch.delenv("FILLWRIGHT_STORE")

    ended = command("verify")

    assert ended.status == 1
    assert ended.err.startswith("Fillwright failed in itself (ZeroDivisionError in")
    assert "Traceback" not in ended.err


def test_a_store_that_is_not_there_ends_with_2(command):
    """Verify tells a missing journal from a broken one."""
    ended = command("verify", "--store", "none.sqlite3")

    assert ended.status == 2
    assert "none.sqlite3" in ended.err


@pytest.mark.parametrize("noted", ["7", "x:y", "1:abc"])
def test_a_noted_hash_has_its_form(command, noted):
    """A hash that was noted elsewhere is given with its place."""
    ended = command("verify", "--known", noted)

    assert ended.status == 2
    assert "give the place and the hash" in " ".join(ended.err.split())


@pytest.mark.parametrize(
    ("typed", "nominal", "unit"),
    [
        ("250 mL", "250", "mL"),
        ("250ml", "250", "mL"),
        (" 0,25  L ", "250", "mL"),
        ("25 cl", "250", "mL"),
        ("2.5 dL", "250", "mL"),
        ("0.5 kg", "500", "g"),
        ("1 lb", "453.59237", "g"),
        ("250000 mg", "250", "g"),
    ],
)
def test_labels_as_they_are_typed(typed, nominal, unit):
    """A label is exact in g or mL; the pound is that of international agreement."""
    label = label_of(typed)

    assert (f"{label.nominal.normalize():f}", label.unit) == (nominal, unit)


def test_a_file_is_written_whole_or_not_at_all(tmp_path):
    """A failed write leaves the old file and no crumbs."""
    target = tmp_path / "x.pdf"
    write_whole(target, b"one")
    write_whole(target, b"two")

    with pytest.raises(BadInput, match="cannot be written"):
        write_whole(tmp_path / "none" / "x.pdf", b"three")

    assert target.read_bytes() == b"two"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("typed", ["1,500 g", "1,500 mL", "12,500g"])
def test_a_label_that_can_be_two_numbers_is_refused(typed):
    """One and a half or fifteen hundred: the person says which."""
    with pytest.raises(BadInput, match="can be two numbers; give 1"):
        label_of(typed)


def test_a_paper_is_never_called_like_standard_output(tmp_path, monkeypatch):
    """A file named - would be hard to see and to remove."""
    monkeypatch.chdir(tmp_path)

    with pytest.raises(BadInput, match="- is no name for a paper"):
        write_whole(Path("-"), b"one")

    assert not list(tmp_path.iterdir())


def test_a_missing_folder_is_called_one(tmp_path):
    """The sentence says that the folder is missing, not the file that is to be made."""
    with pytest.raises(BadInput, match="there is no such folder"):
        write_whole(tmp_path / "none" / "x.pdf", b"one")


@pytest.mark.parametrize("noted", ["\u00b2:", "1234567890123456789012:"])
def test_a_place_of_other_signs_is_refused(command, noted):
    """A raised two counts as a digit for some, but names no place."""
    ended = command("verify", "--known", noted + "0" * 64)

    assert ended.status == 2
    assert "--known is" in ended.err


@pytest.mark.parametrize("words", [("verify",), ("backup", "copy"), ("serve",), ("demo",)])
def test_an_empty_name_of_a_store_is_refused(command, words):
    """A variable that a script never set does not lead to the usual place."""
    ended = command(*words, "--store", "")

    assert ended.status == 2
    assert "The store cannot be ''" in ended.err


def test_a_damaged_journal_is_a_broken_one(command, tmp_path):
    """What cannot be read any more ends as a broken chain does, not as a wrong path."""
    (tmp_path / "j.sqlite3").write_bytes(b"SQLite format 3\0" + b"\1" * 5000)

    ended = command("verify", "--store", "j.sqlite3")

    assert ended.status == 1
    assert "is damaged or is no store" in ended.err


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_a_name_that_cannot_be_is_refused(command, name):
    """A name that no file can have is refused without a traceback."""
    ended = command("ask", "shortage", "--input", name)

    assert ended.status == 2
    assert "Traceback" not in ended.err
