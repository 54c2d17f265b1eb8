"""A store, and a writer in a process of its own that dies where it is told to."""

from __future__ import annotations

import importlib.util
import json
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from fillwright.records.entries import Draft
from fillwright.store.journal import open_journal

WRITER = Path(__file__).with_name("writer.py")


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """An empty store."""
    path = tmp_path / "journal.sqlite3"
    open_journal(path).close()
    return path


@pytest.fixture(scope="session")
def weighing() -> Callable[[int], Draft]:
    """The very weighings that the writer writes."""
    spec = importlib.util.spec_from_file_location("crash_writer", WRITER)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.weighing


@pytest.fixture(scope="session")
def forking() -> Iterator[subprocess.Popen[str]]:
    """A writer that forks for each line it reads."""
    with subprocess.Popen(
        [sys.executable, str(WRITER)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        yield process
        process.stdin.close()


@pytest.fixture
def killed_at(store: Path, forking: subprocess.Popen[str]) -> Callable[..., list[int]]:
    """Runs the writer until it dies; returns the numbers that it had acknowledged."""

    def run(point: str, when: int, *, first: int = 1) -> list[int]:
        line = json.dumps([str(store), str(first), "999", point, str(when)])
        forking.stdin.write(f"{line}\n")
        forking.stdin.flush()
        answer = json.loads(forking.stdout.readline())
        assert answer["signal"] == signal.SIGKILL
        return answer["acknowledged"]

    return run
