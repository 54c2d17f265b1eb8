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

from fillwright.language import PLAIN, Way, said

__all__ = [
    "OutputLostError",
    "PipeClosedError",
    "complain",
    "flush",
    "leave_pipe",
    "loud",
    "prepare",
    "say",
    "say_json",
    "say_now",
    "speak",
    "way",
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


_SAID: Final = ("\ue000", "\ue001")
# Around what is in the chosen way already, so that no text is handed on twice.
_chosen: Final[list[Way]] = [PLAIN]


def speak(way: Way) -> None:
    """Choose the language and the measures of the terminal."""
    _chosen[0] = way


def way() -> Way:
    """Return the language and the measures of the terminal."""
    return _chosen[0]


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
    """Print a line on standard output, in the chosen language."""
    _put(_in_way(text))


def _put(text: str) -> None:
    """Print a line on standard output as it is."""
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
    _put(json.dumps(document, ensure_ascii=plain, allow_nan=False, indent=indent))


def complain(sentence: str) -> None:
    """Print a sentence on standard error, broken at its width where that is a terminal."""
    try:
        text = _in_way(wrapped(sentence) if sys.stderr.isatty() else sentence)
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
    return _kept(
        textwrap.fill(
            said(text, way()),
            width=width(),
            initial_indent=lead,
            subsequent_indent=indent,
            break_long_words=False,
            break_on_hyphens=False,
        )
    )


def loud(text: str) -> str:
    """Return a headline in large letters."""
    return _kept(said(text, way()).upper())


def leave_pipe() -> None:
    """Let go of a pipe that the other side has closed, without a word."""
    silent = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        _point_at(stream, silent)
    os.close(silent)


def _kept(text: str) -> str:
    """Return a text that is in the chosen way, marked so where that is not plain English."""
    return text if way() == PLAIN else text.join(_SAID)


def _in_way(text: str) -> str:
    """Return a text in the chosen way, line by line, without the marks of what is so already."""
    if way() == PLAIN:
        return text
    opened, closed = _SAID
    parts: list[str] = []
    for part in text.split(opened):
        done, _, rest = part.rpartition(closed)
        parts.append(done + "\n".join(said(line, way()) for line in rest.split("\n")))
    return "".join(parts)


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
