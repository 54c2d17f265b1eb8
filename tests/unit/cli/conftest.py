"""Run a command in this process, with standard streams of its own."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from fillwright.cli.app import run


@dataclass(frozen=True, kw_only=True)
class Ended:
    """How a command ended and what it said."""

    status: int
    out: str
    err: str


@pytest.fixture
def command(monkeypatch, tmp_path) -> Callable[..., Ended]:
    """Run ``fillwright`` with these words and this standard input, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FILLWRIGHT_STORE", str(tmp_path / "journal.sqlite3"))

    def started(*words: str, stdin: bytes = b"", encoding: str = "utf-8") -> Ended:
        out, err = io.BytesIO(), io.BytesIO()
        with monkeypatch.context() as patch:
            patch.setattr(sys, "argv", ["fillwright", *words])
            patch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
            patch.setattr(sys, "stdout", io.TextIOWrapper(out, encoding=encoding))
            patch.setattr(sys, "stderr", io.TextIOWrapper(err, encoding=encoding))
            status = run()
            sys.stdout.flush()
            sys.stderr.flush()
            return Ended(
                status=status,
                out=out.getvalue().decode(encoding),
                err=err.getvalue().decode(encoding),
            )

    return started
