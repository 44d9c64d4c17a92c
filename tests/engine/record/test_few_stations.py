"""A hull told by few stations is said to be, one told by many is not, and a body that few stations tell is neither."""

import json

import numpy as np
import pytest

from engine.geometry.plane import Planes
from engine.geometry.section_solid import SectionSolid
from engine.record.few_stations import thinned
from engine.record.noticed import noticed
from engine.record.solve import solve
from service.demo import demo_record
from service.schemas.record import StabilityTest


def codes(step):
    """Findings of the demonstration test with every so manieth station, the last one kept."""
    record = {**demo_record(), "loading_conditions": []}
    stations = record["hull"]["stations"]
    record["hull"]["stations"] = [*stations[:-1:step], stations[-1]]
    made, _ = StabilityTest.model_validate_json(json.dumps(record)).record()
    solution = solve(made)
    return [one.code for one in noticed(made, solution, None)], solution.surveyed.afloat.hydrostatics


def test_the_demonstration_hull_has_enough_stations():
    found, _ = codes(1)
    assert "hull-by-few-stations" not in found


@pytest.mark.parametrize("step", [4, 6])
def test_a_quarter_of_them_is_too_few(step):
    found, at = codes(step)
    _, whole = codes(1)
    assert abs(at.km_transverse_m[0] - whole.km_transverse_m[0]) > 0.02  # what is said is so: VCG is off by as much
    assert "hull-by-few-stations" in found


def section(breadth):
    return [[[-breadth, 0.0], [breadth, 0.0], [breadth, 8.0], [-breadth, 8.0]]]


def test_a_box_of_five_stations_loses_nothing_with_every_other():
    box = SectionSolid.from_loops(x_m=[0, 10, 20, 30, 40], loops_m=[section(6.0)] * 5)
    fewer = thinned(box)
    assert fewer.x_m.tolist() == [0, 20, 40]
    plane = Planes.from_waterplanes(draft_m=3.0, length_bp_m=40.0)
    np.testing.assert_allclose(fewer.cut(plane).volume_m3, box.cut(plane).volume_m3, rtol=1e-12)


def test_breaks_and_ends_stay():
    x = [0, 1, 2, 3, 4, 4, 6, 8, 10, 12, 14]
    body = SectionSolid.from_loops(x_m=x, loops_m=[section(5.0)] * 5 + [section(6.0)] * 6)
    assert thinned(body).x_m.tolist() == [0, 2, 4, 4, 8, 12, 14]
    assert thinned(SectionSolid.from_loops(x_m=[0, 1, 2, 3], loops_m=[section(5.0)] * 4)) is None
