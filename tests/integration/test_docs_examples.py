"""The examples of README and docs, run as they stand, and the figures that their text quotes.

A ``console`` block is run line by line, one folder for a page; ``...`` stands for anything and
a line may break elsewhere. A block after ``<!-- file: NAME -->`` is that file. A ``python``
block is a doctest.
"""

from __future__ import annotations

import doctest
import importlib.util
import io
import random
import re
import shlex
import shutil
import sys
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from scipy.stats import chi2, norm

from fillwright import ask
from fillwright.cli.app import run
from fillwright.jobs.desk import Press
from fillwright.jobs.limits import LABEL_C
from fillwright.jobs.match import stage as match
from fillwright.jobs.opening import open_job, propose_aim
from fillwright.jobs.prove import stage as prove
from fillwright.jobs.setup import settings
from fillwright.jobs.setup import stage as setup
from fillwright.jobs.trim import unsettled
from fillwright.questions import answer_json
from fillwright.wiring import maker
from fillwright.wiring.bench import desk_on

ROOT = Path(__file__).parents[2]
BLOCK = re.compile(r"(?:<!-- file: (\S+) -->\n)?```(\w*)\n(.*?)```", re.DOTALL)
PAGES = (
    ROOT / "README.md",
    *sorted((ROOT / "docs" / "howto").glob("*.md")),
    *sorted((ROOT / "docs" / "explanation").glob("*.md")),
)
WITH_EXAMPLES = [page for page in PAGES if BLOCK.search(page.read_text(encoding="utf-8"))]
LIKE = doctest.OutputChecker()
HOW = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
DEMO = "fillwright demo --headless --out story"


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    """The folder that the README's demo command leaves, with what that command printed."""
    folder = tmp_path_factory.mktemp("played")
    return folder, _output(DEMO, folder)


@pytest.fixture
def desk_folder(tmp_path, story):
    """A folder that holds what the examples expect: the example files, and a played story."""
    shutil.copytree(ROOT / "docs" / "examples", tmp_path / "docs" / "examples")
    shutil.copytree(story[0] / "story", tmp_path / "story")
    return tmp_path


@pytest.mark.parametrize("page", WITH_EXAMPLES, ids=lambda page: page.stem)
def test_the_examples_of_a_page_give_what_they_show(page, desk_folder, story, monkeypatch):
    """Each command prints what the page says it prints, each line of Python likewise."""
    monkeypatch.chdir(desk_folder)
    wrong = []
    for name, language, body in BLOCK.findall(page.read_text(encoding="utf-8")):
        if name:
            (desk_folder / name).write_text(body, encoding="utf-8")
        elif language == "console":
            wrong += _run_console(body, desk_folder, story[1])
        elif language == "python":
            wrong += _run_python(body, page.stem)

    assert not wrong, "\n\n".join(wrong)


def test_every_rule_set_is_on_its_page():
    """The page of rule sets is what its script makes of the data files."""
    script = _script("make_rules")

    assert script.PAGE.read_text(encoding="utf-8") == script.page(), (
        "the rule sets have changed: run `python docs/make_rules.py`"
    )


def test_the_pictures_of_the_explanations_are_today_s():
    """What lies among the shots is what the script draws from its seeds."""
    script = _script("make_pictures")
    old = [
        name
        for name, drawn in script.PICTURES.items()
        if (script.FOLDER / name).read_text(encoding="utf-8") != drawn() + "\n"
    ]

    assert old == [], "run `python docs/make_pictures.py`"


def test_the_json_example_is_an_answerable_question():
    """The example file for `ask lot-test` is accepted as the commands page leads to expect."""
    text = (ROOT / "docs" / "examples" / "lot-test.json").read_text(encoding="utf-8")

    assert answer_json("lot-test", text).status == 200


def test_the_tutorial_quotes_the_pages(tmp_path):
    """Orders, figures and cautions that do not hang on chance stand in the tutorial."""
    page = (ROOT / "docs" / "tutorial" / "first-job.md").read_text(encoding="utf-8")
    desk = desk_on(tmp_path / "journal.sqlite3")
    facts = maker.JOBS[3]
    proposed = propose_aim(desk, facts)
    facts = replace(facts, aim_g=proposed.aim_g)
    state = open_job(desk, facts, Press(person="AB"))
    matched, steps = match.look(desk, state), setup.steps_of(desk, state)
    quoted = [
        matched.act.order,
        matched.headline,
        f"{facts.aim_g} g",
        proposed.because.split("target: ")[1].split(",")[0],
        *(step.order for step in steps if step.key not in ("scale", "empties", "air-out")),
        f"{facts.scale.check_weight_g} g check weight",
        *(caution.words for caution in steps[0].cautions if caution.must_tick),
        prove.look(desk, state).act.order,
        f"{facts.expected_sd_pct} % of the dose",
    ]
    desk.journal.close()

    assert [words for words in quoted if words not in page] == []


