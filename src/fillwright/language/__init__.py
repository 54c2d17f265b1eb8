"""What leaves the program, in the language and the measures that people chose.

Texts are written in English where they arise and the journal keeps them so; the edges (pages,
papers, terminal) hand them through here. English in metric measures passes untouched.
"""

from __future__ import annotations

from fillwright.language.edge import PLAIN, Way, page, said, said_all, script_texts, warm, way_of
from fillwright.language.tongues import TONGUES, Tongue, shown_tongues, tongue_of

__all__ = [
    "PLAIN",
    "TONGUES",
    "Tongue",
    "Way",
    "page",
    "said",
    "said_all",
    "script_texts",
    "shown_tongues",
    "tongue_of",
    "warm",
    "way_of",
]
