"""Signed sums of solids and the thickness of a shell."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from engine.errors import InputError
from engine.geometry.compound import Compound, Shelled
from engine.geometry.level import level
from engine.geometry.plane import Planes
from engine.geometry.surface_solid import SurfaceSolid
from tests.engine.geometry import meshes


def solid_of(mesh):
    return SurfaceSolid.from_arrays(vertices_m=mesh[0], faces=mesh[1])


def moved(mesh, *, by):
    return solid_of((mesh[0] + np.asarray(by), mesh[1]))


@settings(derandomize=True, deadline=None, max_examples=25)
@given(at=st.floats(1.0, 59.0), heel=st.floats(-80, 80), trim=st.floats(-5, 5), draft=st.floats(0.5, 7.5))
def test_a_body_split_in_two_and_summed_is_the_whole(at, heel, trim, draft):
    whole = solid_of(meshes.box())
    parts = Compound.of([solid_of(meshes.box(length=at)), solid_of(meshes.box(length=60 - at, x0=at))])
    planes = Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=60.0)
    one, other = whole.cut(planes), parts.cut(planes)
    assert parts.volume_m3 == pytest.approx(whole.volume_m3, rel=1e-13)
    np.testing.assert_array_equal(parts.bounds_m, whole.bounds_m)
    np.testing.assert_allclose(other.volume_m3, one.volume_m3, rtol=1e-12)
    np.testing.assert_allclose(other.centroid_m, one.centroid_m, rtol=0, atol=60e-12)
    np.testing.assert_allclose(other.waterplane_area_m2, one.waterplane_area_m2, rtol=1e-11)
    np.testing.assert_allclose(other.waterplane_centroid_m, one.waterplane_centroid_m, rtol=0, atol=1e-9)
    np.testing.assert_allclose(other.waterplane_tensor_m4, one.waterplane_tensor_m4, rtol=0, atol=1e-11 * 60**4)
    np.testing.assert_allclose(other.waterplane_extent_m, one.waterplane_extent_m, rtol=0, atol=1e-9)
    ends = 2 * parts.parts[0].section_area_m2(planes, x_m=at - 1e-9)  # the common bulkhead is wetted twice
    np.testing.assert_allclose(other.wetted_area_m2, one.wetted_area_m2 + ends, rtol=1e-6)


def test_a_moonpool_removed_from_a_box_has_its_closed_form():
    # box 60 x 12, well 10 x 4 at x 20 to 30, draft 3.5
    well = moved(meshes.box(length=10, breadth=4, x0=20), by=[0, 1, 0])
    body = Compound.of([solid_of(meshes.box()), well], signs=[1, -1])
    cuts = body.cut(Planes.from_waterplanes(draft_m=3.5, length_bp_m=60.0))
    area, moment_x, moment_y = 720 - 40, 720 * 30 - 40 * 25, -40 * 1.0
    assert body.volume_m3 == pytest.approx(8 * 680, rel=1e-13)
    assert cuts.volume_m3[0] == pytest.approx(3.5 * area, rel=1e-13)
    centre = [moment_x / area, moment_y / area, 3.5]
    np.testing.assert_allclose(cuts.waterplane_centroid_m[0], centre, atol=1e-11)
    np.testing.assert_allclose(cuts.centroid_m[0], [*centre[:2], 1.75], atol=1e-11)
    second = 60 * 12**3 / 12 - (10 * 4**3 / 12 + 40 * 1.0) - area * centre[1] ** 2
    assert cuts.waterplane_tensor_m4[0, 1, 1] == pytest.approx(second, rel=1e-12)
    np.testing.assert_array_equal(body.section_area_m2(cuts.planes, x_m=25.0), [3.5 * 12 - 3.5 * 4])


def test_two_hulls_float_as_one():
    # catamaran: I = 2 (L b³/12 + L b y²)
    hulls = Compound.of([moved(meshes.box(breadth=2), by=[0, y, 0]) for y in (-5, 5)])
    cuts = hulls.cut(Planes.from_waterplanes(draft_m=[3.5, -2.0, 20.0], length_bp_m=60.0))
    assert cuts.waterplane_tensor_m4[0, 1, 1] == pytest.approx(2 * (60 * 8 / 12 + 120 * 25), rel=1e-13)
    np.testing.assert_allclose(cuts.waterplane_extent_m[0, :, 1], [-6, 6])
    assert np.isnan(cuts.centroid_m[1]).all()
    assert cuts.volume_m3[1] == 0
    assert np.isnan(cuts.waterplane_centroid_m[1:]).all()
    assert np.isnan(cuts.waterplane_extent_m[1:]).all()
    assert level(hulls, normals=[0, 0, 1], volumes_m3=480.0)[0] == pytest.approx(2.0, rel=1e-12)


def test_a_sum_is_bent_part_by_part():
    parts = Compound.of([solid_of(meshes.box(length=30)), solid_of(meshes.box(length=30, x0=30))])
    bent = parts.bent(sag_m=0.2, length_bp_m=60.0)
    # midlength drops by the sag, the ends stay; straight between: 0.1 on average
    volume = bent.cut(Planes.from_waterplanes(draft_m=3.5, length_bp_m=60.0)).volume_m3[0]
    assert volume == pytest.approx(720 * 3.6, rel=1e-12)


def test_a_shell_adds_thickness_times_wetted_area_and_its_moment():
    body = Shelled(solid_of(meshes.box()), 0.01)
    cuts = body.cut(Planes.from_waterplanes(draft_m=[3.5, -1.0], length_bp_m=60.0))
    # S = LB + 2T(L + B) = 1224; its moment about the keel = 2T(L + B) T/2 = 882
    assert cuts.volume_m3[0] == pytest.approx(2520 + 12.24, rel=1e-13)
    assert cuts.centroid_m[0, 2] == pytest.approx((2520 * 1.75 + 8.82) / 2532.24, rel=1e-13)
    assert cuts.waterplane_area_m2[0] == pytest.approx(720, rel=1e-13)
    assert (cuts.volume_m3[1], cuts.wetted_area_m2[1]) == (0, 0)
    assert np.isnan(cuts.centroid_m[1]).all()
    assert body.volume_m3 == pytest.approx(5760 + 0.01 * (2 * 720 + 2 * 8 * 72), rel=1e-13)
    np.testing.assert_array_equal(body.bounds_m, [[0, -6, 0], [60, 6, 8]])
    np.testing.assert_allclose(body.section_area_m2(cuts.planes, x_m=25.0), [42, 0])
    # level: 720 d + t (720 + 144 d) = 2532.24 at d = 3.5
    assert level(body, normals=[0, 0, 1], volumes_m3=2532.24)[0] == pytest.approx(3.5, rel=1e-12)
    assert body.bent(sag_m=0.1, length_bp_m=60.0).thickness_m == 0.01


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda solid: Compound.of([]), "empty-compound"),
        (lambda solid: Compound.of([solid], signs=[1, 1]), "wrong-shape"),
        (lambda solid: Compound.of([solid, solid], signs=[1, 2]), "bad-sign"),
        (lambda solid: Shelled(solid, -0.01), "negative-thickness"),
        (lambda solid: Shelled(solid, float("nan")), "not-finite"),
    ],
)
def test_what_makes_no_sum_or_shell_is_refused(make, code):
    with pytest.raises(InputError) as caught:
        make(solid_of(meshes.box()))
    assert caught.value.code == code
