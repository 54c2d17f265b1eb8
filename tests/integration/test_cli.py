"""The command line as a process of its own: statuses, pipes, encodings, a journal, the demo."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from fillwright.questions import find

LOT = ("--nominal", "250 g", "--rules", "EU-76/211", "--lot-size", "300")
FULL = Path("/dev/full")
GOOD = "net (g)\n" + "250.0\n250.4\n" * 15


@pytest.fixture
def started(tmp_path):
    """Run ``python -m fillwright`` with these words in an empty folder, and wait for its end."""

    def run(*words, stdin=b"", **environment):
        return subprocess.run(
            [sys.executable, "-m", "fillwright", *words],
            input=stdin,
            capture_output=True,
            cwd=tmp_path,
            env={**os.environ, "FILLWRIGHT_STORE": str(tmp_path / "j.sqlite3"), **environment},
            timeout=120,
            check=False,
        )

    return run


@pytest.mark.parametrize(
    ("words", "stdin", "status"),
    [
        (("ask", "shortage"), b'{"rules": "EU-76/211", "nominal": 250, "unit": "g"}', 0),
        (("ask", "shortage"), b'{"rules": "EU-76/211", "nominal": NaN, "unit": "g"}', 2),
        (("lot", "-", *LOT), GOOD.encode(), 0),
        (("lot", "-", *LOT), b"", 2),
    ],
)
def test_the_status_of_the_process(started, words, stdin, status):
    """0 for an answer and 2 for a bad input, whatever ran it; no traceback anywhere."""
    ended = started(*words, stdin=stdin)

    assert ended.returncode == status
    assert b"Traceback" not in ended.stdout + ended.stderr
    assert bool(ended.stderr) == (status == 2)


def test_many_lines_by_pipe_are_answered_one_by_one(tmp_path):
    """A partner at the other end of the pipe gets each answer before it sends the next line."""
    good = json.dumps(find("chart-constants").example)
    with subprocess.Popen(
        [sys.executable, "-m", "fillwright", "ask", "chart-constants", "--many"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd=tmp_path,
        text=True,
    ) as partner:
        assert partner.stdin is not None
        assert partner.stdout is not None
        for line, word in ((good, "c4"), ("{}", "error"), (good, "c4")):
            partner.stdin.write(f"{line}\n")
            partner.stdin.flush()
            assert word in json.loads(partner.stdout.readline())
        partner.stdin.close()

        assert partner.wait(60) == 2


@pytest.mark.skipif(os.name != "posix", reason="pipes close otherwise there")
def test_a_closed_pipe_is_quiet(tmp_path):
    """Whoever stops reading hears nothing more, and no error."""
    good = json.dumps(find("chart-constants").example)
    with subprocess.Popen(
        [sys.executable, "-m", "fillwright", "ask", "chart-constants", "--many"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        text=True,
    ) as partner:
        assert partner.stdin is not None
        assert partner.stdout is not None
        assert partner.stderr is not None
        partner.stdout.close()
        partner.stdin.write(f"{good}\n" * 3)
        partner.stdin.close()

        assert partner.stderr.read() == ""
        assert partner.wait(60) == 0


@pytest.mark.skipif(os.name != "posix", reason="signals differ there")
def test_an_interrupt_is_quiet(tmp_path):
    """Ctrl+C ends a command without a traceback."""
    with subprocess.Popen(
        [sys.executable, "-m", "fillwright", "ask", "chart-constants", "--many"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        text=True,
    ) as partner:
        assert partner.stdin is not None
        assert partner.stdout is not None
        assert partner.stderr is not None
        partner.stdin.write(json.dumps(find("chart-constants").example) + "\n")
        partner.stdin.flush()
        partner.stdout.readline()
        partner.send_signal(signal.SIGINT)

        assert partner.wait(60) == 130
        assert "Traceback" not in partner.stderr.read()


def lost(words, *, cwd, closed=(), stdout=None):
    """Run a command without some of its standard streams, or with one that takes nothing."""

    def close_them():
        for descriptor in closed:
            os.close(descriptor)

    return subprocess.run(
        [sys.executable, "-m", "fillwright", *words],
        stdin=subprocess.DEVNULL,
        stdout=stdout or subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=cwd,
        timeout=120,
        check=False,
        preexec_fn=close_them,
    )


@pytest.mark.skipif(os.name != "posix", reason="streams are closed otherwise there")
def test_a_stream_that_is_closed_is_no_failure(tmp_path):
    """Started without standard output, a command does its work in silence."""
    (tmp_path / "w.csv").write_text(GOOD)

    ended = lost(("lot", "w.csv", *LOT), cwd=tmp_path, closed=(1,))
    refused = lost(("lot", "none.csv", *LOT), cwd=tmp_path, closed=(1,))

    assert (ended.returncode, ended.stderr) == (0, b"")
    assert refused.returncode == 2
    assert refused.stderr.startswith(b"none.csv: cannot be read")


@pytest.mark.skipif(not FULL.exists(), reason="there is no full device")
@pytest.mark.parametrize("words", [("lot", "w.csv", *LOT), ("ask", "--list"), ("--help",)])
def test_output_that_finds_no_room_is_one_sentence(tmp_path, words):
    """A full disk under the output is said as such, and is no failure of ours."""
    (tmp_path / "w.csv").write_text(GOOD)

    with FULL.open("wb") as full:
        ended = lost(words, cwd=tmp_path, stdout=full)

    assert ended.returncode == 1
    assert ended.stderr.startswith(b"Standard output cannot be written (no space left on device)")
    assert ended.stderr.count(b"\n") == 1


def test_an_ascii_terminal_gets_the_verdict(started, tmp_path):
    """With an ASCII stream the verdict is printed in plain letters."""
    (tmp_path / "w.csv").write_text(GOOD)

    ended = started("lot", "w.csv", *LOT, PYTHONIOENCODING="ascii", NO_COLOR="1", COLUMNS="80")

    assert ended.returncode == 0
    assert ended.stdout.startswith(b"ACCEPTED")
    assert b"label - k x s" in ended.stdout


def test_the_demo_plays_a_job_and_leaves_its_papers(started, tmp_path):
    """The demo in the terminal ends with a verdict, a batch record, a table and a journal."""
    story = tmp_path / "story"
    story.mkdir()
    (story / "demo-journal.sqlite3.kept").write_text("a copy of somebody's own")
    played = started("demo", "--headless", "--out", "story")
    left = sorted(path.name for path in story.glob("demo-journal*"))
    whole = started("verify", "--store", "story/demo-journal.sqlite3")

    assert played.returncode == 0, played.stderr.decode()
    assert b"all of them invented" in played.stdout
    for paper in ("batch-record.pdf", "job-card.pdf"):
        assert (story / paper).read_bytes().startswith(b"%PDF")
    assert left == ["demo-journal.sqlite3", "demo-journal.sqlite3.kept"]
    assert whole.returncode == 0, whole.stdout.decode()


def test_the_demo_tells_its_acts_in_the_language_that_is_asked_for(started):
    """The stage first, the weights, then what to do: each in German, none of them moved."""
    played = started("--language", "de", "demo", "--headless", "--out", "story")
    told = [" ".join(line.split()) for line in played.stdout.decode().splitlines()]

    assert played.returncode == 0, played.stderr.decode()
    assert any(line.startswith("Freigabe ") and line.endswith(" wiegen.") for line in told)
    assert any(line.endswith(" freigeben.") for line in told)
    assert "FREIGEGEBEN 120." in told
