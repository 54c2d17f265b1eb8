"""Where the journal is when nobody names a place."""

from __future__ import annotations

import platformdirs
import pytest

from fillwright.store.where import default_store, demo_store


def test_the_variable_names_the_place():
    """``FILLWRIGHT_STORE`` holds a path or a URL, and is taken as it is."""
    url = "postgresql+psycopg://user@host/database"

    assert default_store({"FILLWRIGHT_STORE": url}) == url


@pytest.fixture
def home(monkeypatch, tmp_path):
    """A user with an empty home."""
    for variable in ("HOME", "XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(variable, str(tmp_path))
    return tmp_path


def test_the_default_is_in_the_data_folder(home):
    """Without the variable, or with a blank one, it is a file in the user's data folder."""
    found = default_store({})

    assert found == default_store({"FILLWRIGHT_STORE": " "})
    assert found.name == "journal.sqlite3"
    assert found.parent == platformdirs.user_data_path("fillwright", appauthor=False)
    assert found.parent.is_dir()
    assert found.is_relative_to(home)


def test_the_demonstration_has_its_own(monkeypatch, home):
    """The demonstration never shares the real journal, nor listens to the variable."""
    monkeypatch.setenv("FILLWRIGHT_STORE", str(home / "real.sqlite3"))

    assert default_store() == str(home / "real.sqlite3")
    assert demo_store().name == "demo.sqlite3"
    assert demo_store() != default_store({})
