"""In CI nothing is skipped quietly."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

import pytest

TESTS = """
import pytest

def test_that_lacks_something():
    pytest.skip("no bench here")

@pytest.mark.xfail(reason="known")
def test_that_is_known_to_fail():
    assert False
"""


@pytest.mark.parametrize(
    ("environment", "status", "told"),
    [
        ({"CI": "true"}, 1, "1 failed, 1 xfailed"),
        ({"FILLWRIGHT_STRICT": "1"}, 1, "1 failed, 1 xfailed"),
        ({}, 0, "1 skipped, 1 xfailed"),
    ],
)
def test_a_skip_is_a_failure_in_ci_alone(root, tmp_path, environment, status, told):
    """A skipped test fails the run under CI with its reason, and is a plain skip elsewhere."""
    shutil.copy(root / "tests" / "conftest.py", tmp_path)
    (tmp_path / "test_it.py").write_text(TESTS)
    outside = {k: v for k, v in os.environ.items() if k not in {"CI", "FILLWRIGHT_STRICT"}}

    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-rs", "-p", "no:cacheprovider", str(tmp_path)],
        cwd=tmp_path,
        env=outside | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"} | environment,
        capture_output=True,
        text=True,
        check=False,
    )

    assert told in run.stdout
    assert "no bench here" in run.stdout
    assert run.returncode == status
