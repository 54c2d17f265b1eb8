"""Where the catalogues of the manual are kept, beside those of the program."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from fillwright.language.catalogue import FOLDER

__all__ = ["MANUAL_TEMPLATE", "manual_file"]

MANUAL_TEMPLATE: Final = FOLDER / "manual.pot"


def manual_file(code: str) -> Path:
    """Return where the catalogue of the manual in a language is kept."""
    return FOLDER / code / "LC_MESSAGES" / "manual.po"
