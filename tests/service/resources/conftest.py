"""One service for the tests of the plain resources."""

from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.settings import Settings


@pytest.fixture(scope="session")
def plain_http() -> Iterator[TestClient]:
    """Serve with the default settings."""
    with TestClient(create_app(Settings())) as one:
        yield one
