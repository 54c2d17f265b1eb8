"""The terminal in US customary units: what it takes and shows, and what stays metric."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[3] / "docs" / "examples"
PROVE = ("prove", str(EXAMPLES / "proof.csv"), "--tolerance", "1", "--content", "99")


def _run(*given: str, units: str = "") -> subprocess.CompletedProcess[str]:
    """Run the command line in a process of its own."""
    around = {**os.environ, "PYTHONIOENCODING": "utf-8"}
    around.pop("FILLWRIGHT_UNITS", None)
    if units:
        around["FILLWRIGHT_UNITS"] = units
    command = [sys.executable, "-m", "fillwright", *given]
    return subprocess.run(
        command, capture_output=True, text=True, encoding="utf-8", env=around, check=False
    )


@pytest.mark.parametrize(
    ("before", "target", "units"),
    [
        (("--units", "us"), "8.82", ""),
        ((), "8.82", "us"),
        (("--units", "us"), "250.0427939625 g", ""),
    ],
)
def test_figures_are_taken_and_shown_in_ounces(before, target, units):
    """By the option, by the variable, and with a unit typed behind the figure."""
    done = _run(*before, *PROVE, "--confidence", "95", "--target", target, units=units)

    assert done.returncode == 0, done.stderr
    assert "8.82 oz" in done.stdout
    assert "limits of the claim: 8.7318 to 8.9082 oz" in done.stdout


def test_without_the_option_the_terminal_is_metric():
    """A figure in ounces may be typed all the same, with its unit."""
    done = _run(*PROVE, "--confidence", "95", "--target", "8.82 oz")

    assert done.returncode == 0, done.stderr
    assert "250.0427939625 g" in done.stdout
    assert " oz" not in done.stdout


def test_json_stays_in_the_units_of_the_record():
    """Programs get the same answer, to the last digit, whatever people are shown."""
    given = (*PROVE, "--confidence", "95", "--json")
    plain = _run(*given, "--target", "250.0427939625")
    turned = _run("--units", "us", *given, "--target", "8.82")

    assert json.loads(plain.stdout) == json.loads(turned.stdout)


def test_a_label_may_be_declared_in_fluid_ounces():
    """8 fl oz are so many millilitres exactly, and are judged as those."""
    done = _run(
        "lot", str(EXAMPLES / "lot.csv"), "--nominal", "8 fl oz", "--rules", "EU-76/211",
        "--lot-size", "420", "--tare", "15.9", "--density", "8.53 lb/gal", "--json",
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert "236.5882365" in done.stdout


def test_a_unit_that_nobody_knows_is_refused():
    """In one sentence, with what is allowed."""
    done = _run("--units", "furlongs", *PROVE, "--confidence", "95", "--target", "250")

    assert done.returncode == 2
    assert "furlongs" in done.stderr
