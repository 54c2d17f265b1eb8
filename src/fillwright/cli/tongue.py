"""The language that the terminal speaks: asked for, or that of the machine.

Answers in JSON, files of tables and the names of commands and options are the same everywhere.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Annotated, Any, Final

import typer

from fillwright.cli import terminal
from fillwright.errors import BadInput
from fillwright.language import TONGUES, said, shown_tongues
from fillwright.language.names import Names
from fillwright.language.tongues import ENGLISH

__all__ = ["LanguageOption", "choose", "in_language", "language_of", "listen", "run"]

_OPTION: Final = "--language"
_USAGE: Final = "Usage:"
_HEADS: Final = frozenset({"Arguments:", "Options:", "Commands:"})
_OWN: Final = ("Show this message and exit.",)
_EXTRA: Final = re.compile(r"(?<=[\[ ])(required|default|env var)(?=: [^\]\n]*\]|;|\])")
_QUOTED: Final = re.compile(r"'([^']+)'")
_OURS: Final = "FILLWRIGHT_LANGUAGE"
_OF_THE_MACHINE: Final = ("LC_ALL", "LC_MESSAGES", "LANG")

LanguageOption = Annotated[
    str | None,
    typer.Option(_OPTION, envvar=_OURS, help="Language of what is said: en or de."),
]


def language_of(arguments: Sequence[str], environment: Mapping[str, str]) -> str:
    """Return the language that the terminal shall speak, before any command is read.

    Parameters
    ----------
    arguments : sequence of str
        What was typed.
    environment : mapping of str to str
        Where ``FILLWRIGHT_LANGUAGE`` goes before the language of the machine.

    Returns
    -------
    str
        Code of a language; one that is not known is English.
    """
    asked = environment.get(_OURS, "")
    for at, argument in enumerate(arguments):
        if argument.startswith(f"{_OPTION}="):
            asked = argument.partition("=")[2]
        elif argument == _OPTION and at + 1 < len(arguments):
            asked = arguments[at + 1]
    if not asked:
        held = next((environment[key] for key in _OF_THE_MACHINE if environment.get(key)), "")
        asked = held.partition(".")[0].partition("_")[0]
    return asked if asked in TONGUES else ENGLISH


def choose(asked: str | None) -> None:
    """Refuse a language that there is not; one of the machine that is not known is English.

    Raises
    ------
    BadInput
        If a language was asked for by a name that is none.
    """
    if asked and asked not in TONGUES:
        known = " or ".join(tongue.code for tongue in shown_tongues())
        message = f"--language is {asked[:40]!r}; give {known}."
        raise BadInput(message, field="language", given=asked[:40], allowed=known, code="choice")


def in_language(command: Any) -> Any:  # noqa: ANN401  a command of the library, or a group
    """Return a command with its help in the language of the terminal.

    Parameters
    ----------
    command : click.Command
        The program; its commands and options are changed too.
    """
    way = terminal.way()
    for name in ("help", "short_help"):
        words = getattr(command, name, None)
        if words:
            setattr(command, name, "\n\n".join(said(part, way) for part in words.split("\n\n")))
    for option in command.params:
        if getattr(option, "help", None):
            option.help = said(option.help, way)
    helps = command.get_help
    command.get_help = lambda context: _help_in_way(helps(context))
    for each in getattr(command, "commands", {}).values():
        in_language(each)
    return command


def run(command: Any, name: str) -> int:  # noqa: ANN401  a command of the library, or a group
    """Run the program in the language of the terminal, also what the library says of a slip.

    Parameters
    ----------
    command : click.Command
        The program.
    name : str
        What it is called.

    Returns
    -------
    int
        Status of the command.
    """
    try:
        status = in_language(command)(prog_name=name, standalone_mode=False)
    except typer.Abort:
        terminal.complain("Aborted.")
        return 1
    except Exception as error:
        told = getattr(error, "format_message", None)
        if told is None:
            raise
        context = getattr(error, "ctx", None)
        words = told()
        terminal.speak(replace(terminal.way(), names=Names(_QUOTED.findall(words))))
        if words.startswith(_USAGE):
            terminal.say(_help_in_way(words))
        else:
            if context is not None:
                terminal.complain(_help_in_way(context.get_usage()))
                typed = f"{context.command_path} {context.help_option_names[0]}"
                terminal.complain(f"Try '{typed}' for help.")
            terminal.complain(f"\nError: {words}")
        return int(getattr(error, "exit_code", 1))
    return status if isinstance(status, int) else 0


def _help_in_way(text: str) -> str:
    """Return a help text, whose own words are those of the language already, with its heads."""
    way = terminal.way()
    lines = []
    for line in text.split("\n"):
        found = line
        if line.startswith(_USAGE) or line in _HEADS:
            found = said(line, way)
        for words in _OWN:
            found = found.replace(words, said(words, way))
        found = _EXTRA.sub(lambda extra: said(extra[1], way), found)
        lines.append(found)
    return "\n".join(lines)


def listen() -> None:
    """Let the terminal speak the language that is asked for."""
    language = language_of(sys.argv[1:], os.environ)
    terminal.speak(replace(terminal.way(), language=language))
