"""One answer to the demonstration and one to an awkward record, for all tests of reports."""

import importlib.util
import json
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from starlette.testclient import TestClient

from fixtures.demo import demo_record as noiseless_record
from service.app import create_app
from service.demo import demo_record
from service.resources.stability_tests import StabilityTest, StabilityTestAnswer, compute
from service.settings import Settings


class Asked(NamedTuple):
    """A record, its request and its answer."""

    record: dict[str, Any]
    request: StabilityTest
    answer: StabilityTestAnswer


def ask(record: dict[str, Any]) -> Asked:
    request = StabilityTest.model_validate_json(json.dumps(record))
    return Asked(record, request, compute(request))


@pytest.fixture(scope="session")
def demo() -> Asked:
    return ask(demo_record())


@pytest.fixture(scope="session")
def noiseless() -> Asked:
    """The demonstration without reading errors."""
    return ask(noiseless_record(instruments="three_kinds"))


@pytest.fixture(scope="session")
def failed() -> Asked:
    """A test with a weight moved to the wrong side: many required checks are not met."""
    case = json.loads((Path(__file__).parents[3] / "fixtures/cases/wrong-side.json").read_text())
    return ask(case["request"]["body"])


@pytest.fixture(scope="session")
def awkward_module():
    path = Path(__file__).with_name("awkward.py")
    spec = importlib.util.spec_from_file_location("awkward", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def awkward(awkward_module) -> Asked:
    return ask(awkward_module.awkward_record())


@pytest.fixture(scope="session")
def plain():
    with TestClient(create_app(Settings())) as one:
        yield one
