"""How tables of pages are printed and put in their place: figures with standard errors."""

from __future__ import annotations

import math
import re
import sys
from pathlib import Path

import numpy as np


def share(hits: np.ndarray) -> str:
    """Print a share in percent with its standard error."""
    found, error = share_of(hits)
    return f"{100 * found:.1f} ± {100 * error:.1f}"


def share_of(hits: np.ndarray) -> tuple[float, float]:
    """Return a share and its standard error, that of one hit at least."""
    found = float(np.mean(hits))
    return found, math.sqrt(max(found * (1.0 - found), 1.0 / hits.size) / hits.size)


def mean(values: np.ndarray, *, digits: int, times: float = 1.0) -> str:
    """Print a mean with its standard error."""
    error = float(np.std(values)) / math.sqrt(values.size)
    return f"{times * float(np.mean(values)):.{digits}f} ± {times * error:.{digits}f}"


def ratio_of(tops: np.ndarray, bottoms: np.ndarray) -> tuple[float, float]:
    """Return a share counted over shots with an error counted over machines."""
    total = float(np.sum(bottoms))
    found = float(np.sum(tops)) / total
    error = math.sqrt(float(np.sum((tops - found * bottoms) ** 2))) / total
    return found, max(error, 1.0 / total)


def table(name: str, head: str, rows: list[str]) -> str:
    """Return a table between its marks."""
    rule = "| " + " | ".join("---" for _ in head.split(" | ")) + " |"
    body = "\n".join([f"| {head} |", rule, *rows])
    return f"<!-- {name} -->\n\n{body}\n\n<!-- end -->"


def written(page: Path, text: str) -> None:
    """Put a table in the place that its mark holds on a page."""
    mark = text.partition("\n")[0]
    old = page.read_text(encoding="utf-8")
    pattern = rf"{re.escape(mark)}.*?<!-- end -->"
    new, times = re.subn(pattern, lambda _: text, old, flags=re.DOTALL)
    if times != 1:
        sys.exit(f"{page} has {times} places for {mark}; it needs one")
    page.write_text(new, encoding="utf-8")
