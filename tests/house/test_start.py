"""Setting up: once, in any folder, repaired when it was cut off, and one sentence when it cannot.

A small project of the same name stands in for the real one, so that no network is needed.
"""

from __future__ import annotations

import ast
import importlib.util
import os
import shutil
import subprocess
import sys

import pytest

BACKEND = """
import pathlib, zipfile

def build_editable(wheel_directory, config_settings=None, metadata_directory=None):
    name = "fillwright-1-py3-none-any.whl"
    with zipfile.ZipFile(pathlib.Path(wheel_directory) / name, "w") as wheel:
        wheel.writestr("fillwright.pth", str(pathlib.Path("src").resolve()))
        wheel.writestr("fillwright-1.dist-info/METADATA",
                       "Metadata-Version: 2.1\\nName: fillwright\\nVersion: 1\\n")
        wheel.writestr("fillwright-1.dist-info/WHEEL",
                       "Wheel-Version: 1.0\\nRoot-Is-Purelib: true\\nTag: py3-none-any\\n")
        wheel.writestr("fillwright-1.dist-info/RECORD", "")
    return name
"""
PROJECT = """
[build-system]
requires = []
build-backend = "backend"
backend-path = ["."]

[project]
name = "fillwright"
version = "1"
"""
ENTRANCE = "import os, sys; print('words', sys.argv[1:], os.getcwd()); sys.exit(7)"
SETTING_UP = "Setting up in .venv"


def _lay_out(folder, root):
    """Lay the small project out in a folder, with the real start.py."""
    (folder / "src" / "fillwright").mkdir(parents=True)
    (folder / "pyproject.toml").write_text(PROJECT)
    (folder / "backend.py").write_text(BACKEND)
    (folder / "constraints.txt").write_text("")
    (folder / "src" / "fillwright" / "__init__.py").write_text("")
    (folder / "src" / "fillwright" / "__main__.py").write_text(ENTRANCE)
    shutil.copy(root / "start.py", folder)


def _start(folder, *words, **environment):
    """Run start.py from another folder, without network and without leave to build in it."""
    return subprocess.run(
        [sys.executable, str(folder / "start.py"), *words],
        cwd=folder.parent,
        env=os.environ | {"PIP_NO_INDEX": "1", "PYTHONPATH": ""} | environment,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def made(root, tmp_path_factory):
    """A folder with spaces in its name in which start.py has run once."""
    folder = tmp_path_factory.mktemp("start") / "a bench of ours"
    folder.mkdir()
    _lay_out(folder, root)
    first = _start(folder, "lot", "two words")

    assert SETTING_UP in first.stdout, first.stderr
    assert f"words ['lot', 'two words'] {folder.parent}" in first.stdout
    assert first.returncode == 7
    return folder


def test_the_second_run_sets_nothing_up(made):
    """What is set up is used as it is; without words the demo starts."""
    second = _start(made)

    assert second.stdout == f"words ['demo'] {made.parent}\n"
    assert second.returncode == 7


def test_a_set_up_that_was_cut_off_is_repaired(made):
    """A note that was never finished means torn packages: everything is made anew."""
    site = next((made / ".venv").glob("**/site-packages"))
    (site / "torn.py").write_text("")
    (made / ".venv" / "fillwright-setup.json").write_text('{"dig')

    repaired = _start(made, "lot")

    assert SETTING_UP in repaired.stdout
    assert repaired.returncode == 7
    assert not (site / "torn.py").exists()
    assert SETTING_UP not in _start(made, "lot").stdout


def test_a_python_without_ensurepip_is_told_what_to_install(root, tmp_path):
    """Where .venv cannot be made, one sentence says which package is missing."""
    folder = tmp_path / "bench"
    folder.mkdir()
    _lay_out(folder, root)
    (tmp_path / "sitecustomize.py").write_text(
        "import importlib.util as u\n"
        "found = u.find_spec\n"
        "u.find_spec = lambda name, package=None: "
        "None if name == 'ensurepip' else found(name, package)\n"
    )

    refused = _start(folder, "lot", PYTHONPATH=str(tmp_path))

    [sentence] = refused.stderr.splitlines()
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    assert f"`sudo apt-get install python{version}-venv`" in sentence
    assert refused.returncode == 1


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        (
            "WARNING: Retrying after connection broken by 'NewConnectionError'",
            "there is no network",
        ),
        ("ERROR: Could not install: [Errno 28] No space left on device", "The disk is full"),
        ("Error: [Errno 13] Permission denied: 'bench/.venv'", "no permission to write in"),
        ("Error: [WinError 5] Access is denied: 'bench'", "no permission to write in"),
    ],
)
def test_a_known_cause_has_its_sentence(root, said, sentence):
    """What pip and the system say about network, disk and permission becomes one sentence."""
    spec = importlib.util.spec_from_file_location("start", root / "start.py")
    start = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(start)

    cause = str(start._cause(said))

    assert sentence in cause
    assert cause.count("\n") == 0


def test_an_older_python_can_read_the_file(root):
    """Python 3.7 parses start.py, so that it can say that it is too old."""
    ast.parse((root / "start.py").read_text(encoding="utf-8"), feature_version=(3, 7))
