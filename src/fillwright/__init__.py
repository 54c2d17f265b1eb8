"""Set, trim, prove, run and release a batch on a benchtop piston filler.

``ask`` answers the questions of the reference by name, ``picture`` draws a chart of
``fillwright.records.charts``; the typed functions behind them live in ``fillwright.science``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fillwright.records.charts import Chart
    from fillwright.report.picture import Picture

__version__ = "0.1.0"

__all__ = ["__version__", "ask", "picture"]


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


def picture(chart: Chart) -> Picture:
    """Draw a chart, for a notebook or a file.

    Parameters
    ----------
    chart : Chart
        One of ``fillwright.records.charts``, such as a ``DoseChart``.

    Returns
    -------
    Picture
        Shown by a notebook as it is; ``save`` writes it.
    """
    from fillwright.report.picture import Picture  # noqa: PLC0415  keeps the import light

    return Picture(chart)
