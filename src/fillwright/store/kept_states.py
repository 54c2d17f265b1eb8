"""Folds of long jobs in files of this machine, beside no journal and part of no record.

Every file names the program it was made by; another version, or another machine's, is passed
over. Deleting the folder costs nothing but the time of folding once more.
"""

from __future__ import annotations

import hashlib
import logging
import os
import sys
import tempfile
from contextlib import suppress
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

import platformdirs

from fillwright.store.places import place

__all__ = ["StateFiles", "default_states"]

_LOG: Final = logging.getLogger(__name__)
_MOST: Final = 200
_FOLDED_BY: Final = ("records", "science")


def default_states() -> Path:
    """Return the folder that the platform gives each user for what can be made again."""
    return platformdirs.user_cache_path("fillwright", appauthor=False) / "states"


class StateFiles:
    """Kept states of the jobs of one store.

    Parameters
    ----------
    where : str or Path
        The store, as for `open_journal`.
    folder : Path, optional
        Where the files go; the platform's own place when left out.
    """

    def __init__(self, where: str | Path, folder: Path | None = None) -> None:
        self._store = place(where).name
        self._folder = default_states() if folder is None else folder

    def find(self, stream: str) -> bytes | None:
        """Return what was kept last for a stream by this very program, or None."""
        try:
            data = self._file(stream).read_bytes()
        except OSError:
            return None
        made_by = program_mark()
        return data[len(made_by) :] if data.startswith(made_by) else None

    def keep(self, stream: str, data: bytes) -> None:
        """Keep bytes for a stream in place of the earlier ones.

        The file is whole or not there: it takes its name only once it is written. A full or
        closed disk is noted in the log and goes no further.
        """
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self._folder, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(program_mark())
                    file.write(data)
                Path(name).replace(self._file(stream))
            except BaseException:
                Path(name).unlink(missing_ok=True)
                raise
            self._clear()
        except OSError as error:
            _LOG.warning("The state of %s was not kept: %s", stream, error)

    def _file(self, stream: str) -> Path:
        """Return the file of a stream."""
        name = hashlib.sha256(f"{self._store}\n{stream}".encode()).hexdigest()
        return self._folder / f"{name[:40]}.state"

    def _clear(self) -> None:
        """Remove the oldest files beyond the most that are kept."""
        files = list(self._folder.glob("*.state"))
        if len(files) > _MOST:
            files.sort(key=lambda file: file.stat().st_mtime)
            for file in files[:-_MOST]:
                with suppress(OSError):
                    file.unlink()


@cache
def program_mark() -> bytes:
    """Return what a kept state must begin with: a digest of the very code that folds."""
    digest = hashlib.sha256(f"{sys.version} {version('fillwright')}".encode())
    home = Path(__file__).parents[1]
    for folder in _FOLDED_BY:
        for file in sorted((home / folder).rglob("*.py")):
            digest.update(file.read_bytes())
    return digest.digest()
