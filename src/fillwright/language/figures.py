"""Figures within texts: which words are figures, units and codes, and how a language writes them.

A decimal point becomes the decimal mark of the language; times, dates, clause numbers and
addresses keep their points.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Final

from fillwright.language.tongues import Tongue

__all__ = ["MONTHS", "is_figure", "isolated", "localised", "unknown_letters"]

MONTHS: Final = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
_UNITS: Final = frozenset(
    {
        "g",
        "kg",
        "mg",
        "t",
        "mL",
        "ml",
        "L",
        "l",
        "µL",
        "mm",
        "cm",
        "m",
        "µm",
        "s",
        "min",
        "h",
        "d",
        "Pa",
        "mPa",
        "kPa",
        "MPa",
        "bar",
        "N",
        "K",
        "C",
        "F",
        "°C",
        "°F",
        "J",
        "W",
        "kW",
        "V",
        "A",
        "Hz",
        "oz",
        "fl",
        "lb",
        "gal",
        "in",
        "psi",
        "inHg",
        "ft",
        "scfm",
        "qt",
        "pt",
        "cSt",
        "cP",
        "mN",
        "dB",
        "baud",
        "COM",
        "USB",
        "TCP",
        "CSV",
        "PDF",
        "XLSX",
        "JSON",
        "HTTP",
        "A4",
        "ISO",
        "EN",
        "IEC",
        "OIML",
        "EU",
        "US",
        "UTC",
        "pH",
        "x",
    }
)
"""Units, and short names that no language changes."""
_WORD: Final = re.compile(r"[^\W_]+(?:[-/.][^\W_]+)*")
_LETTERS: Final = re.compile(r"[^\W\d_]")
_DECIMAL: Final = re.compile(
    r"(?<![\w.,:/])(?P<whole>\d{1,3}(?:,\d{3})+|\d+)(?:\.(?P<part>\d+))?(?![\w]*[.:/]\d)(?!\d)"
)
_CODED: Final = re.compile(
    r"(?:clause|section|equation|annex|table|edition|version|part|article|chapter|§|No\.|R)\s*$",
    re.IGNORECASE,
)


def unknown_letters(text: str) -> int:
    """Return how many letters of a text are words, not units, codes or single signs."""
    count = 0
    for word in _WORD.findall(text):
        is_code = word.isupper() or any(letter.isdigit() for letter in word)
        # One letter is a sign, but for the article.
        if (
            is_code
            or (len(word) == 1 and word != "a")
            or all(part in _UNITS for part in re.split("[-/.]", word))
        ):
            continue
        count += len(_LETTERS.findall(word))
    return count


def is_figure(text: str) -> bool:
    """Return whether a text is a figure with its unit, a code or a sign, and no words."""
    return unknown_letters(text) == 0


def localised(text: str, tongue: Tongue) -> str:
    """Return a text with its figures as a language writes them."""
    if tongue.decimal_mark == "." or not any(letter.isdigit() for letter in text):
        return text
    return _DECIMAL.sub(lambda found: _figure(found, text, tongue), text)


def isolated(text: str, tongue: Tongue) -> str:
    """Return a figure or a name so that it keeps its own reading order among other letters."""
    if not tongue.is_leftward or not text.strip():
        return text
    return f"\u2068{text}\u2069"


def _figure(found: re.Match[str], text: str, tongue: Tongue) -> str:
    """Return one figure, unless it is the number of a clause."""
    whole, part = found["whole"], found["part"]
    if _CODED.search(text[: found.start()]):
        return found[0]
    other = "." if tongue.decimal_mark == "," else ","
    whole = whole.replace(",", other)
    return whole if part is None else f"{whole}{tongue.decimal_mark}{part}"


@cache
def month_pattern() -> re.Pattern[str]:
    """Return what finds the month of a date."""
    return re.compile(rf"(?<=\d )({'|'.join(MONTHS)})\b")
