"""The pages of docs are whole: everything that can be met is on one, links lead somewhere."""

from __future__ import annotations

import ast
import dataclasses
import doctest
import importlib
import re
from collections import defaultdict
from enum import StrEnum
from types import SimpleNamespace
from typing import get_args

import pytest

VERDICT_ENUM = re.compile(r"^(?:[A-Z]\w*)?(?:Verdict|Outcome)$|^SignalKind$")
JUDGED = {"verdict", "outcome"}
LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)|!\[[^\]]*\]\(([^)\s]+)\)")


@pytest.fixture(scope="module")
def pages(root, texts):
    """The reference pages by name."""
    shelf = root / "docs" / "reference"
    found = {path.name: text for path, text in texts.items() if path.is_relative_to(shelf)}
    return defaultdict(str, found)


def test_every_error_is_on_its_page(pages):
    """Each error code and each class of the tree of errors has its row."""
    errors = importlib.import_module("fillwright.errors")

    missing = [word for word in (*errors.CODES, *errors.__all__) if word != "CODES"]
    missing = [word for word in missing if f"| `{word}` |" not in pages["errors.md"]]

    assert missing == []


def test_every_verdict_is_on_its_page(root, package, trees, pages):
    """Each value that a verdict can take has its row below the name of its class."""
    sections = re.split(r"^## ", pages["verdicts.md"], flags=re.MULTILINE)
    told = {
        name: set(re.findall(r"^\| `([\w-]+)` \|", section, re.MULTILINE))
        for section in sections
        for name in re.findall(r"`(\w+)`", section.partition("\n")[0])
    }

    missing = [
        f"{path.relative_to(root)}: {owner} {value}"
        for path, tree in trees.items()
        # The question interface repeats what these three give.
        if any(path.is_relative_to(package / part) for part in ("science", "records", "jobs"))
        for owner, value in _verdicts(tree)
        if value not in told.get(owner, set())
    ]

    assert not missing, "\n".join(missing)


def test_every_kind_of_entry_is_on_a_page(pages):
    """Each kind of journal entry is named on the page of the journal."""
    entries = importlib.import_module("fillwright.records.entries")

    rows = pages["journal.md"]
    assert [kind for kind, _ in entries.KINDS if f"| `{kind}` |" not in rows] == []


def test_every_question_is_on_a_page(pages):
    """Each question of the question interface has its heading on its page."""
    table = importlib.import_module("fillwright.questions.table")
    told = re.findall(r"^### `([\w-]+)`$", pages["questions.md"], re.MULTILINE)

    assert [name for name in table.QUESTIONS if name not in told] == []


def test_every_command_is_on_its_page(package, trees, pages):
    """Each command of the command line has its part of the page of commands."""
    commands = {
        name
        for path, tree in trees.items()
        if path.is_relative_to(package / "cli")
        for name in _commands(tree)
    }

    assert [name for name in commands if name not in _parts(pages["commands.md"])] == []


def test_every_word_for_a_weight_or_a_proof_is_on_its_page(pages):
    """The words that a weight and a proving run on record can get stand in their sections."""
    words = importlib.import_module("fillwright.records.proofwords").PROOF_WORDS
    states = get_args(importlib.import_module("fillwright.records.charts").DoseState)

    missing = [word for word in (*words, *states) if f"| `{word}` |" not in pages["verdicts.md"]]

    assert missing == []


def test_every_option_is_on_the_page_of_its_command(pages):
    """Each option of each command stands in its own part, or in that of the files it reads."""
    app = importlib.import_module("fillwright.cli.app").app
    commands = importlib.import_module("typer.main").get_command(app).commands
    parts = _parts(pages["commands.md"])
    shared = {"lot", "prove"}

    missing = [
        f"{name} {option}"
        for name, command in commands.items()
        for parameter in command.params
        for option in (*parameter.opts, *parameter.secondary_opts)
        if option.startswith("--") and option != "--help"
        if not re.search(
            rf"`{option}[` ]",
            parts.get(name, "") + (parts["a file of weights"] if name in shared else ""),
        )
    ]

    assert missing == []


