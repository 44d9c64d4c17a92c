"""A record whose hull is a set of tables: what it can have beside it, and what it cannot."""

import json

import pytest

from engine.errors import InputError
from service.schemas.record import StabilityTest
from tests.engine.record.test_chain import by_tables


def made(**more):
    record = {name: part for name, part in by_tables().items() if name != "loading_conditions"}
    return StabilityTest.model_validate_json(json.dumps({**record, **more}))


def test_loading_conditions_need_the_hull_itself():
    assert made().record()[0].length_bp_m == 56.0
    with pytest.raises(InputError) as refused:
        made(loading_conditions=[{"name": "departure"}]).record()
    assert (refused.value.code, refused.value.field) == ("conditions-need-geometry", "loading_conditions")
