"""Set, trim, prove, run and release a batch on a benchtop piston filler.

``ask`` answers the questions of the reference by name; the typed functions behind them
live in ``fillwright.science``.
"""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"

__all__ = ["__version__", "ask"]


def ask(question: str, given: dict[str, Any]) -> dict[str, Any]:
    """Answer one question by name.

    Parameters
    ----------
    question : str
        Name of the question, such as ``"lot-test"``; ``fillwright ask --list`` prints all.
    given : dict
        The input, with the names and units that the question's schema prints.

    Returns
    -------
    dict
        The answer, ready for JSON, with ``because``, ``assumptions``, ``sources``, ``version``.

    Raises
    ------
    BadInput
        If a field is missing, unknown or outside what is allowed; the error says which.
    """
    from fillwright.questions import answer  # noqa: PLC0415  keeps ``import fillwright`` light

    return answer(question, given)
