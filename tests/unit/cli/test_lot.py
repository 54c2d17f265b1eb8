"""``fillwright lot`` in this process: files in, verdict first, refusals that name the place."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from pypdf import PdfReader

WORDS = ("--nominal", "250 g", "--rules", "EU-76/211", "--lot-size", "300")
# Thirty weights by hand: mean 250.2, fifteen of 250.0 and fifteen of 250.4, so s² is
# 30 x 0.04 / 29 and s 0.20342.
GOOD = "net (g)\n" + "250.0\n250.4\n" * 15


@pytest.fixture
def file(tmp_path):
    """Write a file of weights and return its name."""

    def written(text, name="w.csv", encoding="utf-8"):
        data = text if isinstance(text, bytes) else text.encode(encoding)
        (tmp_path / name).write_bytes(data)
        return name

    return written


def test_the_verdict_comes_first(command, file):
    """The first line is the verdict, then the reason, then the figures of the hand."""
    ended = command("lot", file(GOOD), *WORDS)

    lines = ended.out.splitlines()
    assert (ended.status, ended.err) == (0, "")
    assert lines[0] == "ACCEPTED"
    assert "s = 0.203419 g" in ended.out
    # 250 - 0.503 x 0.203419 = 249.898
    assert "limit = label − k × s = 250 − 0.503 × 0.203419 = 249.898 g" in ended.out
    assert "T1 = 250 − 9 = 241 g" in ended.out
    assert max(len(line) for line in lines) <= 80


@pytest.mark.parametrize(
    ("weights", "headline"),
    [
        (GOOD.replace("250.", "249."), "REJECTED"),
        (GOOD + "235\n" * 5, "ACCEPTED"),
        (GOOD + "230\n", "ACCEPTED, BUT NOT COMPLIANT"),
        (GOOD.replace("250.0", "240.9", 2), "DRAW A SECOND SAMPLE"),
        (GOOD.replace("250.0\n", "231.9\n", 1), "ACCEPTED, BUT NOT COMPLIANT"),
        ("net\n250\n", "SAMPLE TOO SMALL"),
    ],
)
def test_every_verdict_ends_with_0(command, file, weights, headline):
    """A bad outcome is an answer; beyond the sample only a package below T2 matters."""
    ended = command("lot", file(weights), *WORDS)

    assert ended.status == 0
    assert ended.out.splitlines()[0] == headline


def test_a_short_package_is_listed_with_its_row(command, file):
    """What is below T1 stands with the row it came from."""
    ended = command("lot", file(GOOD.replace("250.4", "240.9", 1)), *WORDS)

    assert "row 3: 240.9 g, below T1" in ended.out


def test_no_plan_and_out_of_scope_are_answered(command, file):
    """A lot that is too small and a label beyond the rules are verdicts."""
    small = command("lot", file(GOOD), *WORDS[:-1], "40")
    tiny = command("lot", file("net\n1\n"), "--nominal", "1 g", *WORDS[2:])

    assert (small.status, small.out.splitlines()[0]) == (0, "NO PLAN FOR THIS LOT")
    assert (tiny.status, tiny.out.splitlines()[0]) == (0, "OUTSIDE THESE RULES")


def test_a_label_in_millilitres_needs_the_density(command, file):
    """246.25 g at 0.985 g/mL by plain division are 250 mL exactly: mean error 0, accepted."""
    name = file("net\n" + "246.25\n" * 30)
    words = ("--nominal", "25 cL", *WORDS[2:])

    without = command("lot", name, *words)
    found = command("lot", name, *words, "--density", "0.985", "--apparent", "--json")
    true = command("lot", name, *words, "--density", "0,985", "--json")

    assert without.status == 2
    assert "--density is missing" in without.err
    assert json.loads(found.out)["mean"] == 250
    assert json.loads(found.out)["verdict"] == "accepted"
    # Buoyancy at 0.985 g/mL: (1 - 0.0012/8)/(0.985 - 0.0012) over 1/0.985 is 1.0010696.
    assert json.loads(true.out)["mean"] == pytest.approx(250 * 1.0010696, rel=1e-7)


def test_the_json_says_how_the_file_was_read(command, file):
    """The answer of lot-test is printed with the weights and how they were read."""
    ended = command("lot", file("gross_g\n" + "268.2\n" * 30), *WORDS, "--tare", "18,2", "--json")

    found = json.loads(ended.out)
    assert found["verdict"] == "accepted"
    assert found["T1_limit"] == "241"
    assert found["as_read"]["net_g"] == ["250.0"] * 30
    assert found["as_read"]["tare_g"] == "18.2"


def test_empties_from_a_file_are_judged(command, file):
    """Ten empties of mean 18.25: the mean is taken off and the number of them is judged."""
    empties = file("tare\n" + "18.2\n18.3\n" * 5, "t.csv")

    ended = command("lot", file("gross\n" + "268.25\n" * 30), *WORDS, "--tare-file", empties)

    assert ended.out.splitlines()[0] == "ACCEPTED"
    assert "average empty 18.25 g, mean of 10 empties, sd hidden by the scale's step" in ended.out
    assert "10 empties are enough" in ended.out


def test_the_second_sample_decides(command, file):
    """Two short in the first thirty ask for a second; none in it makes two of sixty: accepted."""
    first = file(GOOD.replace("250.0", "240.9", 2))
    second = file(GOOD, "second.csv")

    ended = command("lot", first, *WORDS, "--second-sample", second)

    assert ended.out.splitlines()[0] == "ACCEPTED"
    assert "below T1 over both samples: 2 of 60 (accepted up to 4, rejected from 5)" in ended.out


def test_an_own_plan_goes_into_the_report_with_its_source(command, file):
    """A plan typed from a document is used, and named."""
    words = ("--nominal", "250 g", "--rules", "OIML-R87-2016", "--lot-size", "60")
    plan = ("--own-plan", "20,0.64,1,0", "--own-source", "edition 2016, table 2")

    ended = command("lot", file(GOOD), *words, *plan)

    assert ended.out.splitlines()[0] == "ACCEPTED"
    assert "plan typed from edition 2016, table 2" in ended.out


def test_a_supplied_variation_is_used(command, file):
    """Under US rules a label in mL takes the figure from the document."""
    name = file("net\n" + "250\n" * 12)
    words = ("--nominal", "250 mL", "--rules", "US-HB133-A", "--lot-size", "100")
    density = ("--density", "0.99")
    mav = ("--mav", "9", "--mav-edition", "2024", "--mav-page", "table 2-6")

    assert command("lot", name, *words, *density).out.splitlines()[0] == "NOT EVALUATED"
    assert command("lot", name, *words, *density, *mav).out.splitlines()[0] == "ACCEPTED"


@pytest.mark.parametrize(
    ("text", "words", "message"),
    [
        ("net\n250\nx\n", (), "w.csv, row 3, column net: 'x' is not a weight"),
        ("", (), "w.csv: there is nothing in it"),
        (b"\x00\x01\xff" * 99, (), "w.csv: this is not text"),
        (GOOD, ("--density", "1"), "--density is given for a label in g"),
        (GOOD, ("--tare", "18"), "there is no tare to take off"),
        (GOOD, ("--tare", "x"), "--tare is 'x'; give a number"),
        (GOOD, ("--tare", "0"), "--tare is 0; give above 0"),
        (GOOD, ("--tare", "1", "--tare-file", "t"), "give one of them"),
        (GOOD, ("--tare-file", "t.csv"), "t.csv: cannot be read (there is no such file)"),
        (GOOD, ("--plan", "triple"), "has no plan 'triple'"),
        (GOOD, ("--rules", "none"), "there is no rule set 'none'"),
        (GOOD, ("--nominal", "250"), "give one of the units"),
        (GOOD, ("--nominal", "x mL"), "give a number above zero and a unit"),
        (GOOD, ("--nominal", "0 g"), "give a number above zero and a unit"),
        (GOOD, ("--own-plan", "5,1,1,0"), "needs --own-source"),
        (GOOD, ("--own-plan", "5,1", "--own-source", "x"), "give N,K,AC,T2"),
        (GOOD, ("--own-source", "x"), "without --own-plan"),
        (GOOD, ("--mav", "9"), "needs --mav-edition and --mav-page"),
        (GOOD, ("--mav-page", "9"), "--mav is missing"),
        (GOOD, ("--lot-size", "20"), "check the lot size"),
        (GOOD, ("--column", "gross"), "no column is headed 'gross'"),
        (GOOD, ("--pdf", "."), ".: cannot be written (it is a folder)"),
        (GOOD, ("--pdf", "none/x.pdf"), "cannot be written (there is no such folder"),
        (GOOD, ("--pdf", "-"), "- is no name for a paper"),
        (GOOD, ("--tare", "1,234"), "--tare is 1,234, which can be two numbers; give 1.234 or 12"),
        (GOOD, ("--own-plan", "\u00b2,1,1,0", "--own-source", "x"), "give N,K,AC,T2"),
        (GOOD, ("--own-plan", "1234567890,1,1,0", "--own-source", "x"), "give N,K,AC,T2"),
        (GOOD, ("--own-plan", "20,0.64,20,0", "--own-source", "x"), "accepts whatever the sample"),
    ],
    ids=lambda value: repr(value)[:40],
)
def test_a_bad_input_ends_with_2_and_one_sentence(command, file, text, words, message):
    """What is wrong is said in one sentence on standard error, nothing on the other."""
    ended = command("lot", file(text), *WORDS, *words)

    assert (ended.status, ended.out) == (2, "")
    assert message in " ".join(ended.err.split())
    assert ended.err.strip().endswith(".")


@pytest.mark.parametrize("source", ["none.csv", "."])
def test_a_file_that_cannot_be_read(command, source):
    """A missing file and a folder are named."""
    ended = command("lot", source, *WORDS)

    assert ended.status == 2
    assert ended.err.startswith(f"{source}: cannot be read")


@pytest.mark.parametrize("option", ["weights", "--second-sample", "--tare-file"])
def test_a_paper_is_not_written_over_the_weights(command, file, tmp_path, option):
    """The same name for the weights and for the paper leaves the weights as they are."""
    gross = GOOD.replace("net", "gross").replace("\n2", "\n3")
    names = {"weights": file(gross), "--second-sample": file(gross, "s.csv")}
    names["--tare-file"] = file("tare\n100.0\n100.1\n", "t.csv")
    others = [word for name in ("--second-sample", "--tare-file") for word in (name, names[name])]
    before = (tmp_path / names[option]).read_bytes()

    ended = command("lot", names["weights"], *WORDS, *others, "--pdf", f"./{names[option]}")

    assert ended.status == 2
    assert "the weights stand in this file" in ended.err
    assert (tmp_path / names[option]).read_bytes() == before


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        (GOOD.replace("\n25", "\n125"), "The mean is 5 times what the label declares"),
        (GOOD.replace("(g)", "(mg)"), "The mean is 0.001 times what the label declares"),
    ],
)
def test_a_mean_far_from_the_label_is_doubted(command, file, text, doubt):
    """A wrong unit, or a container that was weighed along, is said beside the verdict."""
    ended = command("lot", file(text), *WORDS)
    asked = command("lot", file(text), *WORDS, "--json")

    assert ended.status == 0
    assert doubt in " ".join(ended.out.split())
    assert json.loads(asked.out)["as_read"]["doubt"].startswith(doubt)


def test_a_comma_is_the_mark_of_a_density(command, file):
    """1,025 g/mL can be no thousand."""
    words = ("--nominal", "250 mL", "--rules", "EU-76/211", "--lot-size", "300")

    point = command("lot", file(GOOD), *words, "--density", "1.025", "--json")
    comma = command("lot", file(GOOD), *words, "--density", "1,025", "--json")

    assert comma.status == 0
    assert json.loads(comma.out)["mean"] == json.loads(point.out)["mean"]


def test_standard_input_is_a_file_too(command):
    """A dash reads the weights from standard input."""
    ended = command("lot", "-", *WORDS, stdin=GOOD.encode("utf-16"))

    assert ended.out.splitlines()[0] == "ACCEPTED"
    assert "standard input: Column 'net (g)' read as net weights" in ended.out


def test_the_paper_holds_verdict_and_weights(command, file, tmp_path):
    """The PDF replaces what was there and holds the verdict and every weight."""
    (tmp_path / "lot.pdf").write_bytes(b"old")

    ended = command("lot", file(GOOD), *WORDS, "--pdf", "lot.pdf", "--title", "Pear wash")

    text = " ".join(page.extract_text() for page in PdfReader(tmp_path / "lot.pdf").pages)
    assert ended.status == 0
    assert "Written to lot.pdf." in ended.out
    assert "Accepted" in text
    assert "Pear wash" in text
    assert text.count("250.4") >= 15
    assert [path.name for path in tmp_path.iterdir()] != []
    assert not list(tmp_path.glob(".lot.pdf*"))


def test_an_old_terminal_gets_plain_letters(command, file):
    """Signs that a terminal lacks are written in plain letters, and nothing fails."""
    ended = command("lot", file(GOOD), *WORDS, encoding="ascii")

    assert ended.status == 0
    assert "limit = label - k x s = 250 - 0.503 x 0.203419" in ended.out


def test_weights_of_any_size_stay_exact(command, file):
    """A label of 23 g, T 2.1: a weight of 20.9 g is on the limit and is not counted."""
    words = ("--nominal", "23 g", "--rules", "EU-76/211", "--lot-size", "100")

    ended = command("lot", file("net\n" + "23\n" * 29 + "20.9\n"), *words, "--json")

    found = json.loads(ended.out)
    assert Decimal(found["T1_limit"]) == Decimal("20.9")
    assert found["count_below_T1"] == 0
