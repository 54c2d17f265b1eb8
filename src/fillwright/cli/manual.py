"""``fillwright manual``: the manual as a folder of plain pages."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fillwright.cli import terminal, tongue
from fillwright.errors import BadInput

__all__ = ["manual"]


def manual(
    to: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the pages go.")],
    language: tongue.LanguageOption = None,
) -> None:
    """Write the manual as plain pages, to be read in a browser without the program.

    The same pages are under Help in the program.
    """
    from fillwright.manual import build_site  # noqa: PLC0415  loaded when asked

    tongue.choose(language)
    try:
        count = build_site(to, language or terminal.way().language)
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        message = f"{to}: the manual cannot be written there ({why}); name another folder."
        raise BadInput(message, field=str(to), given=str(to), code="choice") from error
    terminal.say(f"Wrote {count} pages. Open {to / 'index.html'}.")
