"""``fillwright prove`` in this process."""

from __future__ import annotations

import json

import numpy as np
import pytest
from pypdf import PdfReader

from fillwright.questions import answer

FOUR = "net (g)\n498\n502\n500\n500\n"
CLAIM = ("--target", "500", "--tolerance", "1")
# Forty readings of a simulated steady run with sd 0.5 g: a claim of ±1 % is ±5 g, ten times it.
CHANCE = np.random.default_rng(3)
STEADY = "net\n" + "".join(f"{CHANCE.normal(500, 0.5):.1f}\n" for _ in range(40))


@pytest.fixture
def file(tmp_path):
    """Write a file of readings and return its name."""

    def written(text, name="r.csv"):
        (tmp_path / name).write_text(text, "utf-8")
        return name

    return written


def test_four_readings_prove_little(command, file):
    """The verdict comes first, with the interval of the hand: mean 500, s 1.633 g, 8/3 squared."""
    ended = command("prove", file(FOUR), *CLAIM)

    lines = ended.out.splitlines()
    assert (ended.status, ended.err) == (0, "")
    assert lines[0] == "CANNOT SAY YET"
    assert "n = 4, mean = 500 g, s = 1.633 g" in ended.out
    assert "limits of the claim: 495 to 505 g" in ended.out
    assert max(len(line) for line in lines) <= 80


def test_a_steady_run_holds(command, file):
    """Readings far inside the claim prove it."""
    ended = command("prove", file(STEADY), *CLAIM)

    assert ended.out.splitlines()[0] == "HOLDS ±1 %"


def test_the_json_is_the_answer_of_the_question(command, file):
    """The same readings asked by name give the same figures."""
    ended = command("prove", file(FOUR), *CLAIM, "--readability", "0.1", "--json")

    found = json.loads(ended.out)
    read = found.pop("as_read")
    assert read["net_g"] == ["498", "502", "500", "500"]
    assert found == answer(
        "prove",
        {
            "readings_g": [498, 502, 500, 500],
            "target_g": 500,
            "tolerance_percent": 1,
            "content": 0.99,
            "confidence": 0.95,
            "readability_g": 0.1,
        },
    )


def test_gross_readings_less_their_tare(command, file):
    """The options of a file are those of the lot."""
    gross = FOUR.replace("net", "gross").replace("\n49", "\n51").replace("\n50", "\n52")

    ended = command("prove", file(gross), *CLAIM, "--tare", "20", "--json")

    assert json.loads(ended.out)["mean"] == 500


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--target", "0", "--tolerance", "1"), "--target is 0; give above 0"),
        (("--target", "500", "--tolerance", "x"), "--tolerance is 'x'"),
        (("--target", "500", "--tolerance", "1", "--content", "100"), "--content is 100"),
        (("--target", "500", "--tolerance", "1", "--confidence", "0.95"), "--confidence is 0.95"),
        (("--target", "500", "--tolerance", "1", "--readability", "-1"), "give 0 or more"),
    ],
)
def test_a_claim_that_cannot_be_is_refused(command, file, words, message):
    """Percentages are percentages, and figures have their range."""
    ended = command("prove", file(FOUR), *words)

    assert (ended.status, ended.out) == (2, "")
    assert message in ended.err


def test_three_readings_are_too_few(command, file):
    """Fewer than four are refused with what would do."""
    ended = command("prove", file("net\n1\n2\n3\n"), *CLAIM)

    assert ended.status == 2
    assert "3 readings prove nothing" in ended.err


def test_the_paper_holds_verdict_and_readings(command, file, tmp_path):
    """The PDF holds the verdict and every reading."""
    ended = command("prove", file(FOUR), *CLAIM, "--pdf", "p.pdf", "--paper", "us-letter")

    text = " ".join(page.extract_text() for page in PdfReader(tmp_path / "p.pdf").pages)
    assert ended.status == 0
    assert "Cannot say yet" in text
    assert "498 g" in text
