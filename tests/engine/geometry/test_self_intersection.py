"""Triangles that pass through one another: closed forms, exact rational arithmetic, another program's volumes."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from engine.deadline import watched_by
from engine.geometry import skin
from engine.geometry.compound import Compound, Shelled
from engine.geometry.nested_bodies import nested_bodies
from engine.geometry.self_intersection import CONTACT_RATIO, noted, noted_of, self_intersections
from engine.geometry.surface_solid import SurfaceSolid
from fixtures.simulator import vessels
from tests.engine.geometry import meshes
from tests.engine.geometry.overlap_judges import common_volume, convex, cubes, pierced

CORNERS = [(0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2)]


def joined(*parts):
    first = np.cumsum([0, *(len(v) for v, _ in parts)])
    faces = np.concatenate([f + start for (_, f), start in zip(parts, first, strict=False)])
    return skin.merge_equal(np.concatenate([v for v, _ in parts]), faces)


def box(x, y, z):
    """Box between two x, two y and two z, twelve triangles."""
    vertices, faces = meshes.prism_along_x([(y[0], z[0]), (y[1], z[0]), (y[1], z[1]), (y[0], z[1])], *x)
    return vertices, faces


def tetrahedron(*corners):
    """Tetrahedron of four corners, turned to face outwards."""
    vertices, faces = np.array(corners, dtype=float), np.array(CORNERS)
    outwards = skin.volume_about(vertices, faces, point=vertices[0]).sum() > 0
    return vertices, faces if outwards else faces[:, ::-1]


def inwards(mesh):
    return mesh[0], mesh[1][:, ::-1]


def moved(mesh, by):
    return mesh[0] + np.asarray(by, dtype=float), mesh[1]


def turned(mesh):
    """Turn about two axes, so that nothing lies along the ship's axes any more."""
    (c, s), (p, q) = (np.cos(0.7), np.sin(0.7)), (np.cos(0.4), np.sin(0.4))
    return mesh[0] @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ np.array([[1, 0, 0], [0, p, -q], [0, q, p]]), mesh[
        1
    ]


def rounded(mesh):
    """Turned, and its coordinates rounded as a file in single precision holds them."""
    vertices, faces = turned(mesh)
    return skin.merge_equal(vertices.astype(np.float32).astype(np.float64), faces)


def search(mesh, **limits):
    return self_intersections(vertices_m=mesh[0], faces=mesh[1], **limits)


def codes(mesh):
    return [one.code for one in noted(search(mesh))]


HULL = box((0, 6), (0, 6), (0, 6))

CONTACTS = {
    "one on the other": box((1, 3), (1, 3), (6, 8)),
    "one on the other, the same plan": box((0, 6), (0, 6), (6, 8)),
    "sides flush": box((0, 3), (0, 6), (6, 8)),
    "beside, taller and lower": box((6, 9), (-1, 5), (-1, 9)),
    "beside, within the side": box((6, 9), (1, 4), (1, 5)),
    "edges touch": box((6, 9), (6, 9), (1, 4)),
    "the same edge": box((6, 9), (6, 9), (0, 6)),
    "corners touch": box((6, 9), (6, 9), (6, 9)),
    "an edge on a side": tetrahedron((6, 1, 1), (6, 5, 4), (8, 2, 3), (9, 4, 3)),
    "a corner on a side": tetrahedron((6, 3.1, 2.9), (8, 2, 2), (8, 4, 2), (8, 3, 5)),
    "within a cavity, touching it": inwards(box((2, 5), (2, 5), (2, 5))),
    "apart": box((7, 9), (1, 3), (1, 3)),
    "closer than the tolerance": moved(box((1, 3), (1, 3), (6, 8)), (0, 0, -0.3 * CONTACT_RATIO * 8)),
    "further than rounding": moved(box((1, 3), (1, 3), (6, 8)), (0, 0, 0.3 * CONTACT_RATIO * 8)),
}

OVERLAPS = {
    "a corner within": box((4, 9), (3.5, 8), (2.2, 8)),
    "sunk into the top": box((1, 3), (1, 3), (5.5, 8)),
    "sunk a little": box((1, 3), (1, 3), (6 - 20 * CONTACT_RATIO * 8, 8)),
    "right through": box((2, 3), (2, 3.5), (-1, 7)),
    "sides flush": box((4, 9), (0, 6), (0, 6)),
    "sides and bottom flush": box((4, 9), (0, 6), (0, 4)),
    "the same body": HULL,
    "inside, flush with the bottom": box((1, 2), (1, 2), (0, 2)),
    "inside, an edge on the bottom": tetrahedron((1, 1, 0), (5, 2, 0), (2, 3, 2), (4, 3, 2)),
    "edges cross at a diagonal": tetrahedron((-1, -1, 5), (7, 7, 5), (3, 2, 9), (2, 3, 9)),
    "a pin under a flange": joined(box((1, 3), (1, 3), (4, 6)), box((0.5, 3.5), (0.5, 3.5), (6, 7))),
}


