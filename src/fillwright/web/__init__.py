"""The pages: they render what `jobs` says and decide nothing."""

from __future__ import annotations

from fillwright.web.app import create_app

__all__ = ["create_app"]
