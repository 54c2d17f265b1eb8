"""Pages that follow the bench: what each of them has, so that it is told what changed at once.

A page that was drawn for a browser is drawn again when its job moves on, and what differs within
its frame goes out on the stream that the page has open, without being asked for. The page holds
it against what it has; where that is something else, it asks as it would have.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from threading import Lock
from typing import Final

from starlette.responses import Response

from fillwright.web.render import Shown
from fillwright.web.visit import Visit

__all__ = ["Followers"]

_MOST: Final = 64


class Followers:
    """The pages asked for last, by the names that they gave themselves."""

    def __init__(self) -> None:
        self._pages: OrderedDict[str, tuple[Visit, Callable[[Visit], Response]]] = OrderedDict()
        self._lock = Lock()

    def keep(self, visit: Visit, handler: Callable[[Visit], Response], shown: Response) -> None:
        """Remember a page that was drawn for somebody who gave it a name."""
        if not visit.page or not isinstance(shown, Shown):
            return
        with self._lock:
            self._pages[visit.page] = replace(visit, spares=shown.has), handler
            self._pages.move_to_end(visit.page)
            while len(self._pages) > _MOST:
                self._pages.popitem(last=False)

    def changes(self, page: str, session: str) -> str | None:
        """Return what changed of a page, as JSON; None where it had better ask.

        Parameters
        ----------
        page : str
            Name that the page gave itself.
        session : str
            Secret of the browser that asks: a page belongs to one browser.
        """
        with self._lock:
            visit, handler = self._pages.get(page, (None, None))
        if visit is None or handler is None or visit.session != session:
            return None
        shown = handler(visit)
        self.keep(visit, handler, shown)
        is_told = isinstance(shown, Shown) and shown.is_changes
        return bytes(shown.body).decode() if is_told else None
