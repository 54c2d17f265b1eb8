"""Set, trim, prove, run and release a batch on a benchtop piston filler.

``ask`` answers the questions of the reference by name, ``picture`` draws a chart of
``fillwright.records.charts``; the typed functions behind them live in ``fillwright.science``,
and ``as_table`` shows what they return.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fillwright.questions.answered import Answer
    from fillwright.records.charts import Chart
    from fillwright.report.picture import Picture

__version__ = "0.1.0"

__all__ = ["__version__", "as_table", "ask", "picture"]


def ask(question: str, given: dict[str, Any]) -> Answer:
    """Answer one question by name.

    Parameters
    ----------
    question : str
        Name of the question, such as ``"lot-test"``; ``fillwright ask --list`` prints all.
    given : dict
        The input, with the names and units that the question's schema prints.

    Returns
    -------
    Answer
        The answer, a dict ready for JSON, with ``because``, ``assumptions``, ``sources``,
        ``version``; it prints in lines, and a notebook shows it as a table.

    Raises
    ------
    BadInput
        If a field is missing, unknown or outside what is allowed; the error says which.
    """
    from fillwright.questions import answer  # noqa: PLC0415  keeps ``import fillwright`` light
    from fillwright.questions.answered import Answer  # noqa: PLC0415  the same

    return Answer(answer(question, given))


def as_table(result: object) -> Answer:
    """Return a result of ``fillwright.science`` as a dict that prints well.

    Parameters
    ----------
    result : object
        A dataclass that one of the functions returned, or a dict.

    Returns
    -------
    Answer
        By field name, in SI units as its docstring says; a notebook shows it as a table.

    Raises
    ------
    TypeError
        If it is neither.
    """
    from fillwright.questions.answered import as_table  # noqa: PLC0415  the same

    return as_table(result)


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
