"""Who imports whom, what the light entrances cost, and that nothing calls out."""

from __future__ import annotations

import contextlib
import importlib.util
import json
import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

HEAVY = {"scipy", "pandas", "fastapi", "starlette", "sqlalchemy", "alembic", "openpyxl", "typst"}
LIGHTEST = HEAVY | {"numpy", "pydantic", "typer", "rich", "jinja2", "serial", "uvicorn"}


def test_the_import_contract_holds(root):
    """Arrows point down, science touches nothing outside, the line grammar opens nothing."""
    command = Path(sys.executable).with_name("lint-imports")

    checked = subprocess.run([str(command)], cwd=root, capture_output=True, text=True, check=False)

    assert checked.returncode == 0, checked.stdout + checked.stderr


@pytest.mark.parametrize(
    ("module", "unwanted"),
    [
        ("fillwright", LIGHTEST),
        ("fillwright.errors", LIGHTEST),
        ("fillwright.science", HEAVY),
        ("fillwright.records", HEAVY),
        ("fillwright.scale.lines", HEAVY | {"serial", "asyncio", "numpy"}),
        ("fillwright.cli", HEAVY),
        ("fillwright.questions", HEAVY),
    ],
)
def test_an_entrance_is_light(module, unwanted):
    """Importing an entrance pulls in nothing heavy, so the command line answers at once."""
    code = f"import json, sys, {module}; print(json.dumps(sorted(sys.modules)))"

    if _exists(module):
        loaded = json.loads(_run(code))

        assert {name.partition(".")[0] for name in loaded} & unwanted == set()


WATCH = """
import sys

def watch(event, arguments):
    if event == "socket.connect":
        host = arguments[1][0] if isinstance(arguments[1], tuple) else "here"
    elif event in {"socket.getaddrinfo", "socket.gethostbyname"}:
        host = arguments[0]
    else:
        return
    host = host.decode() if isinstance(host, bytes) else host
    if host not in {None, "", "here", "127.0.0.1", "::1", "localhost"}:
        print(f"outside: {event} {host}", file=sys.stderr, flush=True)

sys.addaudithook(watch)
"""


def test_the_watch_sees_a_call(tmp_path):
    """The hook that the next test relies on reports a look-up of another machine's name."""
    answer = subprocess.run(
        [
            sys.executable,
            "-c",
            WATCH + "import contextlib, socket\n"
            "with contextlib.suppress(OSError): socket.getaddrinfo('nowhere.invalid', 80)",
        ],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )

    assert "outside: socket.getaddrinfo nowhere.invalid" in answer.stderr


def test_the_demo_calls_nobody(tmp_path):
    """Serving the demo and its first page connects to nothing and looks no name up outside."""
    if not (_exists("fillwright.web.app") and _exists("fillwright.wiring")):
        return
    port = _free_port()
    serve = (
        f"sys.argv = ['fillwright', 'demo', '--no-browser', '--port', '{port}']\n"
        "from fillwright.cli import main\nmain()"
    )
    folders = {"XDG_DATA_HOME": str(tmp_path), "FILLWRIGHT_STORE": str(tmp_path / "journal.db")}
    with (
        (tmp_path / "told").open("w+", encoding="utf-8") as told,
        subprocess.Popen(
            [sys.executable, "-c", WATCH + serve],
            env=os.environ | folders,
            stdin=subprocess.DEVNULL,
            stdout=told,
            stderr=told,
        ) as server,
    ):
        try:
            page = _first_page(server, port)
        finally:
            server.terminate()
        server.wait(timeout=20)
        told.seek(0)
        words = told.read()

    assert "<html" in page.lower(), words
    assert "outside:" not in words


def _exists(module: str) -> bool:
    """Tell whether the sources hold a module."""
    try:
        return importlib.util.find_spec(module) is not None
    except ModuleNotFoundError:
        return False


def _run(code: str, *arguments: str) -> str:
    """Run code in a Python of its own and return what it printed."""
    answer = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=False
    )
    assert answer.returncode == 0, answer.stderr
    return answer.stdout


def _free_port() -> int:
    """Return a port of this machine on which nobody listens now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _first_page(server: subprocess.Popen, port: int) -> str:
    """Return the first page as soon as the server gives it, or nothing if it ends before."""
    deadline = time.monotonic() + 120
    while server.poll() is None and time.monotonic() < deadline:
        with contextlib.suppress(OSError):
            address = f"http://127.0.0.1:{port}/"
            with urllib.request.urlopen(address, timeout=10) as answer:
                return answer.read().decode()
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(timeout=0.1)
    return ""
