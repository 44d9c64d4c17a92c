"""Length, weights, hull and lightship that are not of one ship: a box of 60 × 12 × 8 m. The limits are our choice."""

import json

import numpy as np
import pytest

from engine.errors import InputError, NotDeterminedError
from engine.geometry.shapes import Box
from engine.lightship.derivation import Mass
from engine.lightship.particulars import Lightship
from engine.record.of_this_ship import of_length, of_loaded, of_references
from engine.record.plausible import refuse_implausible_hull, refuse_implausible_lightship
from service.schemas.hull import BOX_BARGE
from service.schemas.record import SurveyedShip


def surveyed(hull):
    heights = [{"x_m": x, "y_m": 6.0, "draft_m": 4.0} for x in (5.0, 30.0)]
    ship = {"hull": hull, "water": {"samples": [{"density_t_per_m3": 1.025}]}, "draft_marks": heights}
    return SurveyedShip.model_validate_json(json.dumps(ship)).record()[0]


def boxed(length=60.0, breadth=12.0, depth=8.0):
    ends = {"x_min_m": 0.0, "x_max_m": length, "z_min_m": 0.0, "z_max_m": depth}
    return Box(**ends, y_min_m=-breadth / 2, y_max_m=breadth / 2).solid()


@pytest.mark.parametrize(
    ("length", "aft", "code"),
    [
        (60.0, 0.0, None),
        (61.5, 0.0, None),  # 3 % of L without hull: 61.86
        (62.5, 0.0, "length-and-hull-differ"),
        (66.0, 0.0, "length-and-hull-differ"),  # 10 %: 66.67
        (67.0, 0.0, "length-not-of-hull"),
        (196.85, 0.0, "length-not-of-hull"),  # feet
        (6.0, 0.0, "length-not-of-hull"),
        (49.0, 0.0, None),  # 25 % of L beyond the perpendicular: 48
        (47.0, 0.0, "length-and-hull-differ"),
        (39.0, 0.0, "length-not-of-hull"),  # 50 %: 40
        (60.0, -30.0, "length-not-of-hull"),  # from midship
        (52.0, -4.0, None),
    ],
)
def test_the_length_against_the_hull(length, aft, code):
    stations = [{**one, "x_m": one["x_m"] + aft} for one in BOX_BARGE["stations"]]
    hull = {**BOX_BARGE, "length_bp_m": length, "stations": stations}
    told = list(of_length(surveyed(hull)))
    assert [one.code for one in told] == ([] if code is None else [code])
    if told:
        assert f"{length:.6g} m" in told[0].message
        assert f"{60 + aft:.6g} m" in told[0].message


@pytest.mark.parametrize(
    ("breadth", "depth", "limit"),
    [
        (12.0, 8.0, None),
        (1.3, 0.4, None),  # 1/50 of 60 m is 1.2 m, 1/200 is 0.3 m
        (60.0, 60.0, None),
        (12000.0, 8000.0, 300.0),
        (1200.0, 8.0, 300.0),
        (1.1, 0.4, 1.2),
        (12.0, 130.0, 120.0),
        (12.0, 0.2, 0.3),
    ],
)
def test_the_hull_s_proportions(breadth, depth, limit):
    hull = boxed(breadth=breadth, depth=depth)
    if limit is None:
        refuse_implausible_hull(hull)
        return
    with pytest.raises(InputError) as refused:
        refuse_implausible_hull(hull)
    assert (refused.value.code, refused.value.field) == ("hull-proportions", "hull")
    assert refused.value.limit == pytest.approx(limit)


@pytest.mark.parametrize(
    ("mass", "centre", "limit"),
    [
        (1000.0, (25.0, 0.0, 5.0), None),
        (60.0, (25.0, 0.0, 5.0), None),  # 0.01 × 60 × 12 × 8 = 57.6 t
        (57.0, (25.0, 0.0, 5.0), 57.6),
        (1000.0, (-0.5, 0.0, 5.0), 0.0),
        (1000.0, (60.5, 0.0, 5.0), 60.0),
        (1000.0, (25.0, 6.5, 5.0), 6.0),
        (1000.0, (25.0, 0.0, 15.5), None),  # a hull's height above its top
        (1000.0, (25.0, 0.0, 16.5), 16.0),
        (1000.0, (25.0, 0.0, -8.5), -8.0),
    ],
)
def test_a_lightship_beyond_belief(mass, centre, limit):
    ship = Mass(mass, np.array(centre))
    if limit is None:
        refuse_implausible_lightship(ship, hull=boxed())
        return
    with pytest.raises(NotDeterminedError) as withheld:
        refuse_implausible_lightship(ship, hull=boxed())
    assert withheld.value.code == "lightship-implausible"
    assert withheld.value.limit == pytest.approx(limit)


@pytest.mark.parametrize(
    ("stated", "says"),
    [
        ((1000.0, 25.0, 0.0, 5.0), None),
        ((2900.0, 25.0, 0.0, 5.0), None),  # a factor of three
        ((3100.0, 25.0, 0.0, 5.0), "mass = 3100 t, 1000 t found"),
        ((320.0, 25.0, 0.0, 5.0), "mass = 320 t"),
        ((1e6, 25.0, 0.0, 5.0), "mass = 1e+06 t"),
        ((1000.0, 30.9, 0.0, 5.0), None),  # a tenth of 60 m
        ((1000.0, 31.1, 0.0, 5.0), "x = 31.1 m, 25 m found"),
        ((1000.0, -5.0, 0.0, 5.0), "x = -5 m, 25 m found: is it from midship?"),
        ((1000.0, 25.0, 2.9, 5.0), None),  # a quarter of 12 m
        ((1000.0, 25.0, 3.1, 5.0), "y = 3.1 m, 0 m found"),
        ((1000.0, 25.0, 0.0, 8.9), None),  # half of 8 m
        ((1000.0, 25.0, 0.0, 5000.0), "z = 5000 m, 5 m found"),
        ((1000.0, 25.0, None, None), None),
    ],
)
def test_a_lightship_stated_against_the_one_found(stated, says):
    found = Mass(1000.0, np.array([25.0, 0.0, 5.0]))
    told = [one.message for one in of_references(surveyed(BOX_BARGE), {"sister": Lightship(*stated)}, found)]
    assert len(told) == (says is not None)
    if says is not None:
        assert told[0].startswith(f"sister: {says}")


def test_items_of_a_condition_within_the_hull_or_twice_its_depth_above_it():
    places = [(0.0, 6.0, 0.0), (30.0, 0.0, 23.9), (30.0, 0.0, 24.5), (-28.0, 0.0, 5.0)]
    told = [one.message for one in of_loaded(boxed(), [np.array(one) for one in places])]
    assert told == ["items/2 lies 0.5 m outside the ship", "items/3 lies 28 m outside the ship"]
