"""``fillwright serve`` and ``fillwright demo``: the bench in a browser, or as a story."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fillwright.cli import terminal
from fillwright.cli.journal import Store
from fillwright.language import said

if TYPE_CHECKING:
    from fillwright.wiring import Bench

__all__ = ["demo", "serve"]

Port = Annotated[
    int | None,
    typer.Option("--port", min=1, max=65535, help="Port; the first free one from 8420."),
]


def serve(
    *,
    store: Store = None,
    port: Port = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in a browser.")
    ] = False,
    share: Annotated[
        bool, typer.Option("--share", help="Let in other devices that give the bench's code.")
    ] = False,
    broker: Annotated[
        str | None,
        typer.Option(
            "--broker",
            metavar="URL",
            envvar="FILLWRIGHT_BROKER",
            show_envvar=False,
            help="Take weights from an MQTT broker too; or FILLWRIGHT_BROKER.",
        ),
    ] = None,
    look_only: Annotated[
        bool, typer.Option("--look-only", help="Keep nothing: the journal is only looked at.")
    ] = False,
) -> None:
    """Serve the pages of the bench.

    Only this machine can reach them, unless they are shared. A damaged journal is shown as far
    as it can be read, with what is lost, and nothing is kept in it.
    """
    from fillwright.store.where import default_store  # noqa: PLC0415  loaded when asked
    from fillwright.wiring import open_bench  # noqa: PLC0415  loaded when asked

    where = default_store() if store is None else store
    bench = open_bench(where, looks_only=look_only, checks=True)
    if not broker:
        _serve(bench, port=port, browser=browser, share=share)
        return
    listener = import_module("fillwright.web.broker").BrokerListener(bench.desk, broker)
    listener.start()
    try:
        _serve(bench, port=port, browser=browser, share=share)
    finally:
        listener.close()


def demo(
    *,
    headless: Annotated[
        bool, typer.Option("--headless", help="Play one job in the terminal, without pages.")
    ] = False,
    out: Annotated[
        Path, typer.Option("--out", metavar="FOLDER", help="Where --headless leaves its papers.")
    ] = Path("fillwright-demo"),
    store: Store = None,
    port: Port = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in a browser.")
    ] = True,
    fault: Annotated[
        list[str] | None,
        typer.Option(
            "--fault",
            metavar="NAME[:SEVERITY]",
            help="What is wrong with the machine, as drip:0.6; a wrong name lists them all.",
        ),
    ] = None,
) -> None:
    """Open a bench with a simulated filler and weighing scale.

    Maker, jobs and weights are invented; its journal is kept apart from the real one.
    """
    from fillwright.wiring import faults_named, foretold  # noqa: PLC0415  loaded when asked

    faults = faults_named(fault or ())
    if headless:
        _without_faults(fault)
        _play(out)
        return
    from fillwright.store.where import demo_store  # noqa: PLC0415  loaded when asked
    from fillwright.wiring import open_demo  # noqa: PLC0415  loaded when asked

    bench = open_demo(demo_store() if store is None else store, faults)
    for words in foretold(faults):
        terminal.say_now(words)
    _serve(bench, port=port, browser=browser)


def _serve(bench: Bench, *, port: int | None, browser: bool, share: bool = False) -> None:
    """Serve a bench until the process is told to stop."""
    from fillwright.wiring import serve as served  # noqa: PLC0415  loaded when asked

    # Pages and commands stand side by side: neither imports the other, so the pages are
    # looked up by name here, where somebody asked for them.
    served(
        bench,
        import_module("fillwright.web").create_app,
        port=port,
        open_browser=browser,
        share=share,
        say=terminal.say_now,
    )


def _without_faults(fault: list[str] | None) -> None:
    """Refuse a fault where nobody could look for it."""
    if fault:
        from fillwright.errors import BadInput  # noqa: PLC0415  loaded when asked

        message = "--headless plays a sound machine; leave it out to look for a fault."
        raise BadInput(message, field="--fault", given=fault[0], code="inconsistent")


def _play(out: Path) -> None:
    """Play the demo job and say where its papers are."""
    from fillwright.errors import BadInput  # noqa: PLC0415  loaded when asked
    from fillwright.wiring import demo_headless  # noqa: PLC0415  loaded when asked

    try:
        played = demo_headless(out, progress=_told, way=terminal.way())
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        message = f"{out}: nothing can be written there ({why}); name another folder by --out."
        raise BadInput(message, field="--out", given=str(out)) from error
    terminal.say()
    terminal.say(terminal.loud(played.headline))
    terminal.say(terminal.wrapped(played.because))
    terminal.say(f"{played.weights} weights, all of them invented.")
    for path in (played.pdf, played.card, played.csv, played.journal):
        terminal.say(f"  {path}")


def _told(stage: str, order: str, weights: int) -> None:
    """Print one act of the demo job."""
    from fillwright.jobs.traveller import STAGE_WORDS  # noqa: PLC0415  loaded when asked

    way = terminal.way()
    widest = max(8, *(len(said(words, way)) for words in STAGE_WORDS.values()))
    lead = f"{said(stage, way):<{widest}} {weights:>4}  "
    terminal.say_now(terminal.wrapped(order, lead=lead, indent=" " * len(lead)))
