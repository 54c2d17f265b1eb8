"""Draw a page: the templates, their environment, and what each of them is given.

A page that cannot be drawn has no verdict of its own: it says in plain words what is wrong.
"""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from importlib.metadata import version
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.responses import HTMLResponse

from fillwright.records.charts import Chart
from fillwright.records.codec import new_id
from fillwright.records.fold import JobState
from fillwright.report.charts import NARROW, describe, draw, mark, table
from fillwright.web.shell import shell_of
from fillwright.web.visit import LIGHTS, Visit

__all__ = ["TAGS", "plain_page", "render"]

TAGS: Final[dict[str, tuple[str, str]]] = {
    "on": ("on", "is-on"),
    "low": ("low", "is-warn"),
    "high": ("high", "is-warn"),
    "short": ("short", "is-stop"),
    "far-short": ("far-short", "is-stop"),
    "overfull": ("overfull", "is-stop"),
    "wait": ("settling", "is-wait"),
    "held": ("held", "is-warn"),
    "warn": ("held", "is-warn"),
    "stop": ("stop", "is-stop"),
    "kept": ("done", "is-plain"),
}
"""Shape and colour of each state; the word comes from `jobs`."""


def render(
    visit: Visit,
    template: str,
    *,
    status: int = 200,
    state: JobState | None = None,
    **given: object,
) -> HTMLResponse:
    """Return a page.

    Parameters
    ----------
    visit : Visit
        Who looks.
    template : str
        Name of the template.
    status : int
        Status of the answer.
    state : JobState, optional
        The job that the page is about.
    **given : object
        What the template shows.

    Returns
    -------
    HTMLResponse
        The page.
    """
    shell = shell_of(visit, state)
    given.setdefault("error", None)
    given.setdefault("typed", visit.form)
    given.setdefault("act", None)
    html = (
        _environment()
        .get_template(template)
        .render(
            visit=visit, shell=shell, state=state, facts=state.facts if state else None, **given
        )
    )
    return HTMLResponse(html, status_code=status)


def plain_page(visit: Visit, *, status: int, headline: str, words: str) -> HTMLResponse:
    """Return a page that only says something in plain words."""
    return render(visit, "plain.html", status=status, headline=headline, words=words)


@cache
def _environment() -> Environment:
    """Return the environment of all templates."""
    environment = Environment(
        loader=PackageLoader("fillwright.web"),
        autoescape=select_autoescape(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals |= {
        "mark": _mark,
        "chart": _chart,
        "describe": describe,
        "rows_of": table,
        "tags": TAGS,
        "lights": LIGHTS,
        "new_id": new_id,
        "program": version("fillwright"),
    }
    environment.filters |= {"plain": _plain, "clock": _clock, "cap": _cap}
    return environment


def _mark(name: str) -> Markup:
    """Return a mark of state."""
    return Markup(mark(name))  # noqa: S704  drawn by our own code from a fixed table


def _chart(spec: Chart, *, width: int = 0) -> Markup:
    """Return a chart for a width of the page; letters in it are escaped where it is drawn."""
    drawn = draw(spec, for_print=False, width_px=width or NARROW)
    return Markup(drawn)  # noqa: S704  every letter is escaped in report.svg


def _plain(number: Decimal | float | None) -> str:
    """Return a figure without an exponent and without trailing zeros that say nothing."""
    if number is None:
        return ""
    text = format(number, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _cap(text: str) -> str:
    """Return a text with its first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def _clock(at: object) -> str:
    """Return the time of day of a moment, as the bench's clock shows it."""
    return at.astimezone().strftime("%d %b %H:%M") if hasattr(at, "astimezone") else ""
