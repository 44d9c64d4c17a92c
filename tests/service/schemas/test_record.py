"""A record whose hull is a set of tables."""

import json

from engine.flotation.tables import HydrostaticTables
from service.schemas.record import StabilityTest
from tests.engine.record.test_chain import by_tables


def test_tables_stand_for_the_hull_beside_loading_conditions():
    body = {**by_tables(), "loading_conditions": [{"name": "departure"}]}
    record, _ = StabilityTest.model_validate_json(json.dumps(body)).record()
    assert isinstance(record.hull, HydrostaticTables)
    assert record.length_bp_m == 56.0
