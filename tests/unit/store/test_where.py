"""Where the journal is when nobody names a place."""

from __future__ import annotations

from fillwright.store.where import default_store, demo_store


def test_the_variable_names_the_place():
    """``FILLWRIGHT_STORE`` holds a path or a URL, and is taken as it is."""
    url = "postgresql+psycopg://user@host/database"

    assert default_store({"FILLWRIGHT_STORE": url}) == url


def test_the_default_is_in_the_data_folder(monkeypatch, tmp_path):
    """Without the variable, or with a blank one, it is a file in the user's data folder."""
    monkeypatch.setattr(
        "platformdirs.user_data_path", lambda *_, **__: tmp_path / "data" / "fillwright"
    )

    assert default_store({}) == tmp_path / "data" / "fillwright" / "journal.sqlite3"
    assert default_store({"FILLWRIGHT_STORE": " "}) == default_store({})


def test_the_demonstration_has_its_own(monkeypatch, tmp_path):
    """The demonstration never shares the real journal, nor listens to the variable."""
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: tmp_path)
    monkeypatch.setenv("FILLWRIGHT_STORE", str(tmp_path / "demo.sqlite3") + "x")

    assert demo_store() == tmp_path / "demo.sqlite3"
    assert demo_store() != default_store({})
