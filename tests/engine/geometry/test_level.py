"""The plane below which a body holds a given volume."""

from itertools import pairwise

import numpy as np
import pytest

from engine.deadline import watched_by
from engine.errors import InputError
from engine.geometry.level import box_range, cuts_of_volume, level
from engine.geometry.plane import Planes, normals_at
from engine.geometry.surface_solid import SurfaceSolid
from tests.engine.geometry import meshes

BOX = meshes.box()


def solid_of(mesh):
    return SurfaceSolid.from_arrays(vertices_m=mesh[0], faces=mesh[1])


def directions(count):
    n = np.random.default_rng(11).normal(size=(count, 3))
    return n / np.linalg.norm(n, axis=1)[:, None]


@pytest.mark.parametrize(
    "mesh", [BOX, meshes.wedge(), meshes.raked_barge(), meshes.ellipsoid(48, a=30.0, b=6.0, c=4.0, draft=2.5)]
)
def test_the_plane_found_holds_the_volume_in_any_direction(mesh):
    solid = solid_of(mesh)
    normals = directions(40)
    volumes = np.concatenate([np.linspace(0.001, 0.999, 30), np.logspace(-9, -3, 10)]) * solid.volume_m3
    offsets = level(solid, normals=normals, volumes_m3=volumes)
    found = solid.cut(Planes(normals=normals, offsets_m=offsets)).volume_m3
    np.testing.assert_allclose(found, volumes, rtol=1.1e-13, atol=2e-15 * solid.volume_m3)


def test_box_and_wedge_have_their_closed_forms():
    assert level(solid_of(BOX), normals=[0, 0, 1], volumes_m3=2520.0)[0] == pytest.approx(3.5, rel=1e-13)
    # wedge 12 broad at 4: V = 60 · 1.5 · d²
    volumes = np.array([1e-6, 1.0, 1440.0, 3000.0])
    found = level(solid_of(meshes.wedge()), normals=[0, 0, 2.0], volumes_m3=volumes)
    np.testing.assert_allclose(found, np.sqrt(volumes / 90), rtol=0, atol=1e-11)
    np.testing.assert_allclose(found[2:], np.sqrt(volumes[2:] / 90), rtol=1e-13)


def test_nothing_and_everything_give_the_lowest_and_the_highest_point():
    solid = solid_of(meshes.ellipsoid(48, a=30.0, b=6.0, c=4.0, draft=2.5))
    normals = directions(6)
    heights = normals @ solid.vertices_m.T
    np.testing.assert_allclose(level(solid, normals=normals, volumes_m3=0.0), heights.min(axis=1), rtol=1e-14)
    np.testing.assert_allclose(
        level(solid, normals=normals, volumes_m3=solid.volume_m3), heights.max(axis=1), rtol=1e-14
    )


def test_more_than_the_body_holds_is_refused():
    with pytest.raises(InputError) as caught:
        level(solid_of(BOX), normals=[0, 0, 1], volumes_m3=[10.0, 5761.0])
    error = caught.value
    assert (error.code, error.field, error.value) == ("volume-beyond-capacity", "volumes_m3/1", 5761.0)
    assert error.limit == pytest.approx(5760.0, rel=1e-13)


def test_an_open_body_fills_to_its_lowest_opening():
    vertices, faces = BOX
    open_deck = faces[~(vertices[faces][:, :, 2] == 8).all(axis=1)]
    solid = SurfaceSolid.from_arrays(vertices_m=vertices, faces=open_deck)
    assert level(solid, normals=[0, 0, 1], volumes_m3=5760.0)[0] == pytest.approx(8.0, rel=1e-13)
    tangent = np.tan(np.radians(30))
    # heeled 30°, spilling over the low edge: box of mean depth 8 - 6 tan 30°, closed form
    capacity = 720 * (8 - 6 * tangent)
    heeled = [0, tangent, 1]
    found = level(solid, normals=[heeled], volumes_m3=0.5 * capacity)[0]
    cut = solid.cut(Planes.from_normals(normals=[0, np.sin(np.radians(30)), np.cos(np.radians(30))], offsets_m=found))
    assert cut.volume_m3[0] == pytest.approx(0.5 * capacity, rel=1e-12)
    with pytest.raises(InputError) as caught:
        level(solid, normals=[heeled], volumes_m3=capacity * 1.001)
    assert caught.value.code == "volume-beyond-capacity"
    assert caught.value.limit == pytest.approx(capacity, rel=1e-9)


@pytest.mark.parametrize(
    ("normals", "volumes", "code"),
    [([0, 0, 1], -1.0, "out-of-range"), ([0, 0, 0], 1.0, "zero-normal"), ([0, 0, 1], np.nan, "not-finite")],
)
def test_what_has_no_level_is_refused(normals, volumes, code):
    with pytest.raises(InputError) as caught:
        level(solid_of(BOX), normals=normals, volumes_m3=volumes)
    assert caught.value.code == code


def test_the_search_can_be_stopped():
    def stop():
        raise TimeoutError

    with watched_by(stop), pytest.raises(TimeoutError):
        level(solid_of(BOX), normals=[0, 0, 1], volumes_m3=100.0)


def test_where_the_search_begins_does_not_matter():
    solid = solid_of(meshes.ellipsoid(24, a=8.0, b=3.0, c=2.0, draft=1.0))
    normals = directions(5)
    volumes = np.linspace(0.1, 0.9, 5) * solid.volume_m3
    found = level(solid, normals=normals, volumes_m3=volumes)
    for start in (found + 0.1, found, np.full(5, 1e6), np.full(5, -1e6)):
        again = level(solid, normals=normals, volumes_m3=volumes, start_m=start)
        assert again == pytest.approx(found, abs=1e-11)


def test_cuts_of_volumes_are_those_at_the_offsets_found_and_each_row_is_cut_until_it_is_found():
    vertices, faces = meshes.raked_barge()
    solid = SurfaceSolid.from_arrays(vertices_m=vertices, faces=faces)
    normals = normals_at(heel_rad=np.array([0.0, 0.3, -1.0]), slope_ratio=np.array([0.0, 0.05, -0.1]))
    volumes = np.array([0.2, 0.5, 0.9]) * solid.volume_m3
    low, high = box_range(solid.bounds_m, normals)
    asked = []

    def cut(rows, planes):
        asked.append(rows.tolist())
        return solid.cut(planes)

    found = cuts_of_volume(cut, normals=normals, volumes_m3=volumes, start_m=0.5 * (low + high), low_m=low, high_m=high)
    np.testing.assert_allclose(found.volume_m3, volumes, rtol=1e-12)
    np.testing.assert_allclose(
        found.planes.offsets_m, level(solid, normals=normals, volumes_m3=volumes), rtol=0, atol=1e-11
    )
    again = solid.cut(found.planes)
    np.testing.assert_allclose(found.centroid_m, again.centroid_m, rtol=0, atol=1e-12)
    np.testing.assert_allclose(found.waterplane_tensor_m4, again.waterplane_tensor_m4, rtol=0, atol=1e-7)  # of 1e5 m⁴
    assert asked[0] == [0, 1, 2]
    assert all(set(later) <= set(sooner) for sooner, later in pairwise(asked))
