"""What a photo is told by: the hash of its bytes, and its type from its first bytes."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput

__all__ = ["LONGEST_PHOTO", "PhotoFile", "photo_file"]

LONGEST_PHOTO: Final = 3_500_000
"""Bytes of a photo at most; our own choice."""
_LEAST: Final = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoFile:
    """A photo as it is named on record.

    Parameters
    ----------
    sha256 : str
        Hash of its bytes, in hexadecimal digits.
    media_type : str
        ``"image/jpeg"``, ``"image/png"`` or ``"image/webp"``.
    size_bytes : int
        How large it is.
    """

    sha256: str
    media_type: str
    size_bytes: int


def photo_file(data: bytes) -> PhotoFile:
    """Return how a photo is named on record.

    The type is told from the first bytes alone (PNG: W3C PNG specification, section 5.2; JPEG:
    the marker SOI; WebP: RIFF container; from memory), never from a name.

    Raises
    ------
    BadInput
        If it is too long, or no photo of these three types.
    """
    if len(data) > LONGEST_PHOTO:
        message = (
            f"The photo has {len(data):,} bytes; at most {LONGEST_PHOTO:,} are kept. Take it with "
            "fewer points."
        )
        raise BadInput(message, field="file", given=len(data), allowed=f"to {LONGEST_PHOTO}")
    media_type = ""
    if data.startswith(b"\xff\xd8\xff"):
        media_type = "image/jpeg"
    elif data.startswith(b"\x89PNG\r\n\x1a\n"):
        media_type = "image/png"
    elif data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        media_type = "image/webp"
    if not media_type or len(data) < _LEAST:
        message = "That is no photo. Choose a JPEG, PNG or WebP picture."
        raise BadInput(message, field="file", allowed="JPEG, PNG, WebP", code="type")
    return PhotoFile(
        sha256=hashlib.sha256(data).hexdigest(), media_type=media_type, size_bytes=len(data)
    )
