"""What people typed, read into figures; a slip is answered with the field and what to do."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from fillwright.errors import BadInput
from fillwright.web.numbers import number_of
from fillwright.web.typedunits import unit_of
from fillwright.web.visit import Form

__all__ = [
    "choice",
    "figure",
    "figure_or_none",
    "given",
    "is_ticked",
    "text",
    "whole",
    "whole_or_none",
]

_LONGEST: Final = 120
_MOST: Final = Decimal(10_000_000)


def given(form: Form, field: str) -> str:
    """Return what was typed into a field, without blanks around it; empty where nothing was."""
    return form.get(field, "").strip()


def is_ticked(form: Form, field: str) -> bool:
    """Return True when a box was ticked."""
    return given(form, field) not in ("", "no", "off")


def text(form: Form, field: str, name: str) -> str:
    """Return a text that must be there.

    Raises
    ------
    BadInput
        If nothing was typed, or far too much.
    """
    words = given(form, field)
    if not words:
        message = f"{name} is missing. Type it."
        raise BadInput(message, field=field, allowed="some words", code="missing")
    if len(words) > _LONGEST:
        message = f"{name} is too long. Use at most {_LONGEST} letters."
        raise BadInput(message, field=field, given=words[:40], allowed=f"{_LONGEST} letters")
    return words


def figure(
    form: Form,
    field: str,
    name: str,
    *,
    least: Decimal | int | None = None,
    most: Decimal | int | None = None,
    above: Decimal | int | None = None,
) -> Decimal:
    """Return a number exactly as it was typed, with a point or a comma.

    Parameters
    ----------
    form : mapping
        What was sent.
    field, name : str
        The field, and what people call it.
    least, most, above : Decimal or int, optional
        Bounds; `above` itself is not allowed.

    Returns
    -------
    Decimal
        The number.

    Raises
    ------
    BadInput
        If it is missing, no number, or out of bounds.
    """
    typed = given(form, field)
    if not typed:
        message = f"{name} is missing. Type a number."
        raise BadInput(message, field=field, allowed="a number", code="missing")
    number = _number(typed)
    if number is None:
        message = f"{typed[:40]!r} is not a number for {name}. Type it in figures, such as 12.5."
        raise BadInput(message, field=field, given=typed[:40], allowed="a number", code="type")
    if abs(number) > _MOST:
        # A number all the same: it is refused with the bound that every field has.
        most = _MOST if most is None else most
        least = -_MOST if least is None and above is None else least
    low = number < least if least is not None else above is not None and number <= above
    if low or (most is not None and number > most):
        unit = unit_of(form, field)
        allowed = _bounds(least, most, above, unit)
        message = f"{name} cannot be {typed}{unit and ' '}{unit}. Type {allowed}."
        raise BadInput(message, field=field, given=typed, allowed=allowed)
    return number


def figure_or_none(
    form: Form, field: str, name: str, *, above: Decimal | int | None = None
) -> Decimal | None:
    """Return a number, or None where nothing was typed."""
    return figure(form, field, name, above=above) if given(form, field) else None


def whole(form: Form, field: str, name: str, *, least: int = 0, most: int | None = None) -> int:
    """Return a whole number.

    Raises
    ------
    BadInput
        If it is missing, no whole number, or out of bounds.
    """
    number = figure(form, field, name, least=least, most=most)
    # What parts thousands here is a decimal mark there: 1,000 is refused, not read as 1.
    if number != number.to_integral_value() or {".", ","} & set(given(form, field)):
        message = f"{name} is a count. Type a whole number."
        raise BadInput(
            message, field=field, given=str(number), allowed="a whole number", code="type"
        )
    return int(number)


def whole_or_none(form: Form, field: str, name: str, *, least: int = 1) -> int | None:
    """Return a whole number, or None where nothing was typed."""
    return whole(form, field, name, least=least) if given(form, field) else None


def choice(form: Form, field: str, name: str, allowed: tuple[str, ...]) -> str:
    """Return one of a few words.

    Raises
    ------
    BadInput
        If it is none of them.
    """
    picked = given(form, field)
    if picked not in allowed:
        message = f"Choose {name} from the list."
        raise BadInput(
            message, field=field, given=picked[:40], allowed=", ".join(allowed), code="choice"
        )
    return picked


def _number(typed: str) -> Decimal | None:
    """Return the number, with whatever minus and decimal mark it was typed, or None."""
    return number_of(typed.replace("\u2212", "-").replace(" ", "").replace(",", "."))


def _bounds(
    least: Decimal | int | None,
    most: Decimal | int | None,
    above: Decimal | int | None,
    unit: str,
) -> str:
    """Return bounds in words, with the unit where the field was typed in another."""
    behind = f" {unit}" if unit else ""
    low = (
        f"{least}{behind} or more"
        if least is not None
        else f"more than {above}{behind if above else ''}"
        if above is not None
        else ""
    )
    high = f"at most {most}{behind}" if most is not None else ""
    return " and ".join(part for part in (low, high) if part)