@pytest.mark.parametrize("turn", [lambda mesh: mesh, turned, rounded], ids=["straight", "turned", "rounded"])
@pytest.mark.parametrize("other", CONTACTS.values(), ids=CONTACTS)
def test_bodies_that_touch_are_in_contact_only(other, turn):
    found = search(turn(joined(HULL, other)))
    assert (len(found.crossing), len(found.lying), len(found.folded), len(found.nested)) == (0, 0, 0, 0)
    assert found.complete


@pytest.mark.parametrize("turn", [lambda mesh: mesh, turned, rounded], ids=["straight", "turned", "rounded"])
@pytest.mark.parametrize("other", OVERLAPS.values(), ids=OVERLAPS)
def test_bodies_that_overlap_are_told(other, turn):
    assert codes(turn(joined(HULL, other))) == ["self-intersection"]


def test_a_deck_pierced_just_where_its_triangles_meet():
    """The walls stand in the lines of a deck of unit squares: no triangle of the deck reaches beyond a wall."""
    x, y = (grid.ravel() for grid in np.meshgrid(np.arange(7.0), np.arange(7.0), indexing="ij"))
    corner = (np.arange(6)[:, None] * 7 + np.arange(6)).ravel()
    top = np.concatenate(
        [np.column_stack([corner, corner + 7, corner + 8]), np.column_stack([corner, corner + 8, corner + 1])]
    )
    deck = (np.column_stack([x, y, np.full(49, 6.0)]), top)
    house = box((2, 4), (2, 4), (5, 8))
    grid = joined(deck, house)
    assert codes(grid) == ["self-intersection"]
    assert codes(joined(deck, moved(house, (0, 0, 1)))) == []  # stands on it
    assert codes(joined(deck, moved(house, (0, 0, -2)))) == ["self-intersection"]  # within what the deck bounds
    merged = joined(deck, box((2, 4), (2, 4), (5, 6)), box((2, 4), (2, 4), (6, 8)))  # the same edges, of six triangles
    assert codes(merged) == ["self-intersection"]


def test_skins_that_cross_in_edges_of_both():
    """Two blocks of eight unit cubes, one cube in common: every line of the two skins is an edge of four triangles."""
    block = cubes(np.ones((2, 2, 2), dtype=bool))
    found = search(joined(block, moved(block, (1, 1, 1))))
    assert len(found.lying) == 0
    assert len(found.crossing) == 6  # as the cube in common has six edges where a side of each block meets the other
    assert codes(joined(block, moved(block, (1, 2, 0)))) == []


@pytest.mark.parametrize("n", [200, 400])
def test_needles_narrower_than_the_tolerance_are_clean(n):
    """A cap of n needles from one corner of its rim, 3 m in radius, the tolerance 3 mm: the rim bends within it."""
    assert codes(meshes.cylinder_along_x(n, radius=3.0, length=3000.0, draft=2.0)) == []


def test_the_number_of_pairs_of_two_boxes():
    """Twelve triangles each; counted by exact rational arithmetic, and placed where a side of each stands."""
    mesh = joined(HULL, OVERLAPS["a corner within"])
    found = search(mesh)
    assert {tuple(sorted(pair)) for pair in found.crossing.tolist()} == pierced(*mesh)
    assert len(found.lying) == 0
    assert found.crossing_place_m is not None
    place = np.array(found.crossing_place_m)
    assert np.abs(place - 6).min() < 1e-12  # a side of the hull
    assert np.abs(place - [4, 3.5, 2.2]).min() < 1e-12  # and one of the other box


def test_tetrahedra_that_pierce_one_another():
    """A spike through one face: its three sides pass through that face and no other, three pairs."""
    body = tetrahedron((0, 0, 0), (6, 0, 0), (0, 6, 0), (0, 0, 6))
    spike = tetrahedron((1.0, 1.1, 0.5), (0.9, 1.0, -3), (1.3, 1.0, -3), (1.0, 1.4, -3))
    found = search(joined(body, spike))
    assert len(found.crossing) == 3
    assert found.crossing_place_m is not None
    assert found.crossing_place_m[2] == pytest.approx(0.0, abs=1e-12)
    (told,) = noted(found)
    assert (told.code, told.count, told.place_m) == ("self-intersection", 3, found.crossing_place_m)


@pytest.mark.parametrize("depth", [0.5, 2.0, 20.0])
def test_what_reaches_in_by_less_than_the_tolerance_touches(depth):
    """Boxes 6 and 2 m high, one on the other: 8 m in all, so the tolerance is 8e-6 m."""
    sunk = joined(HULL, box((1, 3), (1, 3), (6 - depth * CONTACT_RATIO * 8, 8)))
    found = search(sunk)
    assert found.tolerance_m == pytest.approx(8e-6)
    assert bool(len(found.crossing)) == (depth > 1)


