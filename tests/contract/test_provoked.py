"""Findings and refusals of the whole record that no smaller test provokes, each by one change to the demo test."""

import copy
import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from engine.flotation.hydrostatics import hydrostatics
from engine.geometry import Planes
from service.demo import demo_record
from service.resources.stability_tests import compute
from service.schemas.hull import hull_from_json, solid_of
from service.schemas.record import StabilityTest

Record = dict[str, Any]
DIFFERENCE = [{"name": "two hands", "mass_t": 0.2, "x_m": 20, "y_m": 0, "z_m": 7}]


def apply_deflection(record: Record) -> None:
    record["deflection"] = "apply"


def three_freeboards(record: Record) -> None:
    record["freeboards"] = [record["freeboards"][i] for i in (0, 1, -1)]
    record["deflection"] = "ignore"


def full_tanks(record: Record) -> None:
    for tank in record["tanks"]:
        if tank["contents"]["kind"] != "empty":
            tank["contents"] = {"kind": "full"}
            tank.pop("lightship_volume_m3", None)


def rough_freeboards(record: Record) -> None:
    for i, one in enumerate(record["freeboards"]):
        one["freeboard_m"] += 0.08 * (-1) ** (i // 2)


def one_move(record: Record) -> None:
    record["moves"] = record["moves"][:1]
    record["instruments"] = record["instruments"][:1]
    record["instruments"][0]["deflections_m"] = record["instruments"][0]["deflections_m"][:2]


def one_reading(record: Record) -> None:
    record["instruments"][0]["deflections_m"] = record["instruments"][0]["deflections_m"][:1]


def many_instruments(record: Record) -> None:
    first = record["instruments"][0]
    record["instruments"] = [{**first, "id": f"pendulum {i}"} for i in range(50)]
    back_and_forth = [{"weight": "A", "to_y_m": -4.0}, {"weight": "A", "to_y_m": 4.6}]
    record["moves"] = back_and_forth * 20
    there, back = first["deflections_m"][1], first["deflections_m"][0]
    for one in record["instruments"]:
        one["deflections_m"] = [back, *([there, back] * 20)]


def by_tables(record: Record) -> None:
    """The demo vessel's own hydrostatics as approved tables."""
    hull = hull_from_json(json.dumps(record["hull"]).encode())
    tables = []
    drafts = np.linspace(2.0, 4.5, 26)
    for trim in (-0.5, 0.0, 0.5, 1.0):
        planes = Planes.from_waterplanes(draft_m=drafts, heel_deg=0.0, trim_m=trim, length_bp_m=hull.length_bp_m)
        rows = hydrostatics(
            solid=solid_of(hull)[0], planes=planes, density_t_per_m3=1.025, length_bp_m=hull.length_bp_m
        )
        names = ("displacement_t", "lcb_m", "vcb_m", "lcf_m", "km_transverse_m", "km_longitudinal_m")
        tables.append(
            {"trim_m": trim, "draft_m": drafts.tolist(), **{name: getattr(rows, name).tolist() for name in names}}
        )
    record["hull"] = {"kind": "tables", "length_bp_m": hull.length_bp_m, "tables": tables}
    record["deflection"] = "ignore"


def tables_and_difference(record: Record) -> None:
    by_tables(record)
    record["survey_differences"] = DIFFERENCE


def answered(change: Callable[[Record], None]) -> Any:
    record = copy.deepcopy(demo_record())
    del record["loading_conditions"], record["stability"]
    change(record)
    return compute(StabilityTest.model_validate_json(json.dumps(record)))


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (apply_deflection, "deflection-applied"),
        (three_freeboards, "heights-without-check"),
        (full_tanks, "no-free-surface"),
        (rough_freeboards, "heights-scatter-more-than-stated"),
        (one_move, "scatter-not-shown"),
        (one_reading, "instrument-not-used"),
        (many_instruments, "diagnosis-left-out"),
        (tables_and_difference, "tables-survey-differences"),
    ],
    ids=lambda one: one if isinstance(one, str) else "",
)
def test_finding(change: Callable[[Record], None], code: str) -> None:
    before = {one.code for one in answered(lambda _: None).findings}
    found = {one.code for one in answered(change).findings}
    assert code in found - before
