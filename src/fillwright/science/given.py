"""Whether a figure that was given can be computed with.

Each function hands the figure back or raises ``BadInput`` with one sentence that names the
field, what was given and what would do. Ranges of an equation are checked beside it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput

__all__ = ["above_zero", "finite", "not_negative", "readings_in_order", "share", "whole"]


def finite(value: float, field: str) -> float:
    """Return `value` when it is a finite number.

    Parameters
    ----------
    value : float
        The figure given, in the unit of its field. [unit of field]
    field : str
        Name of the field, for the message.

    Returns
    -------
    float
        The same figure. [unit of field]

    Raises
    ------
    BadInput
        If `value` is NaN or infinite.
    """
    number = float(value)
    if not math.isfinite(number):
        raise BadInput(
            f"{field} is {value}; give a finite number.",
            field=field,
            given=value,
            allowed="a finite number",
            code="not-finite",
        )
    return number


def above_zero(value: float, field: str) -> float:
    """Return `value` when it is a finite number above zero.

    Parameters
    ----------
    value : float
        The figure given, in the unit of its field. [unit of field]
    field : str
        Name of the field, for the message.

    Returns
    -------
    float
        The same figure. [unit of field]

    Raises
    ------
    BadInput
        If `value` is not finite, zero or negative.
    """
    number = finite(value, field)
    if number <= 0.0:
        raise BadInput(
            f"{field} is {number:g}; give a number above zero.",
            field=field,
            given=value,
            allowed="a number above zero",
        )
    return number


def not_negative(value: float, field: str) -> float:
    """Return `value` when it is a finite number, zero or above.

    Parameters
    ----------
    value : float
        The figure given, in the unit of its field. [unit of field]
    field : str
        Name of the field, for the message.

    Returns
    -------
    float
        The same figure. [unit of field]

    Raises
    ------
    BadInput
        If `value` is not finite or negative.
    """
    number = finite(value, field)
    if number < 0.0:
        raise BadInput(
            f"{field} is {number:g}; give zero or a number above it.",
            field=field,
            given=value,
            allowed="zero or above",
        )
    return number


def share(value: float, field: str) -> float:
    """Return `value` when it lies strictly between 0 and 1.

    Parameters
    ----------
    value : float
        The share or probability given. [1]
    field : str
        Name of the field, for the message.

    Returns
    -------
    float
        The same figure. [1]

    Raises
    ------
    BadInput
        If `value` is not finite, or not above 0 and below 1.
    """
    number = finite(value, field)
    if not 0.0 < number < 1.0:
        raise BadInput(
            f"{field} is {number:g}; give a share above 0 and below 1, such as 0.95.",
            field=field,
            given=value,
            allowed="above 0 and below 1",
        )
    return number


def whole(value: int, field: str, *, at_least: int) -> int:
    """Return `value` when it is a whole number of at least `at_least`.

    Parameters
    ----------
    value : int
        The count given.
    field : str
        Name of the field, for the message.
    at_least : int
        The smallest count that will do.

    Returns
    -------
    int
        The same count.

    Raises
    ------
    BadInput
        If `value` is not whole or is too small.
    """
    number = finite(value, field)
    if number != math.floor(number) or number < at_least:
        raise BadInput(
            f"{field} is {value}; give a whole number of at least {at_least}.",
            field=field,
            given=value,
            allowed=f"a whole number of at least {at_least}",
        )
    return int(number)


def readings_in_order(values: ArrayLike, field: str, *, at_least: int) -> NDArray[np.float64]:
    """Return the readings as one row of floats, in the order given.

    Parameters
    ----------
    values : array_like, shape (n,)
        The readings, in the unit of their field. [unit of field]
    field : str
        Name of the field, for the message.
    at_least : int
        How many are needed.

    Returns
    -------
    ndarray, shape (n,)
        The same readings. [unit of field]

    Raises
    ------
    BadInput
        If there are too few, they are not one row, or one is not a finite number.
    """
    row = np.asarray(values, dtype=np.float64)
    if row.ndim != 1:
        raise BadInput(
            f"{field} has {row.ndim} dimensions; give one row of numbers.",
            field=field,
            given=row.shape,
            allowed="one row of numbers",
            code="type",
        )
    if row.size < at_least:
        raise BadInput(
            f"{field} holds {row.size}; give at least {at_least}.",
            field=field,
            given=row.size,
            allowed=f"at least {at_least} numbers",
        )
    wrong = np.flatnonzero(~np.isfinite(row))
    if wrong.size:
        place = int(wrong[0])
        raise BadInput(
            f"{field}[{place}] is {row[place]}; give finite numbers only.",
            field=f"{field}[{place}]",
            given=row[place],
            allowed="finite numbers",
            code="not-finite",
        )
    return row
