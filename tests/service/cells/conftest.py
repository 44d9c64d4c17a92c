"""One service, and a short way to ask a cell."""

from collections.abc import Callable, Iterator

import pytest
from starlette.testclient import TestClient

from service.app import create_app
from service.settings import Settings

Ask = Callable[..., str]


@pytest.fixture(scope="session")
def http() -> Iterator[TestClient]:
    with TestClient(create_app(Settings())) as one:
        yield one


@pytest.fixture(scope="session")
def ask(http: TestClient) -> Ask:
    """Return the text of a cell, given its query as keywords."""

    def asked(path: str, **query: object) -> str:
        answer = http.get(f"/v1/cells/{path}", params={name: str(value) for name, value in query.items()})
        assert answer.status_code == 200, answer.text
        return answer.text

    return asked
