"""Where the journal is kept when nobody names a place."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

import platformdirs

__all__ = ["STORE_VARIABLE", "default_store", "demo_store"]

STORE_VARIABLE = "FILLWRIGHT_STORE"


def default_store(environment: Mapping[str, str] | None = None) -> str | Path:
    """Return the place of the journal, after making the folder for it.

    Parameters
    ----------
    environment : mapping, optional
        Where ``FILLWRIGHT_STORE`` is looked up; the process's own when left out.

    Returns
    -------
    str or Path
        What ``FILLWRIGHT_STORE`` holds (a path or a URL), else a file in the data folder
        that the platform gives each user.
    """
    named = (os.environ if environment is None else environment).get(STORE_VARIABLE, "").strip()
    return named or _data_folder() / "journal.sqlite3"


def demo_store() -> Path:
    """Return the place of the demonstration's own journal, which holds no real batch."""
    return _data_folder() / "demo.sqlite3"


def _data_folder() -> Path:
    """Return the platform's data folder for this user, made if it is missing."""
    return platformdirs.user_data_path("fillwright", appauthor=False, ensure_exists=True)
