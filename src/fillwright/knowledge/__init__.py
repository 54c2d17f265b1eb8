"""Data files that the science reads, their types and their loader.

Every file states its title, source, edition and how each row is held: read in the source,
computed, from memory, or our own design.  ``types`` holds the frozen records, ``load`` reads.
"""

from __future__ import annotations

__all__: list[str] = []
