"""What the tests over HTTP share: a browser without scripts at the bench of their own file."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from fillwright.web.app import create_app


@pytest.fixture
def client(bench):
    """A browser without scripts, with initials picked."""
    with TestClient(create_app(bench), base_url="http://localhost") as client:
        client.cookies.set("fw_person", "AB")
        yield client