def test_every_setting_is_on_its_page(pages):
    """Each setting of the site and each fact of a job stands on the page of settings."""
    entities = importlib.import_module("fillwright.records.entities")
    fields = [
        field.name
        for kind in (entities.SiteSettings, entities.JobFacts)
        for field in dataclasses.fields(kind)
    ]

    told = {
        name
        for row in re.findall(r"^\| ([^|]+) \|", pages["settings.md"], re.MULTILINE)
        for name in re.findall(r"`(\w+)`", row)
    }

    assert [name for name in fields if name not in told] == []


def test_every_variable_is_on_the_page_of_settings(texts, pages):
    """Each variable of the environment that our sources or tests read stands on the page."""
    read = {
        name
        for path, text in texts.items()
        if path.suffix == ".py"
        for name in re.findall(r"\"(FILLWRIGHT_[A-Z]+)\"", text)
    }

    assert [name for name in sorted(read) if f"`{name}" not in pages["settings.md"]] == []


def test_every_page_is_on_a_page(pages):
    """Each address that can be fetched, and each one for programs, stands on the page of pages."""
    app = importlib.import_module("fillwright.web.app").create_app(SimpleNamespace())
    unspoken = {"/favicon.ico", "/static"}

    missing = [
        route.path
        for route in app.routes
        if route.path not in unspoken and not route.path.endswith("/{what}")
        if not re.search(rf"`(?:[A-Z]+ )?{re.escape(route.path)}`", pages["pages.md"])
    ]

    assert missing == []


def test_every_field_of_a_weighing_is_on_a_page(pages):
    """Each field that a program may send with a weight stands on the page of pages."""
    known = importlib.import_module("fillwright.web.api")._FIELDS

    assert [name for name in sorted(known) if f"| `{name}` |" not in pages["pages.md"]] == []


def test_every_key_is_on_a_page(package, texts, pages):
    """Each key that a page gives to a button stands in the table of keys."""
    keys = {
        key
        for path, text in texts.items()
        if path.is_relative_to(package / "web" / "templates")
        or path.is_relative_to(package / "jobs")
        for key in re.findall(r"\bdata-key=\"([-+*/])\"|\bkey=\"([-+*/])\"", text)
        for key in key
        if key
    }

    shown = {key.replace("-", "\u2212") for key in keys}
    assert shown == {"\u2212", "*", "/", "+"}
    assert [key for key in sorted(shown) if f"| `{key}` |" not in pages["pages.md"]] == []


def test_the_readme_names_commands_that_exist(root, texts):
    """Every ``fillwright`` command and every option that README and how-tos show is there."""
    app = importlib.import_module("fillwright.cli.app").app
    commands = importlib.import_module("typer.main").get_command(app).commands
    wrong = []
    for path, text in texts.items():
        is_page = path == root / "README.md" or path.is_relative_to(root / "docs")
        if path.suffix != ".md" or not is_page:
            continue
        for name, rest in re.findall(r"(?<!from )\bfillwright ([a-z]+)\b([^`\n]*)", text):
            known = commands.get(name)
            options = {o for p in known.params for o in p.opts + p.secondary_opts} if known else {}
            strange = set(re.findall(r"(?<!\S)--[a-z-]+", rest)) - set(options) - {"--help"}
            if known is None or strange:
                wrong.append(f"{path.relative_to(root)}: fillwright {name} {sorted(strange)}")

    assert not wrong, "\n".join(wrong)


def test_every_page_of_docs_is_in_its_list(root, files, texts):
    """The list of the documentation leads to every page of its four shelves."""
    shelf = root / "docs"
    told = {
        (shelf / target).resolve()
        for target in re.findall(r"\]\(([^)#]+)\)", texts[shelf / "README.md"])
    }

    lost = [
        str(path.relative_to(root))
        for path in files
        if path.suffix == ".md" and path.is_relative_to(shelf) and path.name != "README.md"
        if path not in told
    ]

    assert lost == []


def test_news_fragments_are_whole(root, texts):
    """Each fragment of the news is one sentence under a known type."""
    known = {"numbers", "rules", "added", "changed", "fixed", "removed"}
    odd = [
        path.name
        for path, text in texts.items()
        if path.parent == root / "news" and path.name != "README.md"
        if not re.fullmatch(r"\+[a-z0-9-]+\.(\w+)\.md", path.name)
        or path.name.split(".")[1] not in known
        or not re.fullmatch(r"[^\n]+[.]\n?", text)
        or re.search(r"[a-z)`]\. [A-Z]", text)
    ]

    assert odd == []


