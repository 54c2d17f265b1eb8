"""Records of seal sizes and materials, as the data files hold them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Ferrule", "Material", "Materials", "Medium", "OringSize"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OringSize:
    """One size of O-ring by its number, inch sizes in millimetres.

    Attributes
    ----------
    dash : str
        Size number, three figures.
    id_mm, cs_mm : float
        Inside diameter and section. [mm]
    id_tol_mm, cs_tol_mm : float
        Tolerances, plus and minus. [mm]
    source : str
        How the inside diameter is held.
    """

    dash: str
    id_mm: float
    cs_mm: float
    id_tol_mm: float
    cs_tol_mm: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ferrule:
    """One size of sanitary clamp ferrule.

    Attributes
    ----------
    family, nominal : str
        Standard and nominal size.
    bore_mm, ferrule_od_mm : float
        Bore of the pipe and outside diameter of the ferrule. [mm]
    bore_source, od_source : str
        How they are held.
    """

    family: str
    nominal: str
    bore_mm: float
    ferrule_od_mm: float
    bore_source: str
    od_source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A material of seals, guards or wetted parts.

    Attributes
    ----------
    key, name, note : str
        Short name, full name, and what to know.
    min_c, max_c : float
        Temperature limits. [°C]
    shelf_years : int
        Years on the shelf from the date of cure; 0 where none are set here.
    """

    key: str
    name: str
    note: str
    min_c: float
    max_c: float
    shelf_years: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Medium:
    """Something that touches a seal.

    Attributes
    ----------
    key, name, note : str
        Short name, full name, and what to know.
    ratings : mapping of str to int
        Rating of each material, 1 good to 4 do not use.
    rated_at_c : float
        Temperature up to which the ratings hold. [°C]
    """

    key: str
    name: str
    note: str
    ratings: Mapping[str, int]
    rated_at_c: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Materials:
    """All materials and media.

    Attributes
    ----------
    status : str
        How the file is held.
    shelf_source : str
        How the shelf years are held.
    food_references : tuple of str
        Rules for food contact that a certificate may name; nothing is asserted.
    materials, media : mapping
        By their short names.
    """

    status: str
    shelf_source: str
    food_references: tuple[str, ...]
    materials: Mapping[str, Material]
    media: Mapping[str, Medium]
