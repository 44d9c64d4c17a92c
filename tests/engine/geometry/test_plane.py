"""Water planes: the ship's drafts, heel and trim to and from normals and offsets."""

import numpy as np
import pytest

from engine.errors import InputError
from engine.geometry.plane import Planes


def test_a_waterplane_is_z_equal_to_draft_plus_trim_and_heel():
    # z = draft + trim (1/2 - x/L) - y tan(heel), the definition, at arbitrary x and y
    planes = Planes.from_waterplanes(draft_m=[3.0, 4.0], heel_deg=[0.0, 12.0], trim_m=[0.8, -0.5], length_bp_m=60.0)
    for x, y in ((0.0, 0.0), (60.0, 0.0), (17.0, -4.0)):
        z = np.array([3.0, 4.0]) + np.array([0.8, -0.5]) * (0.5 - x / 60) - y * np.tan(np.radians([0, 12]))
        on_plane = planes.normals @ [x, y, 0.0] + planes.normals[:, 2] * z
        np.testing.assert_allclose(on_plane, planes.offsets_m, rtol=0, atol=1e-13)
    np.testing.assert_allclose(np.linalg.norm(planes.normals, axis=1), 1.0, rtol=1e-15)


def test_draft_heel_and_trim_come_back():
    draft, heel, trim = np.array([2.0, 3.0, 5.0]), np.array([-80.0, 0.0, 33.0]), np.array([-2.0, 0.0, 1.5])
    planes = Planes.from_waterplanes(draft_m=draft, heel_deg=heel, trim_m=trim, length_bp_m=45.0)
    np.testing.assert_allclose(planes.draft_m(length_bp_m=45.0), draft, rtol=1e-12)
    np.testing.assert_allclose(planes.heel_deg, heel, rtol=0, atol=1e-12)
    np.testing.assert_allclose(planes.trim_m(length_bp_m=45.0), trim, rtol=0, atol=1e-12)


def test_drafts_heels_and_trims_are_broadcast():
    planes = Planes.from_waterplanes(draft_m=[3.0, 3.5, 4.0], heel_deg=10, length_bp_m=60.0)
    assert len(planes) == 3
    np.testing.assert_allclose(planes.heel_deg, 10.0, rtol=1e-13)
    assert len(Planes.from_normals(normals=[0, 0, 1], offsets_m=[1.0, 2.0])) == 2


def test_normals_of_any_length_make_unit_normals_of_the_same_plane():
    planes = Planes.from_normals(normals=[[0, 3.0, 4.0]], offsets_m=[10.0])
    np.testing.assert_allclose(planes.normals, [[0, 0.6, 0.8]], rtol=1e-15)
    np.testing.assert_allclose(planes.offsets_m, [2.0], rtol=1e-15)


def test_angles_beyond_the_horizon_keep_the_slope_along_the_ship():
    planes = Planes.from_angles(heel_deg=[0.0, 90.0, 150.0], slope_ratio=0.02, offsets_m=[1.0, 2.0, 3.0])
    np.testing.assert_allclose(planes.normals[:, 0], 0.02, rtol=1e-15)
    np.testing.assert_allclose(np.linalg.norm(planes.normals, axis=1), 1.0, rtol=1e-15)
    np.testing.assert_allclose(planes.heel_deg, [0, 90, 150], atol=1e-12)


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: Planes.from_normals(normals=[0, 0, 0], offsets_m=1.0), "zero-normal"),
        (lambda: Planes.from_normals(normals=[[0, 1]], offsets_m=1.0), "wrong-shape"),
        (lambda: Planes.from_normals(normals=[0, 0, 1], offsets_m=np.inf), "not-finite"),
        (lambda: Planes.from_waterplanes(draft_m=3.0, heel_deg=81.0, length_bp_m=60.0), "out-of-range"),
        (lambda: Planes.from_waterplanes(draft_m=3.0, length_bp_m=0.0), "not-positive"),
        (lambda: Planes.from_waterplanes(draft_m=np.nan, length_bp_m=60.0), "not-finite"),
    ],
)
def test_what_is_no_plane_is_refused(make, code):
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.code == code
