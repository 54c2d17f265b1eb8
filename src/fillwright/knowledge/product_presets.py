"""Read what a product may run like from its data file, and check that each can be."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final, Literal, NoReturn

from fillwright.errors import KnowledgeError
from fillwright.knowledge.faults_lines import LineBook

__all__ = ["ProductPreset", "parse_presets", "product_presets"]

Row = dict[str, Any]
FlowModelName = Literal["newtonian", "power-law", "bingham", "herschel-bulkley"]
_NEEDS: Final[dict[str, tuple[str, ...]]] = {
    "newtonian": ("k_pa_sn",),
    "power-law": ("k_pa_sn", "n"),
    "bingham": ("yield_pa", "k_pa_sn"),
    "herschel-bulkley": ("yield_pa", "k_pa_sn", "n"),
}
_LIKE: Final = ("water", "foamy", "oil", "cream", "paste")
_BASES: Final = ("from memory", "judgement", "read", "measured")
_WORDS: Final = ("name", "says", "source")
_RANGES: Final = (
    ("thick_low", "thick_high"),
    ("density_low_g_per_ml", "density_high_g_per_ml"),
    ("tension_low_mn_per_m", "tension_high_mn_per_m"),
)
_MAY_BE_LEFT_OUT: Final = {"yield_pa": 0.0, "n": 1.0, "release_kpa": 20.0, "vapour_kpa": None}
_LEAST_N, _MOST_N = 0.05, 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductPreset:
    """What a product may run like.

    Attributes
    ----------
    key, name, says : str
        Short name, what it is called, and products that are like it.
    runs_like : str
        Word that older records know.
    model : str
        Flow model.
    yield_pa, k_pa_sn, n : float
        Its constants at 20 °C.
    thick_low, thick_high : float
        Ends of the thickness, as factors of the middle.
    thinning_k : float
        ln of the thickness goes as this over the kelvins.
    density_low_g_per_ml, density_high_g_per_ml : float
        Ends of the density.
    tension_low_mn_per_m, tension_high_mn_per_m : float
        Ends of the surface tension.
    release_kpa : float
        Absolute pressure at which air comes out.
    vapour_kpa : float or None
        Vapour pressure at 20 °C; none where water's is the safe bound.
    foams, burns : bool
        Whether it foams, and whether it is likely to burn.
    basis, source : str
        How the figures are held, and where from.
    """

    key: str
    name: str
    says: str
    runs_like: str
    model: FlowModelName
    yield_pa: float
    k_pa_sn: float
    n: float
    thick_low: float
    thick_high: float
    thinning_k: float
    density_low_g_per_ml: float
    density_high_g_per_ml: float
    tension_low_mn_per_m: float
    tension_high_mn_per_m: float
    release_kpa: float
    vapour_kpa: float | None
    foams: bool
    burns: bool
    basis: str
    source: str


@cache
def product_presets() -> Mapping[str, ProductPreset]:
    """Return what a product may run like, by short name.

    Returns
    -------
    Mapping of str to ProductPreset
        From thin to thick, as the file has them; read once.

    Raises
    ------
    KnowledgeError
        If the file holds something that cannot be.
    """
    file = files("fillwright.knowledge") / "data" / "products.toml"
    return parse_presets(file.read_text("utf-8"), file=file.name)


def parse_presets(text: str, *, file: str) -> Mapping[str, ProductPreset]:
    """Return the presets that a TOML text holds.

    Parameters
    ----------
    text : str
        Content of the file.
    file : str
        Name of the file, for messages.

    Returns
    -------
    Mapping of str to ProductPreset
        In the order of the file.

    Raises
    ------
    KnowledgeError
        For a missing or unknown name, or a figure that cannot be; says file, line and what
        would do.
    """
    try:
        data: Row = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise KnowledgeError(f"{file}: not readable as TOML: {error}.") from error
    lines = LineBook(text)
    found = {
        key: _Reader(key, row, lines, file).preset() for key, row in data.items() if key != "meta"
    }
    if not found:
        raise KnowledgeError(f"{file}, line 1: no preset in it; add a table such as [water].")
    return MappingProxyType(found)


class _Reader:
    """Reads one preset and knows the line of each figure."""

    def __init__(self, key: str, row: object, lines: LineBook, file: str) -> None:
        self._key, self._lines, self._file = key, lines, file
        if not isinstance(row, dict):
            self._refuse("", f"{key} is no table; write [{key}] above its figures")
        self._row: Row = row

    def preset(self) -> ProductPreset:
        """Return the preset, checked."""
        fields = ProductPreset.__slots__
        for name in self._row:
            if name not in fields or name == "key":
                self._refuse(name, f"{name} is not known here; known are {', '.join(fields[1:])}")
        model = self._choice("model", tuple(_NEEDS))
        for name in ("yield_pa", "n"):
            if (name in self._row) != (name in _NEEDS[model]):
                what = "is missing" if name in _NEEDS[model] else "does not belong to it"
                self._refuse(name, f"{name} {what}; {model} takes {', '.join(_NEEDS[model])}")
        figures = {
            name: self._figure(name)
            for name in fields
            if name.endswith(("_pa", "_sn", "_k", "_ml", "_per_m", "_low", "_high", "_kpa"))
            or name == "n"
        }
        for low, high in _RANGES:
            if not (figures[low] or 0.0) < (figures[high] or 0.0):
                self._refuse(high, f"{high} is not above {low}; give the two ends of the range")
        if not figures["thick_low"] <= 1.0 <= figures["thick_high"]:  # type: ignore[operator]
            self._refuse("thick_low", "the middle, 1, is not inside thick_low to thick_high")
        if not _LEAST_N <= (figures["n"] or 0.0) <= _MOST_N:
            self._refuse("n", f"n is {figures['n']}; give {_LEAST_N} to {_MOST_N}")
        words = {name: self._words(name) for name in _WORDS}
        return ProductPreset(
            key=self._key,
            runs_like=self._choice("runs_like", _LIKE),
            model=model,  # type: ignore[arg-type]  # one of the four
            foams=bool(self._row.get("foams", False)),
            burns=bool(self._row.get("burns", False)),
            basis=self._choice("basis", _BASES),
            **words,  # type: ignore[arg-type]  # names of texts alone
            **figures,  # type: ignore[arg-type]  # all are there but the vapour pressure
        )

    def _figure(self, name: str) -> float | None:
        """Return a figure above zero, or what stands for one that may be left out."""
        if name not in self._row and name in _MAY_BE_LEFT_OUT:
            return _MAY_BE_LEFT_OUT[name]
        value = self._row.get(name)
        if value is None:
            self._refuse(name, f"{name} is missing; add it")
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not value > 0:
            self._refuse(name, f"{name} is {value!r}; give a number above zero")
        return float(value)

    def _words(self, name: str) -> str:
        """Return a text that must not be empty."""
        value = self._row.get(name)
        if not isinstance(value, str) or not value.strip():
            self._refuse(name, f"{name} is {value!r}; give a text")
        return value

    def _choice(self, name: str, allowed: tuple[str, ...]) -> str:
        """Return a word that must be one of some."""
        value = self._words(name)
        if value not in allowed:
            self._refuse(name, f"{name} is {value!r}; choose from {', '.join(allowed)}")
        return value

    def _refuse(self, name: str, what: str) -> NoReturn:
        """Raise with file and line."""
        place = (self._key, name) if name else (self._key,)
        raise KnowledgeError(f"{self._file}, line {self._lines.find(*place)}: {what}.")
