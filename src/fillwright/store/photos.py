"""Photos beside the journal, each in a file that is named by the hash of its bytes."""

from __future__ import annotations

import os
import re
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final

from fillwright.errors import BadInput, StoreFull
from fillwright.records.photofile import PhotoFile, photo_file

__all__ = ["PhotoFolder", "photos_beside", "photos_of", "photos_of_copy"]

_HASH: Final = re.compile(r"[0-9a-f]{64}")


class PhotoFolder:
    """A folder of photos; the journal says which photo belongs to what.

    Parameters
    ----------
    folder : Path
        Made with the first photo.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def keep(self, data: bytes) -> PhotoFile:
        """Keep a photo, whole or not at all; the same one twice is one file.

        A file of its name that was changed since is set aside, never deleted.

        Raises
        ------
        BadInput
            If it is too long, or no photo.
        StoreFull
            If the disk could not take it.
        """
        told = photo_file(data)
        path = self._path(told.sha256)
        if self.find(told.sha256) is not None:
            return told
        name = ""
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, prefix="new-")
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            _set_aside(path)
            Path(name).replace(path)
        except OSError as error:
            if name:
                with suppress(OSError):
                    Path(name).unlink()
            message = f"The photo was not kept: {error.strerror}."
            raise StoreFull(message) from error
        return told

    def find(self, sha256: str) -> tuple[bytes, str] | None:
        """Return the bytes and the type of a photo; None where it is missing or was changed."""
        if not _HASH.fullmatch(sha256):
            return None
        try:
            data = self._path(sha256).read_bytes()
            told = photo_file(data)
        except (OSError, BadInput):
            return None
        return (data, told.media_type) if told.sha256 == sha256 else None

    def has_file(self, sha256: str) -> bool:
        """Return True where there is a file of a photo, changed or not."""
        return bool(_HASH.fullmatch(sha256)) and self._path(sha256).is_file()

    def add_from(self, other: PhotoFolder) -> int:
        """Take every photo of another folder that is not here whole; return how many came.

        A file there that is no photo, or was changed since, is left where it is.

        Raises
        ------
        StoreFull
            If the disk could not take one; those before it stay.
        """
        came = 0
        for path in sorted(other._folder.glob("*/*")) if other._folder.is_dir() else ():
            found = None if self.find(path.name) else other.find(path.name)
            if found is not None:
                self.keep(found[0])
                came += 1
        return came

    def _path(self, sha256: str) -> Path:
        """Return the file of a hash."""
        return self._folder / sha256[:2] / sha256


def _set_aside(path: Path) -> None:
    """Give a file that is there another name."""
    place = 1
    while path.exists():
        aside = path.with_name(f"{path.name}.aside-{place}")
        place += 1
        if not aside.exists():
            path.rename(aside)


def photos_beside(where: str | Path) -> PhotoFolder | None:
    """Return the photos of a store or of a backup, whichever a file is; None for a database."""
    if "://" in str(where):
        return None
    path = Path(where)
    own = path.with_name(f"{path.name}.photos")
    return PhotoFolder(own) if own.is_dir() else photos_of(path)


def photos_of(where: str | Path) -> PhotoFolder | None:
    """Return the folder of photos beside a store in a file; None for a database elsewhere."""
    return None if "://" in str(where) else PhotoFolder(Path(where).parent / "photos")


def photos_of_copy(copy: Path) -> PhotoFolder:
    """Return the folder of photos that goes with a backup: its name and ``.photos``."""
    return PhotoFolder(copy.with_name(f"{copy.name}.photos"))
