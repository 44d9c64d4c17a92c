"""Batches of lines of one direction: which rows are taken together, and that nobody can tell from the answer."""

import numpy as np
import pytest

from engine.geometry import Planes, SectionSolid
from engine.geometry.station_cuts import StationCuts
from tests.engine.geometry.test_section_solid import agree, hull, rectangle, sections

LENGTH = 100.0


def catamaran():
    x, made = hull()
    return x, [[s[0] * [0.3, 1] + [6, 0], s[0] * [0.3, 1] - [6, 0]] for s in made]


def moonpool():
    # A rectangle of its own in the middle stations, without a break where it begins and ends.
    x, made = hull()
    return x, [[s[0], *([rectangle(2, 5, 9)] if 5 < i < 30 else [])] for i, s in enumerate(made)]


def in_two(cuts: StationCuts, planes: Planes, solid: SectionSolid):
    """Rows taken with section functions, batch by batch, and rows clipped."""
    batches = list(cuts.batches(solid._lines(planes)))
    held = [rows.tolist() for rows, functions in batches if functions is not None]
    clipped = sorted(row for rows, functions in batches if functions is None for row in rows)
    return held, clipped


def test_rows_of_one_direction_are_found_in_any_order():
    # Heels and trims change from row to row; trims turn no water line within a section, but round its direction.
    solid = sections(hull())
    rng = np.random.default_rng(2)
    heel = rng.permutation(np.concatenate([np.repeat([0.0, 20.0, -35.0], 40), rng.uniform(30, 60, 15)]))
    planes = Planes.from_waterplanes(
        draft_m=rng.uniform(1, 9, len(heel)),
        heel_deg=heel,
        trim_m=rng.uniform(-3, 3, len(heel)),
        length_bp_m=LENGTH,
    )
    held, clipped = in_two(solid._stations, planes, solid)
    assert sorted(held) == sorted(np.flatnonzero(heel == value).tolist() for value in (0.0, 20.0, -35.0))
    assert clipped == np.flatnonzero(heel > 29).tolist()


def test_few_rows_are_clipped():
    solid = sections(hull())
    few = Planes.from_waterplanes(draft_m=[3.0, 4.0, 5.0], trim_m=0.5, length_bp_m=LENGTH)
    assert in_two(solid._stations, few, solid) == ([], [0, 1, 2])


def test_sections_whose_edges_cross_are_clipped():
    # Two squares, one turned by asin(0.6); the number of rows would pay.
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], float)
    loops = [square, square @ np.array([[0.8, 0.6], [-0.6, 0.8]]) + [0.3, 0]]
    solid = SectionSolid.from_loops(x_m=[0, 10], loops_m=[loops, loops])
    many = Planes.from_waterplanes(draft_m=np.linspace(-1, 1, 3000), length_bp_m=10)
    assert in_two(solid._stations, many, solid) == ([], list(range(3000)))


@pytest.mark.parametrize("made", [hull, catamaran, moonpool])
@pytest.mark.parametrize("heel", [0.0, 25.0, -60.0, 90.0, 180.0])
def test_a_batch_answers_as_its_planes_do_one_by_one(made, heel):
    # One plane is clipped, 60 of one direction are not: dry, emerging, cut, deck under, wholly immersed.
    solid = sections(made())
    rng = np.random.default_rng(3)
    turn = np.radians(heel)
    normals = np.column_stack([rng.uniform(-0.03, 0.03, 60), np.full(60, np.sin(turn)), np.full(60, np.cos(turn))])
    through = solid.bounds_m.mean(axis=0) + np.array([0.0, np.sin(turn), np.cos(turn)]) * rng.uniform(-9, 9, (60, 1))
    planes = Planes.from_normals(normals=normals, offsets_m=np.einsum("ij,ij->i", normals, through))
    assert in_two(solid._stations, planes, solid)[1] == []
    together = solid.cut(planes)
    areas = {x: solid.section_area_m2(planes, x_m=x) for x in (0.0, 33.0, 50.0)}
    for row in range(60):
        one = planes.take(np.array([row]))
        agree(_row(together, row), solid.cut(one))
        for x, area in areas.items():
            assert area[row] == pytest.approx(solid.section_area_m2(one, x_m=x)[0], abs=1e-11)


def _row(cuts, row):
    """One plane's part of many cuts."""
    fields = {name: getattr(cuts, name)[[row]] for name in cuts.__dataclass_fields__ if name != "planes"}
    return type(cuts)(planes=cuts.planes.take(np.array([row])), **fields)
