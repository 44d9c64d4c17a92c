"""Boxes, prisms, cylinders and meshes as solids; expected numbers are closed forms of elementary geometry."""

import numpy as np
import pytest

from engine.errors import InputError, LimitError
from engine.geometry.ears import triangulate
from engine.geometry.plane import Planes
from engine.geometry.shapes import Box, Cylinder, MeshShape, Prism, PrismSection, signed_area_m2
from tests.engine.geometry import meshes

L_SECTION = np.array([[0, 0], [4, 0], [4, 1], [1, 1], [1, 3], [0, 3]], dtype=float)  # 4 × 1 and 1 × 2: area 6
BOX = {"x_min_m": 0.0, "x_max_m": 7.0, "y_min_m": -2.5, "y_max_m": 2.5, "z_min_m": 0.6, "z_max_m": 1.5}
CYLINDER = {"axis": "x", "radius_m": 1.5, "length_m": 8.0, "x_m": 10.0, "y_m": 1.0, "z_m": 2.0}


def whole(solid):
    top = solid.bounds_m[1, 2] + 1.0
    return solid.cut(Planes.from_normals(normals=[0, 0, 1], offsets_m=top))


def test_a_box_is_exact():
    solid = Box(**BOX).solid()
    assert solid.volume_m3 == pytest.approx(7 * 5 * 0.9, rel=1e-14)
    np.testing.assert_allclose(whole(solid).centroid_m[0], [3.5, 0, 1.05], atol=1e-14)
    np.testing.assert_allclose(solid.bounds_m, [[0, -2.5, 0.6], [7, 2.5, 1.5]])
    assert solid.skin_area_m2 == pytest.approx(2 * (35 + 6.3 + 4.5), rel=1e-14)


@pytest.mark.parametrize("points", [L_SECTION, L_SECTION[::-1]])
def test_a_constant_section_may_be_hollow_and_run_either_way(points):
    solid = Prism.constant(points_m=points, x_min_m=2.0, x_max_m=7.0).solid()
    cut = whole(solid)
    assert cut.volume_m3[0] == pytest.approx(30.0, rel=1e-14)
    # centre of the two rectangles (4 × 1 at (2, .5), 1 × 2 at (.5, 2))
    np.testing.assert_allclose(cut.centroid_m[0], [4.5, 9 / 6, 6 / 6], rtol=1e-14)
    assert solid.skin_area_m2 == pytest.approx(2 * 6 + 5 * 14, rel=1e-14)  # two ends, girth 14
    half = solid.cut(Planes.from_normals(normals=[0, 0, 1], offsets_m=2.0))
    assert half.volume_m3[0] == pytest.approx(25.0, rel=1e-14)
    assert half.waterplane_area_m2[0] == pytest.approx(5.0, rel=1e-14)


def test_a_frustum_between_frames_has_its_prismatoid_volume():
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], dtype=float)
    solid = Prism((PrismSection(0.0, square), PrismSection(3.0, 2 * square), PrismSection(5.0, 2 * square))).solid()
    frustum = 3.0 / 3.0 * (4 + 16 + np.sqrt(4 * 16))  # h/3 (A1 + A2 + √(A1 A2))
    assert solid.volume_m3 == pytest.approx(frustum + 2 * 16, rel=1e-14)


def test_a_twisted_side_encloses_the_volume_of_its_ruled_surface():
    # section at share t: the straight blend of two polygons; the area is quadratic in t, Simpson is exact
    a = np.array([[0, 0], [4, 0], [4, 2], [0, 2]], dtype=float)
    b = np.array([[0.5, -0.3], [3.0, 0.4], [5.0, 3.0], [-0.5, 2.2]])
    solid = Prism((PrismSection(1.0, a), PrismSection(4.0, b))).solid()
    area = [signed_area_m2((1 - t) * a + t * b) for t in (0.0, 0.5, 1.0)]
    assert solid.volume_m3 == pytest.approx(3.0 / 6.0 * (area[0] + 4 * area[1] + area[2]), rel=1e-14)


def test_a_frame_may_shrink_to_a_point_of_its_edge():
    triangle = np.array([[0, 0], [3, 0], [0, 2]], dtype=float)
    closing = np.array([[0, 0], [3, 0], [3, 0], [0, 2]], dtype=float)
    quad = np.array([[0, 0], [3, 0], [3, 2], [0, 2]], dtype=float)
    solid = Prism((PrismSection(0.0, quad), PrismSection(6.0, closing))).solid()
    # the corner (3, 2) slides down to (3, 0): section area 6 − 3 t, mean 4.5
    assert solid.volume_m3 == pytest.approx(6 * 4.5, rel=1e-14)
    assert signed_area_m2(triangle) == 3.0


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_a_cylinder_has_its_volume_place_and_second_moment(axis):
    solid = Cylinder(**{**CYLINDER, "axis": axis}).solid()
    assert solid.volume_m3 == pytest.approx(np.pi * 1.5**2 * 8, rel=1e-13)
    half = np.where(np.array(["x", "y", "z"]) == axis, 4.0, 1.5)
    np.testing.assert_allclose(solid.bounds_m, [np.subtract([10, 1, 2], half), np.add([10, 1, 2], half)], atol=1.5e-5)
    np.testing.assert_allclose(whole(solid).centroid_m[0], [10, 1, 2], rtol=1e-13)
    middle = solid.cut(Planes.from_normals(normals=[0, 0, 1], offsets_m=2.0))
    assert middle.volume_m3[0] == pytest.approx(np.pi * 1.5**2 * 4, rel=1e-12)
    # across y: a 8 × 3 rectangle lying along x or y, a circle standing
    second = {"x": 8 * 3**3 / 12, "y": 3 * 8**3 / 12, "z": np.pi * 1.5**4 / 4}[axis]
    assert middle.waterplane_tensor_m4[0, 1, 1] == pytest.approx(second, rel=3e-5)