def test_a_bilge_pushed_through_the_bottom():
    vertices, faces = meshes.ellipsoid(48, a=30.0, b=6.0, c=4.0, draft=2.5)
    assert codes((vertices, faces)) == []
    folded = vertices.copy()
    near = np.argmin(np.linalg.norm(vertices - [5.0, 4.0, 1.0], axis=1))
    folded[near] += [0.0, -14.0, 1.0]  # through the other side
    found = search((folded, faces))
    assert len(found.crossing) > 0
    assert {tuple(sorted(pair)) for pair in found.crossing.tolist()} >= pierced(folded, faces, near=near)


def test_a_vertex_drawn_over_its_neighbours_in_a_flat_bottom():
    """Within one plane: the triangles that follow it lie on others that face the same way."""
    x, y = (grid.ravel() for grid in np.meshgrid(np.arange(7.0), np.arange(7.0), indexing="ij"))
    corner = (np.arange(6)[:, None] * 7 + np.arange(6)).ravel()
    faces = np.concatenate(
        [np.column_stack([corner, corner + 7, corner + 8]), np.column_stack([corner, corner + 8, corner + 1])]
    )
    plate = np.column_stack([x, y, np.zeros(49)])
    assert codes((plate, faces)) == []
    plate[24] += [2.3, 0.4, 0.0]
    found = search((plate, faces))
    assert len(found.lying) > 0
    assert len(found.crossing) == 0
    assert "self-intersection" in codes((plate, faces))
    assert codes(turned((plate, faces))) == codes((plate, faces))


def test_a_plate_without_thickness():
    """Two triangles back to back share an edge that no other has: folded; on a wider pair it is no intersection."""
    vertices = np.array([[0, 0, 0], [4, 0, 0], [0, 0, 3], [4, 0, 3.5]], dtype=float)
    faces = np.array([[0, 1, 2], [1, 3, 2], [2, 3, 0], [0, 3, 1]])  # the other diagonal behind
    found = search((vertices, faces))
    assert (len(found.crossing), len(found.lying)) == (0, 0)
    assert codes((vertices, faces)) == ["faces-folded"]


def test_bodies_within_bodies():
    inner, room = box((2, 3), (2, 3), (2, 3)), inwards(box((1, 5), (1, 5), (1, 5)))
    found = search(joined(HULL, inner))
    assert len(found.nested) == 1
    assert codes(joined(HULL, inner)) == ["body-within-another"]
    assert noted(found)[0].place_m is not None
    assert codes(joined(HULL, room)) == []  # a cavity
    assert codes(joined(HULL, room, inner)) == []  # stands free in it
    assert codes(joined(HULL, moved(inner, (5, 0, 0)))) == []
    notch = meshes.prism_along_x([(0, 0), (6, 0), (6, 6), (4, 6), (4, 2), (0, 2)], 0, 6)
    concave = (notch[0], np.concatenate([notch[1][:12], [[0, 1, 5], [1, 4, 5], [1, 2, 4], [2, 3, 4]]]))
    lid = np.concatenate([concave[1][:12], concave[1][12:][:, ::-1], concave[1][12:] + 6])
    assert codes(joined((notch[0], lid), box((1, 2), (1, 3), (3, 5)))) == []  # in the box of it, in the open


@pytest.mark.parametrize("n", [8, 12, 20, 40, 80, 160])
def test_fair_hulls_are_clean(n):
    for mesh in (
        meshes.ellipsoid(n, a=30.0, b=6.0, c=4.0, draft=2.5),
        meshes.ellipsoid(n, a=3.0, b=3.0, c=3.0, draft=2.5),
        meshes.wigley(n),
        meshes.cylinder_along_x(n, radius=3.0, length=60.0, draft=2.0),
    ):
        assert codes(mesh) == []
        assert codes(turned(mesh)) == []
        assert codes(rounded(mesh)) == []


def test_simple_shapes_are_clean():
    for mesh in (meshes.box(), meshes.wedge(), meshes.trapezoid(), meshes.raked_barge()):
        assert codes(mesh) == []


@pytest.mark.parametrize("sketch", vessels.SKETCHES, ids=lambda sketch: sketch.name)
def test_the_simulated_vessels_are_clean(sketch):
    body = sketch.body
    assert codes(skin.merge_equal(body.vertices_m, body.faces)) == []


