"""Photos that travel inside a file of a job or of a case: text of their bytes, checked.

A photo is told by the hash that an entry names; nothing else of it is believed.
"""

from __future__ import annotations

import base64
import binascii
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.records.entries import Entry, MachinePhotoKept, PhotoKept
from fillwright.records.photofile import LONGEST_PHOTO, PhotoFile, photo_file

__all__ = [
    "LONGEST_PHOTO_LINE",
    "MOST_PHOTOS",
    "MOST_PHOTO_BYTES",
    "PhotoPlace",
    "line_of_photo",
    "named_photos",
    "photo_in_line",
    "photo_in_text",
    "text_of_photo",
]

MOST_PHOTOS: Final = 200
"""Photos in one file at most; our own choice, as are the other limits."""
MOST_PHOTO_BYTES: Final = 100_000_000
LONGEST_PHOTO_LINE: Final = 4 * (LONGEST_PHOTO // 3 + 1) + 200
_LINE: Final = re.compile(
    rb'\{"photo":"([0-9a-f]{64})","data":"([A-Za-z0-9+/]{4,}={0,2})"\}\n?', re.ASCII
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoPlace:
    """Where a photo stands in a file that was checked.

    Parameters
    ----------
    told : PhotoFile
        What it is.
    at_byte, size_bytes : int
        Where its line begins, and how long the line is.
    """

    told: PhotoFile
    at_byte: int
    size_bytes: int


def named_photos(entries: Iterable[Entry]) -> dict[str, int]:
    """Return the hash and size in bytes of every photo that entries name, each once."""
    return {
        entry.payload.sha256: entry.payload.size_bytes
        for entry in entries
        if isinstance(entry.payload, PhotoKept | MachinePhotoKept)
    }


def text_of_photo(data: bytes) -> str:
    """Return the bytes of a photo as text."""
    return base64.b64encode(data).decode("ascii")


def line_of_photo(sha256: str, data: bytes) -> bytes:
    """Return the line of a photo in a job file, with its end."""
    return f'{{"photo":"{sha256}","data":"{text_of_photo(data)}"}}\n'.encode("ascii")


def photo_in_line(line: bytes) -> tuple[PhotoFile, bytes]:
    """Return the photo that a line of a job file holds.

    Raises
    ------
    ValueError
        With why it is refused, in a few words.
    """
    found = _LINE.fullmatch(line)
    if found is None:
        message = "it is no photo as this form writes it"
        raise ValueError(message)
    return photo_in_text(found[2].decode("ascii"), found[1].decode("ascii"))


def photo_in_text(text: str, sha256: str) -> tuple[PhotoFile, bytes]:
    """Return the photo that a text holds.

    Raises
    ------
    ValueError
        If the text is no bytes, they are no photo, or not the one of the hash.
    """
    try:
        data = base64.b64decode(text, validate=True)
        told = photo_file(data)
    except (binascii.Error, BadInput) as error:
        message = "what should be a photo is none"
        raise ValueError(message) from error
    if told.sha256 != sha256:
        message = "the photo is not the one of its hash: it was changed"
        raise ValueError(message)
    return told, data