def test_a_lying_cylinder_filled_in_part_has_the_segment_and_its_centre():
    solid = Cylinder(**CYLINDER).solid()
    for depth in (0.1, 1.0, 2.2):
        cut = solid.cut(Planes.from_normals(normals=[0, 0, 1], offsets_m=0.5 + depth))
        half_angle = np.arccos((1.5 - depth) / 1.5)
        area = 1.5**2 * (half_angle - np.sin(half_angle) * np.cos(half_angle))
        below_axis = 2 / 3 * 1.5**3 * np.sin(half_angle) ** 3 / area
        assert cut.volume_m3[0] == pytest.approx(8 * area, rel=1e-4)
        assert cut.centroid_m[0, 2] == pytest.approx(2.0 - below_axis, abs=1e-5)


def test_a_mesh_is_taken_as_it_is_and_must_be_closed():
    vertices, faces = meshes.box(length=4.0, breadth=2.0, depth=1.0)
    assert MeshShape(vertices, faces).solid().volume_m3 == pytest.approx(8.0, rel=1e-14)
    lidless = faces[~(vertices[faces][:, :, 2] == 1.0).all(axis=1)]
    with pytest.raises(InputError) as caught:
        MeshShape(vertices, lidless).solid()
    assert caught.value.code == "tank-skin-open"


def test_ears_cover_a_comb_with_points_on_straight_lines():
    comb = [(0, 0), (1, 0), (6, 0), (6, 3), (5, 3), (5, 1), (4, 1), (4, 3), (3, 3), (3, 1), (2, 1), (2, 3), (0, 3)]
    polygon = np.array([*comb, (0, 2)], dtype=float)
    triangles = triangulate(polygon)
    areas = [signed_area_m2(polygon[t]) for t in triangles]
    assert len(triangles) == len(polygon) - 2
    assert min(areas) >= 0
    assert sum(areas) == pytest.approx(14.0, rel=1e-14)  # 6 × 3 less two slots of 1 × 2
    with pytest.raises(InputError, match="crosses"):
        triangulate(np.array([[0, 0], [0, 2], [2, 2], [2, 0], [1, 1]], dtype=float))


@pytest.mark.parametrize(
    ("make", "code", "field"),
    [
        (lambda: Box(**{**BOX, "y_max_m": -2.5}), "box-ends", "y_min_m"),
        (lambda: Box(**{**BOX, "z_max_m": np.nan}), "not-finite", "z_max_m"),
        (lambda: Cylinder(**{**CYLINDER, "radius_m": 0.0}), "not-positive", "radius_m"),
        (lambda: Cylinder(**{**CYLINDER, "length_m": -1.0}), "not-positive", "length_m"),
        (lambda: Cylinder(**{**CYLINDER, "axis": "w"}), "unknown-axis", "axis"),
        (lambda: Cylinder(**{**CYLINDER, "z_m": np.inf}), "not-finite", "z_m"),
        (lambda: Prism((PrismSection(0.0, L_SECTION),)), "too-few-sections", "sections"),
        (lambda: frames(L_SECTION, L_SECTION[:5]), "section-points-differ", "sections/1/points_m"),
        (lambda: frames(L_SECTION, L_SECTION[::-1]), "sections-turn-opposite", "sections/1/points_m"),
        (lambda: frames(L_SECTION[:2], L_SECTION[:2]), "too-few-points", "sections/0/points_m"),
        (lambda: frames(L_SECTION[[0, 2, 1, 3]], L_SECTION[:4]), "section-self-intersecting", "sections/0/points_m"),
        (lambda: frames(L_SECTION[:, :1], L_SECTION), "wrong-shape", "sections/0/points_m"),
        (lambda: frames(L_SECTION, L_SECTION, x=(1.0, 1.0)), "not-increasing", "sections/1/x_m"),
        (lambda: frames(L_SECTION, L_SECTION, x=(1.0, np.nan)), "not-finite", "sections/1/x_m"),
    ],
)
def test_what_is_no_shape_is_refused(make, code, field):
    with pytest.raises(InputError) as caught:
        make()
    assert (caught.value.code, caught.value.field) == (code, field)


def test_points_have_a_limit():
    angle = np.linspace(0, 2 * np.pi, 501, endpoint=False)
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    with pytest.raises(LimitError) as caught:
        frames(circle, circle)
    assert (caught.value.code, caught.value.value, caught.value.limit) == ("too-many-points", 501.0, 500.0)
    many = tuple(PrismSection(float(i), circle[:500]) for i in range(201))
    with pytest.raises(LimitError) as caught:
        Prism(many)
    assert (caught.value.field, caught.value.value) == ("sections", 100_500.0)


def frames(a, b, x=(0.0, 1.0)):
    return Prism((PrismSection(x[0], a), PrismSection(x[1], b)))
