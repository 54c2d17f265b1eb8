"""Whether a whole array of figures can be computed with; one bad figure names the field."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fillwright.errors import BadInput

__all__ = ["all_above_zero", "all_finite", "all_from_zero", "all_inside"]


def all_finite(values: ArrayLike, field: str) -> NDArray[np.float64]:
    """Return the figures as an array when every one is finite.

    Parameters
    ----------
    values : array_like
        Figures given, in the unit of their field. [unit of field]
    field : str
        Name of the field, for the message.

    Returns
    -------
    ndarray
        The same figures. [unit of field]

    Raises
    ------
    BadInput
        If one is NaN or infinite.
    """
    figures = np.asarray(values, dtype=np.float64)
    if not np.isfinite(figures).all():
        wrong = figures[~np.isfinite(figures)].flat[0]
        raise BadInput(
            f"{field} is {wrong}; give a finite number.",
            field=field,
            given=float(wrong),
            allowed="a finite number",
            code="not-finite",
        )
    return figures


def all_above_zero(values: ArrayLike, field: str) -> NDArray[np.float64]:
    """Return the figures as an array when every one is finite and above zero.

    Parameters
    ----------
    values : array_like
        Figures given, in the unit of their field. [unit of field]
    field : str
        Name of the field, for the message.

    Returns
    -------
    ndarray
        The same figures. [unit of field]

    Raises
    ------
    BadInput
        If one is not finite, zero or negative.
    """
    return _checked(values, field, lambda given: given > 0.0, "a number above zero")


def all_from_zero(values: ArrayLike, field: str) -> NDArray[np.float64]:
    """Return the figures as an array when every one is finite, zero or above.

    Parameters
    ----------
    values : array_like
        Figures given, in the unit of their field. [unit of field]
    field : str
        Name of the field, for the message.

    Returns
    -------
    ndarray
        The same figures. [unit of field]

    Raises
    ------
    BadInput
        If one is not finite or is negative.
    """
    return _checked(values, field, lambda given: given >= 0.0, "zero or a number above it")


def all_inside(values: ArrayLike, field: str, *, low: float, high: float) -> NDArray[np.float64]:
    """Return the figures as an array when every one lies from `low` to below `high`.

    Parameters
    ----------
    values : array_like
        Figures given, in the unit of their field. [unit of field]
    field : str
        Name of the field, for the message.
    low : float
        Least that will do. [unit of field]
    high : float
        What each must stay below. [unit of field]

    Returns
    -------
    ndarray
        The same figures. [unit of field]

    Raises
    ------
    BadInput
        If one is not finite or lies outside.
    """
    return _checked(
        values,
        field,
        lambda given: (given >= low) & (given < high),
        f"a number from {low:g} to below {high:g}",
    )


def _checked(
    values: ArrayLike,
    field: str,
    suits: Callable[[NDArray[np.float64]], NDArray[np.bool_]],
    allowed: str,
) -> NDArray[np.float64]:
    """Return the figures, or refuse the first that does not suit."""
    figures = all_finite(values, field)
    good = np.asarray(suits(figures))
    if not good.all():
        wrong = figures[~good].flat[0]
        raise BadInput(
            f"{field} is {wrong:g}; give {allowed}.",
            field=field,
            given=float(wrong),
            allowed=allowed,
        )
    return figures
