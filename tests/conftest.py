"""Say what this machine can test, lend Chromium and PostgreSQL, and be strict in CI.

On a developer's machine a group that needs something not installed is skipped with a plain
word; with ``CI=true`` or ``FILLWRIGHT_STRICT=1`` every skip is a failure.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import hypothesis
import pytest

STRICT = os.environ.get("CI", "").lower() == "true" or (
    os.environ.get("FILLWRIGHT_STRICT", "") == "1"
)
NO_CHROMIUM = (
    "Chromium is not installed: `apt-get install chromium` (or name another place in "
    "FILLWRIGHT_CHROMIUM)"
)
NO_POSTGRES = (
    "PostgreSQL is not installed: `apt-get install postgresql` (or put its initdb on the PATH)"
)

hypothesis.settings.register_profile("ci", derandomize=True, deadline=None, print_blob=True)
hypothesis.settings.register_profile("desk", deadline=None)
hypothesis.settings.load_profile("ci" if STRICT else "desk")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,  # noqa: ARG001  the hook's own signature
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn a skipped test into a failed one where nothing may be skipped."""
    report = yield
    if STRICT and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"skipped where nothing may be skipped: {_reason(report)}"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,  # noqa: ARG001  the hook's own signature
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """Turn a skipped file into a failed one where nothing may be skipped."""
    report = yield
    if STRICT and report.skipped:
        report.outcome = "failed"
        report.longrepr = f"skipped where nothing may be skipped: {_reason(report)}"
    return report


def pytest_report_header() -> list[str]:
    """Say at the top which groups can run here."""
    return [
        f"browser tests: {_chromium() or NO_CHROMIUM}",
        f"postgres tests: {_postgres_programs() or NO_POSTGRES}",
        f"a skipped test counts as {'failed' if STRICT else 'skipped'}",
    ]


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Path of the browser of this system, for ``executable_path``; skips where there is none."""
    path = _chromium()
    if path is None:
        pytest.skip(NO_CHROMIUM)
    return path


@pytest.fixture(scope="session")
def chromium_args() -> list[str]:
    """Arguments with which Chromium stays quiet, offline and usable by root."""
    return [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--disable-dev-shm-usage",
    ]


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """URL of a throw-away PostgreSQL server of this session; skips where none is installed."""
    programs = _postgres_programs()
    if programs is None:
        pytest.skip(NO_POSTGRES)
    # Not below pytest's own folder, whose parents the user postgres may not enter.
    home = Path(tempfile.mkdtemp(prefix="fillwright-pg-"))
    run = _as_server_user(home)
    data = home / "data"
    port = _free_port()
    try:
        how = ["-U", "fillwright", "-A", "trust", "--no-sync", "-E", "UTF8"]
        run([str(programs / "initdb"), "-D", str(data), *how])
        options = f"-c listen_addresses=127.0.0.1 -c port={port} -c fsync=off"
        options += f" -c unix_socket_directories='{home}'"
        log = str(home / "server.log")
        run([str(programs / "pg_ctl"), "-D", str(data), "-l", log, "-o", options, "-w", "start"])
        try:
            yield f"postgresql+psycopg://fillwright@127.0.0.1:{port}/postgres"
        finally:
            run([str(programs / "pg_ctl"), "-D", str(data), "-m", "immediate", "-w", "stop"])
    finally:
        shutil.rmtree(home, ignore_errors=True)


@pytest.fixture
def fresh_postgres_url(postgres_url: str) -> Iterator[str]:
    """URL of an empty database that only this test uses."""
    import psycopg  # noqa: PLC0415  only the tests that ask for it pay

    server = postgres_url.replace("+psycopg", "")
    name = f"t{os.urandom(8).hex()}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}".encode())
    yield postgres_url.rpartition("/")[0] + f"/{name}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())


def _reason(report: pytest.TestReport | pytest.CollectReport) -> str:
    """Return the words that the skip gave."""
    told = report.longrepr
    return str(told[2]) if isinstance(told, tuple) else str(told)


def _chromium() -> str | None:
    """Return the path of Chromium, or None."""
    named = os.environ.get("FILLWRIGHT_CHROMIUM")
    return named or shutil.which("chromium") or shutil.which("chromium-browser")


def _postgres_programs() -> Path | None:
    """Return the folder that holds initdb and pg_ctl, newest version first, or None."""
    if os.name == "nt":
        return None
    folders = sorted(
        Path("/usr/lib/postgresql").glob("*/bin"),
        key=lambda folder: float(folder.parent.name),
        reverse=True,
    )
    found = shutil.which("initdb")
    if found:
        folders.append(Path(found).resolve().parent)
    return next((f for f in folders if (f / "initdb").exists() and (f / "pg_ctl").exists()), None)


def _as_server_user(home: Path) -> Callable[[list[str]], None]:
    """Return a way to run a program as somebody the server accepts: it refuses root."""
    clean = {"PATH": os.environ.get("PATH", os.defpath), "LC_ALL": "C.UTF-8"}
    is_root = os.geteuid() == 0
    if is_root:
        shutil.chown(home, "postgres", "postgres")

    def run(command: list[str]) -> None:
        who = {"user": "postgres", "group": "postgres", "extra_groups": []} if is_root else {}
        # Into a file: a server started with a pipe would keep it open and never let go.
        with tempfile.TemporaryFile() as said:
            ended = subprocess.run(
                command,
                check=False,
                cwd="/",
                env=clean,
                stdin=subprocess.DEVNULL,
                stdout=said,
                stderr=subprocess.STDOUT,
                **who,
            )
            said.seek(0)
            if ended.returncode != 0:
                words = said.read().decode(errors="replace").strip()
                pytest.fail(f"{Path(command[0]).name} failed: {words}", pytrace=False)

    return run


def _free_port() -> int:
    """Return a port of this machine on which nobody listens now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
