"""What the house tests look at: the files of the tree, each source file parsed once."""

from __future__ import annotations

import ast
import os
import subprocess
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def root() -> Path:
    """The folder of the project."""
    return Path(__file__).parents[2]


@pytest.fixture(scope="session")
def files(root: Path) -> list[Path]:
    """Every file that is or will be committed; without git, all but what tools leave behind."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=root,
        capture_output=True,
        check=False,
    )
    if (root / ".git").exists() and listed.returncode == 0:
        found = [root / os.fsdecode(name) for name in listed.stdout.split(b"\0") if name]
    else:
        found = [
            path
            for path in root.rglob("*")
            if not any(
                part.startswith(".") or part.endswith((".egg-info", "__pycache__"))
                for part in path.relative_to(root).parts[:-1]
            )
        ]
    return sorted(path for path in found if path.is_file())


@pytest.fixture(scope="session")
def texts(files: list[Path]) -> dict[Path, str]:
    """Every committed text; pictures, fonts and the like left out."""
    read = {}
    for path in files:
        raw = path.read_bytes()
        if b"\0" not in raw[:8192]:
            read[path] = raw.decode("utf-8")
    return read


@pytest.fixture(scope="session")
def trees(texts: dict[Path, str]) -> dict[Path, ast.Module]:
    """Every committed Python file, parsed."""
    return {path: ast.parse(text) for path, text in texts.items() if path.suffix == ".py"}


@pytest.fixture(scope="session")
def package(root: Path) -> Path:
    """The folder of the sources."""
    return root / "src" / "fillwright"
