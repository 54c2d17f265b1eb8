"""The list of commands, and the one place where an error becomes a sentence and a status."""

from __future__ import annotations

import errno
import traceback
from pathlib import Path
from typing import Annotated, Final

import typer

from fillwright.cli import (
    ask,
    bench,
    case,
    export,
    journal,
    lot,
    manual,
    prove,
    takein,
    terminal,
    tongue,
    trace,
    units,
)
from fillwright.errors import BadInput, FillwrightError
from fillwright.language import PLAIN

__all__ = ["app", "run"]

BAD_INPUT: Final = 2
OUR_FAILURE: Final = 1
INTERRUPTED: Final = 130

app = typer.Typer(
    name="fillwright",
    help="Set, prove, run and release a batch on a benchtop piston filler.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 96},
)
app.command("ask")(ask.ask)
app.command("lot")(lot.lot)
app.command("prove")(prove.prove)
app.command("serve")(bench.serve)
app.command("demo")(bench.demo)
app.command("verify")(journal.verify)
app.command("backup")(journal.backup)
app.command("restore")(journal.restore)
app.command("rescue")(journal.rescue)
app.command("export")(export.export)
app.command("import")(takein.take_in)
app.command("manual")(manual.manual)
app.command("case")(case.case)
app.command("trace")(trace.trace)


def _print_version(wanted: bool) -> None:  # noqa: FBT001  the option's own callback
    """Print the version and leave."""
    if wanted:
        from fillwright import __version__  # noqa: PLC0415  one use

        terminal.say(f"fillwright {__version__}")
        raise typer.Exit


@app.callback()
def _about(
    *,
    version: Annotated[  # noqa: ARG001  its callback prints it
        bool,
        typer.Option(
            "--version", callback=_print_version, is_eager=True, help="Print the version."
        ),
    ] = False,
    shown: units.UnitsOption = None,
    language: tongue.LanguageOption = None,
) -> None:
    """Set, prove, run and release a batch on a benchtop piston filler."""
    tongue.choose(language)
    units.choose(shown)


def run() -> int:
    """Run the command line.

    Returns
    -------
    int
        0 for an answer, whatever it says; 2 for a bad input; 1 where the fault is ours or
        a journal is broken.
    """
    terminal.prepare()
    try:
        status = _status()
        terminal.flush()
    except terminal.PipeClosedError:
        terminal.leave_pipe()
        return 0
    except terminal.OutputLostError as lost:
        terminal.leave_pipe()
        terminal.complain(lost.sentence)
        return OUR_FAILURE
    return status


def _status() -> int:
    """Return the status of the command, after saying what went wrong."""
    try:
        tongue.listen()
        if terminal.way() == PLAIN:
            app(prog_name="fillwright")
        else:
            return tongue.run(typer.main.get_command(app), "fillwright")
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except BadInput as error:
        terminal.complain(error.message)
        return BAD_INPUT
    except FillwrightError as error:
        terminal.complain(str(error))
        return OUR_FAILURE
    except (terminal.PipeClosedError, terminal.OutputLostError):
        raise
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:  # noqa: BLE001  the outermost edge: a sentence and no traceback
        if isinstance(error, OSError) and error.errno == errno.ENOSPC:
            raise terminal.OutputLostError(error) from None
        terminal.complain(_our_fault(error))
        return OUR_FAILURE
    return 0


def _our_fault(error: Exception) -> str:
    """Return one sentence about a failure that is ours, with its place."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{Path(last.filename).name}, line {last.lineno}"
    return (
        f"Fillwright failed in itself ({type(error).__name__} in {place}: {error}). "
        "The input is not at fault; report it with this line."
    )
