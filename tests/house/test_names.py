"""No name that nobody has looked at: every capitalised word of data and docs is known.

Known means: our own texts hold the word in small letters too, our sources define it, the
glossary has it, or ``allowed_names.txt`` lists it. There is no list of forbidden names.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

LOOKED_AT = {".md", ".toml", ".csv", ".json", ".html", ".typ", ".txt"}
NOT_PROSE = re.compile(
    r"```.*?```|`[^`\n]*`|\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}|<[^<>]*>|https?://\S+|&\w+;|\\u[0-9a-f]{4}",
    re.DOTALL,
)
CAPITALISED = re.compile(r"(?<![\w'\u2019.#&])[A-Z][^\W_]*(?:[A-Z_][^\W_]*)*")
# Symbols, clauses and roman numbers: T1, Ac2, R87, HB133, XIV.
SYMBOL = re.compile(r"[A-Z]{1,3}[a-z]?\d+\w?|[A-Z]|[IVX]+|[A-Z][a-z]?_\w+")


@pytest.fixture(scope="module")
def prose(root, texts) -> dict[Path, str]:
    """Data, pages and docs with code, markup and addresses taken out."""
    return {
        path: NOT_PROSE.sub(" ", text)
        for path, text in texts.items()
        if path.suffix in LOOKED_AT
        and path.name not in {"constraints.txt", "pyproject.toml"}
        and not path.name.startswith("LICENSE")
        and not path.is_relative_to(root / "tests")
    }


@pytest.fixture(scope="module")
def known(root, texts, trees, prose) -> set[str]:
    """Words that need no look: ours in small letters, defined, in the glossary, or allowed."""
    words = set()
    for text in prose.values():
        words |= set(re.findall(r"\b[^\W\d_A-Z]{2,}\b", text))
    for path, tree in trees.items():
        if path.is_relative_to(root / "src"):
            for node in ast.walk(tree):
                if isinstance(node, ast.ClassDef):
                    words.add(node.name)
                if isinstance(node, ast.Constant) and isinstance(node.value, str):
                    words |= set(re.findall(r"\b[^\W\d_A-Z]{2,}\b", node.value))
    allowed = texts[root / "tests" / "house" / "allowed_names.txt"]
    for line in allowed.splitlines():
        words |= set() if line.startswith("#") else set(line.split())
    glossary = texts.get(root / "docs" / "reference" / "glossary.md", "")
    for term in re.findall(r"^\| ([^|]+) \|", glossary, re.MULTILINE):
        words |= set(re.findall(r"\w+", term))
    return words


def test_every_name_has_been_looked_at(root, prose, known):
    """Data, pages and docs hold no capitalised word that is not known."""
    strange = [
        f"{path.relative_to(root)}:{number}: {word}"
        for path, text in prose.items()
        for number, line in enumerate(text.splitlines(), 1)
        for word in _strange(line, known)
    ]

    assert not strange, "\n".join(strange)


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("Ask for a Zorbulex seal.", ["Zorbulex"]),
        ("Zorbulex seals fit.", ["Zorbulex"]),
        ("Ask for a zorbulex seal of T1.", []),
        ("A Seal-maker of ISO.", []),
        ('name = "QuillFlow 200"', ["QuillFlow"]),
    ],
)
def test_a_planted_name_is_found(line, found):
    """A coined name is found wherever it stands; ordinary words and symbols are not."""
    assert _strange(line, {"ask", "seal", "maker", "ISO"}) == found


def _strange(line: str, known: set[str]) -> list[str]:
    """Capitalised words of a line that are not known."""
    return [
        word
        for word in CAPITALISED.findall(line)
        if not SYMBOL.fullmatch(word)
        and not {word, word.lower(), word.lower().removesuffix("s")} & known
    ]
