"""The tests themselves: each says what holds, names the error it expects, waits for nothing."""

from __future__ import annotations

import ast

import pytest


def _tests(trees, root):
    """Every parsed file of the tests, by its path from the root."""
    return {
        str(path.relative_to(root)): tree
        for path, tree in trees.items()
        if path.is_relative_to(root / "tests")
    }


def _called(node: ast.AST) -> str:
    """The dotted name that a call calls, or nothing."""
    return ast.unparse(node.func) if isinstance(node, ast.Call) else ""


def _replaces_ours(node: ast.Call) -> bool:
    """Tell whether a call replaces something of ours; a limit made small is no replacement."""
    words = [word.value for word in node.args[:2] if isinstance(word, ast.Constant)]
    name = next((w for w in reversed(words) if isinstance(w, str)), "").rpartition(".")[2]
    where = ast.unparse(node.args[0]).strip("'") if node.args else ""
    return where.startswith("fillwright") and not name.strip("_").isupper()


def _breaches(tree: ast.Module) -> list[str]:
    """What a file of tests does that the house does not."""
    found = []
    for node in ast.walk(tree):
        name = getattr(node, "name", "")
        is_function = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        if is_function and name.startswith("test_") and not ast.get_docstring(node):
            found.append(f"{node.lineno}: {name} does not say what holds")
        called = _called(node)
        if called == "pytest.raises" and not any(word.arg == "match" for word in node.keywords):
            found.append(f"{node.lineno}: raises without match")
        if called in {"time.sleep", "asyncio.sleep", "sleep"}:
            found.append(f"{node.lineno}: sleeps")
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = [alias.name for alias in node.names] + [getattr(node, "module", "") or ""]
            if any(name.split(".")[-1] == "mock" for name in names):
                found.append(f"{node.lineno}: mocks")
        if called in {"monkeypatch.setattr", "mocker.patch"} and _replaces_ours(node):
            found.append(f"{node.lineno}: replaces our own function")
    return found


def test_every_test_keeps_to_the_house(trees, root):
    """Every test says what holds and which error it expects; none sleeps or mocks our code."""
    breaches = [
        f"{path}:{breach}"
        for path, tree in _tests(trees, root).items()
        for breach in _breaches(tree)
    ]

    assert not breaches, "\n".join(breaches)


@pytest.mark.parametrize(
    ("planted", "found"),
    [
        ("def test_x():\n    assert 1", "does not say what holds"),
        ("with pytest.raises(ValueError): pass", "raises without match"),
        ("time.sleep(1)", "sleeps"),
        ("from unittest import mock", "mocks"),
        ("monkeypatch.setattr('fillwright.jobs.run.stage.weigh', f)", "replaces our own function"),
        ("monkeypatch.setattr(fillwright.jobs.run, 'weigh', f)", "replaces our own function"),
    ],
)
def test_a_planted_breach_is_found(planted, found):
    """Each rule finds the breach it is for."""
    [breach] = _breaches(ast.parse(planted))

    assert breach.endswith(found)