# ---- independent judges


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), count=st.integers(2, 30), vertices=st.integers(5, 40))
def test_loose_triangles_against_exact_arithmetic(seed, count, vertices):
    """Triangles between random points, many with a corner or an edge in common; far from any tolerance."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(-1, 1, (vertices, 3))
    faces = np.unique(np.sort([rng.choice(vertices, 3, replace=False) for _ in range(count)]), axis=0)
    found = search((points, faces))
    assert {tuple(sorted(pair)) for pair in found.crossing.tolist()} == pierced(points, faces)


@settings(max_examples=80, deadline=None)
@given(seed=st.integers(0, 10**6), count=st.integers(4, 40), reach=st.floats(0.0, 5.0))
def test_convex_bodies_overlap_if_they_have_volume_in_common(seed, count, reach):
    one, other = convex(seed, count), convex(seed + 1, count + 3)
    direction = np.random.default_rng(seed + 2).normal(size=3)
    other = moved(other, reach * direction / np.linalg.norm(direction))
    common = common_volume(one, other)
    assume(common == 0 or common > 1e-9)  # between them the tolerance decides
    told = codes(joined(one, other))
    assert told in ([], ["self-intersection"], ["body-within-another"])
    assert bool(told) == (common > 0)


@settings(max_examples=60, deadline=None)
@given(
    steps=st.tuples(*[st.tuples(st.integers(-8, 8), st.integers(1, 8)) for _ in range(3)]),
    turn=st.booleans(),
)
def test_boxes_of_a_grid_overlap_if_they_have_volume_in_common(steps, turn):
    """Corners on whole numbers: flush sides, common edges and lines in planes are the rule, not the exception."""
    other = box(*((low, low + size) for low, size in steps))
    common = np.prod([max(0, min(6, low + size) - max(0, low)) for low, size in steps])  # closed form
    mesh = joined(HULL, other)
    assert bool(codes(turned(mesh) if turn else mesh)) == (common > 0)


@settings(max_examples=80, deadline=None)
@given(seed=st.integers(0, 10**6), halves=st.tuples(*[st.integers(-4, 4)] * 3), turn=st.booleans())
def test_bodies_of_cubes_overlap_if_they_have_a_part_of_a_cube_in_common(seed, halves, turn):
    """Sides of squares, touching in sides, edges and corners, themselves too; the truth is counted in eighths."""
    rng = np.random.default_rng(seed)
    one, other = (rng.random((3, 3, 3)) < rng.uniform(0.1, 0.8) for _ in range(2))
    assume(one.any() and other.any())
    mesh = joined(cubes(one), moved(cubes(other), np.array(halves) / 2))
    mesh = rounded(mesh) if turn else mesh
    full = np.zeros((2, 20, 20, 20), dtype=bool)
    for k, (cells, at) in enumerate(((one, (0, 0, 0)), (other, halves))):
        for p in 2 * np.argwhere(cells) + at + 6:
            full[k, p[0] : p[0] + 2, p[1] : p[1] + 2, p[2] : p[2] + 2] = True
    found = search(mesh)
    assert bool(noted(found)) == (full[0] & full[1]).any()
    pairs = [tuple(sorted(pair)) for pair in np.concatenate([found.crossing, found.lying]).tolist()]
    assert len(set(pairs)) == len(pairs)  # each once


# ---- limits, and what is searched


def test_a_limit_ends_the_search_and_is_said():
    mesh = joined(HULL, OVERLAPS["a corner within"])
    for limits in ({"pair_limit": 3}, {"box_limit": 3}, {"found_limit": 3}):
        found = search(mesh, **limits)
        assert not found.complete
        told = {one.code: one for one in noted(found)}
        assert told["self-intersection-not-searched"].count == found.looked_at_count
    assert search(mesh).complete


def test_bodies_within_bodies_have_a_limit_of_their_own():
    vertices, faces = joined(HULL, box((2, 3), (2, 3), (2, 3)))
    none = np.empty((0, 2), dtype=np.intp)
    for limit, complete in ((0, False), (100_000, True)):
        found = nested_bodies(vertices, faces, apart=none, tolerance=1e-5, angle_limit=limit)
        assert (len(found.triangles), found.complete) == (int(complete), complete)


def test_a_search_can_be_stopped():
    class StoppedError(Exception):
        pass

    def stop():
        raise StoppedError

    with watched_by(stop), pytest.raises(StoppedError):
        search(HULL)


def test_what_is_added_to_a_hull_is_searched_with_it():
    hull, skeg = (SurfaceSolid.from_arrays(vertices_m=v, faces=f) for v, f in (HULL, OVERLAPS["sunk into the top"]))
    seat = SurfaceSolid.from_arrays(vertices_m=CONTACTS["one on the other"][0], faces=CONTACTS["one on the other"][1])
    assert noted_of(hull) == ()
    assert noted_of(Compound.of([Shelled(hull, 0.01), seat])) == ()
    assert [one.code for one in noted_of(Compound.of([Shelled(hull, 0.01), skeg]))] == ["self-intersection"]
    assert noted_of(Compound.of([hull, skeg], signs=[1, -1])) == ()  # what is taken out lies within
