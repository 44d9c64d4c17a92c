"""A record whose hull is a set of tables."""

import json

import numpy as np
import pytest

from engine.errors import InputError
from engine.flotation.tables import HydrostaticTables
from service.schemas.record import StabilityTest
from tests.engine.record.test_chain import by_tables

KN = {"displacement_t": [1000.0, 1500.0], "heel_deg": [0, 20, 40], "kn_m": [[0.0, 2.0, 4.0], [0.0, 1.9, 3.9]]}


def made(cross_curves=None, **more):
    record = {**by_tables(), **more}
    if cross_curves is not None:
        record["hull"] = {**record["hull"], "cross_curves": cross_curves}
    return StabilityTest.model_validate_json(json.dumps(record))


def test_tables_stand_for_the_hull_beside_loading_conditions():
    request = made(loading_conditions=[{"name": "departure"}])
    record, _ = request.record()
    assert isinstance(record.hull, HydrostaticTables)
    assert request.righting_levers() is None


def test_cross_curves_are_read_where_there_are_some():
    levers = made(KN).righting_levers()
    np.testing.assert_allclose(levers.kn(displacement_t=1000.0, density_t_per_m3=1.025), [0.0, 2.0, 4.0])
    with pytest.raises(InputError) as refused:
        made({**KN, "kn_m": [[0.0, 2.0], [0.0, 1.9]]}).righting_levers()
    assert (refused.value.code, refused.value.field) == ("columns-differ", "hull/cross_curves/kn_m/0")
