"""Who imports whom, what the light entrances cost, and that nothing calls out."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
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


SERVE = """
import sys

outside = []

def watch(event, arguments):
    if event == "socket.connect":
        host = arguments[1][0] if isinstance(arguments[1], tuple) else str(arguments[1])
    elif event in {"socket.getaddrinfo", "socket.gethostbyname"}:
        host = arguments[0]
    else:
        return
    host = host.decode() if isinstance(host, bytes) else host
    if host not in {None, "", "127.0.0.1", "::1", "localhost", "testserver"}:
        outside.append(f"{event} {host}")

sys.addaudithook(watch)

from pathlib import Path
SERVE_HERE
print(outside)
"""


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