def test_links_lead_somewhere(root, texts):
    """Every link from one of our pages to another file finds that file."""
    dead = [
        f"{path.relative_to(root)}: {target}"
        for path, text in texts.items()
        if path.suffix == ".md"
        for target in ("".join(found) for found in LINK.findall(re.sub(r"`[^`]*`", "", text)))
        if not re.match(r"https?://|#|mailto:", target)
        if not (path.parent / target.partition("#")[0]).exists()
    ]

    assert dead == []


def test_links_within_pages_lead_to_a_heading(root, texts):
    """A link that names a part of a page finds a heading of that name there."""
    names = {path: _headings(text) for path, text in texts.items() if path.suffix == ".md"}
    dead = [
        f"{path.relative_to(root)}: {target}"
        for path, text in texts.items()
        if path.suffix == ".md"
        for target in ("".join(found) for found in LINK.findall(re.sub(r"`[^`]*`", "", text)))
        if not re.match(r"https?://|mailto:", target) and "#" in target
        for page, _, part in [target.partition("#")]
        if part not in names.get((path.parent / page).resolve() if page else path, set())
    ]

    assert dead == []


def test_every_example_of_docs_is_run(root, texts):
    """A block of commands or of Python stands only where tests run it, under a known language."""
    run = {root / "docs" / shelf for shelf in ("howto", "explanation", "tutorial")} | {root}
    odd = [
        f"{path.relative_to(root)}: {language}"
        for path, text in texts.items()
        if path.suffix == ".md" and (path.parent == root or path.is_relative_to(root / "docs"))
        for language in re.findall(r"^ *```([^`\n]+)$", text, re.MULTILINE)
        if language not in {"console", "python", "json", "text", "toml"}
        or (language in {"console", "python"} and path.parent not in run)
    ]

    # The check of a chain by hand is run by the tests of the journal.
    assert odd == ["docs/reference/journal.md: python"]


def test_examples_in_docstrings_run(package, texts):
    """Every example in a docstring of the sources gives what it shows."""
    failed = {}
    for path, text in texts.items():
        if path.is_relative_to(package) and path.suffix == ".py" and ">>> " in text:
            name = ".".join(path.relative_to(package.parent).with_suffix("").parts)
            module = importlib.import_module(name.removesuffix(".__init__"))
            outcome = doctest.testmod(module, optionflags=doctest.ELLIPSIS)
            if outcome.failed:
                failed[name] = outcome.failed

    assert failed == {}


def _headings(text):
    """Names of the headings of a page, as the manual gives them."""
    manual = importlib.import_module("fillwright.manual.pages")
    tokens = manual.reader().parse(text)
    manual._name_headings(tokens)
    return {token.attrGet("id") for token in tokens if token.type == "heading_open"}


def _parts(page):
    """Parts of the page of commands by the command that they are of."""
    parts = re.split(r"^## ", page, flags=re.MULTILINE)[1:]
    found = {}
    for part in parts:
        name = part.partition("\n")[0].strip("`").removeprefix("fillwright ")
        found[name.removeprefix("How ").removesuffix(" is read")] = part
    return found


def _commands(tree: ast.Module):
    """Name of every command that a module of the command line registers."""
    for node in ast.walk(tree):
        is_call = isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if is_call and node.func.attr == "command" and node.args:
            yield ast.literal_eval(node.args[0])
        for mark in getattr(node, "decorator_list", ()):
            if ast.unparse(mark).endswith(".command()"):
                yield node.name.strip("_").replace("_", "-")


def _verdicts(tree: ast.Module):
    """Class and value of every verdict that a module defines."""
    for owner in ast.walk(tree):
        if not isinstance(owner, ast.ClassDef):
            continue
        is_enum = StrEnum.__name__ in {ast.unparse(base) for base in owner.bases}
        for node in owner.body:
            if is_enum and VERDICT_ENUM.match(owner.name) and isinstance(node, ast.Assign):
                yield owner.name, ast.literal_eval(node.value)
            if isinstance(node, ast.AnnAssign) and ast.unparse(node.target) in JUDGED:
                for value in re.findall(r"'([\w-]+)'", ast.unparse(node.annotation)):
                    yield owner.name, value
