"""The data of a paper in the language and the measures that were chosen for it."""

from __future__ import annotations

from typing import Any, Final, cast

from fillwright.language import PLAIN, Way, said_all
from fillwright.language.measures import US
from fillwright.language.papers import data_in_us

__all__ = ["AS_IS", "blocks_of", "in_the_way"]

AS_IS: Final = frozenset({"digest", "kind", "file", "mark", "gap_mm", "product"})
"""Keys of a block that hold no words."""
_TYPED: Final = frozenset(
    {"Product", "Lot code", "Lot", "Machine", "Maker", "Person", "Customer", "Serial number"}
)
"""Facts whose words people typed."""


def in_the_way(data: dict[str, object], way: Way) -> dict[str, object]:
    """Return the data of a paper with every text as it leaves.

    Parameters
    ----------
    data : dict
        What the template places.
    way : Way
        Language and measures.
    """
    if way.measures == US:
        data = cast("dict[str, object]", data_in_us(data, as_is=AS_IS, keep=way.keep))
        way = way.spoken()
    return data if way == PLAIN else cast("dict[str, object]", _spoken(data, way))


def blocks_of(data: dict[str, object]) -> list[Any]:
    """Return the blocks of a paper."""
    return list(cast("list[Any]", data["blocks"]))


def _spoken(data: object, way: Way) -> object:
    """Return texts as they leave; what people typed beside a name stays."""
    if isinstance(data, dict):
        return {key: value if key in AS_IS else _spoken(value, way) for key, value in data.items()}
    if isinstance(data, list | tuple):
        if len(data) == 2 and str(data[0]) in _TYPED:  # noqa: PLR2004  a name and what it is
            return [said_all(data[0], way), data[1]]
        return [_spoken(value, way) for value in data]
    return said_all(data, way) if not isinstance(data, str) else _plain(str(said_all(data, way)))


def _plain(text: str) -> str:
    """Return a text without the marks of reading order, which the printer sets by itself."""
    return text.replace("\u2068", "").replace("\u2069", "")
