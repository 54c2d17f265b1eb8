"""Which seal materials stand a product and its cleaners, by the table of materials."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fillwright.knowledge.seal_tables import materials
from fillwright.science.seals_material import (
    MaterialLook,
    MaterialVerdict,
    Rated,
    judge_material,
)

__all__ = ["SealChoice", "seal_choice"]

SEALS: Final = ("EPDM", "FKM", "NBR", "HNBR", "VMQ", "FFKM", "PTFE", "UHMWPE")
"""Materials that seals and rings are made of."""
CLEANERS: Final = frozenset(
    {
        "acid_cleaner",
        "alkaline_cleaner",
        "hot_water",
        "hydrogen_peroxide",
        "hypochlorite",
        "peracetic_acid",
        "steam",
    }
)
"""Media that meet a seal at a temperature of their own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SealChoice:
    """Materials that do, that need a soak test first, and that must not be used.

    Parameters
    ----------
    good, doubtful, never : tuple of str
        Short names, in the order of the table.
    worst : mapping of str to str
        What decides for each material.
    """

    good: tuple[str, ...]
    doubtful: tuple[str, ...]
    never: tuple[str, ...]
    worst: dict[str, str]


def seal_choice(media: tuple[str, ...], product_c: Decimal) -> SealChoice | None:
    """Return which seal materials stand what touches them; None where nothing was told.

    A moving seal is asked for throughout, because product cylinder and valve have them.
    """
    if not media:
        return None
    looks = {name: _look(name, media, float(product_c)) for name in SEALS}
    by_verdict = {
        verdict: tuple(name for name in SEALS if looks[name].verdict is verdict)
        for verdict in MaterialVerdict
    }
    return SealChoice(
        good=by_verdict[MaterialVerdict.USE],
        doubtful=by_verdict[MaterialVerdict.SOAK_TEST],
        never=by_verdict[MaterialVerdict.DO_NOT_USE],
        worst={name: materials().media[look.worst_medium].name for name, look in looks.items()},
    )


def _look(name: str, media: tuple[str, ...], product_c: float) -> MaterialLook:
    """Return how a material stands against the worst of what touches it."""
    kind = materials().materials[name]
    looks = []
    for key in media:
        medium = materials().media[key]
        at_c = medium.rated_at_c if key in CLEANERS else product_c
        looks.append(
            judge_material(
                {key: Rated(rating=medium.ratings[name], rated_at=medium.rated_at_c)},
                temperature=at_c,
                coldest=kind.min_c,
                hottest=kind.max_c,
                is_moving=True,
            )
        )
    return max(looks, key=lambda one: one.overall)
