"""The manual: the pages of the documentation, drawn for the program itself and as a site."""

from __future__ import annotations

from fillwright.manual.pages import Page, Shelf, find_page, picture, shelves
from fillwright.manual.site import build_site

__all__ = ["Page", "Shelf", "build_site", "find_page", "picture", "shelves"]
