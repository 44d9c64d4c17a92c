"""The demonstration record, with and without a loading condition, in nine-plane cuts of its hull."""

import json
from collections.abc import Callable
from typing import Any

import numpy as np

from engine.geometry.plane import Planes
from engine.record.diagnosed import incline_diagnoses, survey_diagnoses
from engine.record.solve import solve
from service.demo import demo_record
from service.resources.incline import spread_of
from service.resources.stability_tests import compute
from service.schemas.record import StabilityTest

Line = tuple[str, float, str, float, float, float | None]
DEPARTURE: dict[str, Any] = {
    "name": "departure",
    "items": [{"name": "stores", "mass_t": 20, "x_m": 20, "y_m": 0, "z_m": 6.5}],
    "tanks": [
        {"tank": "fresh water", "fill_percent": 98, "use": "fresh_water"},
        {"tank": "fuel port", "fill_percent": 95, "use": "diesel"},
        {"tank": "fuel starboard", "fill_percent": 95, "use": "diesel"},
    ],
}


def record_ratios(in_turns: Callable[..., list[float]], repeats: int) -> list[Line]:
    """Return the two ratios. The cut is of nine planes about the plane as inclined, heeled to two degrees each way.

    The record is the whole operation less its diagnosis, which is timed beside it.
    """
    plain = StabilityTest.model_validate_json(json.dumps({**demo_record(), "loading_conditions": []}))
    loaded = StabilityTest.model_validate_json(json.dumps({**demo_record(), "loading_conditions": [DEPARTURE]}))
    record, _ = plain.record()
    planes = Planes.from_waterplanes(
        draft_m=np.full(9, 3.03), heel_deg=np.linspace(-2.0, 2.0, 9), trim_m=0.3, length_bp_m=record.length_bp_m
    )
    solved = solve(record)
    spread = spread_of(record, solved)

    def diagnosis() -> None:
        incline_diagnoses(record, solved)
        survey_diagnoses(record, solved, spread, None)

    whole, more, cut, named = in_turns(
        lambda: compute(plain),
        lambda: compute(loaded),
        lambda: record.hull.cut(planes),
        diagnosis,
        repeats=repeats,
    )
    found = compute(loaded)
    incline = compute(plain).incline
    assert found.incline == incline  # a condition changes nothing of the test
    return [
        ("whole record / nine-plane cut", (whole - named) / cut, "<= 25", whole - named, cut, None),
        ("one loading condition / nine-plane cut", (more - whole) / cut, "<= 10", more - whole, cut, None),
    ]