def test_the_figures_of_four_good_readings():
    """Factors, chances and the number of readings are those that the questions answer."""
    page = (ROOT / "docs" / "explanation" / "four-good-readings.md").read_text(encoding="utf-8")
    claim = {"content": 0.99, "confidence": 0.95}
    machine = {"true_sd_percent": 0.2, "offset_percent": 0, "tolerance_percent": 1, **claim}
    rows = [
        f"| {n} | {ask('tolerance-factor', {'n': n, 'sides': 2, **claim})['k']:.2f} |"
        for n in (4, 10, 20, 30)
    ]
    rows += [
        f"| {n} | {100 * ask('prove-chance', {'n': n, **machine})['probability']:.0f} % |"
        for n in (4, 11, 20)
    ]
    wider = {**machine, "true_sd_percent": 0.3}
    most = ask("prove-chance", {"n": 30, **machine})["probability"]
    wide = ask("prove-chance", {"n": 30, **wider})["probability"]
    needed = ask("prove-plan", {**wider, "power": 0.9})["n"]

    assert [row for row in rows if row not in page] == []
    assert most > 0.99
    assert f"with {100 * wide:.0f} %, and {needed} are needed for 90 %" in page
    assert f"k would be {norm.ppf(0.995):.2f}" in page
    # Below half of the true scatter: 3 s²/σ² below 3/4, a chi-square with 3 degrees of freedom.
    assert 1 / chi2.cdf(0.75, 3) == pytest.approx(7, abs=0.5)


def test_the_figures_of_what_the_law_tests():
    """A lot at the label passes with the chance that the page gives."""
    page = (ROOT / "docs" / "explanation" / "what-the-law-tests.md").read_text(encoding="utf-8")
    lot = {"rules": "EU-76/211", "nominal": 250, "unit": "mL", "lot_size": 420}
    found = ask(
        "acceptance-chance", {**lot, "process_mean": 250, "sd_within": 1, "sd_between_lots": 0}
    )

    assert f"with {100 * found['p_accept']:.1f} %" in page


def test_the_share_of_nets_that_floats_put_too_low():
    """About one net weight in five comes out too low in binary floats, as the page says."""
    chance, low, drawn = random.Random(5), 0, 20_000  # noqa: S311  no secret
    for _ in range(drawn):
        net = Decimal(chance.randint(1_000, 100_000)) / 100
        tare = Decimal(chance.randint(1_000, 50_000)) / 100
        low += float(net + tare) - float(tare) < float(net)

    assert 0.15 < low / drawn < 0.25


def test_the_fixed_choices_are_those_of_the_code():
    """The table of fixed choices holds the figures that the code uses."""
    page = (ROOT / "docs" / "reference" / "settings.md").read_text(encoding="utf-8")
    rows = [
        f"| empties weighed in Set up | {setup.EMPTIES} |",
        f"| product called hot above | {match.HOT_C} °C |",
        f"| mean dose trimmed to within | {100 * settings.MEAN_WITHIN:g} % of the aim",
        f"| shots after which a trim is sent to look for the cause | {unsettled.MOST_SHOTS} |",
        f"| probability wanted of a trim that began anew | {unsettled.SECOND_PROBABILITY:.2f} |",
        f"| temperature at which a label volume holds | {LABEL_C} °C |",
    ]

    assert [row for row in rows if row not in page] == []


def _script(name: str):
    """Load one of the scripts that make pages."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "docs" / f"{name}.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    return script


def _run_console(body: str, folder: Path, played: str) -> list[str]:
    """Run the commands of a block; return what differs from the page."""
    wrong = []
    for part in re.split(r"^\$ ", body, flags=re.MULTILINE)[1:]:
        command, _, wanted = part.partition("\n")
        printed = played if command == DEMO else _output(command, folder)
        if not LIKE.check_output(wanted, printed, HOW):
            wrong.append(f"$ {command}\nthe page says\n{wanted}\nit printed\n{printed}")
    return wrong


def _run_python(body: str, name: str) -> list[str]:
    """Run the lines of a doctest; return what differs from the page."""
    told: list[str] = []
    test = doctest.DocTestParser().get_doctest(body, {}, name, None, 0)
    doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(test, out=told.append)
    return ["".join(told)] if told else []


def _output(command: str, folder: Path) -> str:
    """Return what a command line prints on both streams, in a terminal 80 columns wide."""
    fed, _, words = command.rpartition(" | ")
    given = "".join(f"{word}\n" for word in shlex.split(fed)[1:])
    printed = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with pytest.MonkeyPatch.context() as here:
        here.chdir(folder)
        here.setenv("COLUMNS", "80")
        here.setenv("FILLWRIGHT_STORE", str(folder / "own.sqlite3"))
        here.setattr(sys, "argv", shlex.split(words))
        here.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given.encode())))
        here.setattr(sys, "stdout", printed)
        here.setattr(sys, "stderr", printed)
        run()
        printed.flush()
    return printed.buffer.getvalue().decode("utf-8")
