"""The languages that a bench can speak, and two invented ones that only tests choose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

__all__ = ["ENGLISH", "TONGUES", "Tongue", "shown_tongues", "tongue_of"]

ENGLISH: Final = "en"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tongue:
    """One language.

    Parameters
    ----------
    code : str
        What the setting keeps, and the folder of its catalogue.
    name : str
        Its name in its own words.
    draft : str
        The word for a draft in its own words; empty where people of the trade reviewed it.
    tag : str
        Language tag of the page.
    is_leftward : bool
        True where lines run from right to left.
    decimal_mark : str
        What stands before the decimals of a figure.
    is_trial : bool
        True for an invented language that is never offered to people.
    unit_words : mapping of str to str
        Units that it writes in words, each with the unit that is meant.
    """

    code: str
    name: str
    draft: str = ""
    tag: str = ""
    is_leftward: bool = False
    decimal_mark: str = "."
    is_trial: bool = False
    unit_words: Mapping[str, str] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """Return its name, with the mark of a draft where it is one."""
        return f"{self.name} ({self.draft})" if self.draft else self.name

    @property
    def direction(self) -> str:
        """Return the direction of its lines as a page writes it."""
        return "rtl" if self.is_leftward else "ltr"


_GERMAN_UNITS: Final = {
    "Gramm": "g",
    "Kilogramm": "kg",
    "Milliliter": "mL",
    "Liter": "L",
    "Millimeter": "mm",
    "L in der Minute": "L/min",
    "Liter in der Minute": "L/min",
    "Millilitern": "mL",
    "Grad C": "°C",
    "Grad Celsius": "°C",
}

TONGUES: Final[dict[str, Tongue]] = {
    tongue.code: tongue
    for tongue in (
        Tongue(code=ENGLISH, name="English", tag="en"),
        Tongue(
            code="de",
            name="Deutsch",
            draft="Entwurf",
            tag="de",
            decimal_mark=",",
            unit_words=_GERMAN_UNITS,
        ),
        Tongue(code="x-wrapped", name="Wrapped", tag="en-x-wrapped", is_trial=True),
        Tongue(
            code="x-leftward",
            name="Leftward",
            tag="ar-x-leftward",
            is_leftward=True,
            is_trial=True,
        ),
    )
}
"""Every language by its code."""


def tongue_of(code: str) -> Tongue:
    """Return a language by its code; English where there is no such language."""
    return TONGUES.get(code, TONGUES[ENGLISH])


def shown_tongues() -> tuple[Tongue, ...]:
    """Return the languages that people may choose."""
    return tuple(tongue for tongue in TONGUES.values() if not tongue.is_trial)
