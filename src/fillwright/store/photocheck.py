"""Are the photos there that the journal names, and are they the ones that were taken."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from fillwright.store.chain import Row
from fillwright.store.photos import PhotoFolder

__all__ = ["PhotoFinding", "PhotoNamed", "look_at", "photo_named"]

_SEQ, _STREAM, _PAYLOAD = 0, 3, 10
_HASH: Final = re.compile(r"[0-9a-f]{64}")
_WORDS: Final = {
    "missing": "is missing",
    "changed": "was changed: its bytes have another hash",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoNamed:
    """A photo that an entry names: its hash, the place of the entry, and its stream."""

    sha256: str
    seq: int
    stream: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFinding:
    """A photo that is not there, or not as it was taken."""

    what: Literal["missing", "changed"]
    photo: PhotoNamed

    @property
    def sentence(self) -> str:
        """Return it for people."""
        photo = self.photo
        return (
            f"Photo {photo.sha256[:12]}, named by entry {photo.seq} of {photo.stream}, "
            f"{_WORDS[self.what]}."
        )


def photo_named(row: Row) -> PhotoNamed | None:
    """Return the photo that a stored entry names; None for one that names none.

    An entry names a photo by its hash and its type together, whatever its kind is.
    """
    text = row[_PAYLOAD]
    if not isinstance(text, str) or '"media_type":"image/' not in text:
        return None
    try:
        payload = json.loads(text)
    except ValueError:
        return None
    sha256 = payload.get("sha256") if isinstance(payload, dict) else None
    if not isinstance(sha256, str) or not _HASH.fullmatch(sha256):
        return None
    return PhotoNamed(sha256=sha256, seq=row[_SEQ], stream=str(row[_STREAM]))


def look_at(named: Iterable[PhotoNamed], folder: PhotoFolder | None) -> tuple[PhotoFinding, ...]:
    """Return the photos of `named` that are missing or changed, each hash once.

    Parameters
    ----------
    named : iterable of PhotoNamed
        What the journal names.
    folder : PhotoFolder or None
        Where they should be; None for a database, which has no folder of photos.
    """
    found: list[PhotoFinding] = []
    seen: set[str] = set()
    for photo in named:
        if photo.sha256 in seen:
            continue
        seen.add(photo.sha256)
        if folder is None or not folder.has_file(photo.sha256):
            found.append(PhotoFinding(what="missing", photo=photo))
        elif folder.find(photo.sha256) is None:
            found.append(PhotoFinding(what="changed", photo=photo))
    return tuple(found)
