"""Sizes of seals as they stand on bags and in profiles, read and held against each other.

A bag says the number of an O-ring, or its inside diameter and section, or the nominal size of a
clamp gasket. What cannot be read as one of these is not known, and says nothing.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from fillwright.errors import BadInput
from fillwright.knowledge.seal_tables import ferrules, oring

__all__ = ["SealSize", "is_same", "size_told"]

_NUMBER: Final = re.compile(
    r"(?:as ?568[a-d]?|bs ?1806|iso ?3601(?:-1)?|size|no\.?|dash|o-ring)?[ :/-]*([0-9]{1,3})"
)
_MEASURES: Final = re.compile(
    r"([0-9]{1,4}(?:\.[0-9]{1,4})?) ?(mm|in|\")? ?[x*\u00d7] ?([0-9]{1,4}(?:\.[0-9]{1,4})?)"
    r" ?(mm|in|\")?"
)
_DN: Final = re.compile(r"dn ?([0-9]{2,3})")
_INCHES: Final = re.compile(r"([0-9](?:\.[0-9]{1,2})?)?(?: ?([1-3])/([24]))? ?(?:in|inch|\")")
_BARE: Final = re.compile(r"([0-9]{2,3}(?:\.[0-9])?)(?: ?mm)?")
_WORDS: Final = re.compile(r"\b(?:clamp|ferrule|gasket|din ?32676(?:[- ]?a)?|iso ?2852)\b")
_MM_PER_INCH: Final = 25.4
_SAME_SECTION_MM: Final = 0.1
_SAME_INSIDE_MM: Final = 0.2
_SAME_INSIDE_SHARE: Final = 0.01
"""So near, two rings are one size; no two of the table are. Judgement, near its tolerances."""
_SAME_BORE_MM: Final = 1.5
"""So near in bore, and of one ferrule, two gaskets are one size. Judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SealSize:
    """A size that could be read.

    Attributes
    ----------
    name : str
        Number or nominal size; empty where only measures are told.
    inside_mm : float
        Inside diameter of a ring, bore of a gasket. [mm]
    across_mm : float
        Section of a ring, outside diameter of the ferrule of a gasket. [mm]
    is_gasket : bool
        True for a clamp gasket.
    """

    name: str
    inside_mm: float
    across_mm: float
    is_gasket: bool = False

    @property
    def words(self) -> str:
        """Return the size as a person reads it, with its measures."""
        if self.is_gasket:
            return f"{self.name} (bore {self.inside_mm:g} mm, ferrule {self.across_mm:g} mm)"
        measures = f"{self.inside_mm:g} x {self.across_mm:g} mm"
        return f"{self.name} ({measures})" if self.name else measures


def size_told(text: str, kind: str) -> SealSize | None:
    """Return the size that a text tells of a kind of seal; None where it tells none.

    Parameters
    ----------
    text : str
        As on the bag or in the profile: ``224``, ``AS568-224``, ``44.04 x 3.53 mm``; for a
        gasket ``2 in``, ``DN50`` or ``51``.
    kind : str
        What the place holds, as its profile says: ``O-ring``, ``ferrule gasket``.

    Returns
    -------
    SealSize or None
        Numbers by AS568, gaskets by the ferrules of the table; millimetres.
    """
    told = " ".join(text.casefold().replace(",", ".").split())
    if "gasket" in kind.casefold():
        return _gasket(told)
    found = _MEASURES.search(told)
    if found is not None:
        of_inch = "in" in (found[2], found[4]) or '"' in (found[2], found[4])
        unit_mm = _MM_PER_INCH if of_inch else 1.0
        return SealSize(
            name="",
            inside_mm=round(float(found[1]) * unit_mm, 2),
            across_mm=round(float(found[3]) * unit_mm, 2),
        )
    number = _NUMBER.fullmatch(told) if "o-ring" in kind.casefold() else None
    if number is None:
        return None
    try:
        size = oring(number[1])
    except BadInput:
        return None
    return SealSize(name=size.dash, inside_mm=size.id_mm, across_mm=size.cs_mm)


def is_same(one: SealSize, other: SealSize) -> bool:
    """Return True where two sizes of one kind go into the same place.

    A bag may name the section of a ring before its inside diameter; both ways are looked at.
    """
    if one.is_gasket or other.is_gasket:
        near = abs(one.inside_mm - other.inside_mm) <= _SAME_BORE_MM
        return near and one.across_mm == other.across_mm
    turned = SealSize(name="", inside_mm=other.across_mm, across_mm=other.inside_mm)
    return _is_near(one, other) or (not other.name and _is_near(one, turned))


def _is_near(one: SealSize, other: SealSize) -> bool:
    """Return True where inside diameter and section agree."""
    least = min(one.inside_mm, other.inside_mm)
    inside_mm = max(_SAME_INSIDE_MM, _SAME_INSIDE_SHARE * least)
    return (
        abs(one.inside_mm - other.inside_mm) <= inside_mm
        and abs(one.across_mm - other.across_mm) <= _SAME_SECTION_MM
    )


def _gasket(told: str) -> SealSize | None:
    """Return the gasket of a nominal size: DN, inches, or the outside of the tube in mm."""
    bare = " ".join(_WORDS.sub(" ", told).split())
    if match := _DN.fullmatch(bare):
        return _of_ferrule("DIN 32676 A", f"DN{match[1]}")
    if match := _INCHES.fullmatch(bare):
        inches = float(match[1] or 0) + (int(match[2]) / int(match[3]) if match[2] else 0.0)
        return next(
            (
                _of_ferrule(one.family, one.nominal)
                for one in ferrules()
                if one.family == "inch tube" and _inches(one.nominal) == inches
            ),
            None,
        )
    match = _BARE.fullmatch(bare)
    return None if match is None else _of_ferrule("ISO 2852", match[1])


def _of_ferrule(family: str, nominal: str) -> SealSize | None:
    """Return the gasket of a ferrule; None where there is no such one."""
    for one in ferrules():
        if (one.family, one.nominal) == (family, nominal):
            name = nominal if family != "ISO 2852" else f"{nominal} mm"
            return SealSize(
                name=name, inside_mm=one.bore_mm, across_mm=one.ferrule_od_mm, is_gasket=True
            )
    return None


def _inches(nominal: str) -> float:
    """Return the figure of a nominal size in inches, as ``1 1/2 in``."""
    total = 0.0
    for part in nominal.removesuffix(" in").split():
        top, _, below = part.partition("/")
        total += int(top) / int(below or 1)
    return total
