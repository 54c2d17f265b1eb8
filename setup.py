"""Puts the pages of the manual beside the program when it is built; all else is in pyproject."""

from __future__ import annotations

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py

KEPT = {".md", ".png", ".svg"}


class BuildWithManual(build_py):
    """The usual build, and the pages of ``docs`` copied to where the program looks for them."""

    def run(self) -> None:
        """Build."""
        super().run()
        if self.editable_mode:
            return
        docs = Path(__file__).parent / "docs"
        for path in docs.rglob("*"):
            if path.suffix in KEPT:
                to = (
                    Path(self.build_lib)
                    / "fillwright"
                    / "manual"
                    / "docs"
                    / path.relative_to(docs)
                )
                to.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(path, to)


setup(cmdclass={"build_py": BuildWithManual})
