"""Charts as SVG for page and paper, and the papers as PDF.

The modules are imported one by one, so that a page that draws a chart need not load the printer.
"""

from __future__ import annotations

__all__: list[str] = []
