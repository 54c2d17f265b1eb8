"""What the terminal is told: verdict and figures on standard output, complaints on the other.

A sign that an old terminal cannot show is written in plain letters, a closed pipe is quiet.
"""

from __future__ import annotations

import codecs
import io
import json
import os
import shutil
import sys
import textwrap
from pathlib import Path
from typing import Any, Final, TextIO

__all__ = [
    "OutputLostError",
    "PipeClosedError",
    "complain",
    "flush",
    "leave_pipe",
    "prepare",
    "say",
    "say_json",
    "say_now",
    "width",
    "wrapped",
]

_WIDEST: Final = 96
_NARROWEST: Final = 40
_PLAIN_LETTERS: Final = {
    "≥": ">=",
    "≤": "<=",
    "±": "+/-",
    "−": "-",
    "–": "-",
    "—": "-",
    "·": "*",
    "×": "x",
    "²": "^2",
    "³": "^3",
    "°": " deg ",
    "→": "->",
    "√": "sqrt ",
    "σ": "sigma",
    "λ": "lambda",
    "δ": "delta",
    "ρ": "rho",
    "β": "beta",
    "Φ": "Phi",
    "…": "...",
    "\u201c": '"',
    "\u201d": '"',
    "\u2018": "'",
    "\u2019": "'",
}


def prepare() -> None:
    """Make both streams take any text, whatever the terminal can show, and be there at all."""
    codecs.register_error("plain-letters", _plain_letters)
    for name in ("stdout", "stderr"):
        # A program that is started with a closed stream has none in its place.
        stream: TextIO | None = getattr(sys, name)
        if stream is None:
            stream = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115  to the end
            setattr(sys, name, stream)
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plain-letters")


class PipeClosedError(Exception):
    """Whoever read standard output has stopped; no OSError, which the library would report."""


class OutputLostError(Exception):
    """Standard output takes nothing more; no OSError, for the same reason."""

    def __init__(self, error: OSError) -> None:
        why = (error.strerror or str(error)).lower()
        super().__init__(why)
        self.sentence = (
            f"Standard output cannot be written ({why}); make room there, or send it elsewhere."
        )


def say(text: str = "") -> None:
    """Print a line on standard output."""
    try:
        sys.stdout.write(f"{text}\n")
    except BrokenPipeError:
        raise PipeClosedError from None
    except OSError as error:
        raise OutputLostError(error) from None


def flush() -> None:
    """Hand on what was printed so far."""
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        raise PipeClosedError from None
    except OSError as error:
        raise OutputLostError(error) from None


def say_now(text: str) -> None:
    """Print a line on standard output at once, for those who watch."""
    say(text)
    flush()


def say_json(document: Any, *, indent: int | None = 2) -> None:  # noqa: ANN401  any JSON
    """Print a JSON document on standard output, in plain letters where it must be.

    Parameters
    ----------
    document : dict or list
        What is printed.
    indent : int or None
        Spaces a level; None puts all on one line.
    """
    plain = (getattr(sys.stdout, "encoding", "") or "").lower().replace("-", "") != "utf8"
    say(json.dumps(document, ensure_ascii=plain, allow_nan=False, indent=indent))


def complain(sentence: str) -> None:
    """Print a sentence on standard error, broken at its width where that is a terminal."""
    try:
        text = wrapped(sentence) if sys.stderr.isatty() else sentence
        sys.stderr.write(f"{text}\n")
        sys.stderr.flush()
    except OSError:
        return


def width() -> int:
    """Return how many columns a text may fill."""
    return max(_NARROWEST, min(_WIDEST, shutil.get_terminal_size((80, 24)).columns))


def wrapped(text: str, *, lead: str = "", indent: str = "") -> str:
    """Return a text broken at the width of the terminal.

    Parameters
    ----------
    text : str
        One paragraph.
    lead : str
        What stands before the first line.
    indent : str
        What stands before the second line and all after it.

    Returns
    -------
    str
        The lines.
    """
    return textwrap.fill(
        text,
        width=width(),
        initial_indent=lead,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def leave_pipe() -> None:
    """Let go of a pipe that the other side has closed, without a word."""
    silent = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        _point_at(stream, silent)
    os.close(silent)


def _point_at(stream: TextIO, descriptor: int) -> None:
    """Send what a stream still holds to another file."""
    try:
        stream.flush()
    except OSError:
        os.dup2(descriptor, stream.fileno())


def _plain_letters(error: UnicodeError) -> tuple[str, int]:
    """Return plain letters for signs that the terminal lacks."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    signs = error.object[error.start : error.end]
    return "".join(_PLAIN_LETTERS.get(sign, "?") for sign in signs), error.end
