"""The shape of files: short modules, no promises, no bare silencers, no paths of a machine."""

from __future__ import annotations

import ast
import re
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

LONGEST_MODULE = 400
LONGEST_DOCSTRING = 5
NAMES_WITHOUT_SUBJECT = {"utils", "util", "common", "helpers", "helper", "misc", "manager"}
# Put together from parts, so that this file does not hold what it looks for.
PROMISE = re.compile(r"\b(?:" + "|".join(("TO" + "DO", "FIX" + "ME", "XX" + "X")) + r")\b")
# A sentence may speak of a route or a fraction; a machine's folder has something below it.
MACHINE_PATH = re.compile(r"(?<![\w.\-])/(?:w[o]rk|r[o]ot|t[m]p|h[o]me)/[\w.]|\b[A-Z]:\\Users")
BARE_SILENCER = re.compile(r"#\s*(?:type:\s*ignore(?!\[)|noqa(?!:\s*[A-Z]+[0-9]+))")


def test_modules_are_short(package, texts):
    """No module of the sources passes 400 lines; a longer one holds two subjects."""
    long = {
        str(path.relative_to(package)): text.count("\n")
        for path, text in texts.items()
        if path.is_relative_to(package) and path.suffix == ".py"
        if text.count("\n") >= LONGEST_MODULE
    }

    assert long == {}


def test_module_docstrings_are_short(package, trees):
    """A module says in at most five lines what it answers, from where, and what not."""
    wordy = {}
    for path, tree in trees.items():
        if path.is_relative_to(package):
            words = ast.get_docstring(tree) or ""
            if not words or len(words.strip().splitlines()) > LONGEST_DOCSTRING:
                # The tree of errors is drawn in its docstring: that drawing is its one home.
                if path.name == "errors.py" and words:
                    continue
                wordy[str(path.relative_to(package))] = len(words.splitlines())

    assert wordy == {}


def test_every_package_names_what_it_offers(package, trees):
    """Each package of the sources has an ``__all__``."""
    silent = [
        str(path.relative_to(package))
        for path, tree in trees.items()
        if path.is_relative_to(package) and path.name == "__init__.py"
        if not any("__all__" in _assigned(node) for node in tree.body)
    ]

    assert silent == []


def test_no_module_without_a_subject(root, files):
    """No file or folder is named for having no subject."""
    homeless = [
        str(path.relative_to(root))
        for path in files
        if {Path(part).stem for part in path.relative_to(root).parts} & NAMES_WITHOUT_SUBJECT
    ]

    assert homeless == []


@pytest.mark.parametrize(
    ("pattern", "told"),
    [
        pytest.param(PROMISE, "a promise", id="promises"),
        pytest.param(MACHINE_PATH, "a machine's path", id="machine paths"),
        pytest.param(BARE_SILENCER, "a silencer without a code", id="bare silencers"),
    ],
)
def test_no_text_holds(pattern, told, root, texts):
    """No committed text holds a promise, a path of one machine or a silencer without a code."""
    breaches = [
        f"{path.relative_to(root)}:{number}: {told}: {line.strip()[:90]}"
        for path, text in texts.items()
        if path.name != "LICENSE"
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]

    assert not breaches, "\n".join(breaches)


@pytest.mark.parametrize(
    ("pattern", "planted"),
    [
        (PROMISE, "# TO" + "DO later"),
        (MACHINE_PATH, 'open("/ro' + 'ot/x.csv")'),
        (BARE_SILENCER, "x = 1  # no" + "qa"),
        (BARE_SILENCER, "x = 1  # type: " + "ignore"),
    ],
)
def test_a_planted_breach_is_found(pattern, planted):
    """The three patterns find what they are for."""
    assert pattern.search(planted)


@pytest.mark.parametrize(
    ("pattern", "planted"),
    [
        (MACHINE_PATH, "POST /api/v1/work/1 and 5/work/2"),
        (BARE_SILENCER, "x = 1  # noqa: PLC0415  light start"),
        (BARE_SILENCER, "x = 1  # type: ignore[arg-type]"),
    ],
)
def test_an_innocent_line_is_left_alone(pattern, planted):
    """The patterns leave a silencer with its code and an address of the web interface alone."""
    assert not pattern.search(planted)


def test_constraints_are_names_and_versions_only(root):
    """The file of exact versions holds no address, digest or option: only ``name==version``."""
    lines = (root / "constraints.txt").read_text(encoding="utf-8").splitlines()

    odd = [
        line for line in lines if not re.fullmatch(r"[A-Za-z0-9._-]+==[0-9][0-9A-Za-z.+!]*", line)
    ]

    assert odd == []


def test_everything_that_is_installed_is_pinned(root):
    """The whole closure of run time, tests and workshop has its version in constraints.txt."""
    pinned = {
        canonicalize_name(line.partition("==")[0]): line.partition("==")[2]
        for line in (root / "constraints.txt").read_text(encoding="utf-8").splitlines()
    }
    closure = _closure("fillwright", {"test"}) - {"fillwright"}

    loose = {name for name in closure if metadata.version(name) != pinned.get(name)}

    assert loose == set()


def test_the_readme_gives_the_one_test_command(root):
    """CI runs the command that the README gives to everybody."""
    command = "python3 start.py test"
    ci = (root / ".ci" / "run").read_text(encoding="utf-8")
    just = (root / "justfile").read_text(encoding="utf-8")
    readme = root / "README.md"

    assert f"CI=true exec {command}\n" in ci
    assert "{{system_python}} start.py test\n" in just
    assert not readme.exists() or command in readme.read_text(encoding="utf-8")


def test_package_data_covers_every_file_of_the_package(root, package, files):
    """What is not Python in the sources is named as package data, or it would not be installed."""
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = project["tool"]["setuptools"]["package-data"]["fillwright"]
    kinds = {pattern.rpartition(".")[2] for pattern in patterns} | {"py"}

    left_out = [
        str(path.relative_to(package))
        for path in files
        if path.is_relative_to(package) and path.name != "py.typed"
        if path.suffix[1:] not in kinds
    ]

    assert left_out == []


def _assigned(node: ast.stmt) -> set[str]:
    """Names that a statement gives a value."""
    if isinstance(node, ast.Assign):
        return {target.id for target in node.targets if isinstance(target, ast.Name)}
    if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        return {node.target.id}
    return set()


def _closure(name: str, extras: set[str]) -> set[str]:
    """Names of all that an installed distribution pulls in here."""
    found: set[str] = set()
    todo = [(canonicalize_name(name), frozenset(extras))]
    seen = set()
    while todo:
        current = todo.pop()
        if current in seen:
            continue
        seen.add(current)
        found.add(current[0])
        for text in metadata.requires(current[0]) or ():
            needed = Requirement(text)
            chosen = [{"extra": extra} for extra in current[1]] or [{"extra": ""}]
            if needed.marker is None or any(needed.marker.evaluate(env) for env in chosen):
                todo.append((canonicalize_name(needed.name), frozenset(needed.extras)))
    return found
