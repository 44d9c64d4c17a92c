"""Ballast, people and small heels against hand sums on the box."""

import numpy as np
import pytest

from engine.geometry.shapes import Prism
from engine.liquids import Liquid, Tank
from engine.planning.other_means import CONDITIONS, People, ballast_transfers, people_moved, small_heel
from engine.planning.predicted import PlannedTank, predict
from tests.engine.planning.ships import box_ship, box_tank

AT = predict(box_ship())


def wing(side):
    points = np.array([(2.0, 2.0), (5.0, 0.5), (5.0, 3.0), (2.0, 3.0)]) * [side, 1.0]
    tank = Tank.of_solid(Prism.constant(points_m=points, x_min_m=20, x_max_m=30).solid())
    return PlannedTank(Liquid(tank, 0.0, 1.025))


def test_a_pair_of_boxes_moves_30_percent_of_one():
    tanks = [box_tank((20, 30), y, (0, 2), density=1.025) for y in ((2, 5), (-5, -2))]
    (one,) = ballast_transfers(tanks, at=AT)
    assert (one.port, one.starboard) == (0, 1)
    assert one.volume_m3 == pytest.approx(0.3 * 60, rel=1e-12)
    assert one.moment_tm == pytest.approx(1.025 * 18 * 7, rel=1e-12)  # from y = +3.5 to −3.5
    assert AT.moment_tm(np.tan(np.radians(one.heel_deg))) == pytest.approx(one.moment_tm, rel=1e-12)


def test_all_ten_conditions_are_listed_and_those_of_the_shape_judged():
    (boxes,) = ballast_transfers([box_tank((20, 30), y, (0, 2)) for y in ((2, 5), (-5, -2))], at=AT)
    assert [one.code for one in boxes.conditions] == [code for code, _ in CONDITIONS]
    assert len(boxes.conditions) == 10
    judged = {one.code: one.outcome for one in boxes.conditions}
    assert (judged["tanks-wall-sided"], judged["tanks-opposite"]) == ("met", "met")
    assert judged["blanks-fitted"] == "not_known"
    (slopes,) = ballast_transfers([wing(1.0), wing(-1.0)], at=AT)
    assert {one.code: one.outcome for one in slopes.conditions}["tanks-wall-sided"] == "not_met"


def test_tanks_that_are_no_pair_transfer_nothing():
    assert ballast_transfers([box_tank((20, 30), (2, 5), (0, 2)), box_tank((31, 41), (-5, -2), (0, 2))], at=AT) == ()


def test_people_and_how_many_it_takes():
    least = float(np.tan(np.radians(1.0)))
    moved = people_moved(People(40, 4.0), at=AT, least_ratio=least)
    assert moved.moment_tm == pytest.approx(40 * 0.075 * 4.0, rel=1e-12)
    enough = people_moved(People(moved.count_needed, 4.0), at=AT, least_ratio=least)
    short = people_moved(People(moved.count_needed - 1, 4.0), at=AT, least_ratio=least)
    assert enough.heel_deg >= 1.0 > short.heel_deg


def test_a_small_heel_only_where_the_instruments_allow_it():
    one = float(np.tan(np.radians(1.0)))
    assert small_heel(at=AT, least_tangent_ratio=0.02, least_ratio=one, moment_tm=1e9) is None
    needed = AT.moment_tm(0.01)
    found = small_heel(at=AT, least_tangent_ratio=0.01, least_ratio=one, moment_tm=needed)
    assert found.possible
    assert found.heel_deg == pytest.approx(np.degrees(np.arctan(0.01)), rel=1e-12)
    assert not small_heel(at=AT, least_tangent_ratio=0.01, least_ratio=one, moment_tm=0.99 * needed).possible
