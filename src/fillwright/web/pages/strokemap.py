"""The map of a product on a machine: recharge and nozzle against warmth, today in it."""

from __future__ import annotations

from fillwright.jobs.setup import stroke_map as strokemap
from fillwright.web.stage import StagePage, routes_of

__all__ = ["ROUTES"]

PAGE = StagePage(
    key="map",
    template="map.html",
    look=lambda visit, state: strokemap.look(visit.desk, state),
)
ROUTES = routes_of(PAGE)
