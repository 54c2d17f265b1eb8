"""Draw a page: the templates, their environment, and what each of them is given.

A page that cannot be drawn has no verdict of its own: it says in plain words what is wrong.
"""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import replace
from decimal import Decimal
from functools import cache, lru_cache
from importlib.metadata import version
from typing import Final

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.responses import Response

from fillwright.language import page, script_texts, shown_tongues, tongue_of
from fillwright.language.charted import chart_in_us, named_in_us
from fillwright.language.kept import keep_of
from fillwright.language.measures import US, Keep
from fillwright.records.charts import Chart
from fillwright.records.codec import new_id
from fillwright.records.fold import JobState
from fillwright.records.units import LABEL_UNITS
from fillwright.report.charts import NARROW, Table, describe, draw, mark, table
from fillwright.web.shell import shell_of
from fillwright.web.spares import Sparse, leave_out
from fillwright.web.visit import LIGHTS, Visit

__all__ = ["TAGS", "Shown", "plain_page", "render"]

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


_IN_US: Final[ContextVar[bool]] = ContextVar("in_us", default=False)
_SPARES: Final[ContextVar[frozenset[str]]] = ContextVar("spares", default=frozenset())


class Shown(Response):
    """A page as it goes out, or what changed of it where the visitor has the rest.

    Parameters
    ----------
    sparse : Sparse
        What is sent.
    spares : frozenset of str
        What the visitor had.
    status : int
        Status of the answer.
    """

    def __init__(self, sparse: Sparse, spares: frozenset[str], status: int) -> None:
        self.is_changes = sparse.has_frame
        self.has = frozenset([*(one for one in spares if "=" not in one), *sparse.had()])
        """What the visitor has once this is shown."""
        content = sparse.told() if self.is_changes else sparse.html
        kind = "application/json" if self.is_changes else "text/html"
        super().__init__(content, status_code=status, media_type=kind)


def render(
    visit: Visit,
    template: str,
    *,
    status: int = 200,
    state: JobState | None = None,
    **given: object,
) -> Shown:
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
    Shown
        The page, or what changed of it where the visitor has its frame.
    """
    shell = shell_of(visit, state)
    given.setdefault("error", None)
    given.setdefault("typed", visit.form)
    given.setdefault("act", None)
    facts = state.facts if state else None
    # The pages of the manual explain the units themselves: they stay as they were written.
    way = visit.way.spoken() if template == "manual.html" else visit.way
    token = _SPARES.set(visit.spares)
    in_us = _IN_US.set(way.measures == US)
    try:
        html = (
            _environment()
            .get_template(template)
            .render(visit=visit, shell=shell, state=state, facts=facts, **given)
        )
    finally:
        _SPARES.reset(token)
        _IN_US.reset(in_us)
    if way.measures:
        way = replace(way, keep=_keep(visit, state, given))
    return Shown(leave_out(page(html, way), visit.spares), visit.spares, status)


def plain_page(visit: Visit, *, status: int, headline: str, words: str) -> Shown:
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
        "is_spare": _is_spare,
        "describe": _described,
        "rows_of": _rows,
        "tags": TAGS,
        "lights": LIGHTS,
        "tongues": shown_tongues(),
        "tongue_of": tongue_of,
        "script_texts": script_texts,
        "label_units": [(unit, unit) for unit in LABEL_UNITS],
        "new_id": new_id,
        "program": version("fillwright"),
    }
    environment.filters |= {"plain": _plain, "clock": _clock, "cap": _cap}
    return environment


def _keep(visit: Visit, state: JobState | None, given: dict[str, object]) -> Keep:
    """Return what people typed or declared of all that a page shows."""
    site = visit.desk.book.site()
    kept = (site.products, site.containers, site.machines, site.scales)
    return keep_of([*kept, state and state.known, *given.values()])


def _mark(name: str) -> Markup:
    """Return a mark of state."""
    return Markup(mark(name))  # noqa: S704  drawn by our own code from a fixed table


def _is_spare(part: str) -> bool:
    """Return whether the page has a part and does not show it now."""
    return part in _SPARES.get()


def _chart(spec: Chart, *, width: int = 0) -> Markup:
    """Return a chart for a width of the page; letters in it are escaped where it is drawn."""
    return _drawn(_Same(spec), width or NARROW, in_us=_IN_US.get())


@lru_cache(maxsize=32)
def _drawn(same: _Same, width: int, *, in_us: bool) -> Markup:
    """Return the drawing, made once for all pages that show the very same chart."""
    spec = chart_in_us(same.spec) if in_us else same.spec
    drawn = draw(spec, for_print=False, width_px=width)
    drawn = named_in_us(drawn) if in_us else drawn
    return Markup(drawn)  # noqa: S704  every letter is escaped in report.svg


class _Same:
    """A chart that is told by being the very same one, which costs less than to compare it."""

    def __init__(self, spec: Chart) -> None:
        self.spec = spec

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.spec is other.spec

    def __hash__(self) -> int:
        return id(self.spec)


def _described(spec: Chart) -> str:
    """Return what a chart shows, in words."""
    return named_in_us(describe(chart_in_us(spec))) if _IN_US.get() else describe(spec)


def _rows(spec: Chart) -> Table:
    """Return the rows behind a chart."""
    if not _IN_US.get():
        return table(spec)
    found = table(chart_in_us(spec))
    return Table(
        head=tuple(named_in_us(cell) for cell in found.head),
        rows=tuple(tuple(named_in_us(cell) for cell in row) for row in found.rows),
    )


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
