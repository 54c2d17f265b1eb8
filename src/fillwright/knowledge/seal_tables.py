"""Read O-ring sizes, clamp ferrules, and materials against media from their data files."""

from __future__ import annotations

import csv
import tomllib
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Final

from fillwright.errors import BadInput, KnowledgeError
from fillwright.knowledge.seal_types import Ferrule, Material, Materials, Medium, OringSize

__all__ = ["ferrules", "materials", "oring", "orings", "parse_materials"]

_WORST: Final = 4


@cache
def orings() -> tuple[OringSize, ...]:
    """Return every O-ring size held, in the order of their numbers.

    Returns
    -------
    tuple of OringSize
        Sizes of AS568, which BS 1806 and ISO 3601-1 share, without the boss sizes.
    """
    return tuple(
        OringSize(
            dash=row["dash"],
            id_mm=float(row["id_mm"]),
            cs_mm=float(row["cs_mm"]),
            id_tol_mm=float(row["id_tol_mm"]),
            cs_tol_mm=float(row["cs_tol_mm"]),
            source=row["id_source"],
        )
        for row in _rows("orings.csv")
    )


def oring(dash: str) -> OringSize:
    """Return one size by its number.

    Parameters
    ----------
    dash : str
        Number, such as ``229`` or ``-12``.

    Returns
    -------
    OringSize
        The size.

    Raises
    ------
    BadInput
        If there is no such size; the message names the series.
    """
    number = dash.strip().removeprefix("-").zfill(3)
    for size in orings():
        if size.dash == number:
            return size
    allowed = "001 to 050, 102 to 178, 201 to 284, 309 to 395, 425 to 475"
    raise BadInput(
        f"dash: there is no O-ring size {dash!r}; sizes are {allowed}.",
        field="dash",
        given=dash,
        allowed=allowed,
        code="choice",
    )


@cache
def ferrules() -> tuple[Ferrule, ...]:
    """Return every clamp ferrule held.

    Returns
    -------
    tuple of Ferrule
        In the order of the file.
    """
    return tuple(
        Ferrule(
            family=row["family"],
            nominal=row["nominal"],
            bore_mm=float(row["bore_mm"]),
            ferrule_od_mm=float(row["ferrule_od_mm"]),
            bore_source=row["bore_source"],
            od_source=row["od_source"],
        )
        for row in _rows("ferrules.csv")
    )


@cache
def materials() -> Materials:
    """Return the materials and media that come with the program.

    Returns
    -------
    Materials
        Read once.
    """
    file = files("fillwright.knowledge") / "data" / "materials.toml"
    return parse_materials(file.read_text("utf-8"), file=file.name)


def parse_materials(text: str, *, file: str) -> Materials:
    """Return the materials and media that a TOML text holds.

    Parameters
    ----------
    text : str
        Content of the file.
    file : str
        Its name, for messages.

    Returns
    -------
    Materials
        Checked.

    Raises
    ------
    KnowledgeError
        If the text is not TOML, or a rating is missing or not 1 to 4; says file, line and mend.
    """
    try:
        data: dict[str, Any] = tomllib.loads(text)
        meta = data["meta"]
        order = list(meta["order"])
        found = {
            key: Material(
                key=key,
                name=row["name"],
                note=row["note"],
                min_c=float(row["min_c"]),
                max_c=float(row["max_c"]),
                shelf_years=int(row["shelf_years"]),
            )
            for key, row in data["material"].items()
        }
    except tomllib.TOMLDecodeError as error:
        raise KnowledgeError(f"{file}: not readable as TOML: {error}.") from error
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        message = f"{file}: {error} is missing or of the wrong type; compare the shipped file."
        raise KnowledgeError(message) from error
    if sorted(order) != sorted(found):
        line = _line(text, "order = ")
        odd = sorted(set(order) ^ set(found))
        raise KnowledgeError(
            f"{file}, line {line}: order and materials differ by {', '.join(odd) or 'repeats'}; "
            "name every material once."
        )
    media = {key: _medium(key, row, order, text, file) for key, row in data["medium"].items()}
    return Materials(
        status=meta["status"],
        shelf_source=meta["shelf_source"],
        food_references=tuple(meta["food_references"]),
        materials=MappingProxyType(found),
        media=MappingProxyType(media),
    )


def _medium(key: str, row: dict[str, Any], order: list[str], text: str, file: str) -> Medium:
    """Return one medium, with a rating for every material."""
    line = _line(text, f"[medium.{key}]")
    ratings = row.get("rating")
    if not isinstance(ratings, list) or len(ratings) != len(order):
        raise KnowledgeError(
            f"{file}, line {line}: {key} needs {len(order)} ratings, one for each material of "
            "order."
        )
    wrong = [rating for rating in ratings if rating not in range(1, _WORST + 1)]
    if wrong:
        raise KnowledgeError(
            f"{file}, line {line}: {key} has the rating {wrong[0]!r}; ratings are 1, 2, 3 or 4."
        )
    missing = [name for name in ("name", "note", "rated_at_c") if name not in row]
    if missing:
        raise KnowledgeError(f"{file}, line {line}: {key} has no {missing[0]}; add it.")
    return Medium(
        key=key,
        name=row["name"],
        note=row["note"],
        ratings=MappingProxyType(dict(zip(order, ratings, strict=True))),
        rated_at_c=float(row["rated_at_c"]),
    )


def _line(text: str, start: str) -> int:
    """Return the number of the first line that starts so, or 1."""
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip().startswith(start):
            return number
    return 1


def _rows(name: str) -> list[dict[str, str]]:
    """Return the rows of a CSV file of seals."""
    file = files("fillwright.knowledge") / "data" / "seals" / name
    return list(csv.DictReader(file.read_text("utf-8").splitlines()))
