"""A chart as an object that a notebook shows by itself and a script saves."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fillwright.records.charts import Chart
from fillwright.report.charts import describe, draw

__all__ = ["Picture"]


@dataclass(frozen=True, slots=True, repr=False)
class Picture:
    """A drawn chart: a notebook shows it, `save` writes it, its text is one sentence.

    Parameters
    ----------
    chart : Chart
        What it shows.
    """

    chart: Chart

    def __repr__(self) -> str:
        """Return what the chart shows, in one sentence."""
        return f"<{describe(self.chart)}>"

    def _repr_svg_(self) -> str:
        """Return the drawing, for a notebook."""
        return draw(self.chart, for_print=True)

    def save(self, path: str | Path) -> None:
        """Write the drawing, black on white, as an SVG file.

        Parameters
        ----------
        path : str or Path
            Where to; an older file is written over.
        """
        Path(path).write_text(self._repr_svg_() + "\n", encoding="utf-8", newline="\n")
