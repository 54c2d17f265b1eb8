"""Take products and containers out of a file into what the site keeps, all in one transaction."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.jobs.desk import Desk, Press, keep_on_site
from fillwright.records.columns import Row
from fillwright.records.entities import Container, Product, RunsLike
from fillwright.records.entries import ContainerKept, FileTaken, Payload, ProductKept
from fillwright.records.filecells import Refusal, figure_in, marked
from fillwright.records.filefields import FIELDS, Choice, unit_of
from fillwright.records.filerows import FileRows
from fillwright.records.units import MILLILITRES_PER

__all__ = ["LookedThings", "keep_things", "look_over_things"]

MOST_THINGS: Final = 5_000
_TOLD: Final = 200
_ON_RECORD: Final = 20
_LONGEST: Final = 120
_YES: Final = frozenset(["yes", "y", "true", "1", "x", "ja", "oui", "si", "sì", "sí"])
_NO: Final = frozenset(["no", "n", "false", "0", "nein", "non", "-"])
_BELOW_0: Final = Decimal("-1e-12")
_BOUNDS: Final = {
    "density_g_per_ml": (Decimal(0), Decimal(3), "above 0, at most 3 g/mL"),
    "density_c": (_BELOW_0, Decimal(130), "0 to 130 °C"),
    "product_c": (_BELOW_0, Decimal(130), "0 to 130 °C"),
    "brim_ml": (Decimal(0), Decimal(100_000), "above 0, at most 100000 mL"),
    "mouth_mm": (Decimal(0), Decimal(1_000), "above 0, at most 1000 mm"),
    "tare_g": (Decimal(0), Decimal(100_000), "above 0, at most 100000 g"),
    "tare_sd_g": (_BELOW_0, Decimal(10_000), "0 or more"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedThings:
    """What a file of products or containers would bring.

    Parameters
    ----------
    choice : Choice
        Which column holds what.
    fact : FileTaken
        How the file goes on record.
    things : tuple of Product or Container
        Those that are new here, or differ from what is kept under their name.
    changed : tuple of str
        Names of those that are kept and would change.
    same : int
        How many are kept just so.
    refusals : tuple of Refusal
        The rows that cannot be used.
    """

    choice: Choice
    fact: FileTaken
    things: tuple[Product | Container, ...]
    changed: tuple[str, ...]
    same: int
    refusals: tuple[Refusal, ...]


def look_over_things(desk: Desk, file: FileRows, choice: Choice) -> LookedThings:
    """Read a file of products or containers and say what it would bring; nothing is kept.

    Parameters
    ----------
    desk : Desk
        What is kept already.
    file : FileRows
        The file.
    choice : Choice
        Which column holds what.

    Returns
    -------
    LookedThings
        Rows that cannot be used are named.

    Raises
    ------
    BadInput
        If a column that is needed is not chosen, or there are too many rows.
    """
    for one in FIELDS[choice.holds]:
        if one.is_needed and one.key not in choice.columns:
            message = f"{file.name}: say which column holds this: {one.name}."
            raise BadInput(message, field=one.key, code="missing")
    site = desk.book.site()
    kept: Mapping[str, Product | Container]
    kept = site.products if choice.holds == "products" else site.containers
    reader = _Reader(file, choice, kept)
    refusals: list[Refusal] = []
    found: dict[str, Product | Container] = {}
    for count, row in enumerate(file.rows(), start=1):
        if count > MOST_THINGS:
            message = f"{file.name}: over {MOST_THINGS:,} rows; split it."
            raise BadInput(message, field="file", given=count, allowed=f"{MOST_THINGS} rows")
        thing = reader.thing(row)
        if isinstance(thing, Refusal):
            refusals.append(thing)
        elif found.setdefault(thing.name, thing) != thing:
            why = "this name stands in a row above with other figures"
            refusals.append(reader.refusal(row, "name", thing.name, why, "one row a name"))
    things = tuple(one for one in found.values() if kept.get(one.name) != one)
    columns = ", ".join(f"{key}: {file.headings[at]!r}" for key, at in choice.columns.items())
    fact = FileTaken(
        holds=choice.holds,
        name=file.name[:_TOLD],
        sheet=file.sheet if len(file.sheets) > 1 else "",
        sha256=file.digest(),
        how=f"By columns, {columns}.",
        purpose="",
        good=len(found),
        refused=len(refusals),
        refusals=tuple(one.words()[:_TOLD] for one in refusals[:_ON_RECORD]),
    )
    return LookedThings(
        choice=choice,
        fact=fact,
        things=things,
        changed=tuple(one.name for one in things if one.name in kept),
        same=len(found) - len(things),
        refusals=tuple(refusals[:_TOLD]),
    )


def keep_things(desk: Desk, looked: LookedThings, press: Press) -> int:
    """Keep what a file brings, in one transaction, and return how many things that are.

    Raises
    ------
    BadInput
        If no row can be used.
    """
    if not looked.fact.good:
        message = "No row of this file can be used. Nothing was kept."
        raise BadInput(message, field="file", given=looked.fact.name, code="missing")
    facts: list[Payload] = [
        ProductKept(product=one) if isinstance(one, Product) else ContainerKept(container=one)
        for one in looked.things
    ]
    if facts:
        keep_on_site(desk, [looked.fact, *facts], press)
    return len(facts)


class _NoUseError(Exception):
    """A cell that cannot be used: field, what stood there, why, what is allowed."""

    def __init__(self, key: str, given: str, why: str, allowed: str) -> None:
        super().__init__(why)
        self.said = (key, given, why, allowed)


class _Reader:
    """Reads products or containers row by row."""

    def __init__(
        self, file: FileRows, choice: Choice, kept: Mapping[str, Product | Container]
    ) -> None:
        self._file = file
        self._kept = kept
        self._choice = choice
        self._mark = marked(file, choice)
        self._factors = {key: self._factor(key, at) for key, at in choice.columns.items()}

    def thing(self, row: Row) -> Product | Container | Refusal:
        """Return what a row describes, or why it cannot be used."""
        try:
            return self._product(row) if self._choice.holds == "products" else self._container(row)
        except _NoUseError as error:
            return self.refusal(row, *error.said)

    def refusal(self, row: Row, key: str, given: str, why: str, allowed: str) -> Refusal:
        """Return a refusal with the heading of its column."""
        at = self._choice.columns.get(key, 0)
        return Refusal(
            row=row.number,
            column=self._file.headings[at],
            given=given[:40],
            why=why,
            allowed=allowed,
        )

    def _product(self, row: Row) -> Product:
        """Return the product of a row; what the file does not tell stays as it is kept."""
        name = self._name(row)
        density = self._needed(row, "density_g_per_ml")
        known = self._kept.get(name)
        base = (
            known if isinstance(known, Product) else Product(name=name, density_g_per_ml=density)
        )
        return replace(
            base,
            density_g_per_ml=density,
            density_c=_or(self._figure(row, "density_c"), base.density_c),
            product_c=_or(self._figure(row, "product_c"), base.product_c),
            runs_like=self._runs_like(row) or base.runs_like,
            is_flammable=self._flag(row, base.is_flammable),
            notes=self._text(row, "notes") or base.notes,
        )

    def _container(self, row: Row) -> Container:
        """Return the container of a row; what the file does not tell stays as it is kept."""
        name = self._name(row)
        brim, mouth = self._needed(row, "brim_ml"), self._needed(row, "mouth_mm")
        known = self._kept.get(name)
        bare = Container(name=name, brim_ml=brim, mouth_mm=mouth)
        base = known if isinstance(known, Container) else bare
        tare, differs = self._figure(row, "tare_g"), self._figure(row, "tare_sd_g")
        return replace(
            base,
            brim_ml=brim,
            mouth_mm=mouth,
            tare_g=base.tare_g if tare is None else tare,
            tare_sd_g=base.tare_sd_g if differs is None else differs,
            word=self._text(row, "word") or base.word,
        )

    def _needed(self, row: Row, key: str) -> Decimal:
        """Return a figure that must be there."""
        value = self._figure(row, key)
        if value is None:
            raise _NoUseError(key, "", "the figure is missing", _BOUNDS[key][2])
        return value

    def _name(self, row: Row) -> str:
        """Return the name of a row."""
        name = self._text(row, "name")
        if not name:
            raise _NoUseError("name", "", "the name is missing", "some words")
        return name

    def _text(self, row: Row, key: str) -> str:
        """Return the words of a cell, on one line; empty where the column is not chosen."""
        at = self._choice.columns.get(key)
        told = "" if at is None or at >= len(row.cells) else " ".join(row.cells[at].split())
        if len(told) > _LONGEST or not told.isprintable():
            allowed = f"up to {_LONGEST} letters"
            raise _NoUseError(key, told[:40], "this is no text of a sane length", allowed)
        return told

    def _figure(self, row: Row, key: str) -> Decimal | None:
        """Return the figure of a cell in the unit of its field, None where there is none."""
        told = self._text(row, key)
        if not told:
            return None
        low, high, allowed = _BOUNDS[key]
        found = figure_in(told, self._mark)
        if found is None:
            raise _NoUseError(key, told, "this is no number", allowed)
        value = found[0] * self._factors[key]
        if found[1] in MILLILITRES_PER and key == "brim_ml":
            value = found[0] * MILLILITRES_PER[found[1]]
        if not low < value <= high:
            raise _NoUseError(key, told, "this cannot be", allowed)
        return value

    def _flag(self, row: Row, otherwise: bool) -> bool:  # noqa: FBT001  what is kept, yes or no
        """Return whether a product is flammable; a blank leaves what is kept."""
        told = self._text(row, "is_flammable").lower()
        if not told:
            return otherwise
        if told not in _YES and told not in _NO:
            raise _NoUseError("is_flammable", told, "this is neither yes nor no", "yes or no")
        return told in _YES

    def _runs_like(self, row: Row) -> RunsLike | None:
        """Return what a product runs like, None where the file does not say."""
        told = self._text(row, "runs_like").lower()
        known = [one.value for one in RunsLike]
        if told and told not in known:
            raise _NoUseError("runs_like", told, "this is none of the words", ", ".join(known))
        return RunsLike(told) if told else None

    def _factor(self, key: str, column: int) -> Decimal:
        """Return what a figure of a column is multiplied by, as its heading has it."""
        heading = self._file.headings[column].lower()
        if key == "density_g_per_ml":
            return (
                Decimal("0.001")
                if re.search(r"kg\s*(?:/|per)\s*m|g\s*/\s*l\b", heading)
                and (not re.search(r"kg\s*/\s*l", heading))
                else Decimal(1)
            )
        if key == "mouth_mm" and re.search(r"\bcm\b", heading):
            return Decimal(10)
        if key == "brim_ml":
            return MILLILITRES_PER.get(unit_of(self._file, column), Decimal(1))
        return Decimal(1)


def _or(value: Decimal | None, otherwise: Decimal) -> Decimal:
    """Return a value, or what is taken where there is none."""
    return otherwise if value is None else value
