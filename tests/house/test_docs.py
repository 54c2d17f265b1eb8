"""The pages of docs are whole: everything that can be met is on one, links lead somewhere."""

from __future__ import annotations

import ast
import doctest
import importlib
import re
from collections import defaultdict
from enum import StrEnum

import pytest

VERDICT_ENUM = re.compile(r"^[A-Z]\w*(?:Verdict|Outcome)$|^SignalKind$")
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

    assert [kind for kind, _ in entries.KINDS if kind not in pages["journal.md"]] == []


def test_every_question_is_on_a_page(pages):
    """Each question of the question interface is named on its page."""
    table = importlib.import_module("fillwright.questions.table")

    assert [name for name in table.QUESTIONS if f"`{name}`" not in pages["questions.md"]] == []


def test_every_command_is_on_its_page(package, trees, pages):
    """Each command of the command line is named, as it is typed, on the page of commands."""
    commands = {
        name
        for path, tree in trees.items()
        if path.is_relative_to(package / "cli")
        for name in _commands(tree)
    }

    missing = [name for name in commands if f"fillwright {name}" not in pages["commands.md"]]

    assert missing == []


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
            if isinstance(node, ast.AnnAssign) and ast.unparse(node.target) == "verdict":
                for value in re.findall(r"'([\w-]+)'", ast.unparse(node.annotation)):
                    yield owner.name, value
